//! Notebook 02: what a cycle costs, by the library and by the notebook's plain sums.

use super::marks::{between, key_of_line, key_of_points, line, plot, point, upright};
use super::page::{Page, numbers};
use super::{defaults, hold};
use keenspan::decisions::{AgeReplacement, Cheapest, CycleCosts, KnifeLayout, ShopCosts};
use keenspan::quantities::{MeterHours, Money};
use keenspan::views::svg::{Axis, Form, Plot, Stroke, Tone};
use keenspan::wear::{Family, LifeLaw};

#[test]
fn the_cost_of_a_cycle() {
    hold("cost-by-hand.svg", &cost());
}

fn cost() -> Plot {
    let layout = KnifeLayout {
        knives: 4,
        edges_per_knife: 2,
    };
    let costs = ShopCosts::common_practice().and_then(|costs| costs.cycle(layout));
    let costs = costs.expect("costs");
    let alone = CycleCosts {
        forced_extra: Money::ZERO,
        strike_extra: Money::ZERO,
        call_at: None,
        ..costs
    };
    let law = LifeLaw {
        family: Family::Weibull,
        log_median: defaults::likely("life.median_life_drum").ln(),
        sigma: defaults::likely("life.sigma"),
    };
    let strikes = defaults::likely("strikes.clean");
    let whole = AgeReplacement::new(&law, strikes, &costs).expect("a cycle");
    let rule = AgeReplacement::new(&law, 0.0, &alone).expect("a cycle");
    let page = Page::new("02-interval-by-hand.md");
    let table = page.table("| changed every |");
    let by_hand = table[0].iter().zip(&table[1]).skip(1);
    let by_hand = by_hand.map(|(hours, cost)| (numbers(hours)[0], numbers(cost)[0]));
    let (best, square_root) = (cheapest(&whole), cheapest(&rule));
    let lines = [
        line(curve(&whole), Tone::First, Stroke::Whole),
        line(curve(&rule), Tone::Third, Stroke::Long),
        upright(best, Tone::First, &format!("best {best:.1}")),
        upright(
            square_root,
            Tone::Third,
            &format!("{square_root:.1} without"),
        ),
    ];
    let points = by_hand.map(|at| point(at, Tone::Second, Form::Full));
    Plot {
        keys: vec![
            key_of_points("by hand", Tone::Second, Form::Full),
            key_of_line("all costs", Tone::First, Stroke::Whole),
            key_of_line("without stops", Tone::Third, Stroke::Long),
        ],
        ..plot(
            "Cost per meter hour against the change interval, by the library and by hand, with all costs and \
             without strikes and stops in the field",
            Axis::numbers("change every so many meter hours", 20.0, 100.0),
            Axis::numbers("cost per meter hour", 0.0, 10.0),
            0.6,
            lines.into_iter().chain(points).collect(),
        )
    }
}

fn curve(cycle: &AgeReplacement) -> Vec<(f64, f64)> {
    let cost = |hours| {
        let at = MeterHours::new(hours).expect("hours");
        (hours, cycle.cost_per_hour(at).expect("a cost").get())
    };
    between(20.0, 100.0, 81).map(cost).collect()
}

/// The interval of least cost.
pub fn cheapest(cycle: &AgeReplacement) -> f64 {
    match cycle.cheapest().expect("an answer") {
        Cheapest::ChangeAt { interval, .. } => interval.get(),
        Cheapest::RunUntilCalled { .. } => panic!("no interval pays"),
    }
}
