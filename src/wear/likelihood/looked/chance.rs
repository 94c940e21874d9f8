//! What a look says at one node, on plain probabilities.

use super::super::Order;
use crate::numerics::normal;
use crate::numerics::quick_normal::QuickNormal;
use crate::wear::eye::Glance;

/// What is seen lies at most so many errors off: beyond is one chance in 1e12.
const FARTHEST: f64 = 7.0;

/// One look's probability (or density) with its derivatives by the log wear fraction `v` and by the log of
/// the eye's error, each over the probability itself.
#[derive(Clone, Copy, Default)]
pub struct Chance {
    pub value: f64,
    pub by_v: f64,
    pub by_eye: f64,
    pub by_v_v: f64,
    pub by_v_eye: f64,
    pub by_eye_eye: f64,
}

impl Glance {
    /// The log wear fractions at which the look is not all but impossible.
    pub fn possible(self, eye: f64) -> (f64, f64) {
        let far = FARTHEST * self.error(eye);
        match self {
            Glance::Between { low, high } => (low - far, high + far),
            Glance::At(seen) => (seen - far, seen + far),
            Glance::Measured { log_fraction, .. } => (log_fraction - far, log_fraction + far),
            Glance::MeasuredBelow { high, .. } => (f64::NEG_INFINITY, high + far),
        }
    }

    /// The look at log wear fraction `v`, with the derivatives asked for.
    #[inline]
    pub fn chance(self, v: f64, eye: f64, order: Order, table: &QuickNormal) -> Chance {
        match self {
            Glance::Between { low, high } => {
                Chance::between((low - v) / eye, (high - v) / eye, eye, order, table)
            }
            Glance::At(seen) => Chance::at((seen - v) / eye, eye),
            Glance::Measured {
                log_fraction,
                error,
            } => Chance::at((log_fraction - v) / error, error).of_known_error(),
            Glance::MeasuredBelow { high, error } => {
                let high = (high - v) / error;
                Chance::between(f64::NEG_INFINITY, high, error, order, table).of_known_error()
            }
        }
    }
}

impl Chance {
    /// Seen between two cuts, in errors from the truth.
    #[inline]
    fn between(low: f64, high: f64, error: f64, order: Order, table: &QuickNormal) -> Self {
        let value = table.lower_tail(high) - table.lower_tail(low);
        if order == Order::Value || value <= 0.0 {
            return Self {
                value: value.max(0.0),
                ..Self::default()
            };
        }
        let (low, high) = (Cut::at(low), Cut::at(high));
        let (first, third) = (low.first - high.first, low.third - high.third);
        let over = 1.0 / (value * error);
        Self {
            value,
            by_v: (low.density - high.density) * over,
            by_eye: first / value,
            by_v_v: first * over / error,
            by_v_eye: (low.second - high.second) * over,
            by_eye_eye: third / value,
        }
    }

    /// Seen at one point, `z` errors from the truth.
    #[inline]
    fn at(z: f64, error: f64) -> Self {
        let square = z * z - 1.0;
        Self {
            value: normal::log_density(z).exp() / error,
            by_v: z / error,
            by_eye: square,
            by_v_v: square / (error * error),
            by_v_eye: z * (square - 2.0) / error,
            by_eye_eye: square * square - 2.0 * z * z,
        }
    }

    /// The error is not the eye's.
    fn of_known_error(self) -> Self {
        Self {
            by_eye: 0.0,
            by_v_eye: 0.0,
            by_eye_eye: 0.0,
            ..self
        }
    }
}

/// The normal density at a cut times 1, `z`, `z^2 - 1` and `z (z^2 - 1)`: nothing where the cut is endless.
struct Cut {
    density: f64,
    first: f64,
    second: f64,
    third: f64,
}

impl Cut {
    #[inline]
    fn at(z: f64) -> Self {
        if z.is_infinite() {
            return Self {
                density: 0.0,
                first: 0.0,
                second: 0.0,
                third: 0.0,
            };
        }
        let density = normal::log_density(z).exp();
        let square = z * z - 1.0;
        Self {
            density,
            first: z * density,
            second: square * density,
            third: z * square * density,
        }
    }
}
