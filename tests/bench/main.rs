//! How long the fit takes, part by part, on the demo log. Prints medians of several runs; asserts nothing.
//!
//! ```text
//! cargo bench --bench fit
//! ```
#![allow(
    clippy::expect_used,
    clippy::disallowed_methods,
    clippy::disallowed_macros
)] // a bench may stop

use keenspan::lives::{Observation, edge_lives};
use keenspan::logbook::read::read_logbook;
use keenspan::quantities::WearFraction;
use keenspan::wear::{
    EdgeRecords, Laplace, Method, PriorPack, Sample, SampleSettings, WearDensity, WearModel,
};
use linfa::ParamGuard;
use std::hint::black_box;
use std::path::Path;
use std::time::Instant;

fn demo() -> (EdgeRecords, Vec<Observation>) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("datasets/demo-riverbank");
    let reading = read_logbook(&folder).expect("the demo log");
    EdgeRecords::from_lives(&edge_lives(&reading.logbook))
}

fn density(records: &EdgeRecords, seen: &[Observation]) -> WearDensity {
    let pack = PriorPack::common_practice().expect("the pack");
    let called_at = WearFraction::new(1.3).expect("a fraction");
    let model = WearModel::params(&pack, called_at)
        .check()
        .expect("settings");
    model.density(records, seen).expect("a density")
}

/// Median and range of the milliseconds that `work` takes.
fn time<T>(what: &str, runs: usize, work: impl Fn() -> T) {
    let mut took: Vec<f64> = (0..runs)
        .map(|_| {
            let start = Instant::now();
            black_box(work());
            1e3 * start.elapsed().as_secs_f64()
        })
        .collect();
    took.sort_unstable_by(f64::total_cmp);
    println!(
        "{what:<44} {:>9.2} ms ({:.2} to {:.2}, {runs} runs)",
        took[runs / 2],
        took[0],
        took[runs - 1]
    );
}

fn main() {
    let (records, seen) = demo();
    let fitted = density(&records, &seen);
    let centre = fitted.centre();
    println!(
        "demo log: {} edges, {} parameters",
        seen.len(),
        centre.len()
    );
    time("density put together", 20, || density(&records, &seen));
    time("one gradient", 50, || fitted.gradient(&centre));
    time("Laplace refit (mode and curvature)", 20, || {
        Laplace::fit(&fitted, &centre).expect("a mode")
    });
    for draws in [1000, 4000] {
        let settings = SampleSettings {
            method: Method::Laplace,
            draws,
            ..SampleSettings::default()
        };
        let what = format!("nested Laplace, {draws} weighted draws");
        time(&what, 10, || {
            Sample::of(&fitted, settings, &|_| {}).expect("draws")
        });
    }
    let settings = SampleSettings {
        method: Method::Nuts,
        ..SampleSettings::default()
    };
    time("chains, 4 x 1000 draws after 500 of tuning", 3, || {
        Sample::of(&fitted, settings, &|_| {}).expect("chains")
    });
    for method in [Method::Laplace, Method::Nuts] {
        let settings = SampleSettings { method, ..settings };
        let (_, sample) = Sample::of(&fitted, settings, &|_| {}).expect("a sample");
        println!("{:?}", sample.health());
    }
}
