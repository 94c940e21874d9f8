//! Tables in Parquet files: the same answers as from CSV, and what is written for other programs.

use crate::lifedata::large;
use crate::support::{self, said, status};
use keenspan::logbook::write::{ParquetValues, write_parquet};
use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::record::Field;
use std::path::Path;
use std::process::Output;

/// The same table as a Parquet file beside it: a column is of whole numbers, numbers or texts by what stands in it.
fn as_parquet(folder: &Path, name: &str) {
    let text = std::fs::read_to_string(folder.join(name).with_extension("csv")).expect("a table");
    let rows: Vec<Vec<&str>> = text.lines().map(|it| it.split(',').collect()).collect();
    let column = |at: usize| {
        let cells = || rows[1..].iter().map(|row| row[at]);
        let counts: Result<Vec<i64>, _> = cells().map(str::parse).collect();
        let numbers: Result<Vec<f64>, _> = cells().map(str::parse).collect();
        match (counts, numbers) {
            (Ok(counts), _) => ParquetValues::Counts(counts),
            (_, Ok(numbers)) => ParquetValues::Numbers(numbers),
            _ => ParquetValues::Texts(cells().map(str::to_string).collect()),
        }
    };
    let columns: Vec<(&str, ParquetValues)> = (0..rows[0].len())
        .map(|at| (rows[0][at], column(at)))
        .collect();
    write_parquet(&folder.join(name), &columns).expect("a writable folder");
}

fn lifedata(folder: &Path, words: &str) -> Output {
    let mut command = support::program();
    command.current_dir(folder).arg("lifedata");
    command.args(words.split(' '));
    command.output().expect("the program runs")
}

/// The rows of a Parquet file, each cell as text, by the reader of rows that the crate has.
fn rows(file: &Path) -> Vec<Vec<String>> {
    let file = std::fs::File::open(file).expect("a file");
    let reader = SerializedFileReader::new(file).expect("a Parquet file");
    let text = |(_, field): (&String, &Field)| match field {
        Field::Str(text) => text.clone(),
        other => other.to_string(),
    };
    let rows = reader.get_row_iter(None).expect("rows");
    rows.map(|row| row.expect("a row").get_column_iter().map(text).collect())
        .collect()
}

#[test]
fn a_large_table_gives_the_same_answer_and_the_same_machines_from_parquet() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    large(folder.path(), false);
    as_parquet(folder.path(), "edges.parquet");
    // What a file is shows in its first bytes, not in its name.
    as_parquet(folder.path(), "runs.dat");
    let priors = "--group machine --priors priors.toml --json --by-group";
    let csv = lifedata(
        folder.path(),
        &format!("edges.csv --segments runs.csv {priors} machines.csv"),
    );
    let parquet = lifedata(
        folder.path(),
        &format!("edges.parquet --segments runs.dat {priors} machines.parquet"),
    );
    assert_eq!(support::json(&parquet), support::json(&csv));
    let written = std::fs::read_to_string(folder.path().join("machines.csv")).expect("machines");
    let read = rows(&folder.path().join("machines.parquet"));
    assert_eq!(read.len(), 2);
    for (line, row) in written.lines().skip(1).zip(&read) {
        let cells: Vec<&str> = line.split(',').collect();
        assert_eq!(cells[..2], row[..2]);
        let number = |text: &str| text.parse::<f64>().expect("a number");
        let numbers = |cells: &[&str]| cells.iter().map(|it| number(it)).collect::<Vec<f64>>();
        let row: Vec<&str> = row.iter().map(String::as_str).collect();
        assert_eq!(numbers(&cells[2..]), numbers(&row[2..]));
    }
}

/// tests/reference/changing_exposure, and the same as pandas wrote it.
#[test]
fn a_small_table_gives_the_same_answer_from_parquet() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference");
    let priors = tempfile::NamedTempFile::new().expect("a temporary file");
    let text = "log_eta = { mean = 2.70805, sd = 0.6 }\nlog_kappa = { mean = 0.69315, sd = 0.3 }\n\
                beta = [ { name = \"frozen\", mean = 0.2, sd = 0.3 }, { name = \"hard\", mean = 0.3, sd = 0.2 }, \
                { name = \"dirt\", mean = 0.7, sd = 0.4 } ]\nsigma_b = { half_normal = 0.3 }\n\
                log_lambda = { mean = -4.60517, sd = 1.0 }\n";
    std::fs::write(priors.path(), text).expect("a writable file");
    let answer = |edges: &str, runs: &str| {
        let priors = priors.path().display();
        let asked = format!("{edges} --segments {runs} --group machine --priors {priors} --json");
        support::json(&lifedata(&folder, &asked))
    };
    let csv = answer("changing_exposure/edges.csv", "changing_exposure/runs.csv");
    let parquet = answer(
        "parquet/edges_pandas.parquet",
        "parquet/runs_pandas.parquet",
    );
    assert_eq!(parquet, csv);
}

/// datasets/published/insulating_fluid.csv, and the same as polars wrote it.
#[test]
fn a_life_table_gives_the_same_answer_from_parquet() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"));
    let answer = |file: &str| {
        let asked = format!("{file} --covariates log_kv --json");
        support::json(&lifedata(folder, &asked))
    };
    assert_eq!(
        answer("tests/reference/parquet/lives_polars.parquet"),
        answer("datasets/published/insulating_fluid.csv")
    );
}

#[test]
fn a_fault_in_a_parquet_table_is_named_by_row_and_column() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    large(folder.path(), true);
    as_parquet(folder.path(), "edges.parquet");
    as_parquet(folder.path(), "runs.parquet");
    let asked = "edges.parquet --segments runs.parquet --group machine --priors priors.toml";
    let output = lifedata(folder.path(), asked);
    assert_eq!(status(&output), 4);
    let told = said(&output);
    assert!(
        told.contains("runs.parquet: row 7, column \"hours\": found \"much"),
        "{told}"
    );
    let whole = std::fs::read(folder.path().join("runs.parquet")).expect("a file");
    std::fs::write(
        folder.path().join("runs.parquet"),
        &whole[..whole.len() / 2],
    )
    .expect("a file");
    let output = lifedata(folder.path(), asked);
    assert_eq!(status(&output), 4);
    let told = said(&output);
    assert!(
        told.contains("runs.parquet: this Parquet file is damaged or was cut off"),
        "{told}"
    );
    assert!(!told.contains("panic"), "{told}");
}
