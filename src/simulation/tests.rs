//! Invented crews against textbook formulas. Shares are allowed four binomial standard errors.

use super::*;
use crate::lives::{EdgeLife, Look, Observation, Sight};
use crate::logbook::Rotor;
use crate::quantities::Grade;
use approx::assert_abs_diff_eq;

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
fn each_machine_set_and_grinder_moves_the_median_of_its_lives_by_its_effect() {
    let mut plan = CrewPlan {
        machines: vec![Rotor::Drum, Rotor::Disc, Rotor::Drum],
        sets_per_machine: 2,
        grinders: vec!["van".to_owned(), "own wheel".to_owned()],
        ..plain(12_000)
    };
    plan.truth.spreads = GroupSpreads {
        machine: 0.4,
        set: 0.3,
        grinder: 0.2,
    };
    let crew = invented_crew(21, &plan);
    assert_eq!(crew.effects.sets.len(), 6);
    // Each edge against the median of its kind: half of every group's lives must be longer.
    let longer = |group: &dyn Fn(&EdgeLife) -> bool| {
        let members = crew
            .lives
            .iter()
            .zip(&crew.hidden)
            .filter(|(life, _)| group(life));
        let longer: Vec<bool> = members
            .map(|(life, hidden)| {
                let features = &life.features;
                let effect = crew.effects.machines[&life.machine]
                    + crew.effects.sets[&life.set]
                    + crew
                        .effects
                        .grinders
                        .get(&features.ground_by)
                        .unwrap_or(&0.0);
                let median = plan.truth.median_of(features.rotor, features.regrinds);
                hidden.get() > median.get() * effect.exp()
            })
            .collect();
        let share = longer.iter().filter(|longer| **longer).count() as f64 / longer.len() as f64;
        assert_abs_diff_eq!(share, 0.5, epsilon = four_errors(0.5, longer.len()));
    };
    for machine in crew.effects.machines.keys() {
        longer(&|life| life.machine == *machine);
    }
    for set in crew.effects.sets.keys() {
        longer(&|life| life.set == *set);
    }
    for grinder in crew.effects.grinders.keys() {
        longer(&|life| life.features.ground_by == *grinder);
    }
}

