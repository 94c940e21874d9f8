//! The published schema: what is printed is what it says, and it can tell when that is not so.

use crate::support::{Shop, answer, json, keenspan, said, status};
use boon::{Compiler, SchemaIndex, Schemas};
use serde_json::{Value, json as value};
use std::collections::BTreeSet;
use std::process::Output;
use std::sync::LazyLock;

const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/datasets/demo-riverbank");
const MODEL: &str = concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/models/demo-riverbank.model.json"
);
/// Where the schema stands for the validator, which fetches nothing.
const PLACE: &str = "urn:keenspan:json:2";

/// Read once; a schema that is none by the draft that it names stops every test here.
static SCHEMA: LazyLock<(Schemas, SchemaIndex)> = LazyLock::new(|| {
    let mut compiler = Compiler::new();
    let published = published();
    compiler
        .add_resource(PLACE, published)
        .expect("a place for the schema");
    let mut schemas = Schemas::new();
    let index = compiler.compile(PLACE, &mut schemas);
    let index = index.unwrap_or_else(|error| panic!("no JSON Schema: {error:#}"));
    (schemas, index)
});

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

/// Every decision, with options.
const DECISIONS: [&str; 22] = [
    "interval",
    "interval --rule 40 --wood willow --dirt gritty --state frozen",
    "interval --try waiting_share=0.5 --try interval=30",
    "interval --try dirt=dirty --try wood=oak",
    "interval --units metric --seed 7",
    "due",
    "due --dirt gritty",
    "due --wood willow --state frozen",
    "knives",
    "knives --units metric",
    "job --machine MACHINE --hours 12 --dirt gritty",
    "job --machine MACHINE --hours 3 --risk 1 --fresh",
    "sets --turnaround 14 --hours-per-year 350",
    "sets --turnaround 30 --risk 0.2 --hours-per-year 400",
    "sets --turnaround 14 --at 40 --hours-per-year 400",
    "drift",
    "drift --seed 3",
    "replacement --shape 2.5 --life 1000 --planned 1 --failure 5",
    "replacement --shape 3 --life 80 --planned 5 --failure 4",
    "replacement --distribution lognormal --sigma 0.5 --life 80 --planned 1 --failure 4",
    "replacement --shape 3 --life 80 --planned 1 --failure 4 --strike-rate 0.01 --strike 9",
    "replacement --shape 3 --life 80 --planned 0 --failure 4",
];

/// Asks every decision of one log, jobs of one machine, and returns which answered.
fn every_decision(log: &str, machine: &str) -> BTreeSet<String> {
    let typed = DECISIONS.iter().map(|typed| typed.replace("MACHINE", machine));
    let told = typed.filter_map(|typed| printed(log, &typed));
    told.map(|output| output["decision"].as_str().expect("a name").to_string())
        .collect()
}

const ALL: [&str; 7] = [
    "drift",
    "due",
    "interval",
    "job",
    "knives",
    "replacement",
    "sets",
];

/// The demo's output of one command from its saved fit.
fn demo(typed: &str) -> Value {
    printed(DEMO, &format!("{typed} --model {MODEL}")).expect("an answer")
}

#[test]
fn every_decision_on_the_demo_is_as_published() {
    let told = every_decision(DEMO, "Heron");
    assert!(told.iter().eq(ALL), "{told:?}");
}

#[test]
fn every_decision_on_a_log_without_a_row_is_as_published() {
    let shop = Shop::new();
    let told = every_decision(&shop.log().display().to_string(), "big-drum");
    assert!(told.iter().eq(ALL), "{told:?}");
    let due = printed(&shop.log().display().to_string(), "due").expect("an answer");
    assert!(due["answers"][0]["edge"].is_null() && due["answers"][0]["no_mark_because"].is_string());
}

#[test]
fn every_decision_on_a_log_that_broke_something_is_as_published() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/datasets/broke-it/");
    for log in ["inch-mark-closes-a-quote", "inch-mark-in-the-same-row"] {
        let told = every_decision(&format!("{folder}{log}"), "big");
        assert!(told.iter().eq(ALL), "{log}: {told:?}");
    }
}

#[test]
fn every_decision_on_a_small_log_with_a_strike_and_a_set_thrown_away_is_as_published() {
    let shop = Shop::at_work();
    for row in [
        "run --hours 9 --wood oak --dirt dirty --date 2026-03-03",
        "event flipped --set A --meter 1290 --date 2026-03-09 --grade dull",
        "event struck --set A --meter 1300 --date 2026-03-11",
        "set --name B --knives 4 --edges 2",
        "event discarded --set B --date 2026-03-12",
    ] {
        let typed: Vec<&str> = row.split(' ').collect();
        let output = shop.run(&[&["add"], typed.as_slice()].concat());
        assert_eq!(status(&output), 0, "{row}: {}", said(&output));
    }
    let log = shop.log().display().to_string();
    let told = every_decision(&log, "big-drum");
    assert!(told.iter().eq(ALL), "{told:?}");
    let knives = printed(&log, "knives").expect("an answer");
    assert_eq!(knives["answers"][1]["discarded"], true);
    assert!(knives["answers"][1]["stock"].is_null());
}

