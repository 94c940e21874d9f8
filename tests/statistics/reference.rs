//! Reading the reference files.

use keenspan::wear::{Distribution, Family, LifeTable, Lifetime};
use serde_json::Value;
use std::path::PathBuf;

pub fn path(relative: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(relative)
}

pub fn json(relative: &str) -> Value {
    let text = std::fs::read_to_string(path(relative)).expect("reference file");
    serde_json::from_str(&text).expect("reference file is JSON")
}

/// A number, or a string of many digits.
pub fn number(value: &Value) -> f64 {
    match value {
        Value::String(text) => text.parse().expect("digits"),
        other => other.as_f64().expect("a number"),
    }
}

pub fn numbers(value: &Value) -> Vec<f64> {
    value
        .as_array()
        .expect("a list")
        .iter()
        .map(number)
        .collect()
}

pub fn family(value: &Value) -> Family {
    let word = value.as_str().expect("a family");
    *Family::ALL
        .iter()
        .find(|family| family.word() == word)
        .expect("a known family")
}

pub fn distribution(family_word: &Value, fixed_shape: &Value) -> Distribution {
    Distribution {
        family: family(family_word),
        fixed_sigma: fixed_shape.as_f64().map(|shape| 1.0 / shape),
    }
}

/// A published life table, by the plain rules of its columns.
pub fn life_table(relative: &str) -> LifeTable {
    let mut reader = csv::Reader::from_path(path(relative)).expect("table");
    let headers = reader.headers().expect("header").clone();
    let mut table = LifeTable {
        covariate_names: headers.iter().skip(3).map(String::from).collect(),
        ..LifeTable::default()
    };
    for row in reader.records() {
        let cells: Vec<f64> = row
            .expect("row")
            .iter()
            .map(|cell| cell.parse().expect("number"))
            .collect();
        table.lives.push(Lifetime {
            lower: cells[0],
            upper: cells[1],
            weight: cells[2],
            entry: 0.0,
        });
        table.covariates.push(cells[3..].to_vec());
    }
    table
}