/// The variance of a variance among `n` normal values is `2 / (n - 1)` of its square.
#[test]
fn effects_spread_as_stated() {
    let mut plan = CrewPlan {
        machines: vec![Rotor::Drum; 40],
        sets_per_machine: 2,
        grinders: (0..30).map(|name| name.to_string()).collect(),
        ..plain(0)
    };
    plan.truth.spreads = GroupSpreads {
        machine: 0.4,
        set: 0.3,
        grinder: 0.2,
    };
    let crews: Vec<_> = (0..50)
        .map(|seed| invented_crew(seed, &plan).effects)
        .collect();
    let check = |effects: Vec<f64>, spread: f64| {
        let (count, variance) = (effects.len() as f64, spread * spread);
        let (mean, found) = mean_and_variance(&effects);
        assert_abs_diff_eq!(mean, 0.0, epsilon = 4.0 * spread / count.sqrt());
        let error = variance * (2.0 / (count - 1.0)).sqrt();
        assert_abs_diff_eq!(found, variance, epsilon = 4.0 * error);
    };
    check(
        crews
            .iter()
            .flat_map(|c| c.machines.values().copied())
            .collect(),
        0.4,
    );
    check(
        crews
            .iter()
            .flat_map(|c| c.sets.values().copied())
            .collect(),
        0.3,
    );
    check(
        crews
            .iter()
            .flat_map(|c| c.grinders.values().copied())
            .collect(),
        0.2,
    );
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

/// `ln w = ln(width / width at dull) / p + noise`.
#[test]
fn a_measured_flat_tells_the_wear_fraction_with_its_own_error_and_exponent() {
    let mut plan = CrewPlan {
        measuring: 1.0,
        ..plain(4000)
    };
    plan.truth.flat_error = 0.2;
    plan.truth.flat_exponent = 0.7;
    let crew = invented_crew(41, &plan);
    let noise: Vec<f64> = crew
        .lives
        .iter()
        .zip(&crew.hidden)
        .map(|(life, hidden)| match looks(life)[0].sight {
            Sight::Measured(width) => width.get().ln() / 0.7 - (50.0 / hidden.get()).ln(),
            other => panic!("measured, not {other:?}"),
        })
        .collect();
    let (mean, variance) = mean_and_variance(&noise);
    assert_abs_diff_eq!(mean, 0.0, epsilon = 4.0 * 0.2 / 4000.0_f64.sqrt());
    assert_abs_diff_eq!(
        variance,
        0.04,
        epsilon = 4.0 * 0.04 * (2.0 / 3999.0_f64).sqrt()
    );
}

/// In a run under a condition with coefficient `ln 2` an hour wears two.
#[test]
fn a_condition_of_the_crews_own_wears_as_its_coefficient_says_and_is_written() {
    let plan = CrewPlan {
        own_conditions: vec![OwnCondition {
            name: "vines".to_owned(),
            share: 0.4,
            coefficient: std::f64::consts::LN_2,
        }],
        ..plain(4000)
    };
    let lives = crew(61, &plan);
    let runs: Vec<_> = lives
        .iter()
        .flat_map(|life| &life.exposure.segments)
        .collect();
    let holds = |run: &crate::lives::Segment| run.blend.parts()[0].covariates.row()[7];
    let share = runs.iter().map(|run| holds(run)).sum::<f64>() / runs.len() as f64;
    assert_abs_diff_eq!(share, 0.4, epsilon = four_errors(0.4, runs.len()));
    let age = |life: &EdgeLife| -> f64 {
        let runs = life.exposure.segments.iter();
        runs.map(|run| (run.stop.get() - run.start.get()) * (1.0 + holds(run)))
            .sum()
    };
    let expected = lives
        .iter()
        .map(|life| dull_by(age(life) / 1.15))
        .sum::<f64>()
        / 4000.0;
    let overrun = share_graded(&lives, 0, Grade::Overrun);
    assert_abs_diff_eq!(overrun, expected, epsilon = four_errors(expected, 4000));
}

/// The dirt columns of the covariate rows of all written runs: dusty, dirty, gritty.
fn dirt_written(lives: &[EdgeLife]) -> Vec<[f64; 3]> {
    let segments = lives.iter().flat_map(|life| &life.exposure.segments);
    let row = |segment: &crate::lives::Segment| {
        let row = segment.blend.parts()[0].covariates.row();
        [row[1], row[2], row[3]]
    };
    segments.map(row).collect()
}

#[test]
fn dirt_slips_change_what_is_written_and_nothing_else() {
    const CLEAN: [f64; 3] = [0.0; 3];
    const DIRTY: [f64; 3] = [0.0, 1.0, 0.0];
    const GRITTY: [f64; 3] = [0.0, 0.0, 1.0];
    let honest = CrewPlan {
        edges: 1500,
        ..CrewPlan::default()
    };
    let slips = DirtSlips {
        one_cleaner: 0.3,
        as_clean: 0.1,
    };
    let slipping = CrewPlan {
        dirt_slips: slips,
        ..honest.clone()
    };
    let (was, wrote) = (invented_crew(51, &honest), invented_crew(51, &slipping));
    assert_eq!(was.hidden, wrote.hidden);
    for (was, wrote) in was.lives.iter().zip(&wrote.lives) {
        assert_eq!(was.observation, wrote.observation);
        assert_eq!(was.exposure.total(), wrote.exposure.total());
    }
    let (was, wrote) = (dirt_written(&was.lives), dirt_written(&wrote.lives));
    let of_gritty: Vec<_> = was
        .iter()
        .zip(&wrote)
        .filter(|(was, _)| **was == GRITTY)
        .collect();
    let count = of_gritty.len();
    assert!(count > 500, "{count}");
    for (written, share) in [(DIRTY, 0.3), (CLEAN, 0.1), (GRITTY, 0.6)] {
        let found = of_gritty
            .iter()
            .filter(|(_, wrote)| **wrote == written)
            .count();
        let found = found as f64 / count as f64;
        assert_abs_diff_eq!(found, share, epsilon = four_errors(share, count));
    }
}
