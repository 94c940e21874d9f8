//! The schema as a schema, and how it is come by.

use super::{PLACE, changed, compiled, published};
use crate::support::{answer, keenspan, said, status};
use serde_json::{Value, json as value};

#[test]
fn the_schema_is_one_by_the_draft_that_it_names() {
    let schema = published();
    assert_eq!(
        schema["$schema"],
        "https://json-schema.org/draft/2020-12/schema"
    );
    assert_eq!(schema["$id"], PLACE);
    assert!(compiled(schema.clone()).is_ok());
    for (place, wrong) in [
        (
            "/$defs/estimate/properties/lower",
            value!({ "type": "figure" }),
        ),
        ("/$defs/estimate/required", value!("lower")),
        (
            "/$defs/way/properties/at_best",
            value!({ "$ref": "#/$defs/nowhere" }),
        ),
    ] {
        let wrong = changed(&schema, |schema| {
            *schema.pointer_mut(place).expect(place) = wrong;
        });
        assert!(compiled(wrong).is_err(), "{place}");
    }
}

#[test]
fn every_field_is_described_and_every_definition_used() {
    let schema = published();
    let text = schema.to_string();
    let definitions = schema["$defs"].as_object().expect("definitions");
    for name in definitions.keys() {
        let used = format!("\"#/$defs/{name}\"");
        assert!(text.contains(&used), "{name} is not used");
    }
    let mut wanting = Vec::new();
    look_through("", &schema, &mut wanting);
    assert!(wanting.is_empty(), "{wanting:#?}");
}

/// Where a property stands that says neither what it is nor which one word it must be, and where an object
/// that would let a field pass that it does not know. The head is closed with the whole.
fn look_through(place: &str, schema: &Value, found: &mut Vec<String>) {
    let lets_pass = |of: &Value| of.get("properties").is_some() && of.get("type").is_some();
    let closed = ["additionalProperties", "unevaluatedProperties"];
    if lets_pass(schema)
        && !closed.iter().any(|closed| schema.get(closed).is_some())
        && place != "/$defs/head"
    {
        found.push(format!("{place} is open"));
    }
    for (key, value) in schema.as_object().into_iter().flatten() {
        let place = format!("{place}/{key}");
        let properties = (key == "properties" && !place.contains("/if/")).then_some(value);
        for (name, property) in properties.and_then(Value::as_object).into_iter().flatten() {
            let told = ["description", "const", "enum"];
            if !told.iter().any(|told| property.get(told).is_some()) {
                found.push(format!("{place}/{name} is not described"));
            }
        }
        look_through(&place, value, found);
    }
    for value in schema.as_array().into_iter().flatten() {
        look_through(place, value, found);
    }
}

#[test]
fn the_schema_stands_alone_and_help_names_it() {
    assert!(answer(&keenspan(&["--help"])).contains("--schema"));
    assert!(answer(&keenspan(&["completions", "bash"])).contains("--schema"));
    let with_command = keenspan(&["--schema", "due"]);
    assert_eq!(status(&with_command), 2);
    assert!(said(&with_command).contains("type it alone"));
    let nothing = keenspan(&["--json"]);
    assert_eq!(status(&nothing), 2);
    assert!(said(&nothing).contains("a command is missing"));
}
