//! What a grader's eye makes of a worn edge.
//!
//! The eye sees the log of the wear fraction with a normal error of spread `sigma_g`: a grade is
//! given when what is seen falls within the grade's band. A measured flat is seen with an error of its
//! own, which is not learned.

use super::likelihood::Order;
use crate::numerics::normal;
use crate::quantities::Grade;

/// What one look says of the wear fraction, on the log scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Glance {
    /// Seen between two cuts, either of which may be infinite.
    Between {
        /// `ln` of the lower cut.
        low: f64,
        /// `ln` of the upper cut.
        high: f64,
    },
    /// Seen at exactly this log wear fraction: noticed in the cut.
    At(f64),
    /// Measured at this log wear fraction.
    Measured {
        /// `ln` of the wear fraction that the flat tells of.
        log_fraction: f64,
        /// Error of the measurement on that log.
        error: f64,
    },
    /// Would be measured below this log wear fraction.
    MeasuredBelow {
        /// `ln` of the wear fraction.
        high: f64,
        /// Error of the measurement on that log.
        error: f64,
    },
}

/// `ln P(look | v, epsilon)` with its derivatives by the log wear fraction `v` and by `epsilon`, the log
/// of the eye's error.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Seen {
    /// The log of the probability, or of the density.
    pub value: f64,
    /// By `v`.
    pub by_v: f64,
    /// By `epsilon`.
    pub by_eye: f64,
    /// Second, `v` twice.
    pub by_v_v: f64,
    /// Second, mixed.
    pub by_v_eye: f64,
    /// Second, `epsilon` twice.
    pub by_eye_eye: f64,
}

impl Glance {
    /// A grade.
    pub fn of_grade(grade: Grade) -> Self {
        Self::between(grade.band())
    }

    /// Nobody called it: seen below the lower cut of overrun.
    pub fn not_called() -> Self {
        Self::between((None, Grade::Overrun.band().0))
    }

    /// Seen below this log wear fraction.
    pub fn below(high: f64) -> Self {
        Self::Between {
            low: f64::NEG_INFINITY,
            high,
        }
    }

    fn between((low, high): (Option<f64>, Option<f64>)) -> Self {
        Self::Between {
            low: low.map_or(f64::NEG_INFINITY, f64::ln),
            high: high.map_or(f64::INFINITY, f64::ln),
        }
    }

    /// The error with which it was seen.
    pub fn error(self, eye: f64) -> f64 {
        match self {
            Glance::Measured { error, .. } | Glance::MeasuredBelow { error, .. } => error,
            _ => eye,
        }
    }

    /// `ln P(look | log wear fraction)`, or the log density where it is seen at one point, up to the
    /// derivatives asked for.
    ///
    /// ```text
    /// P = Phi((high - v)/s) - Phi((low - v)/s)        v = log wear fraction, s = eye error
    /// ```
    pub fn seen(self, v: f64, eye: f64, order: Order) -> Seen {
        match self {
            Glance::At(seen) => at((seen - v) / eye, eye),
            Glance::Measured {
                log_fraction,
                error,
            } => Seen {
                by_eye: 0.0,
                by_v_eye: 0.0,
                by_eye_eye: 0.0,
                ..at((log_fraction - v) / error, error)
            },
            Glance::MeasuredBelow { high, error } => Seen {
                by_eye: 0.0,
                by_v_eye: 0.0,
                by_eye_eye: 0.0,
                ..one_sided((v - high) / error, -1.0, error, order)
            },
            Glance::Between { low, high } => {
                let (a, b) = ((low - v) / eye, (high - v) / eye);
                if low == f64::NEG_INFINITY {
                    one_sided(-b, -1.0, eye, order)
                } else if high == f64::INFINITY {
                    one_sided(a, 1.0, eye, order)
                } else {
                    two_sided(a, b, eye, order)
                }
            }
        }
    }

    /// The most that the log probability can be.
    pub fn most(self, eye: f64) -> f64 {
        match self {
            Glance::Between { .. } | Glance::MeasuredBelow { .. } => 0.0,
            _ => -normal::LOG_SQRT_TWO_PI - self.error(eye).ln(),
        }
    }
}

