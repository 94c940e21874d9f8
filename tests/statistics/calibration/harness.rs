//! The harness itself, on a model whose posterior is known: one normal parameter with a standard normal
//! prior, seen once with error 1. The posterior is normal around half of what was seen, with variance one
//! half (Gelman et al., Bayesian Data Analysis, third edition, section 2.5).

use super::coverage::{LEVELS, four_errors, held};
use super::fit::{DRAWS, Fitted};
use super::ranks::{Ranks, bonferroni, rank_among};
use super::study::{Invented, Outcome, Quantity, on_all_cores, run};
use super::table::KEPT;
use keenspan::lives::Observation;
use keenspan::quantities::MeterHours;
use keenspan::wear::{EdgeRecords, seeded};
use rand_distr::{Distribution, StandardNormal};

const CREWS: u64 = 1000;

/// The sighting travels as an exact moment of `100 + seen` hours.
fn invent(seed: u64) -> Invented {
    let mut random = seeded(seed);
    let [truth, error]: [f64; 2] = std::array::from_fn(|_| StandardNormal.sample(&mut random));
    let hours = MeterHours::new(100.0 + truth + error).expect("hours");
    Invented {
        truth: vec![("x", truth)],
        records: EdgeRecords::of_crew(),
        seen: vec![Observation::Exact(hours)],
    }
}

/// Draws around half of what was seen, moved by `bias`, with `times` the right spread.
fn posterior(bias: f64, times: f64) -> impl Fn(u64, &EdgeRecords, &[Observation]) -> Fitted + Sync {
    move |seed, _, seen| {
        let Observation::Exact(hours) = seen[0] else {
            panic!("a moment");
        };
        let seen = hours.get() - 100.0;
        let mut random = seeded(seed);
        let scores = StandardNormal.sample_iter(&mut random).take(DRAWS);
        let draw = |score: f64| vec![0.5 * seen + bias + times * 0.5_f64.sqrt() * score];
        Fitted {
            names: vec!["x"],
            draws: scores.map(draw).collect(),
        }
    }
}

fn outcome(bias: f64, times: f64) -> Outcome {
    let quantities = Quantity::each(vec!["x"]);
    run(0..CREWS, &quantities, &invent, &posterior(bias, times)).remove(0)
}

#[test]
fn a_right_posterior_passes() {
    let outcome = outcome(0.0, 1.0);
    assert!(outcome.thinned.uniform(KEPT, &bonferroni));
    for level in LEVELS {
        let share = held(&outcome.ranks, level);
        assert!((share - level).abs() < four_errors(level, CREWS), "{share}");
    }
}

/// Central bounds of 90 % that are four fifths as wide hold `2 Phi(0.8 x 1.645) - 1 = 0.812`.
#[test]
fn a_posterior_that_is_too_narrow_is_found_out_and_holds_what_the_normal_law_says() {
    let outcome = outcome(0.0, 0.8);
    assert!(!outcome.thinned.uniform(KEPT, &bonferroni));
    let share = held(&outcome.ranks, 0.9);
    assert!((share - 0.812).abs() < four_errors(0.812, CREWS), "{share}");
}

#[test]
fn a_posterior_that_lies_too_high_is_found_out_with_its_sign() {
    let outcome = outcome(0.2, 1.0);
    assert!(!outcome.thinned.uniform(KEPT, &bonferroni));
    assert!(outcome.thinned.widest_gap() > 0.05);
}

/// Of ten ranks a central 80 % are those from 1 to 8.
#[test]
fn bounds_end_at_whole_ranks() {
    let ranks = Ranks {
        ranks: (0..10).collect(),
        draws: 9,
    };
    assert_eq!(held(&ranks, 0.8), 0.8);
    assert_eq!(rank_among(0.5, &[0.1, 0.4, 0.6]), 2);
}

/// Uniform samples break bounds of 90 % no more than one time in ten; by Bonferroni's inequality less.
#[test]
fn uniform_ranks_keep_within_the_bounds_at_least_as_often_as_asked() {
    use rand::RngExt;
    let kept = on_all_cores(0..400, |seed| {
        let mut random = seeded(seed);
        let ranks = (0..200).map(|_| random.random_range(0..100)).collect();
        Ranks { ranks, draws: 99 }.uniform(0.9, &bonferroni)
    });
    let share = kept.iter().filter(|kept| **kept).count() as f64 / 400.0;
    assert!(share > 0.9 - four_errors(0.9, 400), "{share}");
    assert!(share < 1.0);
}

#[test]
fn answers_come_in_the_order_of_their_seeds() {
    let squares = on_all_cores(3..500, |seed| seed * seed);
    assert_eq!(
        squares,
        (3..500).map(|seed| seed * seed).collect::<Vec<_>>()
    );
}
