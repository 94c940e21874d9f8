//! The harness itself, on a model whose posterior is known: one normal parameter with a standard normal
//! prior, seen once with error 1. The posterior is normal around half of what was seen, with variance one
//! half (Gelman et al., Bayesian Data Analysis, third edition, section 2.5).

use super::coverage::{LEVELS, four_errors, held};
use super::fit::{DRAWS, Fitted, Told};
use super::ranks::{Ranks, rank_among};
use super::study::{Invented, Outcome, on_all_cores, run};
use super::table::{KEPT, Verdict};
use keenspan::wear::seeded;
use rand_distr::{Distribution, StandardNormal};

const CREWS: u64 = 1000;

fn invent(seed: u64) -> Invented<f64> {
    let mut random = seeded(seed);
    let [truth, error]: [f64; 2] = std::array::from_fn(|_| StandardNormal.sample(&mut random));
    Invented {
        truth: vec![("x", truth)],
        data: truth + error,
    }
}

/// Draws around half of what was seen, moved by `bias`, with `times` the right spread.
fn posterior(bias: f64, times: f64) -> impl Fn(u64, &f64) -> Result<Fitted, String> + Sync {
    move |seed, seen| {
        let mut random = seeded(seed);
        let scores = StandardNormal.sample_iter(&mut random).take(DRAWS);
        let draw = |score: f64| vec![0.5 * seen + bias + times * 0.5_f64.sqrt() * score];
        Ok(Fitted {
            names: vec!["x".to_string()],
            draws: scores.map(draw).collect(),
            told: Told::default(),
        })
    }
}

fn outcome(bias: f64, times: f64) -> Outcome {
    let mut study = run(0..CREWS, &["x"], &invent, &posterior(bias, times));
    study.outcomes.remove(0)
}

fn passes(outcome: &Outcome) -> bool {
    Verdict::of(std::slice::from_ref(outcome), &["x"]).passes()
}

#[test]
fn a_right_posterior_passes() {
    let outcome = outcome(0.0, 1.0);
    assert!(outcome.thinned.uniform(KEPT) && passes(&outcome));
    for level in LEVELS {
        let share = held(&outcome.ranks, level);
        assert!((share - level).abs() < four_errors(level, CREWS), "{share}");
    }
}

/// Central bounds of 90 % that are four fifths as wide hold `2 Phi(0.8 x 1.645) - 1 = 0.812`.
#[test]
fn a_posterior_that_is_too_narrow_is_found_out_and_holds_what_the_normal_law_says() {
    let outcome = outcome(0.0, 0.8);
    assert!(!outcome.thinned.uniform(KEPT) && !passes(&outcome));
    let share = held(&outcome.ranks, 0.9);
    assert!((share - 0.812).abs() < four_errors(0.812, CREWS), "{share}");
}

#[test]
fn a_posterior_that_lies_too_high_is_found_out_with_its_sign() {
    let outcome = outcome(0.2, 1.0);
    assert!(!outcome.thinned.uniform(KEPT) && !passes(&outcome));
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

/// A verdict's two tests each fail right draws with a chance of at most 1 %; bands of one quantity are left
/// with the chance that they say.
#[test]
fn uniform_ranks_keep_within_bands_and_pass_as_often_as_asked() {
    use rand::RngExt;
    const TIMES: u64 = 1000;
    let judged = on_all_cores(0..TIMES, |seed| {
        let mut random = seeded(seed);
        let mut ranks = || Ranks {
            ranks: (0..200).map(|_| random.random_range(0..100)).collect(),
            draws: 99,
        };
        let names = ["a", "b", "c", "d", "e", "f", "g", "h"];
        let outcomes = names.map(|quantity| Outcome {
            quantity,
            ranks: ranks(),
            thinned: ranks(),
        });
        let verdict = Verdict::of(&outcomes, &names);
        (outcomes[0].thinned.uniform(KEPT), verdict.passes())
    });
    let share = |of: &dyn Fn(&(bool, bool)) -> bool| {
        judged.iter().filter(|it| of(it)).count() as f64 / TIMES as f64
    };
    let kept = share(&|it| it.0);
    assert!((kept - KEPT).abs() < four_errors(KEPT, TIMES), "{kept}");
    let passed = share(&|it| it.1);
    assert!(passed > 0.98 - four_errors(0.98, TIMES), "{passed}");
}

#[test]
fn answers_come_in_the_order_of_their_seeds() {
    let squares = on_all_cores(3..500, |seed| seed * seed);
    assert_eq!(
        squares,
        (3..500).map(|seed| seed * seed).collect::<Vec<_>>()
    );
}
