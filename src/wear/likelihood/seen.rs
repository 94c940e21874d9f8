//! One function a kind of observation, for moments known without error.

use super::local::{Local, LocalPoint};
use super::{Order, Phase};
use crate::numerics::elementary::log_one_minus_exp_minus;
use crate::wear::life_distribution::{Curve, Family, LifeDistribution};

/// `ln S(w)`, or `ln S(w + gap) - ln S(w)`: not dull over the phase.
pub fn not_dull(local: &mut Local, point: &LocalPoint, family: Family, phase: Phase) {
    local.add_phase(point, family, phase, |log_hazard| {
        let hazard = log_hazard.exp();
        Curve {
            value: -hazard,
            first: -hazard,
            second: -hazard,
        }
    });
}

/// `ln(1 - exp(-hazard gathered))`: given not dull at the start, dull within the phases.
pub fn dull_within(local: &mut Local, point: &LocalPoint, family: Family, phases: &[Phase]) {
    if let [phase] = phases {
        local.add_phase(point, family, *phase, log_dull);
    } else {
        let gathered = gathered(local, point, family, phases);
        local.add_composed(&gathered, log_dull(gathered.value));
    }
}

fn log_dull(log_hazard: f64) -> Curve {
    let (value, first, second) = log_one_minus_exp_minus(log_hazard);
    Curve {
        value,
        first,
        second,
    }
}

/// The log of the hazard gathered over several phases.
fn gathered(like: &Local, point: &LocalPoint, family: Family, phases: &[Phase]) -> Local {
    let mut logs = Vec::with_capacity(phases.len());
    for phase in phases {
        let mut log = Local::zero(like.ages(), like.order());
        log.add_phase(point, family, *phase, |value| Curve {
            value,
            first: 1.0,
            second: 0.0,
        });
        logs.push(log);
    }
    let largest = logs
        .iter()
        .map(|log| log.value)
        .fold(f64::NEG_INFINITY, f64::max);
    let total: f64 = logs.iter().map(|log| (log.value - largest).exp()).sum();
    let mut sum = Local::zero(like.ages(), like.order());
    for log in &logs {
        let share = (log.value - largest).exp() / total;
        sum.add_composed(
            log,
            Curve {
                value: 0.0,
                first: share,
                second: share,
            },
        );
    }
    sum.value = largest + total.ln();
    if sum.order() == Order::Hessian {
        // The mean of the squared slopes, less the square of the mean slope.
        for i in 0..sum.gradient.len() {
            for j in 0..sum.gradient.len() {
                sum.add_bend(i, j, -sum.gradient[i] * sum.gradient[j]);
            }
        }
    }
    sum
}

/// `ln h(w) - ln sigma`: given not dull before, dull at this very age. The density of life by the
/// hour also needs `ln r - ln u`, which the parent adds.
pub fn dull_at(local: &mut Local, point: &LocalPoint, family: Family, age: usize) {
    local.add_at(point, age, family.log_hazard(point.standardised(age)));
    local.value -= point.sigma.ln();
    let lambda = local.lambda();
    local.gradient[lambda] -= 1.0;
}
