//! The long studies: crews of three sizes, and crews that the model is wrong about. They assert nothing;
//! their tables are for people.

use super::fit::posterior;
use super::ranks::bonferroni;
use super::study::{Quantity, run};
use super::table::markdown;
use super::worlds::World;
use super::{Truth, as_the_model_says};
use keenspan::lives::Rotor;
use keenspan::simulation::{CrewPlan, DirtSlips};
use keenspan::wear::Family;
use keenspan::wear::Method;
use std::path::Path;

const CREWS: u64 = 1000;
const SIZES: [usize; 3] = [6, 24, 120];
/// Edges of the crews that the model is wrong about.
const WRONG: usize = 24;

/// Parameters, and log life as owners ask for it.
fn quantities(world: &World) -> Vec<Quantity> {
    let mut quantities = Quantity::each(world.learned());
    quantities.extend([
        Quantity::sum(
            "life, reground, clean",
            &[("location", 1.0), ("reground", 1.0)],
        ),
        Quantity::sum(
            "life, reground, dirty",
            &[("location", 1.0), ("reground", 1.0), ("dirty", -1.0)],
        ),
        Quantity::sum(
            "life, disc, reground, clean",
            &[("location", 1.0), ("disc", 1.0), ("reground", 1.0)],
        ),
    ]);
    quantities
}

fn plan(edges: usize, truth: Truth) -> CrewPlan {
    CrewPlan {
        edges,
        machines: vec![Rotor::Drum, Rotor::Disc],
        sets_per_machine: 2,
        truth,
        ..CrewPlan::default()
    }
}

fn studies() -> Vec<(String, CrewPlan)> {
    let mut studies = Vec::new();
    for edges in SIZES {
        studies.push((
            format!("{edges} edges, pulled on schedule and graded"),
            plan(edges, as_the_model_says()),
        ));
        studies.push((
            format!("{edges} edges, noticed, called late, struck"),
            plan(edges, Truth::stated()),
        ));
    }
    studies.extend(wrong_models());
    studies
}

fn wrong_models() -> Vec<(String, CrewPlan)> {
    let with = |change: &dyn Fn(&mut CrewPlan)| {
        let mut plan = plan(WRONG, Truth::stated());
        change(&mut plan);
        plan
    };
    let slips = |one_cleaner, as_clean| DirtSlips {
        one_cleaner,
        as_clean,
    };
    let wrong: [(&str, CrewPlan); 6] = [
        (
            "an eye that sees 1.15 times the wear",
            with(&|plan| plan.truth.eye_bias = 1.15),
        ),
        (
            "an eye that sees 1/1.15 of the wear",
            with(&|plan| plan.truth.eye_bias = 1.0 / 1.15),
        ),
        (
            "lognormal lives fitted as Weibull",
            with(&|plan| plan.truth.family = Family::Lognormal),
        ),
        (
            "log-logistic lives fitted as Weibull",
            with(&|plan| plan.truth.family = Family::Loglogistic),
        ),
        (
            "3 runs in 10 written one class cleaner",
            with(&|plan| plan.dirt_slips = slips(0.3, 0.0)),
        ),
        (
            "2 runs in 10 written clean",
            with(&|plan| plan.dirt_slips = slips(0.0, 0.2)),
        ),
    ];
    let titled = |(title, plan): (&str, CrewPlan)| (format!("{WRONG} edges, {title}"), plan);
    wrong.into_iter().map(titled).collect()
}

fn study(title: &str, plan: CrewPlan, crews: u64) -> String {
    let world = World::new(plan).drawing_all();
    let invent = |seed| world.crew(seed);
    let outcomes = run(
        0..crews,
        &quantities(&world),
        &invent,
        &posterior(Method::Auto),
    );
    markdown(title, &outcomes, &bonferroni)
}

#[test]
fn tables() {
    if std::env::var("CALIBRATION").is_ok_and(|mode| mode == "long") {
        let mut all = String::new();
        for (title, plan) in studies() {
            let table = study(&title, plan, CREWS);
            println!("{table}");
            all.push_str(&table);
            all.push('\n');
        }
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("calibration");
        std::fs::create_dir_all(&folder).expect("a folder");
        std::fs::write(folder.join("tables.md"), all).expect("written");
    }
}

/// Every study runs, if with few crews: the long mode does not rot.
#[test]
fn every_study_runs() {
    for (title, plan) in studies() {
        let rows = study(&title, plan, 2).lines().count();
        assert_eq!(rows, 4 + 16 + 3, "{title}");
    }
}
