//! Fleets by one pass over columns, against samplers: of other software, and our own on the same tables.
//!
//! Sources: tests/reference/changing_exposure/posterior.json (two million weighted draws), and
//! tests/reference/fifty_machines/posterior_means.json (six runs of a sampler); their READMEs say how they were made.

use crate::reference::{json, number, numbers, path};
use approx::assert_relative_eq;
use keenspan::lives::{EdgeHours, fleet_hours, run_lives};
use keenspan::logbook::{EdgeRuns, read_edge_hours, read_edge_runs};
use keenspan::simulation::{FLEET_COVARIATES, FleetMachine, FleetPlan};
use keenspan::wear::{
    EdgeRecords, FleetFit, FleetRow, Method, SampleSettings, StrikesMet, WholeFit, WholePriors,
};

/// The priors that both references were made with.
const PRIORS: &str = include_str!("../reference/changing_exposure/priors.toml");

fn priors() -> WholePriors {
    WholePriors::parse(PRIORS).expect("priors")
}

fn fitted(edges: EdgeHours) -> FleetFit {
    FleetFit::new(fleet_hours(edges), &priors(), &|| {}).expect("a fit")
}

fn of_folder(folder: &str) -> FleetFit {
    let file = |name: &str| path(&format!("tests/reference/{folder}/{name}.csv"));
    let (edges, runs) = (file("edges"), file("runs"));
    let table = read_edge_hours(edges.as_ref(), runs.as_ref(), Some("machine"), &|_| {});
    fitted(table.expect("tables"))
}

fn row<'f>(fit: &'f FleetFit, name: &str) -> &'f FleetRow {
    let row = fit.rows().iter().find(|row| row.name == name);
    row.expect("a parameter")
}

/// Three machines with 88 dulled edges are few for a normal law: a tenth of a standard deviation is what it is good for,
/// and a third for the shape, whose law leans. The error falls as the root of the edges: at 20,000 it is a fiftieth.
#[test]
fn three_machines_come_near_the_weighted_draws() {
    let fit = of_folder("changing_exposure");
    let reference = json("tests/reference/changing_exposure/posterior.json");
    let theirs = &reference["importance_sampling"]["posterior"];
    assert_eq!(fit.rows().len(), 10);
    for ours in fit.rows() {
        let key = match ours.name.strip_prefix("b_") {
            Some(level) => format!("b[{level}]"),
            None => ours.name.clone(),
        };
        let (mean, sd) = (number(&theirs[&key]["mean"]), number(&theirs[&key]["sd"]));
        let room = if key == "log_kappa" { 0.33 } else { 0.1 };
        assert!((ours.mean - mean).abs() < room * sd, "{ours:?} for {mean}");
        assert_relative_eq!(ours.sd, sd, max_relative = 0.03);
        // Further out the law of three machines' spread is told as it is, the others' as normal laws.
        for (quantile, name) in ours.quantiles.iter().zip(["q5", "q50", "q95"]) {
            assert!(
                (quantile - number(&theirs[&key][name])).abs() < (0.2 + room) * sd,
                "{ours:?} {name}"
            );
        }
    }
}

/// The six runs agree among themselves to their standard errors; the normal law is good to a twentieth of a standard
/// deviation here (see above), as are few draws.
#[test]
fn fifty_machines_agree_with_six_runs_of_a_sampler() {
    let fit = of_folder("fifty_machines");
    let theirs = json("tests/reference/fifty_machines/posterior_means.json");
    let names = [
        "log_eta",
        "log_kappa",
        "beta_hard",
        "beta_dirt",
        "beta_frozen",
        "sigma_b",
        "log_lambda",
    ];
    let keys = [
        "log_eta",
        "log_kappa",
        "beta0",
        "beta1",
        "beta2",
        "sigma_b",
        "log_lambda",
    ];
    for (name, key) in names.iter().zip(keys) {
        let known = numbers(&theirs["posterior_mean"][key]);
        let ours = row(&fit, name);
        let room = 3.0 * known[1] + 0.05 * ours.sd;
        assert!(
            (ours.mean - known[0]).abs() < room,
            "{ours:?} for {known:?}"
        );
    }
    assert!(fit.is_trustworthy(), "{:?}", fit.fall());
    assert!(
        fit.fall().iter().all(|fall| (fall - 2.0).abs() < 0.1),
        "{:?}",
        fit.fall()
    );
}

