//! The published schema: what is printed is what it says, and it can tell when that is not so.

mod itself;
mod outputs;
mod refused;

use crate::support::{json, keenspan, said, status};
use boon::{CompileError, Compiler, SchemaIndex, Schemas};
use serde_json::Value;
use std::process::Output;
use std::sync::LazyLock;

const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/datasets/demo-riverbank");
const MODEL: &str = concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/models/demo-riverbank.model.json"
);
/// Where the schema stands for the validator, which fetches nothing.
const PLACE: &str = "urn:keenspan:json:2";

/// Read once, for all outputs of all tests.
static SCHEMA: LazyLock<(Schemas, SchemaIndex)> =
    LazyLock::new(|| compiled(published()).unwrap_or_else(|error| panic!("{error}")));

/// Held against the draft that it names, and every reference in it resolved.
fn compiled(schema: Value) -> Result<(Schemas, SchemaIndex), String> {
    let words = |error: CompileError| format!("{error:#}");
    let mut compiler = Compiler::new();
    let mut schemas = Schemas::new();
    compiler.add_resource(PLACE, schema).map_err(words)?;
    let index = compiler.compile(PLACE, &mut schemas).map_err(words)?;
    Ok((schemas, index))
}

fn published() -> Value {
    let output = keenspan(&["--schema"]);
    assert_eq!(status(&output), 0, "{}", said(&output));
    serde_json::from_slice(&output.stdout).expect("JSON")
}

/// What speaks against an output; `None` where it is as published.
fn fault(output: &Value) -> Option<String> {
    let (schemas, index) = &*SCHEMA;
    let outcome = schemas.validate(output, *index);
    outcome.err().map(|fault| format!("{fault:#}"))
}

/// Stops a test whose output is not as published.
pub fn holds(output: &Value) {
    if let Some(fault) = fault(output) {
        panic!("{fault}\n{output:#}");
    }
}

/// The output of one command on one log, held against the schema (`json` does it); where there is no answer
/// there is no output, and a reason.
fn printed(log: &str, typed: &str) -> Option<Value> {
    let arguments: Vec<&str> = typed.split(' ').collect();
    let output: Output = keenspan(&[&["--json", "--log", log], arguments.as_slice()].concat());
    if output.stdout.is_empty() {
        assert!(status(&output) > 2, "{typed} on {log}: {}", said(&output));
        return None;
    }
    Some(json(&output))
}

/// The demo's output of one command from its saved fit.
fn demo(typed: &str) -> Value {
    printed(DEMO, &format!("{typed} --model {MODEL}")).expect("an answer")
}

/// An output with one thing changed.
fn changed(output: &Value, change: impl FnOnce(&mut Value)) -> Value {
    let mut output = output.clone();
    change(&mut output);
    output
}
