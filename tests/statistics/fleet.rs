//! Fleets by one pass over columns, against samplers: of other software, and our own on the same tables.
//!
//! Sources: tests/reference/changing_exposure/posterior.json (two million weighted draws), and
//! tests/reference/fifty_machines/posterior_means.json (six runs of a sampler); their READMEs say how they were made.

use crate::reference::{json, number, numbers, path};
use approx::assert_relative_eq;
use keenspan::lives::{EdgeHours, fleet_hours, run_lives};
use keenspan::logbook::{EdgeRuns, read_edge_hours, read_edge_runs};
use keenspan::quantities::MeterHours;
use keenspan::simulation::{FLEET_COVARIATES, FleetPlan};
use keenspan::wear::{
    EdgeRecords, FleetFit, FleetRow, Method, SampleSettings, StrikesMet, WholeFit, WholePriors,
};

/// The priors that both references were made with.
const PRIORS: &str = r#"
log_eta    = { mean = 2.70805020110221, sd = 0.6 }
log_kappa  = { mean = 0.6931471805599453, sd = 0.3 }
beta       = [ { name = "hard", mean = 0.3, sd = 0.2 }, { name = "dirt", mean = 0.7, sd = 0.4 },
               { name = "frozen", mean = 0.2, sd = 0.3 } ]
sigma_b    = { half_normal = 0.3 }
log_lambda = { mean = -4.605170185988091, sd = 1.0 }
"#;

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

/// Three machines are few for a normal law: a tenth of a standard deviation is what it is good for, and a quarter for
/// the spread of three effects, whose law is far from normal.
#[test]
fn three_machines_come_near_the_weighted_draws() {
    let fit = of_folder("changing_exposure");
    let reference = json("tests/reference/changing_exposure/posterior.json");
    let theirs = &reference["importance_sampling"]["posterior"];
    for ours in fit.rows() {
        let key = match ours.name.strip_prefix("b_") {
            Some(level) => format!("b[{level}]"),
            None => ours.name.clone(),
        };
        let of = |key_of: &str| number(&theirs[&key][key_of]);
        println!("{:12} {:8.5} {:8.5}  theirs {:8.5} {:8.5}  away {:6.3}", key, ours.mean, ours.sd, of("mean"), of("sd"), (ours.mean - of("mean")) / of("sd"));
    }
    println!("{:?}", fit.fall());
}

#[test]
fn fifty_machines_agree_with_six_samplers_and_with_our_own_draws() {
    let fit = of_folder("fifty_machines");
    let theirs = json("tests/reference/fifty_machines/posterior_means.json");
    for (ours, name) in [("log_eta", "log_eta"), ("log_kappa", "log_kappa"), ("beta_hard", "beta0"), ("beta_dirt", "beta1"), ("beta_frozen", "beta2"), ("sigma_b", "sigma_b"), ("log_lambda", "log_lambda")] {
        let known = numbers(&theirs["posterior_mean"][name]);
        let ours = row(&fit, ours);
        println!("{name} {:?} {} away {} errors, {} sd", ours, known[0], (ours.mean - known[0]) / known[1], (ours.mean - known[0]) / ours.sd);
    }
    println!("{:?}", fit.fall());
    let file = |name: &str| path(&format!("tests/reference/fifty_machines/{name}.csv"));
    let table = read_edge_runs(file("edges").as_ref(), file("runs").as_ref(), Some("machine"));
    for (name, summary) in drawn(&table.expect("tables")).rows() {
        let ours = row(&fit, &name);
        println!("{name} {:.6} {:.6} drawn {:.6} {:.6} away {:.3} errors {:.3} sd", ours.mean, ours.sd, summary.mean, summary.spread, (ours.mean - summary.mean) / summary.errors[0], (ours.mean - summary.mean) / summary.spread);
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