#[test]
fn where_no_planned_change_pays_the_answers_are_as_published() {
    let shop = Shop::at_work();
    let costs = "key,value\nfield_delay_minutes,0\nwaiting_share,0\nstrike_damage,0\nfuel_litres_per_hour,0.001\n";
    shop.write("costs.csv", costs);
    let log = shop.log().display().to_string();
    every_decision(&log, "big-drum");
    let interval = printed(&log, "interval").expect("an answer");
    let answer = &interval["answers"][0];
    assert!(answer["interval"].is_null() && answer["rule"].is_null());
    assert!(answer["cost_per_hour_when_called"].is_number());
}

/// Priors for the invented edges of tests/reference/changing_exposure.
const PRIORS: &str = "log_eta = { mean = 2.7, sd = 0.6 }
log_kappa = { mean = 0.7, sd = 0.3 }
beta = [ { name = \"hard\", mean = 0.3, sd = 0.2 }, { name = \"dirt\", mean = 0.7, sd = 0.4 }, { name = \"frozen\", mean = 0.1, sd = 0.2 } ]
sigma_b = { half_normal = 0.3 }
log_lambda = { mean = -4.6, sd = 1.0 }
";

#[test]
fn commands_that_decide_nothing_print_what_is_published_of_them() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let out = |name: &str| folder.path().join(name).display().to_string();
    let tables = concat!(env!("CARGO_MANIFEST_DIR"), "/datasets/published");
    let exposure = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/changing_exposure");
    std::fs::write(out("priors.toml"), PRIORS).expect("a writable folder");
    for typed in [
        format!(
            "new {} --machine big --rotor drum --knives 4 --edges 2 --meter 1200",
            out("log")
        ),
        "verify".to_string(),
        "fit --posterior laplace".to_string(),
        format!("report --out {}", out("report.html")),
        format!("card --out {} --model {MODEL}", out("card.html")),
        format!("card --set Red --out {} --model {MODEL}", out("set.html")),
        format!("man --out {}", out("man")),
        "completions bash".to_string(),
        format!("lifedata {tables}/simulated_units_stopped_at_500.csv"),
        format!("lifedata {tables}/no_failures.csv"),
        format!(
            "lifedata {exposure}/edges.csv --segments {exposure}/runs.csv --group machine \
             --priors {} --posterior laplace",
            out("priors.toml")
        ),
    ] {
        let output = printed(DEMO, &typed).expect("an answer");
        let card = typed.starts_with("card");
        assert_eq!(output["decision"].is_string(), card, "{typed}");
    }
}

/// An output with one thing changed.
fn changed(output: &Value, change: impl FnOnce(&mut Value)) -> Value {
    let mut output = output.clone();
    change(&mut output);
    output
}

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
        let whole = demo(&typed);
        assert_eq!(fault(&whole), None);
        let mut damaged = vec![
            ("", without(&whole, "", "seed")),
            ("", without(&whole, "", "decision")),
            ("", with(&whole, "", "colour", value!("red"))),
            ("/answers/0", without(&whole, "/answers/0", "caveats")),
            ("/answers/0", with(&whole, "/answers/0", "colour", value!("red"))),
            ("/edges/used", with(&whole, "/edges", "used", value!("many"))),
        ];
        if typed.starts_with("drift") {
            damaged.push((estimate, with(&whole, estimate, "worth", value!("much"))));
        } else {
            damaged.push((estimate, without(&whole, estimate, "upper")));
            damaged.push((estimate, with(&whole, estimate, "lower", value!("5"))));
        }
        for (place, damaged) in damaged {
            let fault = fault(&damaged).unwrap_or_else(|| panic!("{typed}: {damaged:#}"));
            assert!(fault.contains(&format!("[I#{place}")), "{typed}: {fault}");
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

#[test]
fn every_field_is_described_and_every_definition_used() {
    let schema = published();
    let text = schema.to_string();
    let definitions = schema["$defs"].as_object().expect("definitions");
    for name in definitions.keys() {
        let used = format!("\"#/$defs/{name}\"");
        assert!(text.contains(&used), "{name} is not used");
    }
    let mut open = Vec::new();
    undescribed("", &schema, &mut open);
    assert!(open.is_empty(), "no description: {open:?}");
}

/// Where a property stands that says neither what it is nor which one word it must be.
fn undescribed(place: &str, schema: &Value, found: &mut Vec<String>) {
    for (key, value) in schema.as_object().into_iter().flatten() {
        let place = format!("{place}/{key}");
        let properties = (key == "properties" && !place.contains("/if/")).then_some(value);
        for (name, property) in properties.and_then(Value::as_object).into_iter().flatten() {
            let told = ["description", "const", "enum"];
            if !told.iter().any(|told| property.get(told).is_some()) {
                found.push(format!("{place}/{name}"));
            }
        }
        undescribed(&place, value, found);
    }
    for value in schema.as_array().into_iter().flatten() {
        undescribed(place, value, found);
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
