//! Invented crews against textbook formulas. Shares are allowed four binomial standard errors.

use super::*;
use crate::lives::{EdgeLife, Look, Observation, Sight};
use crate::logbook::Rotor;
use crate::quantities::Grade;
use approx::assert_abs_diff_eq;

mod groups;
mod writing;

/// The Weibull's chance that an edge of the stated truth is dull by this wear age:
/// `1 - 2^-(age / M)^(1 / sigma)`.
fn dull_by(age: f64) -> f64 {
    1.0 - (-std::f64::consts::LN_2 * (age / 44.0).powf(1.0 / 0.30)).exp()
}

fn four_errors(share: f64, count: usize) -> f64 {
    4.0 * (share * (1.0 - share) / count as f64).sqrt()
}

/// A crew that pulls every edge after 50 hours in wood of rate one, never struck, with an eye that is
/// never off; a reground edge is as good as new.
fn plain(edges: usize) -> CrewPlan {
    let truth = Truth {
        grader_error: 0.0,
        noticing: 0.0,
        called_at: f64::INFINITY,
        effects: Effects {
            hardness_exponent: 0.0,
            dusty: 1.0,
            dirty: 1.0,
            gritty: 1.0,
            dry: 1.0,
            frozen: 1.0,
            palm: 1.0,
        },
        reground_share: 1.0,
        strikes: StrikeRates {
            clean: 0.0,
            dusty: 0.0,
            dirty: 0.0,
            gritty: 0.0,
        },
        ..Truth::stated()
    };
    CrewPlan {
        edges,
        truth,
        ..CrewPlan::default()
    }
}

fn looks(life: &EdgeLife) -> &[Look] {
    match &life.observation {
        Observation::Graded { looks, .. } => looks,
        other => panic!("graded, not {other:?}"),
    }
}

/// Share of edges whose look number `look` gave this grade.
fn share_graded(lives: &[EdgeLife], look: usize, grade: Grade) -> f64 {
    let graded = |life: &&EdgeLife| looks(life)[look].sight == Sight::Graded(grade);
    lives.iter().filter(graded).count() as f64 / lives.len() as f64
}

fn mean_and_variance(values: &[f64]) -> (f64, f64) {
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let squares = values.iter().map(|value| (value - mean).powi(2));
    (mean, squares.sum::<f64>() / (count - 1.0))
}

#[test]
fn the_same_seed_gives_the_same_crew() {
    let plan = CrewPlan::default();
    assert_eq!(invented_crew(7, &plan), invented_crew(7, &plan));
    assert_ne!(crew(7, &plan), crew(8, &plan));
    assert_eq!(crew(7, &plan), invented_crew(7, &plan).lives);
}

#[test]
fn a_crew_that_never_notices_pulls_every_edge_on_schedule_with_a_grade() {
    let plan = CrewPlan {
        machines: vec![Rotor::Drum, Rotor::Disc],
        ..plain(24)
    };
    for (index, life) in crew(3, &plan).iter().enumerate() {
        let schedule = if index % 2 == 0 { 50.0 } else { 25.0 };
        assert_eq!(life.exposure.total().get(), schedule);
        assert_eq!(looks(life).len(), 1);
        assert!(matches!(looks(life)[0].sight, Sight::Graded(_)));
        assert!(life.exposure.touch_ups.is_empty());
    }
}

#[test]
fn a_crew_without_machines_has_no_edges() {
    let plan = CrewPlan {
        machines: vec![],
        ..CrewPlan::default()
    };
    assert_eq!(crew(1, &plan), []);
}

#[test]
fn sets_go_in_by_turns_and_come_back_reground_by_somebody() {
    let plan = CrewPlan {
        machines: vec![Rotor::Drum, Rotor::Disc],
        sets_per_machine: 3,
        grinders: vec!["van".to_owned(), "own wheel".to_owned()],
        ..plain(24)
    };
    let lives = crew(5, &plan);
    let first: Vec<_> = lives.iter().step_by(2).map(|life| &life.set[..]).collect();
    assert_eq!(&first[..4], ["set 1.1", "set 1.2", "set 1.3", "set 1.1"]);
    for (index, life) in lives.iter().enumerate() {
        assert_eq!(life.features.regrinds as usize, index / 6);
        assert_eq!(life.features.ground_by.is_empty(), index < 6);
    }
    let by_van = lives[6..].iter().filter(|l| l.features.ground_by == "van");
    assert!((1..18).contains(&by_van.count()));
}

