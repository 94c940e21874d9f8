//! The Anderson-Darling test of a fully specified law.

use super::normal;
use libm::erfc;
use std::f64::consts::{FRAC_PI_2, PI, SQRT_2};

/// `A^2 = -n - (1/n) sum (2i - 1) (ln P(X <= x_i) + ln P(X > x_(n+1-i)))` of `scores` against the
/// standard normal law; both logs hold in the far tails.
///
/// Source: Anderson and Darling, Journal of the American Statistical Association 49, 1954.
pub fn statistic(scores: &[f64]) -> f64 {
    let mut sorted = scores.to_vec();
    sorted.sort_by(f64::total_cmp);
    let terms = sorted.iter().zip(sorted.iter().rev()).enumerate();
    let sum: f64 = terms
        .map(|(i, (low, high))| {
            (2 * i + 1) as f64 * (normal::log_lower_tail(*low) + normal::log_upper_tail(*high))
        })
        .sum();
    let n = scores.len() as f64;
    -n - sum / n
}

/// `P(A^2 > statistic)` for `n` independent scores: exact for one, else the limiting law and a
/// correction for `n` that is good to about the fourth decimal.
///
/// Source: Marsaglia and Marsaglia, Journal of Statistical Software 9(2), 2004.
pub fn upper_tail(n: usize, statistic: f64) -> f64 {
    if n == 1 {
        return 1.0 - (1.0 - 4.0 * (-1.0 - statistic).exp()).max(0.0).sqrt();
    }
    let limit = limiting_law(statistic);
    (1.0 - limit - correction(n as f64, limit)).clamp(0.0, 1.0)
}

/// `P(A^2 <= z)` as the number of scores grows: the series of Anderson and Darling (1952),
/// `(1/z) sum_j binomial(-1/2, j) (4j + 1) f_j(z)`.
fn limiting_law(z: f64) -> f64 {
    // Below 0.01 the law is below 1e-52; beyond 40 it is 1 to the last digit.
    if z < 0.01 {
        return 0.0;
    }
    if z > 40.0 {
        return 1.0;
    }
    let (mut factor, mut sum) = (1.0 / z, 0.0);
    for j in 0..100 {
        let j = f64::from(j);
        if j > 0.0 {
            factor *= (0.5 - j) / j;
        }
        let next = sum + (4.0 * j + 1.0) * factor * series_term(z, 4.0 * j + 1.0);
        if next == sum {
            break;
        }
        sum = next;
    }
    sum.clamp(0.0, 1.0)
}

/// `f_j(z)`, by the two-term recursion of the paper for its coefficients; `odd` is `4j + 1`.
fn series_term(z: f64, odd: f64) -> f64 {
    let t = odd * odd * PI * PI / (8.0 * z);
    if t > 150.0 {
        return 0.0;
    }
    let mut before = PI / SQRT_2 * (-t).exp() / t.sqrt();
    let mut now = PI * FRAC_PI_2.sqrt() * erfc(t.sqrt());
    let mut power = z / 8.0;
    let mut sum = before + now * power;
    for i in 1..200 {
        let i = f64::from(i);
        (before, now) = (now, ((i - 0.5 - t) * now + t * before) / i);
        power *= z / (8.0 * i + 8.0);
        let next = sum + now * power;
        if next == sum {
            break;
        }
        sum = next;
    }
    sum
}

/// What a finite number of scores adds to the limiting law (section 3 of the paper, fitted there to
/// samples of ten thousand million).
fn correction(n: f64, limit: f64) -> f64 {
    let polynomial = |coefficients: &[f64], x: f64| {
        coefficients
            .iter()
            .rev()
            .fold(0.0, |value, coefficient| value * x + coefficient)
    };
    if limit > 0.8 {
        let high = [
            -130.2137, 745.2337, -1705.091, 1950.646, -1116.360, 255.7844,
        ];
        return polynomial(&high, limit) / n;
    }
    let turn = 0.01265 + 0.1757 / n;
    if limit < turn {
        let x = limit / turn;
        let low = x.sqrt() * (1.0 - x) * (49.0 * x - 102.0);
        return low * (0.0037 / n.powi(3) + 0.00078 / n.powi(2) + 0.00006 / n);
    }
    let middle = [-0.000_226_33, 6.54034, -14.6538, 14.458, -8.259, 1.91864];
    let x = (limit - turn) / (0.8 - turn);
    polynomial(&middle, x) * (0.04213 / n + 0.01365 / n.powi(2))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use serde_json::Value;

    /// Made by models/reference/make_nonparametric_cases.py.
    const REFERENCE: &str = include_str!("../../tests/reference/nonparametric.json");

    fn rows(name: &str) -> Vec<Vec<f64>> {
        let all: Value = serde_json::from_str(REFERENCE).expect("JSON");
        let rows = all["anderson_darling"][name].as_array().expect("rows");
        let numbers = rows.iter().map(|row| row.as_array().expect("numbers"));
        numbers
            .map(|row| row.iter().filter_map(Value::as_f64).collect())
            .collect()
    }

    #[test]
    fn the_limiting_law_is_the_series_of_integrals_of_1952() {
        let rows = rows("limiting_law");
        assert_eq!(rows.len(), 11);
        for row in rows {
            assert_relative_eq!(limiting_law(row[0]), row[1], epsilon = 1e-14);
        }
        // Percentage points in print (Stephens, Journal of the American Statistical Association 69,
        // 1974, from memory). His third, 3.857 for 0.01, was simulated: the integral of 1952 gives it
        // 0.01024 and puts 0.01 at 3.878.
        for (point, tail) in [(1.933, 0.10), (2.492, 0.05), (3.878, 0.01)] {
            assert_relative_eq!(1.0 - limiting_law(point), tail, epsilon = 5e-5);
        }
        assert!(limiting_law(39.9) <= 1.0 && limiting_law(39.9) > 1.0 - 1e-14);
    }

    #[test]
    fn tails_for_few_and_many_scores_agree_with_another_program() {
        for row in rows("upper_tails") {
            let tail = upper_tail(row[0] as usize, row[1]);
            // The integral of 1952 with scikit-gof's correction for the number of scores.
            assert_relative_eq!(tail, row[2], epsilon = 1e-11);
        }
    }
}