/// The general likelihood, run by run, weighted draws: another way to the same posterior.
#[test]
fn fifty_machines_agree_with_our_own_draws() {
    let file = |name: &str| path(&format!("tests/reference/fifty_machines/{name}.csv"));
    let table = read_edge_runs(
        file("edges").as_ref(),
        file("runs").as_ref(),
        Some("machine"),
    );
    let table = table.expect("tables");
    let fit = fitted(EdgeHours::of(&table));
    let drawn = drawn(&table);
    assert_eq!(drawn.rows().len(), fit.rows().len());
    for (name, summary) in drawn.rows() {
        let ours = row(&fit, &name);
        let room = 4.0 * summary.errors[0] + 0.05 * summary.spread;
        assert!(
            (ours.mean - summary.mean).abs() < room,
            "{ours:?} for {summary:?}"
        );
        assert_relative_eq!(ours.sd, summary.spread, max_relative = 0.15);
    }
    let groups: Vec<(String, usize)> = table
        .levels
        .iter()
        .map(|name| (name.clone(), 100))
        .collect();
    for (ours, theirs) in fit.groups().iter().zip(drawn.groups(&groups)) {
        assert_eq!((&ours.name, ours.edges), (&theirs.name, theirs.edges));
        assert_relative_eq!(ours.median.point, theirs.median.point, max_relative = 0.01);
        assert_relative_eq!(ours.median.lower, theirs.median.lower, max_relative = 0.04);
        assert_relative_eq!(
            ours.effect.upper,
            theirs.effect.upper,
            epsilon = 0.03,
            max_relative = 0.0
        );
    }
}

/// What is true of an invented fleet lies where the posterior says: of eighty machines' effects some nine in ten within
/// their bounds, and each shared parameter within four standard deviations.
#[test]
fn an_invented_fleet_is_found_again_by_any_number_of_threads() {
    let plan = FleetPlan {
        machines: 80,
        edges_per_machine: 60,
        seed: 5,
        ..FleetPlan::default()
    };
    let (machines, edges) = invented(&plan);
    let fit = fitted(edges.clone());
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(1)
        .build()
        .expect("a thread");
    assert_eq!(pool.install(|| fitted(edges)), fit);
    let truth = plan.truth;
    let [hard, dirt, frozen] = truth.beta;
    for (name, value) in [
        ("log_kappa", truth.log_kappa),
        ("beta_hard", hard),
        ("beta_dirt", dirt),
        ("beta_frozen", frozen),
        ("sigma_b", truth.spread),
        ("log_lambda", truth.strikes_per_hour.ln()),
        ("log_eta", truth.log_eta),
    ] {
        let known = row(&fit, name);
        assert!(
            (known.mean - value).abs() < 4.0 * known.sd,
            "{known:?} for {value}"
        );
    }
    let held = machines.iter().zip(fit.groups());
    let held = held.filter(|(machine, known)| {
        let bounds = known.effect;
        (bounds.lower..bounds.upper).contains(&machine.effect)
    });
    // 99.9 % of binomial counts of 80 at 0.9 lie within; the location moves all of them together.
    assert!((58..=80).contains(&held.count()));
}

/// A fleet's machines, and its edges as they are read.
fn invented(plan: &FleetPlan) -> (Vec<FleetMachine>, EdgeHours) {
    let machines: Vec<FleetMachine> = (0..plan.machines)
        .map(|number| plan.machine(number))
        .collect();
    let edges = EdgeHours::of(&EdgeRuns {
        covariate_names: FLEET_COVARIATES.map(String::from).to_vec(),
        group_name: Some("machine".to_string()),
        levels: machines
            .iter()
            .map(|machine| machine.name.clone())
            .collect(),
        edges: machines
            .iter()
            .flat_map(|machine| machine.edges.clone())
            .collect(),
        ..EdgeRuns::default()
    });
    (machines, edges)
}

/// Of groups of few edges their effects say little: the search goes on until it is there, and what all share is true.
#[test]
fn groups_of_few_edges_settle_too() {
    for (edges_per_machine, spread) in [(5, 0.4), (8, 0.6)] {
        let mut plan = FleetPlan {
            machines: 900,
            edges_per_machine,
            seed: 3,
            ..FleetPlan::default()
        };
        plan.truth.spread = spread;
        let fit = fitted(invented(&plan).1);
        for (name, value) in [
            ("log_kappa", plan.truth.log_kappa),
            ("log_eta", plan.truth.log_eta),
            ("beta_dirt", plan.truth.beta[1]),
        ] {
            let known = row(&fit, name);
            assert!(
                (known.mean - value).abs() < 4.0 * known.sd,
                "{known:?} for {value}"
            );
        }
    }
}

fn drawn(table: &EdgeRuns) -> WholeFit {
    let lives = run_lives(table);
    let (records, seen) = EdgeRecords::from_run_lives(&lives);
    let met = StrikesMet {
        strikes: lives.strikes,
        hours: lives.hours,
    };
    let settings = SampleSettings {
        method: Method::Laplace,
        ..SampleSettings::default()
    };
    WholeFit::new(&records, &seen, met, &priors(), settings, &|_| {}).expect("a fit")
}
