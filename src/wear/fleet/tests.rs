use super::columns::Place;
use super::*;
use crate::lives::fleet_hours;
use crate::lives::{Dulling, EdgeHours};
use approx::assert_relative_eq;

/// A few edges of every kind on two machines.
fn few() -> FleetHours {
    let mut rows = crate::lives::CovariateRows::new(2);
    let numbers = [[0.3, 1.0], [-0.2, 0.0], [0.0, 0.5]].map(|row| rows.number(&row));
    let [a, b, c] = numbers;
    fleet_hours(EdgeHours {
        covariate_names: vec!["hard".to_string(), "dirt".to_string()],
        rows,
        group_name: Some("machine".to_string()),
        levels: vec!["one".to_string(), "two".to_string()],
        level: vec![0, 0, 0, 1, 1, 1],
        dulling: vec![
            Dulling::Exact,
            Dulling::Between,
            Dulling::Not,
            Dulling::Before,
            Dulling::Between,
            Dulling::Not,
        ],
        sharp: vec![0, 2, 1, 0, 1, 0],
        moment: vec![b, 0, 0, 0, 0, 0],
        ends: vec![2, 5, 6, 8, 10, 10],
        segment_rows: vec![a, b, b, c, a, c, a, b, c, c],
        segment_hours: vec![5.0, 3.5, 4.0, 2.5, 3.0, 9.0, 7.0, 2.0, 12.0, 1e-3],
        hours: 49.0,
        strikes: 1,
        ..EdgeHours::default()
    })
}

/// Second slopes against differences of slopes, slopes against differences of values.
#[test]
fn slopes_are_those_of_the_value() {
    let columns = FleetColumns::new(few());
    let shape = columns.shape;
    let point = [2.4, 0.4, 0.7, 0.6, 0.1, -0.2];
    let at = |point: &[f64], bends: bool| {
        let (shared, effects) = point.split_at(4);
        columns.pass(Place { shared, effects }, bends).total()
    };
    let here = at(&point, true);
    for i in 0..4 {
        let moved = |by: f64| {
            let mut point = point;
            point[i] += by;
            at(&point, false)
        };
        let (up, down) = (moved(1e-5), moved(-1e-5));
        let slope = |place: usize| (up[place] - down[place]) / 2e-5;
        assert_relative_eq!(
            here[shape.slope(i)],
            slope(0),
            max_relative = 1e-8,
            epsilon = 1e-8
        );
        for j in i..4 {
            let bend = here[shape.bend(i, j)];
            assert_relative_eq!(
                bend,
                slope(shape.slope(j)),
                max_relative = 1e-7,
                epsilon = 1e-7
            );
        }
    }
}

/// Definition in words in `edge`, by plain formulas in another order of sums.
#[test]
fn the_value_is_that_of_the_plain_formulas() {
    let columns = FleetColumns::new(few());
    let (shared, effects) = ([2.4, 0.4, 0.7, 0.6], [0.1, -0.2]);
    let k = 0.6_f64.exp();
    let rate = |hard: f64, dirt: f64| (0.4 * hard + 0.7 * dirt).exp();
    let (a, b, c) = (rate(0.3, 1.0), rate(-0.2, 0.0), rate(0.0, 0.5));
    let hazard = |wear: f64, effect: f64| (wear / (2.4_f64 + effect).exp()).powf(k);
    let (one, two) = (0.1, -0.2);
    let exact = 5.0 * a + 3.5 * b;
    let h = hazard(exact, one);
    let sharp = 4.0 * b + 2.5 * c;
    let survived = |wear: f64, effect: f64| (-hazard(wear, effect)).exp();
    let value = (k / exact * h).ln() - h
        + b.ln()
        + (survived(sharp, one) - survived(sharp + 3.0 * a, one)).ln()
        - hazard(9.0 * c, one)
        + (1.0 - survived(7.0 * a + 2.0 * b, two)).ln()
        + (survived(12.0 * c, two) - survived(12.001 * c, two)).ln();
    let shared = &shared;
    let sums = columns
        .pass(
            Place {
                shared,
                effects: &effects,
            },
            false,
        )
        .total();
    assert_relative_eq!(sums[0], value, max_relative = 1e-11);
}

/// Against Gauss and Legendre's rule over the whole line of each effect.
#[test]
fn effects_are_integrated_out() {
    let priors = vec![NormalPrior::new(2.0, 1.0).expect("a prior"); 4];
    let density = FleetDensity::new(FleetColumns::new(few()), priors.clone(), &|| {});
    let (spread, shared) = (0.25, [2.4, 0.4, 0.7, 0.6]);
    let rule = crate::numerics::GaussLegendre::<64>::new();
    let mut plain: f64 = priors
        .iter()
        .zip(shared)
        .map(|(p, x)| p.log_density(x).0)
        .sum();
    for group in 0..2 {
        let likelihood = |b: f64| {
            let place = Place {
                shared: &shared,
                effects: &[b, b],
            };
            let sums = density.columns.pass(place, false);
            sums.groups().nth(group).map_or(0.0, |sums| sums[0])
        };
        let integral = rule.integrate(-2.5, 2.5, |b| {
            (likelihood(b) - 0.5 * (b / spread).powi(2)).exp()
        });
        plain += (integral / spread).ln();
    }
    let point = [&shared[..], &[0.02, -0.01]].concat();
    let ours = density.integrated(&point, &[0.23, 0.24], spread).value;
    // So few edges leave a law far from normal, whose ends the points do not reach.
    assert_relative_eq!(ours, plain, epsilon = 1e-3, max_relative = 0.0);
}
