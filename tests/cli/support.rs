//! A log in a temporary folder, and the program run on it.

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use tempfile::TempDir;

/// A fresh log with one machine and one set, thrown away at the end of the test.
pub struct Shop {
    folder: TempDir,
}

impl Shop {
    /// Made with the program itself.
    pub fn new() -> Self {
        Self::made("--machine big-drum --rotor drum --knives 4 --edges 2 --rule 50 --meter 1200")
    }

    /// With nothing said of today's rule.
    pub fn without_rule() -> Self {
        Self::made("--machine big-drum --rotor drum --knives 4 --edges 2 --meter 1200")
    }

    fn made(made: &str) -> Self {
        let shop = Self {
            folder: tempfile::tempdir().expect("a temporary folder"),
        };
        let log = shop.log().display().to_string();
        let mut arguments = vec!["new", &log];
        arguments.extend(made.split(' '));
        assert_eq!(status(&keenspan(&arguments)), 0);
        let set = shop.run(&["add", "set", "--name", "A", "--knives", "4", "--edges", "2"]);
        assert_eq!(status(&set), 0);
        shop
    }

    /// With an edge at work since hour 1250.
    pub fn at_work() -> Self {
        let shop = Self::new();
        let fitted = "add event fitted --set A --meter 1250 --date 2026-03-02";
        let arguments: Vec<&str> = fitted.split(' ').collect();
        assert_eq!(status(&shop.run(&arguments)), 0);
        shop
    }

    /// The log folder.
    pub fn log(&self) -> PathBuf {
        self.folder.path().join("log")
    }

    /// The program on this log.
    pub fn command(&self, arguments: &[&str]) -> Command {
        let mut command = program();
        command.arg("--log").arg(self.log()).args(arguments);
        command
    }

    /// The program run on this log to its end, with nobody at a terminal.
    pub fn run(&self, arguments: &[&str]) -> Output {
        self.command(arguments).output().expect("the program runs")
    }

    /// The text of one file of the log.
    pub fn text(&self, file: &str) -> String {
        read(&self.log().join(file))
    }

    /// Replaces one file of the log.
    pub fn write(&self, file: &str, bytes: impl AsRef<[u8]>) {
        std::fs::write(self.log().join(file), bytes).expect("a writable folder");
    }

    /// Files in the log folder that a killed writer left.
    pub fn strays(&self) -> usize {
        let entries = std::fs::read_dir(self.log()).expect("the log folder");
        let names = entries.flatten().map(|entry| entry.file_name());
        names
            .filter(|name| name.to_string_lossy().ends_with(".tmp"))
            .count()
    }
}

fn read(path: &Path) -> String {
    std::fs::read_to_string(path).expect("a readable file")
}

/// The program, to be run on whatever a test gives it.
pub fn program() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_keenspan"));
    command.stdin(Stdio::null());
    command
}

/// The program run to its end.
pub fn keenspan(arguments: &[&str]) -> Output {
    program()
        .args(arguments)
        .output()
        .expect("the program runs")
}

/// Exit status; -1 where a signal ended it.
pub fn status(output: &Output) -> i32 {
    output.status.code().unwrap_or(-1)
}

/// What was answered.
pub fn answer(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// What was said beside the answer.
pub fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// The answer in JSON, as published by the schema.
pub fn json(output: &Output) -> serde_json::Value {
    let json = serde_json::from_slice(&output.stdout).expect("an answer in JSON");
    crate::schema::holds(&json);
    json
}

/// Whether it is an estimate with its bounds around it, at nine in ten.
pub fn is_estimate(value: &serde_json::Value) -> bool {
    let part = |name: &str| value[name].as_f64().unwrap_or(f64::NAN);
    part("lower") <= part("estimate") && part("estimate") <= part("upper") && part("level") == 0.9
}
