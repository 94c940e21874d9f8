//! Outputs that are not as published.

use super::{DEMO, changed, demo, fault, printed};
use serde_json::{Value, json as value};

fn without(output: &Value, place: &str, field: &str) -> Value {
    changed(output, |output| {
        let object = output.pointer_mut(place).and_then(Value::as_object_mut);
        object.expect(place).remove(field).expect(field);
    })
}

fn with(output: &Value, place: &str, field: &str, value: Value) -> Value {
    changed(output, |output| {
        output.pointer_mut(place).expect(place)[field] = value;
    })
}

#[test]
fn a_damaged_output_is_refused_and_the_place_named() {
    for (typed, estimate) in [
        ("interval", "/answers/0/interval"),
        ("due", "/answers/0/ahead/0/due/hours_left"),
        ("knives", "/answers/0/actions/0/waste"),
        ("job --hours 12", "/plan/cost"),
        ("sets --turnaround 14", "/answers/0/year/new_knives"),
        ("drift", "/answers/0"),
    ] {
        let typed = format!("{typed} --machine Heron").replace("knives --machine Heron", "knives");
        let whole = printed(DEMO, &typed).expect("an answer");
        assert_eq!(fault(&whole), None);
        let mut damaged = vec![
            ("", without(&whole, "", "seed")),
            ("", without(&whole, "", "decision")),
            ("/colour", with(&whole, "", "colour", value!("red"))),
            ("/answers/0", without(&whole, "/answers/0", "machine")),
            (
                "/answers/0",
                with(&whole, "/answers/0", "colour", value!("red")),
            ),
            (
                "/edges/used",
                with(&whole, "/edges", "used", value!("many")),
            ),
        ];
        if typed.starts_with("drift") {
            damaged.push((
                "/answers/0/worth",
                with(&whole, estimate, "worth", value!("much")),
            ));
        } else {
            damaged.push((estimate, without(&whole, estimate, "upper")));
            damaged.push((estimate, with(&whole, estimate, "lower", value!("5"))));
        }
        for (place, damaged) in damaged {
            let fault = fault(&damaged).unwrap_or_else(|| panic!("{typed}: {damaged:#}"));
            // The whole, or the place or something in it.
            let named = match place {
                "" => "at ''".to_string(),
                place => format!("at '{place}"),
            };
            assert!(fault.contains(&named), "{typed}: {fault}");
        }
    }
}

#[test]
fn another_decisions_answer_under_a_name_is_refused() {
    let due = demo("due");
    assert!(fault(&with(&due, "", "decision", value!("interval"))).is_some());
    assert!(fault(&with(&due, "", "decision", value!("weather"))).is_some());
    assert!(fault(&with(&due, "/keenspan", "schema", value!(1))).is_some());
}
