//! The long studies: uniform ranks for every family and both ways of drawing; coverage for crews of three
//! sizes; crews that the model is wrong about. They assert nothing; their tables are for people.

use super::as_the_model_says;
use super::fit::{Way, posterior};
use super::known_lives;
use super::study::run;
use super::table::markdown;
use super::worlds::World;
use super::{SHORT_CHAINS, plan};
use keenspan::simulation::{CrewPlan, DirtSlips, Truth};
use keenspan::wear::{Family, Method};
use std::fmt::Write;
use std::path::Path;
use std::time::Instant;

const SIZES: [usize; 3] = [6, 24, 120];
/// Edges of the crews that the model is wrong about.
const WRONG: usize = 24;
/// Edges of the crews whose ranks are looked at, by weighted draws and by chains, and how many crews.
const RANKED: [(Method, usize, u64); 2] = [(Method::Laplace, 24, 500), (Method::Nuts, 6, 200)];
/// Edges of the tables of known lives, and how many tables, by each way of drawing.
const KNOWN: usize = 18;
const TABLES: [(Method, u64); 3] = [
    (Method::Auto, 1000),
    (Method::Laplace, 1000),
    (Method::Nuts, 400),
];
const FAMILIES: [Family; 3] = [Family::Weibull, Family::Lognormal, Family::Loglogistic];

/// A study: its title, the crews that it asks for, and how to come by its table.
struct Long {
    title: String,
    crews: u64,
    table: Box<dyn Fn(&str, u64) -> String>,
}

/// Crews of this plan, fitted by the program's own choice.
fn coverage(title: String, plan: CrewPlan, crews: u64) -> Long {
    let world = World::new(plan);
    let way = Way::of(Method::Auto, Family::Weibull);
    of_crews(title, world, way, crews)
}

fn of_crews(title: String, world: World, way: Way, crews: u64) -> Long {
    let learned = world.learned();
    let quantities = [learned.clone(), World::asked()].concat();
    let table = move |title: &str, crews: u64| {
        let invent = |seed| world.crew(seed);
        let study = run(0..crews, &quantities, &invent, &posterior(way));
        markdown(title, &study, &learned)
    };
    Long {
        title,
        crews,
        table: Box::new(table),
    }
}

fn of_known_lives(title: String, way: Way, crews: u64) -> Long {
    let table = move |title: &str, crews: u64| {
        let invent = known_lives::invent(way.family, KNOWN);
        let fit = known_lives::posterior(way);
        let study = run(0..crews, &known_lives::LEARNED, &invent, &fit);
        markdown(title, &study, &known_lives::LEARNED)
    };
    Long {
        title,
        crews,
        table: Box::new(table),
    }
}

fn ranks() -> Vec<Long> {
    let mut studies = Vec::new();
    for family in FAMILIES {
        let way = |method| Way {
            chains: SHORT_CHAINS,
            ..Way::of(method, family)
        };
        for (method, edges, crews) in RANKED {
            let truth = Truth {
                family,
                ..as_the_model_says()
            };
            let world = World::new(plan(edges, truth));
            let title = format!("Ranks, {family:?}, {method:?}, {edges} edges");
            studies.push(of_crews(title, world, way(method), crews));
        }
        for (method, tables) in TABLES {
            let title = format!("Ranks, {family:?}, {method:?}, {KNOWN} known lives");
            studies.push(of_known_lives(title, way(method), tables));
        }
    }
    studies
}

fn sizes() -> Vec<Long> {
    let study = |edges: usize| {
        let title = format!("Coverage, {edges} edges, pulled on schedule and graded");
        coverage(title, plan(edges, as_the_model_says()), 1000)
    };
    SIZES.into_iter().map(study).collect()
}

fn wrong_models() -> Vec<Long> {
    let with = |change: &dyn Fn(&mut CrewPlan)| {
        let mut plan = plan(WRONG, as_the_model_says());
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
            "an eye that sees 1 over 1.15 of the wear",
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
    let titled = |(title, plan): (&str, CrewPlan)| {
        coverage(format!("Wrong, {WRONG} edges, {title}"), plan, 500)
    };
    let noticed = |edges: usize| {
        let title = format!("Wrong, {edges} edges, noticed dull, called late, struck");
        coverage(title, plan(edges, Truth::stated()), 500)
    };
    let wrong = wrong.into_iter().map(titled);
    wrong.chain([WRONG, 120].map(noticed)).collect()
}

fn studies() -> Vec<Long> {
    [sizes(), ranks(), wrong_models()]
        .into_iter()
        .flatten()
        .collect()
}

/// `CALIBRATION_ONLY` names a part of the titles to run, `CALIBRATION_CREWS` the most crews of each study.
#[test]
fn tables() {
    if std::env::var("CALIBRATION").is_ok_and(|mode| mode == "long") {
        let only = std::env::var("CALIBRATION_ONLY").unwrap_or_default();
        let most = std::env::var("CALIBRATION_CREWS").ok();
        let most: Option<u64> = most.map(|most| most.parse().expect("a number of crews"));
        for Long {
            title,
            crews,
            table,
        } in studies()
        {
            if title.contains(&only) {
                let begun = Instant::now();
                let mut text = table(&title, most.map_or(crews, |most| crews.min(most)));
                let seconds = begun.elapsed().as_secs_f64();
                let version = env!("CARGO_PKG_VERSION");
                let _ = writeln!(
                    text,
                    "\nVersion {version}, crews by seeds from 0 on, {seconds:.0} s."
                );
                println!("{text}");
                write(&title, &text);
            }
        }
    }
}

/// A file for each study, as soon as it is done.
fn write(title: &str, text: &str) {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("calibration");
    std::fs::create_dir_all(&folder).expect("a folder");
    let plain = |c: char| if c.is_alphanumeric() { c } else { '-' };
    let name: String = title.to_lowercase().chars().map(plain).collect();
    let name = name.replace("--", "-");
    std::fs::write(folder.join(format!("{name}.md")), text).expect("written");
}

/// Every study by weighted draws runs, if with two crews: the long mode does not rot.
#[test]
fn every_study_runs() {
    for Long { title, table, .. } in studies() {
        if !title.contains("Nuts") && !title.contains("120") {
            let text = table(&title, 2);
            assert!(
                text.contains("| location |") || text.contains("| log_life |"),
                "{text}"
            );
        }
    }
}
