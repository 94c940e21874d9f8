//! Bounds hold as often as they say, and the truth falls anywhere among the draws.
//!
//! Truths are drawn from the prior pack, crews invented from each, and each crew fitted. Where the truth
//! ranks among the draws answers both questions. The short studies run with the other tests; the long ones
//! write a table each to `.target/tmp/calibration` as soon as it is done:
//!
//! ```text
//! CALIBRATION=long cargo test --release --test statistics calibration::long::tables -- --nocapture
//! ```
//!
//! What came of them stands in notebooks-md/06-calibration.md.
//!
//! ```text
//! fit          what a fit hands in: named draws. The one place that knows how the posterior is had
//! worlds       truths drawn from the priors, and crews invented from them
//! known_lives  the same for edges whose lives are known or bounded
//! questions    what an owner asks of each crew's log
//! decision     the interval that costs least under one law of life
//! study        many crews, on all cores: the rank of every truth
//! ranks        ranks are uniform where the draws are right
//! coverage     the share of central bounds that hold the truth
//! table        all of it as markdown, and the joint verdict
//! drift        scores, false signs, and faults found and blamed
//! picture      ranks of the short study as the notebook shows them
//! long         the studies for people
//! harness      the harness itself, on a model whose posterior is known
//! ```

mod adequacy;
mod coverage;
mod decision;
mod drift;
mod fit;
mod harness;
mod known_lives;
mod long;
mod picture;
mod questions;
mod ranks;
mod study;
mod table;
pub mod worlds;

use coverage::{LEVELS, four_errors, held};
use fit::{DRAWS, Way, posterior};
use keenspan::lives::Rotor;
use keenspan::simulation::{CrewPlan, OwnCondition, StrikeRates, Truth};
use keenspan::wear::{ChainLengths, Family, Method};
use questions::asked;
use study::{Study, run};
use table::{Verdict, markdown};
use worlds::{OWN, World};

/// Every edge graded when pulled on schedule, nothing stopped early: an edge's end does not depend on its
/// life, so that the model is exactly the law that invents the crews.
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

/// A quarter of what the program runs: 1,000 draws, of which 99 are ranked.
const SHORT_CHAINS: ChainLengths = ChainLengths {
    chains: 2,
    draws: 500,
    tuning: 300,
};

/// A drum and a disc, two sets each, two who grind; some checks on the way, some measured flats, some
/// touch-ups, a condition of the crew's own.
fn plan(edges: usize, truth: Truth) -> CrewPlan {
    CrewPlan {
        edges,
        machines: vec![Rotor::Drum, Rotor::Disc],
        sets_per_machine: 2,
        grinders: ["Ada", "the mill"].map(String::from).to_vec(),
        truth,
        checking: 0.3,
        measuring: 0.25,
        touching_up: 0.3,
        graded_before_touch_up: 0.5,
        own_conditions: vec![OwnCondition {
            name: OWN.to_string(),
            share: 0.3,
            coefficient: 0.0,
        }],
        ..CrewPlan::default()
    }
}

/// Crews of this many edges, as the model says, through the whole way.
fn study(title: &str, edges: usize, crews: u64, way: Way) -> Study {
    let world = World::new(plan(edges, as_the_model_says()));
    let learned = world.learned();
    let quantities = [learned.clone(), asked()].concat();
    let invent = |seed| world.crew(seed);
    let study = run(0..crews, &quantities, &invent, &posterior(way));
    println!("{}", markdown(title, &study, &learned));
    assert!(study.failures.is_empty(), "{:?}", study.failures);
    let verdict = Verdict::of(&study.outcomes, &learned);
    assert!(verdict.passes(), "{}", verdict.told());
    study
}

/// Bounds of every level hold every parameter, every life and every interval.
fn bounds_hold(study: &Study, crews: u64) {
    for (outcome, level) in study.outcomes.iter().flat_map(|it| LEVELS.map(|l| (it, l))) {
        let share = held(&outcome.ranks, level);
        let off = (share - level).abs();
        assert!(
            off < four_errors(level, crews),
            "{}: {share}",
            outcome.quantity
        );
    }
}

#[test]
fn weighted_draws_have_uniform_ranks_and_their_bounds_hold() {
    const CREWS: u64 = 200;
    let way = Way {
        draws: DRAWS,
        ..Way::of(Method::Laplace, Family::Weibull)
    };
    let study = study("6 edges, weighted draws", 6, CREWS, way);
    bounds_hold(&study, CREWS);
    picture::hold("ranks.svg", &picture::ranks(&study, CREWS));
}

/// One short chain a crew; ranks of 40 crews tell gross faults only, and the long studies the others.
#[test]
fn chains_have_uniform_ranks() {
    let way = Way {
        chains: ChainLengths {
            chains: 1,
            ..SHORT_CHAINS
        },
        ..Way::of(Method::Nuts, Family::Weibull)
    };
    study("6 edges, short chains", 6, 40, way);
}
