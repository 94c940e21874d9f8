//! Pareto-smoothed importance weights.
//!
//! Vehtari, Simpson, Gelman, Yao and Gabry, Pareto smoothed importance sampling, Journal of Machine
//! Learning Research 25(72), 2024.

use super::lanes::ln_1p_each;

/// Fewer points than this in the tail say nothing of its shape (Vehtari and others 2024).
const FEWEST_IN_TAIL: usize = 5;
/// The prior on the shape weighs as much as ten draws, at one half (Vehtari and others 2024, appendix).
const PRIOR_DRAWS: f64 = 10.0;
const PRIOR_SHAPE: f64 = 0.5;
/// Zhang and Stephens' prior scale: a third of the inverse lower quartile.
const QUARTILES_OF_SCALE: f64 = 3.0;

/// Importance weights with their largest ones smoothed.
#[derive(Debug, Clone, PartialEq)]
pub struct Smoothed {
    /// Logs of the weights, which sum to one; minus infinity where a weight is zero.
    pub log_weights: Vec<f64>,
    /// Estimated shape of the tail of the weights: they have about `1 / k_hat` finite moments. Below
    /// [`largest_trusted_shape`] the weighted answers can be relied on.
    ///
    /// Minus infinity where all weights that are not zero are equal; plus infinity where the tail could
    /// not be fitted (fewer than five weights in it, or all of them the same), and nothing is smoothed.
    pub k_hat: f64,
}

/// Smooths the largest weights: those in the tail are replaced by the quantiles of a generalised
/// Pareto law fitted to them, none above the largest.
///
/// `log_weights` are logs of target over proposal density, up to a constant; minus infinity is a weight of
/// zero. The tail holds `min(S / 5, 3 sqrt(S))` of `S` draws, rounded down as ArviZ does (the R package
/// loo rounds up). Where a log weight is NaN or plus infinity, or none is above minus infinity, all
/// answers are NaN.
pub fn smooth(log_weights: &[f64]) -> Smoothed {
    let largest = log_weights
        .iter()
        .copied()
        .fold(f64::NEG_INFINITY, f64::max);
    if !largest.is_finite() || log_weights.iter().any(|w| w.is_nan()) {
        return Smoothed {
            log_weights: vec![f64::NAN; log_weights.len()],
            k_hat: f64::NAN,
        };
    }
    let mut shifted: Vec<f64> = log_weights.iter().map(|w| w - largest).collect();
    let k_hat = if shifted.iter().all(|&w| w == 0.0 || w == f64::NEG_INFINITY) {
        f64::NEG_INFINITY
    } else {
        smooth_tail(&mut shifted)
    };
    let total = shifted.iter().map(|w| w.exp()).sum::<f64>().ln();
    shifted.iter_mut().for_each(|w| *w -= total);
    Smoothed {
        log_weights: shifted,
        k_hat,
    }
}

/// The largest `k_hat` with which this many draws give answers that can be relied on:
/// `min(1 - 1 / log10(S), 0.7)` (Vehtari and others 2024, section 3.2.4).
pub fn largest_trusted_shape(draws: usize) -> f64 {
    (1.0 - 1.0 / (draws as f64).log10()).min(0.7)
}

/// How many equally weighted draws are worth as much: `(sum w)^2 / sum w^2` (Kong 1992). NaN where
/// [`smooth`] answers NaN.
pub fn effective_draws(log_weights: &[f64]) -> f64 {
    let largest = log_weights
        .iter()
        .copied()
        .fold(f64::NEG_INFINITY, f64::max);
    let weights = log_weights.iter().map(|w| (w - largest).exp());
    let (sum, squares) = weights.fold((0.0, 0.0), |(sum, squares), w| (sum + w, squares + w * w));
    sum * sum / squares
}

/// Smooths the tail of log weights whose largest is zero; the shape of the tail.
fn smooth_tail(log_weights: &mut [f64]) -> f64 {
    let draws = log_weights.len();
    let size = (draws / 5).min((3.0 * (draws as f64).sqrt()) as usize);
    let mut ascending: Vec<usize> = (0..draws).collect();
    ascending.sort_by(|&i, &j| log_weights[i].total_cmp(&log_weights[j]));
    let (body, mut tail) = ascending.split_at(draws - size);
    // A weight of zero has no part in the tail.
    let zeros = tail.partition_point(|&i| log_weights[i] == f64::NEG_INFINITY);
    tail = &tail[zeros..];
    let cutoff = body
        .last()
        .filter(|_| zeros == 0)
        .map_or(0.0, |&i| log_weights[i].exp());

    let all_the_same = tail.first().is_none_or(|&i| log_weights[i] == 0.0);
    if tail.len() < FEWEST_IN_TAIL || all_the_same {
        return f64::INFINITY;
    }
    let excesses: Vec<f64> = tail
        .iter()
        .map(|&i| log_weights[i].exp() - cutoff)
        .collect();
    let Some(law) = GeneralisedPareto::fit(&excesses) else {
        return f64::INFINITY;
    };
    for (position, &i) in tail.iter().enumerate() {
        let p = (position as f64 + 0.5) / tail.len() as f64;
        log_weights[i] = (cutoff + law.quantile(p)).ln().min(0.0);
    }
    law.shape
}

/// `P(X > x) = (1 + shape x / scale)^(-1 / shape)`.
struct GeneralisedPareto {
    shape: f64,
    scale: f64,
}