#[test]
fn grades_fall_into_the_bands_of_the_wear_fraction_as_the_law_says() {
    let overrun = share_graded(&crew(11, &plain(4000)), 0, Grade::Overrun);
    let expected = dull_by(50.0 / 1.15);
    assert_abs_diff_eq!(overrun, expected, epsilon = four_errors(expected, 4000));
}

#[test]
fn a_biased_eye_calls_edges_as_if_they_had_worn_that_much_more_or_less() {
    for bias in [1.15, 1.0 / 1.15] {
        let mut plan = plain(4000);
        plan.truth.eye_bias = bias;
        let overrun = share_graded(&crew(12, &plan), 0, Grade::Overrun);
        let expected = dull_by(50.0 * bias / 1.15);
        assert_abs_diff_eq!(overrun, expected, epsilon = four_errors(expected, 4000));
    }
}

/// Whoever feels the edge in the cut has the same eye: half of all edges are noticed by `44 / bias` hours.
#[test]
fn a_biased_operator_notices_early() {
    let mut plan = plain(4000);
    plan.truth.eye_bias = 1.15;
    plan.truth.noticing = 1.0;
    let noticed = |life: &&EdgeLife| life.exposure.total().get() < 44.0 / 1.15;
    let share = crew(13, &plan).iter().filter(noticed).count() as f64 / 4000.0;
    assert_abs_diff_eq!(share, 0.5, epsilon = four_errors(0.5, 4000));
}

#[test]
fn a_touch_up_takes_its_share_off_the_age() {
    let truth = Truth::stated();
    let mut dice = dice::Dice::new(1);
    let rates = edge::Rates {
        wear: 1.5,
        strikes: 0.0,
    };
    let mut edge = edge::WearingEdge::fresh(&truth, Rotor::Drum, 0, &mut dice);
    edge.work(2.0, rates, &mut dice);
    edge.touch_up(&truth);
    assert_abs_diff_eq!(edge.age(), 3.0 * (1.0 - 0.30), epsilon = 1e-12);
    edge.work(2.0, rates, &mut dice);
    assert_abs_diff_eq!(edge.age(), 2.1 + 3.0, epsilon = 1e-12);
}

/// An edge touched up at hour `h` has age `50 - 0.3 h` when pulled; the grade written at the touch-up saw
/// it at age `h`.
#[test]
fn a_grade_at_the_hour_of_a_touch_up_is_before_it_and_later_grades_are_after() {
    let plan = CrewPlan {
        touching_up: 1.0,
        graded_before_touch_up: 1.0,
        ..plain(4000)
    };
    let lives = crew(31, &plan);
    let mean = |chance: &dyn Fn(f64) -> f64| {
        let hours = lives.iter().map(|life| {
            assert_eq!(looks(life)[0].at, life.exposure.touch_ups[0].at);
            life.exposure.touch_ups[0].at.get()
        });
        hours.map(chance).sum::<f64>() / 4000.0
    };
    let keen = mean(&|hour| 1.0 - dull_by(hour / 0.5));
    let overrun = mean(&|hour| dull_by((50.0 - 0.3 * hour) / 1.15));
    let found = share_graded(&lives, 0, Grade::Keen);
    assert_abs_diff_eq!(found, keen, epsilon = four_errors(keen, 4000));
    let found = share_graded(&lives, 1, Grade::Overrun);
    assert_abs_diff_eq!(found, overrun, epsilon = four_errors(overrun, 4000));
    // Hours of touch-ups are uniform over the schedule.
    let mean_hour = mean(&|hour| hour);
    assert_abs_diff_eq!(
        mean_hour,
        25.0,
        epsilon = 4.0 * 50.0 / (12.0 * 4000.0_f64).sqrt()
    );
}

#[test]
fn about_as_many_edges_are_touched_up_and_checked_as_planned() {
    let plan = CrewPlan {
        touching_up: 0.3,
        checking: 0.4,
        ..plain(4000)
    };
    let lives = crew(32, &plan);
    let share =
        |of: &dyn Fn(&EdgeLife) -> usize| lives.iter().map(of).sum::<usize>() as f64 / 4000.0;
    let touched = share(&|life| life.exposure.touch_ups.len());
    assert_abs_diff_eq!(touched, 0.3, epsilon = four_errors(0.3, 4000));
    let checked = share(&|life| looks(life).len() - 1);
    assert_abs_diff_eq!(checked, 0.4, epsilon = four_errors(0.4, 4000));
}
