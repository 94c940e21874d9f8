//! One row by logs of hazards: any law, any age.

use super::super::life_distribution::{Family, LifeDistribution};
use super::block::Kind;
use super::slopes::Slopes;
use crate::numerics::elementary::log_one_minus_exp_minus;

/// What a row of this kind adds.
pub fn slopes(family: Family, kind: Kind, z: f64, g: f64) -> Slopes {
    match kind {
        Kind::Exact => exact(family, z),
        Kind::Right | Kind::Entered => alive(family, z),
        Kind::Left => left(family, z),
        Kind::LeftInView | Kind::Interval => interval(family, z, g),
    }
}

/// `-H(z)`.
fn alive(family: Family, z: f64) -> Slopes {
    let log = family.log_cumulative_hazard(z);
    let hazard = log.value.exp();
    Slopes::of_one_age(
        -hazard,
        -hazard * log.first,
        -hazard * (log.second + log.first * log.first),
    )
}

/// `ln h(z) - H(z)`.
fn exact(family: Family, z: f64) -> Slopes {
    let (hazard, alive) = (family.log_hazard(z), alive(family, z));
    Slopes::of_one_age(
        hazard.value + alive.value,
        hazard.first + alive.z,
        hazard.second + alive.zz,
    )
}

/// `ln(1 - exp(-H(z)))`.
fn left(family: Family, z: f64) -> Slopes {
    let log = family.log_cumulative_hazard(z);
    let (value, first, second) = log_one_minus_exp_minus(log.value);
    Slopes::of_one_age(
        value,
        first * log.first,
        second * log.first * log.first + first * log.second,
    )
}

/// `-H(z) + ln(1 - exp(-(H(z + g) - H(z))))`.
fn interval(family: Family, z: f64, g: f64) -> Slopes {
    let alive = alive(family, z);
    let log = family.log_hazard_gathered(z, g);
    let (value, first, second) = log_one_minus_exp_minus(log.value);
    let by_gap = g * log.by_gap;
    Slopes {
        value: alive.value + value,
        z: alive.z + first * log.by_start,
        g: first * by_gap,
        zz: alive.zz + second * log.by_start * log.by_start + first * log.by_start_start,
        zg: second * log.by_start * by_gap + first * log.by_start_gap * g,
        gg: second * by_gap * by_gap + first * log.by_gap_gap * g * g,
    }
}
