//! What a crew writes: measured flats, its own conditions, dirt cleaner than it was.

use super::*;

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
