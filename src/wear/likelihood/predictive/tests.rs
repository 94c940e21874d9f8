//! Chances against the normal law and against the likelihood itself.

use super::*;
use crate::lives::{Look, Observation, Sight};
use crate::numerics::normal;
use crate::quantities::{MeterHours, WearFraction};
use crate::wear::density::{DensitySettings, Parameters, WearDensity};
use crate::wear::life_distribution::Family;
use crate::wear::{Anchor, EdgeRecord, EdgeRecords, Prior, Priors, Stretch};
use approx::{assert_abs_diff_eq, assert_relative_eq};

const SIGMA: f64 = 0.4;
const EYE: f64 = 0.2;
const TYPICAL: f64 = 40.0;

fn at(hours: f64) -> MeterHours {
    MeterHours::new(hours).expect("hours")
}

fn settings(family: Family) -> DensitySettings {
    DensitySettings {
        family,
        anchor: Anchor::Median,
        called_at: 1.3,
        flat_error: 0.1,
        flat_exponent: 1.0,
    }
}

/// Edges that worked 60 hours of reference wood, with no covariates.
fn density(family: Family, seen: &[Observation], entry: Option<f64>) -> WearDensity {
    let stretch = Stretch {
        start: 0.0,
        stop: 60.0,
        parts: vec![(1.0, Vec::new())],
    };
    let edge = EdgeRecord {
        stretches: vec![stretch],
        weight: 1.0,
        entry,
        ..EdgeRecord::default()
    };
    let records = EdgeRecords {
        edges: vec![edge; seen.len()],
        ..EdgeRecords::default()
    };
    let priors = Priors {
        shared: vec![Prior::Flat; 4],
        spreads: Vec::new(),
    };
    WearDensity::new(&records, seen, settings(family), priors).expect("a density")
}

fn truth() -> Parameters {
    Parameters {
        shared: vec![TYPICAL.ln(), 0.0, SIGMA.ln(), EYE.ln()],
        effects: Vec::new(),
    }
}

fn graded(sight: Sight, hours: f64) -> Observation {
    let look = Look {
        at: at(hours),
        sight,
    };
    Observation::Graded {
        looks: vec![look],
        noticed: None,
    }
}

fn chance(density: &WearDensity, bound: usize) -> f64 {
    density.log_chances(&truth(), &[bound])[0].exp()
}

/// Of lognormal life, what an eye with a normal error sees is normal: variances add up.
#[test]
fn lognormal_life_gives_the_normal_law() {
    let flat = WearFraction::new(1.1).expect("a fraction");
    let seen = [
        graded(Sight::Graded(Grade::Working), 35.0),
        graded(Sight::Measured(flat), 50.0),
    ];
    let density = density(Family::Lognormal, &seen, None);
    let by_hand = |cut: f64, hours: f64, error: f64| {
        let spread = (SIGMA * SIGMA + error * error).sqrt();
        normal::log_lower_tail((cut.ln() - (hours / TYPICAL).ln()) / spread).exp()
    };
    let [grade, flat] = [density.last_looks()[0], density.last_looks()[1]];
    // Draws are good to some 1e-8.
    let near = |bound: Option<usize>, wanted: f64| {
        let bound = bound.expect("a bound");
        assert_relative_eq!(chance(&density, bound), wanted, max_relative = 1e-6);
    };
    near(grade.low, by_hand(0.5, 35.0, EYE));
    near(grade.high, by_hand(0.85, 35.0, EYE));
    near(flat.low, by_hand(1.1, 50.0, 0.1));
    assert_eq!(flat.low, flat.high);
    let going = chance_going(density.law(), (35.0 / TYPICAL).ln(), SIGMA, Some(EYE));
    assert_relative_eq!(going, by_hand(1.0, 35.0, EYE), max_relative = 1e-6);
}

#[test]
fn the_width_of_a_span_is_the_likelihood_of_what_was_seen() {
    for family in Family::ALL {
        let mut seen: Vec<Observation> = Grade::ALL
            .iter()
            .map(|grade| graded(Sight::Graded(*grade), 45.0))
            .collect();
        seen.extend([
            graded(Sight::NotCalled, 45.0),
            Observation::RightCensored(at(45.0)),
            Observation::LeftCensored(at(45.0)),
            Observation::IntervalCensored {
                after: at(30.0),
                by: at(45.0),
            },
        ]);
        for (seen, entry) in seen
            .iter()
            .flat_map(|seen| [(seen, None), (seen, Some(12.0))])
        {
            let density = density(family, std::slice::from_ref(seen), entry);
            let look = density.last_looks()[0];
            let low = look.low.map_or(0.0, |bound| chance(&density, bound));
            let high = look.high.map_or(1.0, |bound| chance(&density, bound));
            // To all digits; chances are good to some 1e-8.
            let wanted = density.log_likelihood(&truth().shared).value.exp();
            assert_relative_eq!(high - low, wanted, max_relative = 1e-6);
        }
    }
}

fn with_eye(eye: f64) -> Parameters {
    let mut at = truth();
    at.shared[3] = eye.ln();
    at
}

/// The same closed form, for eyes far sharper and far duller than life spreads.
#[test]
fn a_plain_chance_of_lognormal_life_is_that_of_the_normal_law() {
    let seen = [graded(Sight::Graded(Grade::Working), 35.0)];
    let density = density(Family::Lognormal, &seen, None);
    let look = density.last_looks()[0];
    let bounds = [look.low.expect("a bound"), look.high.expect("a bound")];
    for eye in [0.001, 0.02, 0.1, 0.2, 0.4, 0.79] {
        let spread = (SIGMA * SIGMA + eye * eye).sqrt();
        let chances = density.chances(&with_eye(eye), &bounds);
        for (chance, cut) in chances.into_iter().zip([0.5_f64, 0.85]) {
            let standing = (cut.ln() - (35.0 / TYPICAL).ln()) / spread;
            let wanted = normal::log_lower_tail(standing).exp();
            assert_abs_diff_eq!(chance, wanted, epsilon = 2e-8);
        }
    }
}

/// Against the likelihood to all digits: what two plain chances leave between them is the chance of the grade.
#[test]
fn plain_chances_of_every_law_leave_the_likelihood_between_them() {
    let grades = Grade::ALL.map(|grade| graded(Sight::Graded(grade), 45.0));
    for family in Family::ALL {
        for (seen, entry) in grades.iter().flat_map(|it| [(it, None), (it, Some(12.0))]) {
            let density = density(family, std::slice::from_ref(seen), entry);
            let look = density.last_looks()[0];
            for eye in [0.02, 0.2, 0.5, 0.79, 2.0] {
                let at = with_eye(eye);
                let chance = |bound: usize| density.chances(&at, &[bound])[0];
                let found = look.high.map_or(1.0, chance) - look.low.map_or(0.0, chance);
                let wanted = density.log_likelihood(&at.shared).value.exp();
                // Where an edge came into view late, or the eye is dull, chances come from the logs' integral.
                let quick = entry.is_none() && eye < 0.8;
                let epsilon = if quick { 4e-8 } else { 2e-8 };
                assert_abs_diff_eq!(found, wanted, epsilon = epsilon);
            }
        }
    }
}
