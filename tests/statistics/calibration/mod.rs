//! Bounds hold as often as they say, and the truth falls anywhere among the draws.
//!
//! Truths are drawn from the prior pack, crews invented from each, and each crew fitted. Where the truth
//! ranks among the draws answers both questions. The short studies run with the other tests; the long ones
//! print their tables and write them to `.target/tmp/calibration`:
//!
//! ```text
//! CALIBRATION=long cargo test --release --test statistics calibration -- --nocapture
//! ```
//!
//! ```text
//! fit        what a fit hands in: named draws. The one place that knows how the posterior is had
//! worlds     truths drawn from the priors, and crews invented from them
//! study      many crews, on all cores: the rank of every truth
//! ranks      ranks are uniform where the draws are right
//! coverage   the share of central bounds that hold the truth
//! table      both as markdown
//! harness    the harness itself, on a model whose posterior is known
//! ```

mod adequacy;
mod coverage;
mod fit;
mod harness;
mod long;
mod ranks;
mod study;
mod table;
mod worlds;

use coverage::{four_errors, held};
use fit::posterior;
use keenspan::simulation::{CrewPlan, StrikeRates, Truth};
use keenspan::wear::Method;
use ranks::bonferroni;
use study::{Quantity, run};
use table::markdown;
use worlds::World;

const CREWS: u64 = 200;

/// Every edge graded when pulled on schedule, nothing stopped early: an edge's end does not depend on its
/// life.
fn as_the_model_says() -> Truth {
    Truth {
        noticing: 0.0,
        called_at: f64::INFINITY,
        strikes: StrikeRates {
            clean: 0.0,
            dusty: 0.0,
            dirty: 0.0,
            gritty: 0.0,
        },
        ..Truth::stated()
    }
}

fn crews_of_24(truth: Truth) -> World {
    World::new(CrewPlan {
        truth,
        ..CrewPlan::default()
    })
    .drawing_all()
}

/// Nine in ten central bounds of 90 % must hold the truth, for every parameter.
fn bounds_hold(title: &str, world: &World) {
    let quantities = Quantity::each(world.learned());
    let outcomes = run(
        0..CREWS,
        &quantities,
        &|seed| world.crew(seed),
        &posterior(Method::Auto),
    );
    println!("{}", markdown(title, &outcomes, &bonferroni));
    for outcome in outcomes {
        let share = held(&outcome.ranks, 0.9);
        let off = (share - 0.9).abs();
        assert!(
            off < four_errors(0.9, CREWS),
            "{}: {share}",
            outcome.quantity
        );
    }
}

#[test]
fn bounds_hold_nine_times_in_ten_where_the_crew_is_as_the_model_says() {
    bounds_hold(
        "24 edges, pulled on schedule and graded",
        &crews_of_24(as_the_model_says()),
    );
}

#[test]
fn bounds_hold_where_edges_are_noticed_dull_called_late_and_struck() {
    bounds_hold(
        "24 edges, noticed, called late, struck",
        &crews_of_24(Truth::stated()),
    );
}
