//! Whole seasons of crews that nobody has seen: does the program's advice save money?
//!
//! Each crew's truth is drawn from the prior pack, its log starts empty, and every policy meets the same wood,
//! the same lives and the same luck. The program is refitted after each change and asked before each day.

mod crew;
mod policies;
mod season;

use crew::{CREWS, Crew, Dirt};
use keenspan::decisions::{CycleCosts, KnifeLayout, ShopCosts};
use policies::{Advised, FixedRule, RunToDull};
use rayon::prelude::*;
use season::cost_per_hour;

/// Days of chipping in a season.
const DAYS: usize = 100;
/// The common rule.
const RULE: f64 = 50.0;

/// Cost per meter hour of one crew under each policy.
#[derive(Clone, Copy)]
struct Costs {
    advised: f64,
    rule: f64,
    dull: f64,
}

fn costs() -> CycleCosts {
    let layout = KnifeLayout {
        knives: 4,
        edges_per_knife: 2,
    };
    let shop = ShopCosts::common_practice().expect("costs");
    shop.cycle(layout).expect("costs of a cycle")
}

fn season(seed: u64, dirt: Dirt) -> Costs {
    let (crew, costs) = (Crew::new(seed, dirt, DAYS), costs());
    Costs {
        advised: cost_per_hour(&crew, &costs, &mut Advised::new(&costs, seed)),
        rule: cost_per_hour(&crew, &costs, &mut FixedRule(RULE)),
        dull: cost_per_hour(&crew, &costs, &mut RunToDull),
    }
}

fn seasons(count: u64, dirt: Dirt) -> Vec<Costs> {
    (0..count)
        .into_par_iter()
        .map(|seed| season(seed, dirt))
        .collect()
}

/// Mean and its standard error.
fn mean_and_error(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let values: Vec<f64> = values.collect();
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let squares = values.iter().map(|value| (value - mean).powi(2));
    (
        mean,
        (squares.sum::<f64>() / (count * (count - 1.0))).sqrt(),
    )
}

fn row(dirt: Dirt, seasons: &[Costs]) -> String {
    let mean = |of: fn(&Costs) -> f64| mean_and_error(seasons.iter().map(of)).0;
    let saved = |of: fn(&Costs) -> f64| {
        let (mean, error) = mean_and_error(seasons.iter().map(of));
        format!("{:.1} ± {:.1}", 100.0 * mean, 100.0 * error)
    };
    format!(
        "| {} | {:.0} | {:.0} | {:.0} | {} | {} |\n",
        dirt.name,
        100.0 * mean(|costs| costs.advised),
        100.0 * mean(|costs| costs.rule),
        100.0 * mean(|costs| costs.dull),
        saved(|costs| costs.rule - costs.advised),
        saved(|costs| costs.dull - costs.advised),
    )
}

const HEAD: &str = "| wood | advised | every 50 hours | run to dull | saved against the rule | saved against run to dull |\n\
    | --- | --- | --- | --- | --- | --- |\n";

/// The advice must save money against waiting for the cut within one season from an empty log on. In clean wood,
/// where strikes are few and scatter little, so few seasons can tell; a thousand tell by how much, and against a
/// fixed rule.
#[test]
fn following_the_advice_is_cheaper_than_running_to_dull() {
    let seasons = seasons(32, CREWS[0]);
    let (mean, error) = mean_and_error(seasons.iter().map(|costs| costs.dull - costs.advised));
    assert!(mean / error > 1.5, "{mean} +- {error}");
}

/// A thousand seasons of each kind of crew, some twenty minutes on two cores: `CALIBRATION=long cargo test
/// --release --test statistics seasons -- --nocapture`. `CALIBRATION_ONLY=dirty` plays those of one kind,
/// `CALIBRATION_CREWS=300` fewer.
#[test]
fn a_thousand_seasons() {
    if std::env::var("CALIBRATION").as_deref() != Ok("long") {
        return;
    }
    let only = std::env::var("CALIBRATION_ONLY").ok();
    let crews = std::env::var("CALIBRATION_CREWS").ok();
    let crews = crews.and_then(|crews| crews.parse().ok()).unwrap_or(1000);
    let asked = |dirt: &Dirt| only.as_deref().is_none_or(|only| only == dirt.name);
    print!("{HEAD}");
    for dirt in CREWS.into_iter().filter(asked) {
        print!("{}", row(dirt, &seasons(crews, dirt)));
    }
}
