//! Parquet tables that other programs wrote (tests/reference/parquet) are read as the same tables in CSV are.

use super::*;
use std::path::PathBuf;

fn reference(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/reference")
        .join(name)
}

fn written(name: &str) -> PathBuf {
    reference("parquet").join(format!("{name}.parquet"))
}

const GROUP: Option<&str> = Some("machine");

fn by_csv() -> EdgeHours {
    let [edges, runs] = ["edges.csv", "runs.csv"].map(|it| reference("changing_exposure").join(it));
    EdgeHours::of(&read_edge_runs(&edges, &runs, GROUP).expect("sound tables"))
}

#[test]
fn every_writer_and_every_reader_give_the_hours_of_the_csv_to_the_last_bit() {
    let csv = by_csv();
    let both = reference("changing_exposure");
    let pairs = [
        (written("edges_pandas"), written("runs_pandas")),
        (written("edges_arrow"), written("runs_arrow")),
        (written("edges_polars"), both.join("runs.csv")),
        (both.join("edges.csv"), written("runs_arrow")),
    ];
    for (edges, runs) in pairs {
        let quick = quick::in_pieces(&edges, &runs, GROUP, 1000).expect("files");
        assert_eq!(quick.as_ref(), Some(&csv), "{edges:?} {runs:?}");
        let careful = careful::read(&edges, &runs, GROUP).expect("sound tables");
        assert_eq!(careful, csv, "{edges:?} {runs:?}");
        let whole = read_edge_runs(&edges, &runs, GROUP).expect("sound tables");
        assert_eq!(EdgeHours::of(&whole), csv, "{edges:?} {runs:?}");
    }
}

#[test]
fn what_is_read_is_told_of_about_as_many_bytes_as_there_are() {
    let bytes = std::sync::atomic::AtomicU64::new(0);
    let more = |read: u64| {
        bytes.fetch_add(read, std::sync::atomic::Ordering::Relaxed);
    };
    let (edges, runs) = (written("edges_arrow"), written("runs_arrow"));
    read_edge_hours(&edges, &runs, GROUP, &more).expect("sound tables");
    let size = |file: &Path| std::fs::metadata(file).expect("a file").len();
    let (told, all) = (bytes.into_inner(), size(&edges) + size(&runs));
    assert!(told <= all && told + 10 > all, "{told} of {all}");
}

#[test]
fn rows_of_a_parquet_file_are_counted_for_its_lines() {
    assert!(has_lines(&written("runs_arrow"), 484));
    assert!(!has_lines(&written("runs_arrow"), 485));
}

/// What is said of the runs, by the reader of whole tables and by the stream, without the folder.
fn fault(runs: &str) -> String {
    let (edges, runs) = (written("edges_of_two"), written(runs));
    let quick = quick::in_pieces(&edges, &runs, None, 1000);
    assert!(!matches!(quick, Ok(Some(_))), "{runs:?}");
    let whole = read_edge_runs(&edges, &runs, None).expect_err("a fault");
    let stream = careful::read(&edges, &runs, None).expect_err("a fault");
    let folder = format!("{}/", reference("parquet").display());
    let [whole, stream] = [whole, stream].map(|it| it.to_string().replace(&folder, ""));
    if runs != written("runs_none") {
        assert_eq!(whole, stream);
    }
    whole
}

#[test]
fn faults_are_told_by_file_row_column_what_was_found_and_what_would_be_right() {
    let told = [
        (
            "runs_without_hours",
            "column \"hours\": found nothing; write a table with the columns edge_id, run, hours",
        ),
        (
            "runs_with_a_gap",
            "row 2, column \"hours\": found nothing; write hours, zero or more, such as 3.5",
        ),
        (
            "runs_in_words",
            "row 3, column \"hours\": found \"four\"; write hours, zero or more, such as 3.5",
        ),
        (
            "runs_on_days",
            "column \"day\": found \"dates or times\"; write numbers or text",
        ),
        (
            "runs_in_lists",
            "column \"hours\": found \"lists or records\"; write numbers or text",
        ),
        (
            "runs_in_gzip",
            "column \"edge_id\": found values packed with gzip; write the table with snappy, zstd or no compression",
        ),
        (
            "runs_in_bytes",
            "row 2, column \"edge_id\": found bytes that are no text; write text in UTF-8 or a number",
        ),
        (
            "runs_none",
            "row 1, column \"edge_id\": found nothing; write rows below the header",
        ),
    ];
    for (runs, wanted) in told {
        let file = format!("{runs}.parquet: ");
        let found = fault(runs);
        let first = found.lines().next().unwrap_or_default();
        assert_eq!(first, format!("{file}{wanted}"));
    }
}

/// A file cut off anywhere is told of in a sentence; one byte that is wrong may do no harm, but never ends the program.
#[test]
fn a_damaged_file_is_told_of_in_a_sentence() {
    let bytes = std::fs::read(written("runs_pandas")).expect("a file");
    let folder = tempfile::tempdir().expect("a temporary folder");
    let runs = folder.path().join("runs.parquet");
    let read = |bytes: &[u8]| {
        std::fs::write(&runs, bytes).expect("a writable folder");
        read_edge_hours(&written("edges_pandas"), &runs, GROUP, &|_| {})
    };
    for length in (4..bytes.len()).step_by(211) {
        let error = read(&bytes[..length]).expect_err("cut off").to_string();
        let sentence = "runs.parquet: this Parquet file is damaged or was cut off (";
        assert!(
            error.contains(sentence) && error.ends_with("; write it anew"),
            "{error}"
        );
    }
    for at in (4..bytes.len()).step_by(67) {
        let mut wrong = bytes.clone();
        wrong[at] ^= 0x55;
        if let Err(error) = read(&wrong) {
            // Wrong values may contradict the edges.
            assert!(error.to_string().contains(".parquet: "), "{error}");
        }
    }
}
