//! Edges that are known through one look and nothing else, as most are.

use super::looked::{Closeness, SeenCurve};
use super::{Common, Term};
use crate::wear::eye::Glance;
use crate::wear::life_distribution::Curve;

/// From so many edges on a curve that all share takes less time than an integral for each; a closer one from so many.
const SOME: usize = 32;
const MANY: usize = 400;

/// One look by the crew's eye.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OneLook {
    /// Which sum of the edge is its age.
    age: usize,
    look: Look,
    /// The Jacobian: numbers of sums with the factors of their logs.
    jacobian: [(usize, f64); 2],
}

/// What was seen, as logs of wear fraction.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Look {
    Below(f64),
    Above(f64),
    Between(f64, f64),
    At(f64),
}

impl OneLook {
    /// What these terms are, where they are one look and perhaps a Jacobian.
    pub fn of(terms: &[Term]) -> Option<Self> {
        let (jacobian, looks) = match terms {
            [Term::LookedAt { looks, sign: 1.0 }] => ([(0, 0.0); 2], looks),
            [
                Term::LogSum { sum, factor },
                Term::LogSum {
                    sum: other,
                    factor: its,
                },
                Term::LookedAt { looks, sign: 1.0 },
            ] => ([(*sum, *factor), (*other, *its)], looks),
            _ => return None,
        };
        let &[(age, glance)] = looks.as_slice() else {
            return None;
        };
        let look = match glance {
            Glance::Between { low, high } if low == f64::NEG_INFINITY => Look::Below(high),
            Glance::Between { low, high } if high == f64::INFINITY => Look::Above(low),
            Glance::Between { low, high } => Look::Between(low, high),
            Glance::At(seen) => Look::At(seen),
            Glance::Measured { .. } | Glance::MeasuredBelow { .. } => return None,
        };
        Some(Self {
            age,
            look,
            jacobian,
        })
    }

    /// The edge's log-likelihood with derivatives by the log of typical life, from the logs of its wear sums and of its
    /// typical life; `None` where the curve does not tell.
    pub fn seen(&self, curve: &SeenCurve, logs: &[f64], location: f64) -> Option<Curve> {
        let log_age = logs.get(self.age)? - location;
        let below = |cut: f64| curve.below(log_age, cut);
        let mass = match self.look {
            Look::Below(high) => below(high)?,
            Look::Above(low) => less(CERTAIN, below(low)?),
            Look::Between(low, high) => less(below(high)?, below(low)?),
            Look::At(seen) => curve.density(log_age, seen)?,
        };
        if mass.value < curve.least() {
            return None;
        }
        let jacobian = self.jacobian.iter();
        let jacobian: f64 = jacobian.map(|(sum, factor)| factor * logs[*sum]).sum();
        let slope = mass.first / mass.value;
        Some(Curve {
            value: mass.value.ln() + jacobian,
            first: slope,
            second: mass.second / mass.value - slope * slope,
        })
    }
}

const CERTAIN: Curve = Curve {
    value: 1.0,
    first: 0.0,
    second: 0.0,
};

fn less(one: Curve, other: Curve) -> Curve {
    Curve {
        value: one.value - other.value,
        first: one.first - other.first,
        second: one.second - other.second,
    }
}

/// The curve that so many looks share; `None` where they are too few for one.
pub fn shared_curve(common: &Common, looks: usize) -> Option<SeenCurve> {
    let closeness = match looks {
        ..SOME => return None,
        SOME..MANY => Closeness::OF_CREW,
        MANY.. => Closeness::OF_FLEET,
    };
    let law = (common.sigma, common.anchor);
    SeenCurve::new(closeness, common.family, law, common.eye)
}
