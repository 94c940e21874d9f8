//! One function a kind of observation, for moments known without error.

use super::local::{Gap, Local, LocalPoint};
use crate::numerics::elementary::log_one_minus_exp_minus;
use crate::wear::life_distribution::{Curve, Family, LifeDistribution};

/// `ln S(w)`: not dull by this age.
pub fn not_dull_by(local: &mut Local, point: &LocalPoint, family: Family, age: usize) {
    let log_hazard = family.log_cumulative_hazard(point.standardised(age));
    let hazard = log_hazard.value.exp();
    local.add_at(
        point,
        age,
        Curve {
            value: -hazard,
            first: -hazard * log_hazard.first,
            second: -hazard * (log_hazard.second + log_hazard.first * log_hazard.first),
        },
    );
}

/// `ln S(w + gap) - ln S(w)`: not dull at the start, nor over the stretch.
pub fn not_dull_over(
    local: &mut Local,
    point: &LocalPoint,
    family: Family,
    stretch: (usize, usize),
) {
    let gap = Gap::at(point, stretch);
    let gathered = family.log_hazard_gathered(point.standardised(stretch.0), gap.value);
    let hazard = gathered.value.exp();
    let outer = Curve {
        value: -hazard,
        first: -hazard,
        second: -hazard,
    };
    local.add_stretch(point, stretch, gap, gathered, outer);
}

/// `ln F(w)`: dull by this age.
pub fn dull_by(local: &mut Local, point: &LocalPoint, family: Family, age: usize) {
    let log_hazard = family.log_cumulative_hazard(point.standardised(age));
    let (value, first, second) = log_one_minus_exp_minus(log_hazard.value);
    local.add_at(
        point,
        age,
        Curve {
            value,
            first: first * log_hazard.first,
            second: second * log_hazard.first * log_hazard.first + first * log_hazard.second,
        },
    );
}

/// `ln(1 - S(w + gap) / S(w))`: given not dull at the start, dull within the stretch.
pub fn dull_within(local: &mut Local, point: &LocalPoint, family: Family, stretch: (usize, usize)) {
    let gap = Gap::at(point, stretch);
    let gathered = family.log_hazard_gathered(point.standardised(stretch.0), gap.value);
    let (value, first, second) = log_one_minus_exp_minus(gathered.value);
    local.add_stretch(
        point,
        stretch,
        gap,
        gathered,
        Curve {
            value,
            first,
            second,
        },
    );
}

/// `ln h(w) - ln sigma`: given not dull before, dull at this very age. The density of life by the
/// hour also needs `ln r - ln u`, which the parent adds.
pub fn dull_at(local: &mut Local, point: &LocalPoint, family: Family, age: usize) {
    local.add_at(point, age, family.log_hazard(point.standardised(age)));
    local.value -= point.sigma.ln();
    let lambda = point.ages.len();
    local.gradient[lambda] -= 1.0;
}
