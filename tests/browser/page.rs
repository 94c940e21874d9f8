//! The demo's report, and logs made from the demo's rows.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use tempfile::TempDir;

/// The demo log.
pub fn demo() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("datasets/demo-riverbank")
}

/// What the program answers in JSON about a log.
pub fn answers(log: &Path, command: &str) -> serde_json::Value {
    let output = Command::new(env!("CARGO_BIN_EXE_keenspan"))
        .args(["--json", "--log"])
        .arg(log)
        .arg(command)
        .stdin(Stdio::null())
        .output()
        .expect("the program runs");
    serde_json::from_slice(&output.stdout).expect("an answer in JSON")
}

/// The report of a log, in a folder that goes away with it.
pub struct Report {
    folder: TempDir,
}

impl Report {
    pub fn of(log: &Path) -> Self {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let report = Self { folder };
        let output = Command::new(env!("CARGO_BIN_EXE_keenspan"))
            .arg("--log")
            .arg(log)
            .args(["report", "--out"])
            .arg(report.file())
            .stdin(Stdio::null())
            .output()
            .expect("the program runs");
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{said}");
        report
    }

    pub fn file(&self) -> PathBuf {
        self.folder.path().join("report.html")
    }

    pub fn text(&self) -> String {
        std::fs::read_to_string(self.file()).expect("the report")
    }
}

/// A log with so many copies of the demo's machines, sets and rows, each under names of its own.
pub fn fleet(copies: usize) -> TempDir {
    let folder = tempfile::tempdir().expect("a temporary folder");
    for file in ["costs.csv", "shop.csv"] {
        std::fs::copy(demo().join(file), folder.path().join(file)).expect("a copy");
    }
    for (file, named) in [
        ("machines.csv", &["name"][..]),
        ("sets.csv", &["name"]),
        ("runs.csv", &["machine"]),
        ("events.csv", &["machine", "set"]),
    ] {
        copy_rows(file, folder.path(), named, copies);
    }
    folder
}

fn copy_rows(file: &str, to: &Path, named: &[&str], copies: usize) {
    let mut rows = csv::ReaderBuilder::new()
        .flexible(true)
        .from_path(demo().join(file))
        .expect("a file of the demo");
    let header = rows.headers().expect("a header").clone();
    let rows: Vec<csv::StringRecord> = rows.records().map(|row| row.expect("a row")).collect();
    let mut out = csv::WriterBuilder::new()
        .flexible(true)
        .from_path(to.join(file))
        .expect("a writable folder");
    out.write_record(&header).expect("a header written");
    for copy in 1..=copies {
        for row in &rows {
            let cells = row.iter().zip(&header).map(|(cell, column)| {
                if named.contains(&column) && !cell.is_empty() {
                    format!("{cell} {copy}")
                } else {
                    cell.to_string()
                }
            });
            out.write_record(cells).expect("a row written");
        }
    }
    out.flush().expect("a file written");
}
