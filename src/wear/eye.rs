//! What a grader's eye makes of a worn edge.
//!
//! The eye sees the log of the wear fraction with a normal error of spread `sigma_g`: a grade is
//! given when what is seen falls within the grade's band.

use super::life_distribution::Curve;
use crate::lives::Sight;
use crate::numerics::normal;
use crate::quantities::Grade;

/// What one look says of the wear fraction, with the cuts on the log scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Glance {
    /// Seen between two cuts, either of which may be infinite.
    Between {
        /// `ln` of the lower cut.
        low: f64,
        /// `ln` of the upper cut.
        high: f64,
    },
    /// Seen at exactly this log wear fraction: measured, or noticed in the cut.
    At(f64),
}

impl From<Sight> for Glance {
    fn from(sight: Sight) -> Self {
        let between = |(low, high): (Option<f64>, Option<f64>)| Glance::Between {
            low: low.map_or(f64::NEG_INFINITY, f64::ln),
            high: high.map_or(f64::INFINITY, f64::ln),
        };
        match sight {
            Sight::Graded(grade) => between(grade.band()),
            Sight::NotCalled => between((None, Grade::Overrun.band().0)),
            Sight::Measured(fraction) => Glance::At(fraction.get().ln()),
        }
    }
}

impl Glance {
    /// `ln P(look | log wear fraction)`, or the log density for [`Glance::At`], and its derivatives.
    ///
    /// ```text
    /// P = Phi((high - v)/s) - Phi((low - v)/s)        v = log wear fraction, s = eye error
    /// ```
    pub fn log_probability(self, log_fraction: f64, eye_error: f64) -> Curve {
        match self {
            Glance::At(seen) => {
                let z = (seen - log_fraction) / eye_error;
                Curve {
                    value: normal::log_density(z) - eye_error.ln(),
                    first: z / eye_error,
                    second: -1.0 / (eye_error * eye_error),
                }
            }
            Glance::Between { low, high } => {
                let (a, b) = (
                    (low - log_fraction) / eye_error,
                    (high - log_fraction) / eye_error,
                );
                if low == f64::NEG_INFINITY {
                    below(-b, -1.0, eye_error)
                } else if high == f64::INFINITY {
                    below(a, 1.0, eye_error)
                } else {
                    within(a, b, eye_error)
                }
            }
        }
    }

    /// The most that [`Glance::log_probability`] can be.
    pub fn most(self, eye_error: f64) -> f64 {
        match self {
            Glance::At(_) => -normal::LOG_SQRT_TWO_PI - eye_error.ln(),
            Glance::Between { .. } => 0.0,
        }
    }
}

/// `ln P(Z > z)` where `z` moves by `-direction / eye_error` for each unit of log fraction.
fn below(z: f64, direction: f64, eye_error: f64) -> Curve {
    let hazard = normal::log_hazard(z).exp();
    let (excess, _) = normal::hazard_excess(z);
    Curve {
        value: normal::log_upper_tail(z),
        first: direction * hazard / eye_error,
        second: -hazard * excess / (eye_error * eye_error),
    }
}

fn within(a: f64, b: f64, eye_error: f64) -> Curve {
    let value = normal::log_between(a, b);
    let at_a = (normal::log_density(a) - value).exp();
    let at_b = (normal::log_density(b) - value).exp();
    let first = (at_a - at_b) / eye_error;
    let second = (a * at_a - b * at_b) / (eye_error * eye_error) - first * first;
    Curve {
        value,
        first,
        second,
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
                    Glance::from(Sight::Graded(grade))
                        .log_probability(log_fraction, 0.2)
                        .value
                        .exp()
                })
                .sum();
            assert_relative_eq!(total, 1.0, max_relative = 1e-14);
        }
    }

    #[test]
    fn slopes_agree_with_differences() {
        for grade in Grade::ALL {
            let glance = Glance::from(Sight::Graded(grade));
            for v in [-1.0, -0.2, 0.1, 0.9] {
                let step = 1e-5;
                let (up, down) = (
                    glance.log_probability(v + step, 0.2),
                    glance.log_probability(v - step, 0.2),
                );
                let here = glance.log_probability(v, 0.2);
                assert_relative_eq!(
                    here.first,
                    (up.value - down.value) / (2.0 * step),
                    max_relative = 1e-6,
                    epsilon = 1e-8
                );
                assert_relative_eq!(
                    here.second,
                    (up.first - down.first) / (2.0 * step),
                    max_relative = 1e-6,
                    epsilon = 1e-6
                );
            }
        }
    }
}
