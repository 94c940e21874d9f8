//! Notebook 04: answers against those in print.

use super::marks::{between, key_of_line, line, plot, upright};
use super::page::Page;
use super::{ROOT, hold};
use keenspan::decisions::{AgeReplacement, CycleCosts};
use keenspan::quantities::{Level, MeterHours, Money, WearFraction};
use keenspan::views::svg::{Axis, Plot, Stroke, Tone};
use keenspan::wear::{
    Bounds, Distribution, Family, LifeLaw, LifeTable, LifeTableFit, Lifetime, NonParametric,
};

#[test]
fn the_best_age_in_print() {
    hold("best-age-in-print.svg", &best_age());
}

#[test]
fn a_handbooks_units() {
    hold("handbook-units.svg", &handbook());
}

/// The curve is the library's, the upright line what is printed.
fn best_age() -> Plot {
    let page = Page::new("04-checks.md").after("since Barlow and Proschan");
    let shape = page.number_after("Weibull shape ");
    let life = page.number_after("63.2 % life ");
    let planned = page.number_after("a planned change costs ");
    let failure = page.number_after("failure ");
    let printed = page.number_after("the best age is ");
    let money = |amount: f64| Money::new(amount).expect("money");
    let costs = CycleCosts {
        planned: money(planned),
        forced_extra: money(failure - planned),
        strike_extra: Money::ZERO,
        running_at_dull: Money::ZERO,
        call_at: Some(WearFraction::new(1.0).expect("a fraction")),
    };
    let law = LifeLaw {
        family: Family::Weibull,
        log_median: (life * 2.0_f64.ln().powf(1.0 / shape)).ln(),
        sigma: 1.0 / shape,
    };
    let cycle = AgeReplacement::new(&law, 0.0, &costs).expect("a cycle");
    let cost = |age: f64| {
        let at = MeterHours::new(age).expect("an age");
        let cost = cycle.cost_per_hour(at).expect("a cost").get();
        (age, life * cost)
    };
    let curve = between(0.2 * life, 1.5 * life, 131).map(cost).collect();
    plot(
        "Cost of age replacement against the age, least where the printed best age stands",
        Axis::numbers("replace at this age, hours", 0.2 * life, 1.5 * life),
        Axis::numbers("cost per 1000 hours", 0.0, 6.5),
        0.55,
        vec![
            line(curve, Tone::First, Stroke::Whole),
            upright(printed, Tone::Second, &format!("printed best {printed}")),
        ],
    )
}

/// The fitted law with its bounds, and the estimate that knows no law.
fn handbook() -> Plot {
    let lives = units();
    let until = 500.0;
    let table = LifeTable {
        covariate_names: vec![],
        covariates: vec![vec![]; lives.len()],
        lives: lives.clone(),
    };
    let weibull = Distribution {
        family: Family::Weibull,
        fixed_sigma: None,
    };
    let fit = LifeTableFit::new(&table, weibull).expect("a fit");
    let at = |share: f64| fit.quantile(share, &[], Level::NINETY_FIVE, Bounds::Wald);
    let shares: Vec<f64> = between(0.005, 0.9, 180).collect();
    let curve = |of: fn(&keenspan::quantities::Estimate<Option<f64>>) -> Option<f64>| {
        let points = shares
            .iter()
            .map(|share| (of(&at(*share)).expect("a bound"), 100.0 * share));
        points.filter(|(hours, _)| *hours <= until).collect()
    };
    let seen = NonParametric::new(&lives).expect("an estimate");
    Plot {
        keys: vec![
            key_of_line("as it came", Tone::Ink, Stroke::Whole),
            key_of_line("fitted", Tone::First, Stroke::Whole),
            key_of_line("95 % bounds", Tone::First, Stroke::Short),
        ],
        ..plot(
            "Share of twenty units that had failed by each hour, as it came and by the fitted law with bounds",
            Axis::numbers("hours", 0.0, until),
            Axis::numbers("failed by then, %", 0.0, 100.0),
            0.6,
            vec![
                line(steps(&seen, until), Tone::Ink, Stroke::Whole),
                line(curve(|it| it.lower), Tone::First, Stroke::Short),
                line(curve(|it| it.upper), Tone::First, Stroke::Short),
                line(curve(|it| it.point), Tone::First, Stroke::Whole),
            ],
        )
    }
}

/// The handbook's data set.
fn units() -> Vec<Lifetime> {
    let file = format!("{ROOT}/datasets/published/simulated_units_stopped_at_500.csv");
    let text = std::fs::read_to_string(file).expect("the data set");
    let number = |cell: &str| cell.parse().unwrap_or(f64::INFINITY);
    let row = |line: &str| {
        let cells: Vec<f64> = line.split(',').map(number).collect();
        Lifetime {
            lower: cells[0],
            upper: cells[1],
            weight: cells[2],
            entry: 0.0,
        }
    };
    text.lines().skip(1).map(row).collect()
}

/// Share ended, in per cent, as a stair.
fn steps(seen: &NonParametric, until: f64) -> Vec<(f64, f64)> {
    let mut ended = 0.0;
    let mut stair = vec![(0.0, 0.0)];
    for step in seen.steps().iter().filter(|step| step.to <= until) {
        stair.push((step.to, ended));
        ended += 100.0 * step.mass;
        stair.push((step.to, ended));
    }
    stair.push((until, ended));
    stair
}
