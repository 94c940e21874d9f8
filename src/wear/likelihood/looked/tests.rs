//! The quick way against the careful one.

use super::*;
use crate::quantities::Grade;
use crate::wear::generator::seeded;
use rand::{Rng, RngExt};

/// One or more looks of all kinds at an edge somewhat worn.
fn looks(random: &mut impl Rng, point: &mut LocalPoint) -> Vec<(usize, Glance)> {
    let count = random.random_range(1..=4);
    point.ages = (0..count).map(|_| random.random_range(-1.0..0.4)).collect();
    let glance = |random: &mut dyn FnMut(u32) -> u32| match random(6) {
        0 => Glance::not_called(),
        1 => Glance::At(0.05),
        2 => Glance::Measured {
            log_fraction: -0.2,
            error: 0.15,
        },
        3 => Glance::MeasuredBelow {
            high: 0.1,
            error: 0.15,
        },
        grade => Glance::of_grade(Grade::ALL[grade as usize - 3]),
    };
    (0..count)
        .map(|age| (age, glance(&mut |below| random.random_range(0..below))))
        .collect()
}

fn local_at(
    (point, family): (&LocalPoint, Family),
    looks: &[(usize, Glance)],
    precision: Precision,
) -> Local {
    local_to((point, family), looks, precision, Order::Hessian)
}

fn local_to(
    (point, family): (&LocalPoint, Family),
    looks: &[(usize, Glance)],
    precision: Precision,
    order: Order,
) -> Local {
    let mut local = Local::zero(point.ages.len(), order);
    looked_at(&mut local, point, family, looks, 1.0, precision);
    local
}

fn close(quick: f64, careful: f64, scale: f64) {
    let error = (quick - careful).abs() / (scale + careful.abs());
    assert!(error < 1e-4, "{quick} {careful}");
}

/// Asks of every family what hundreds of looks that are likely come to, with the careful answer.
fn each_likely(seed: u64, mut ask: impl FnMut(&LocalPoint, Family, &[(usize, Glance)], &Local)) {
    let random = &mut seeded(seed);
    let mut likely = 0;
    for _ in 0..400 {
        let mut point = LocalPoint {
            ages: Vec::new(),
            sigma: random.random_range(0.15..0.6),
            eye: random.random_range(0.1..0.35),
            anchor: -0.37,
        };
        let looks = looks(random, &mut point);
        for family in Family::ALL {
            let careful = local_at((&point, family), &looks, Precision::Full);
            if careful.value < -5.0 {
                continue;
            }
            likely += 1;
            ask(&point, family, &looks, &careful);
        }
    }
    assert!(likely > 500, "{likely}");
}

/// What is likely is known to 1e-5 at worst, far within what draws scatter by, and its derivatives to 1e-4 of one over the eye's error.
#[test]
fn the_quick_integral_and_its_derivatives_are_those_of_the_careful_one() {
    each_likely(3, |point, family, looks, careful| {
        let quick = local_at((point, family), looks, Precision::Sampling);
        let alone = local_to((point, family), looks, Precision::Sampling, Order::Value);
        // One look has finer nodes where derivatives are wanted, several have the same.
        let apart = (quick.value - alone.value).abs();
        let most = if looks.len() == 1 { 1e-6 } else { 1e-7 };
        assert!(apart < most, "{apart} of {point:?} {looks:?}");
        let off = (quick.value - careful.value).abs();
        let scale = 1.0 / point.eye;
        assert!(
            off < 1e-5,
            "{off} at {} of {point:?} {looks:?}",
            careful.value
        );
        for i in 0..quick.gradient.len() {
            close(quick.gradient[i], careful.gradient[i], scale);
            for j in 0..quick.gradient.len() {
                close(quick.bend(i, j), careful.bend(i, j), scale * scale);
            }
        }
    });
}

/// Slope and bend by the log of typical life are minus the sums over the ages'.
#[test]
fn the_rough_integral_along_log_life_is_the_careful_one_roughly() {
    each_likely(5, |point, family, looks, careful| {
        let rough = along(point, family, looks).expect("likely");
        let ages = 0..point.ages.len();
        let slope: f64 = ages.clone().map(|age| -careful.gradient[age]).sum();
        let pairs = ages.clone().flat_map(|i| ages.clone().map(move |j| (i, j)));
        let bend: f64 = pairs.map(|(i, j)| careful.bend(i, j)).sum();
        let unit = 1.0 / point.eye;
        assert!((rough.value - careful.value).abs() < 0.01, "{point:?}");
        assert!((rough.first - slope).abs() < 0.03 * unit, "{point:?}");
        assert!((rough.second - bend).abs() < 0.1 * unit * unit, "{point:?}");
    });
}

/// One look by the quick way of its own: it answers down to what it says it can, in every family and for every kind of
/// look, and no further.
#[test]
fn one_look_has_the_derivatives_of_the_careful_integral() {
    let glances = [
        Glance::not_called(),
        Glance::At(0.05),
        Glance::of_grade(Grade::Keen),
        Glance::of_grade(Grade::Working),
        Glance::of_grade(Grade::Dull),
        Glance::of_grade(Grade::Overrun),
        Glance::Measured {
            log_fraction: -0.2,
            error: 0.15,
        },
        Glance::MeasuredBelow {
            high: 0.1,
            error: 0.15,
        },
    ];
    let (mut told, mut rare) = (0, 0);
    for (sigma, eye) in [(0.2, 0.3), (0.35, 0.12), (0.5, 0.2)] {
        for step in 0..40 {
            let point = LocalPoint {
                ages: vec![-2.5 + 0.1 * f64::from(step)],
                sigma,
                eye,
                anchor: -0.37,
            };
            for (family, glance) in Family::ALL
                .into_iter()
                .flat_map(|family| glances.map(|glance| (family, glance)))
            {
                let looks = [(0, glance)];
                let careful = local_at((&point, family), &looks, Precision::Full);
                let integral = Integral {
                    point: &point,
                    family,
                    looks: &looks,
                    precision: Precision::Sampling,
                    order: Order::Hessian,
                };
                let mut quick = Local::zero(1, Order::Hessian);
                if !one::looked_at(&mut quick, &integral, 1.0) {
                    // A density is of the log of wear fraction, and may be larger than a chance.
                    let is_chance = matches!(
                        glance,
                        Glance::Between { .. } | Glance::MeasuredBelow { .. }
                    );
                    let rare = if is_chance { -2.0 } else { 0.0 };
                    assert!(careful.value < rare, "{family:?} {glance:?} {point:?}");
                    continue;
                }
                told += 1;
                rare += usize::from(careful.value < -5.0);
                let off = (quick.value - careful.value).abs();
                assert!(off < 1e-5, "{off} {family:?} {glance:?} {point:?}");
                let scale = 1.0 / glance.error(eye);
                for i in 0..3 {
                    close(quick.gradient[i], careful.gradient[i], scale);
                    for j in 0..3 {
                        close(quick.bend(i, j), careful.bend(i, j), scale * scale);
                    }
                }
                // With slopes alone they are the same.
                let mut slopes = Local::zero(1, Order::Gradient);
                let integral = Integral {
                    order: Order::Gradient,
                    ..integral
                };
                assert!(one::looked_at(&mut slopes, &integral, 1.0));
                for (one, other) in slopes.gradient.iter().zip(&quick.gradient) {
                    assert!((one - other).abs() < 1e-12 * scale, "{one} {other}");
                }
            }
        }
    }
    assert!(told > 2000 && rare > 100, "{told} {rare}");
}