/// The normal log density of `z = (seen - v) / s`.
fn at(z: f64, error: f64) -> Seen {
    Seen {
        value: normal::log_density(z) - error.ln(),
        by_v: z / error,
        by_eye: z * z - 1.0,
        by_v_v: -1.0 / (error * error),
        by_v_eye: -2.0 * z / error,
        by_eye_eye: -2.0 * z * z,
    }
}

/// `ln P(Z > z)` where `z` moves by `-direction / eye` for each unit of log fraction.
fn one_sided(z: f64, direction: f64, eye: f64, order: Order) -> Seen {
    let value = normal::log_upper_tail(z);
    if order == Order::Value {
        return Seen {
            value,
            ..Seen::default()
        };
    }
    let hazard = normal::log_hazard(z).exp();
    let (excess, _) = normal::hazard_excess(z);
    // By z: minus the hazard, and minus hazard times its excess over z.
    let bend = -hazard * excess;
    let z_by_v = -direction / eye;
    Seen {
        value,
        by_v: -hazard * z_by_v,
        by_eye: hazard * z,
        by_v_v: bend * z_by_v * z_by_v,
        by_v_eye: -bend * z * z_by_v + hazard * z_by_v,
        by_eye_eye: bend * z * z - hazard * z,
    }
}

fn two_sided(a: f64, b: f64, eye: f64, order: Order) -> Seen {
    let value = normal::log_between(a, b);
    if order == Order::Value {
        return Seen {
            value,
            ..Seen::default()
        };
    }
    // Densities at the cuts over the probability between them.
    let at_a = (normal::log_density(a) - value).exp();
    let at_b = (normal::log_density(b) - value).exp();
    let by_v = (at_a - at_b) / eye;
    let by_eye = a * at_a - b * at_b;
    let (a_square, b_square) = (a * a - 1.0, b * b - 1.0);
    Seen {
        value,
        by_v,
        by_eye,
        by_v_v: (a * at_a - b * at_b) / (eye * eye) - by_v * by_v,
        by_v_eye: (a_square * at_a - b_square * at_b) / eye - by_v * by_eye,
        by_eye_eye: a * a_square * at_a - b * b_square * at_b - by_eye * by_eye,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn the_four_grades_share_out_all_there_is() {
        for log_fraction in [-3.0, -0.4, 0.0, 0.3, 2.0] {
            let total: f64 = Grade::ALL
                .iter()
                .map(|&grade| {
                    Glance::of_grade(grade)
                        .seen(log_fraction, 0.2, Order::Value)
                        .value
                        .exp()
                })
                .sum();
            assert_relative_eq!(total, 1.0, max_relative = 1e-14);
        }
    }

    #[test]
    fn slopes_agree_with_differences() {
        let measured = Glance::Measured {
            log_fraction: -0.1,
            error: 0.1,
        };
        let graded = Grade::ALL.map(Glance::of_grade);
        let step = 1e-5;
        for glance in graded.into_iter().chain([Glance::At(0.2), measured]) {
            for v in [-1.0, -0.2, 0.1, 0.9] {
                let at = |v: f64, epsilon: f64| glance.seen(v, epsilon.exp(), Order::Hessian);
                let epsilon = -1.6;
                let here = at(v, epsilon);
                let (up, down) = (at(v + step, epsilon), at(v - step, epsilon));
                let (wide, close) = (at(v, epsilon + step), at(v, epsilon - step));
                for (slope, high, low) in [
                    (here.by_v, up.value, down.value),
                    (here.by_v_v, up.by_v, down.by_v),
                    (here.by_v_eye, up.by_eye, down.by_eye),
                    (here.by_eye, wide.value, close.value),
                    (here.by_eye_eye, wide.by_eye, close.by_eye),
                    (here.by_v_eye, wide.by_v, close.by_v),
                ] {
                    let difference = (high - low) / (2.0 * step);
                    assert_relative_eq!(slope, difference, max_relative = 1e-6, epsilon = 1e-6);
                }
            }
        }
    }
}
