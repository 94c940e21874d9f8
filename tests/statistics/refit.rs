//! A fit begun from an earlier one against a fit from nothing: the same answer in fewer steps.
//!
//! Both are found so closely that only rounding tells them apart: what is allowed here is a millionth of the standard
//! deviation that the least certain parameter has, and of each weight ten times that.

use keenspan::lives::EdgeLife;
use keenspan::logbook::Rotor;
use keenspan::quantities::WearFraction;
use keenspan::simulation::{CrewPlan, crew};
use keenspan::wear::{EdgeRecords, Family, PriorPack, WearModel, WearModelParams, WearPosterior};
use linfa::traits::Fit;
use linfa::{DatasetBase, ParamGuard};
use serde_json::Value;

const ALLOWED: f64 = 1e-6;
const ALLOWED_OF_WEIGHTS: f64 = 1e-5;

fn lives(machines: usize, edges: usize) -> Vec<EdgeLife> {
    let plan = CrewPlan {
        edges,
        machines: vec![Rotor::Drum; machines],
        sets_per_machine: 2,
        grinders: vec!["Ada".to_string(), "the mill".to_string()],
        checking: 0.3,
        ..CrewPlan::default()
    };
    crew(7, &plan)
}

fn model(set: impl Fn(WearModelParams) -> WearModelParams) -> WearModel {
    let pack = PriorPack::common_practice().expect("the pack");
    let params = WearModel::params(&pack, WearFraction::new(1.3).expect("a fraction"));
    set(params.draws(1000)).check().expect("a model")
}

fn fit(model: &WearModel, lives: &[EdgeLife], earlier: Option<&WearPosterior>) -> WearPosterior {
    let (records, seen) = EdgeRecords::from_edges(lives, &[]);
    let dataset = DatasetBase::new(records, seen);
    let fitted = match earlier {
        Some(earlier) => model.fit_from(&dataset, earlier),
        None => model.fit(&dataset),
    };
    fitted.expect("a fit")
}

/// Every number below `value`, in order.
fn numbers(value: &Value) -> Vec<f64> {
    match value {
        Value::Array(items) => items.iter().flat_map(numbers).collect(),
        Value::Object(fields) => fields.values().flat_map(numbers).collect(),
        other => other.as_f64().into_iter().collect(),
    }
}

/// The point of expansion with all effects, its spreads, draws and their weights.
fn assert_same(one: &WearPosterior, other: &WearPosterior) {
    let written = |it: &WearPosterior| serde_json::to_value(it.save("")).expect("a model");
    let (ours, theirs) = (written(one), written(other));
    let near = |of: &str, ours: &Value, theirs: &Value, room: &dyn Fn(f64) -> f64| {
        let (ours, theirs) = (numbers(ours), numbers(theirs));
        assert_eq!(ours.len(), theirs.len(), "{of}");
        assert!(!ours.is_empty(), "{of}");
        for (one, other) in ours.iter().zip(&theirs) {
            assert!((one - other).abs() <= room(*other), "{of}: {one} {other}");
        }
    };
    let absolute = |_| ALLOWED;
    near("mode", &ours["mode"], &theirs["mode"], &absolute);
    let share = |spread: f64| ALLOWED * spread;
    near("spreads", &ours["spreads"], &theirs["spreads"], &share);
    let (rows, weights) = ("rows", "weights");
    let (ours, theirs) = (&ours["draws"], &theirs["draws"]);
    near(rows, &ours[rows], &theirs[rows], &absolute);
    let share = |weight: f64| ALLOWED_OF_WEIGHTS * weight.max(1e-6);
    near(weights, &ours[weights], &theirs[weights], &share);
}

#[test]
fn one_edge_more_gives_the_same_answer_in_fewer_steps() {
    // A crew, and a fleet with laws of their own for its machines.
    for (machines, edges) in [(3, 40), (24, 100)] {
        let (model, lives) = (model(|it| it), lives(machines, edges));
        let earlier = fit(&model, &lives[..edges - 1], None);
        let fresh = fit(&model, &lives, None);
        assert_eq!(fresh.is_of_fleet(), machines > 20);
        let refitted = fit(&model, &lives, Some(&earlier));
        assert_same(&refitted, &fresh);
        let (warm, cold) = (refitted.steps(), fresh.steps());
        assert!(warm < cold, "{machines} machines: {warm} and {cold} steps");
    }
}

#[test]
fn machines_and_sets_may_come_and_go() {
    let (model, lives) = (model(|it| it), lives(6, 13));
    // The second sets of three machines were not met by then, the first sets of two are gone since.
    let earlier = fit(&model, &lives[..9], None);
    let fresh = fit(&model, &lives[3..], None);
    let has = |fit: &WearPosterior, set: &String| fit.groupings()[1].levels.contains(set);
    let lacks = |one: &WearPosterior, other: &WearPosterior| {
        let levels = one.groupings()[1].levels.iter();
        levels.filter(|set| !has(other, set)).count()
    };
    assert_eq!((lacks(&fresh, &earlier), lacks(&earlier, &fresh)), (3, 2));
    assert_same(&fit(&model, &lives[3..], Some(&earlier)), &fresh);
}

#[test]
fn a_fit_of_another_model_does_no_harm() {
    let (usual, lives) = (model(|it| it), lives(3, 30));
    let fresh = fit(&usual, &lives, None);
    // With another law of life nothing is known of this one: it is begun from nothing, to the last bit.
    let of_other_law = fit(&model(|it| it.family(Family::Lognormal)), &lives, None);
    let begun = fit(&usual, &lives, Some(&of_other_law));
    assert_eq!(begun.save(""), fresh.save(""));
    // The grader's error was held elsewhere.
    let held = fit(&model(|it| it.eye_error(0.5)), &lives, None);
    assert_same(&fit(&usual, &lives, Some(&held)), &fresh);
}