impl GeneralisedPareto {
    /// Zhang and Stephens, A new and efficient estimation method for the generalized Pareto
    /// distribution, Technometrics 51(3), 2009: the posterior mean of `theta = -shape / scale` on a grid
    /// of prior quantiles; then the weak prior on the shape.
    ///
    /// `excesses` ascend. None where they span too many orders of magnitude, or too few points differ.
    fn fit(excesses: &[f64]) -> Option<Self> {
        let n = excesses.len() as f64;
        let grid = 30 + n.sqrt() as usize;
        let lower_quartile = excesses[(n / 4.0 + 0.5) as usize - 1];
        let largest = excesses[excesses.len() - 1];
        let thetas: Vec<f64> = (1..=grid)
            .map(|j| {
                let spread = 1.0 - (grid as f64 / (j as f64 - 0.5)).sqrt();
                1.0 / largest + spread / (QUARTILES_OF_SCALE * lower_quartile)
            })
            .collect();
        // The first lies farthest out.
        if !(thetas[0] * largest).is_finite() {
            return None;
        }
        let mut logs = Vec::with_capacity(excesses.len());
        let log_posterior: Vec<f64> = thetas
            .iter()
            .map(|&theta| {
                let shape = profile_shape(theta, excesses, &mut logs);
                n * ((-theta / shape).ln() - shape - 1.0)
            })
            .collect();
        let theta = posterior_mean(&thetas, &log_posterior);
        let shape = profile_shape(theta, excesses, &mut logs);
        let scale = -shape / theta;
        let shape = (n * shape + PRIOR_DRAWS * PRIOR_SHAPE) / (n + PRIOR_DRAWS);
        (shape.is_finite() && scale > 0.0 && scale.is_finite()).then_some(Self { shape, scale })
    }

    fn quantile(&self, p: f64) -> f64 {
        let exponential = -(-p).ln_1p();
        if self.shape == 0.0 {
            self.scale * exponential
        } else {
            self.scale * (self.shape * exponential).exp_m1() / self.shape
        }
    }
}

/// The most likely shape for a given `theta`, whose product with each excess is finite and below one.
fn profile_shape(theta: f64, excesses: &[f64], logs: &mut Vec<f64>) -> f64 {
    logs.clear();
    logs.extend(excesses.iter().map(|x| -theta * x));
    ln_1p_each(logs);
    logs.iter().sum::<f64>() / excesses.len() as f64
}

/// Mean of grid points under unnormalised log weights; NaN if any of those is.
fn posterior_mean(points: &[f64], log_weights: &[f64]) -> f64 {
    let largest = log_weights
        .iter()
        .copied()
        .fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = log_weights.iter().map(|w| (w - largest).exp()).collect();
    let sum: f64 = weights.iter().sum();
    points
        .iter()
        .zip(&weights)
        .map(|(point, weight)| point * weight)
        .sum::<f64>()
        / sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn sum(log_weights: &[f64]) -> f64 {
        log_weights.iter().map(|w| w.exp()).sum()
    }

    #[test]
    fn equal_weights_have_no_tail() {
        let smoothed = smooth(&[-1e5; 40]);
        assert_eq!(smoothed.k_hat, f64::NEG_INFINITY);
        assert_relative_eq!(smoothed.log_weights[7], -40f64.ln());
        assert_relative_eq!(effective_draws(&[-1e5; 40]), 40.0);
    }

    #[test]
    fn a_tail_that_cannot_be_fitted_is_left_as_it_was() {
        let few: Vec<f64> = (0..24).map(f64::from).collect();
        let flat: Vec<f64> = (0..50)
            .map(|i| if i < 30 { -1.0 - f64::from(i) } else { 0.0 })
            .collect();
        let one_takes_all: Vec<f64> = (0..50).map(|i| -1e4 * f64::from(i)).collect();
        for weights in [few, flat, one_takes_all] {
            let smoothed = smooth(&weights);
            assert_eq!(smoothed.k_hat, f64::INFINITY);
            assert_relative_eq!(sum(&smoothed.log_weights), 1.0, max_relative = 1e-14);
            let step = smoothed.log_weights[1] - smoothed.log_weights[0];
            assert_relative_eq!(step, weights[1] - weights[0], max_relative = 1e-9);
        }
    }

    #[test]
    fn weights_of_zero_stay_zero_and_stay_out_of_the_tail() {
        // Ten draws of a hundred inside the target: the tail of twenty holds ten zeros.
        let weights: Vec<f64> = (0..100)
            .map(|i| {
                if i < 10 {
                    f64::from(i * i) / 50.0
                } else {
                    f64::NEG_INFINITY
                }
            })
            .collect();
        let smoothed = smooth(&weights);
        assert!(smoothed.k_hat.is_finite());
        assert!(
            smoothed.log_weights[10..]
                .iter()
                .all(|&w| w == f64::NEG_INFINITY)
        );
        assert!(smoothed.log_weights[..10].is_sorted());
        assert_relative_eq!(sum(&smoothed.log_weights), 1.0, max_relative = 1e-14);
        assert!(effective_draws(&weights) < 10.0);
    }

    #[test]
    fn what_is_no_weight_gives_no_number() {
        for bad in [f64::NAN, f64::INFINITY] {
            let mut weights = vec![0.0; 50];
            weights[3] = bad;
            assert!(smooth(&weights).k_hat.is_nan());
            assert!(effective_draws(&weights).is_nan());
        }
        let nothing = [f64::NEG_INFINITY; 50];
        assert!(smooth(&nothing).k_hat.is_nan() && smooth(&nothing).log_weights[0].is_nan());
        assert!(effective_draws(&nothing).is_nan());
        assert!(smooth(&[]).k_hat.is_nan());
    }

    #[test]
    fn few_draws_are_trusted_less() {
        assert_relative_eq!(largest_trusted_shape(100), 0.5);
        assert_relative_eq!(largest_trusted_shape(10_000), 0.7);
    }
}
