//! Combinations of exp and ln that keep all their digits at both ends of the line.

/// `ln(exp(x) - 1)` for `x > 0`, without overflow.
pub fn log_exp_m1(x: f64) -> f64 {
    if x > 30.0 {
        x + (-(-x).exp()).ln_1p()
    } else {
        x.exp_m1().ln()
    }
}

/// `ln(1 + exp(x))`, without overflow.
pub fn softplus(x: f64) -> f64 {
    if x > 0.0 {
        x + (-x).exp().ln_1p()
    } else {
        x.exp().ln_1p()
    }
}

/// `1 / (1 + exp(-x))`, relatively exact in the lower tail.
pub fn logistic(x: f64) -> f64 {
    if x >= 0.0 {
        1.0 / (1.0 + (-x).exp())
    } else {
        let e = x.exp();
        e / (1.0 + e)
    }
}

/// `ln(1 - exp(-x))` for `x = exp(log_x) > 0`, given `log_x`, with its first two derivatives with
/// respect to `log_x`.
///
/// ```text
/// value = ln(1 - e^-x),   first = x / (e^x - 1) = q,   second = q (1 - x - q)
/// ```
///
/// For small `x` the value tends to `log_x`, also where `x` itself underflows.
pub fn log_one_minus_exp_minus(log_x: f64) -> (f64, f64, f64) {
    let x = log_x.exp();
    if x < 1e-3 {
        // Bernoulli series of x/(e^x - 1): the closed form of `second` cancels here.
        let ratio = -x / 2.0 + x * x / 24.0;
        let q = 1.0 - x / 2.0 + x * x / 12.0;
        let rest = -x / 2.0 - x * x / 12.0 + x * x * x * x / 720.0;
        return (log_x + ratio, q, q * rest);
    }
    if x > 700.0 {
        return (-(-x).exp(), 0.0, 0.0);
    }
    let q = x / x.exp_m1();
    // ln(1 - e^-x) from whichever of its two forms keeps the digits (Maechler, log1mexp, 2012).
    let value = if x < std::f64::consts::LN_2 {
        (-(-x).exp_m1()).ln()
    } else {
        (-(-x).exp()).ln_1p()
    };
    (value, q, q * (1.0 - x - q))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn the_two_branches_of_log_one_minus_exp_minus_meet() {
        let below = log_one_minus_exp_minus(0.999_999_9e-3_f64.ln());
        let above = log_one_minus_exp_minus(1.000_000_1e-3_f64.ln());
        assert_relative_eq!(below.0, above.0, max_relative = 1e-6);
        assert_relative_eq!(below.1, above.1, max_relative = 1e-9);
        assert_relative_eq!(below.2, above.2, max_relative = 1e-6);
    }

    #[test]
    fn nothing_overflows_or_turns_into_nan_at_the_ends() {
        for log_x in [-1e4, -800.0, 800.0] {
            let (value, first, second) = log_one_minus_exp_minus(log_x);
            assert!(!value.is_nan() && !first.is_nan() && !second.is_nan());
        }
        assert_relative_eq!(log_exp_m1(1e4), 1e4);
        assert_relative_eq!(softplus(1e4), 1e4);
    }
}
