//! Mean, spread and quantiles of weighted draws.

/// Draws of one quantity with their weights.
///
/// Every answer is NaN where values and weights differ in number, a value is not finite, a weight is
/// negative or not finite, or no weight is above zero.
#[derive(Debug, Clone)]
pub struct WeightedDraws {
    /// Values with weights above zero, ascending; the weights sum to one.
    ascending: Vec<(f64, f64)>,
}

impl WeightedDraws {
    /// Takes values and their weights, which need not sum to one.
    pub fn new(values: &[f64], weights: &[f64]) -> Self {
        let total: f64 = weights.iter().sum();
        let usable = values.len() == weights.len()
            && values.iter().all(|x| x.is_finite())
            && weights.iter().all(|&w| w >= 0.0)
            && total.is_finite();
        let pairs = values
            .iter()
            .zip(weights)
            .filter(|&(_, &w)| usable && w > 0.0);
        let mut ascending: Vec<(f64, f64)> = pairs.map(|(&x, &w)| (x, w / total)).collect();
        ascending.sort_by(|a, b| a.0.total_cmp(&b.0));
        Self { ascending }
    }

    /// Sum of a function of value and weight.
    fn sum(&self, term: impl Fn(f64, f64) -> f64) -> f64 {
        if self.ascending.is_empty() {
            return f64::NAN;
        }
        self.ascending.iter().map(|&(x, w)| term(x, w)).sum()
    }

    /// How many equally weighted draws are worth as much (Kong 1992).
    pub fn effective_draws(&self) -> f64 {
        1.0 / self.sum(|_, w| w * w)
    }

    /// `sum w x`.
    pub fn mean(&self) -> f64 {
        self.sum(|x, w| w * x)
    }

    /// Root of `sum w (x - mean)^2`: of the distribution that the draws stand for, with no correction for
    /// their number.
    pub fn standard_deviation(&self) -> f64 {
        let mean = self.mean();
        self.sum(|x, w| w * (x - mean) * (x - mean)).sqrt()
    }

    /// Monte-Carlo standard error of the mean of independent draws whose weights are ratios known up to a
    /// constant: root of `sum w^2 (x - mean)^2` (delta method; Owen, Monte Carlo theory, methods and
    /// examples, 2013, section 9.2).
    pub fn mean_error(&self) -> f64 {
        let mean = self.mean();
        self.sum(|x, w| w * w * (x - mean) * (x - mean)).sqrt()
    }

    /// The quantile at `p`: with `n` effective draws, the mean of the inverse weighted distribution
    /// function over the stretch of length `1 / n` that begins at `p (n - 1) / n`.
    ///
    /// With equal weights this is the usual linear interpolation (type 7 of Hyndman and Fan 1996). `p`
    /// outside 0 to 1 gives the nearer end. Source: Akinshin, Weighted quantile estimators, 2023
    /// (arXiv:2304.07265), section 4; ArviZ does the same.
    pub fn quantile(&self, p: f64) -> f64 {
        let n = self.effective_draws();
        let begin = p.clamp(0.0, 1.0) * (n - 1.0) / n;
        let mut below = 0.0;
        let mut quantile = 0.0;
        let mut spent = 0.0;
        let share_before = |cumulative: f64| ((cumulative - begin) * n).clamp(0.0, 1.0);
        for &(x, w) in &self.ascending {
            below += w;
            let upto = share_before(below);
            quantile += x * (upto - spent);
            spent = upto;
        }
        // Rounding may leave a crumb of the stretch beyond the last draw.
        self.ascending
            .last()
            .map_or(f64::NAN, |&(x, _)| quantile + x * (1.0 - spent))
    }

    /// Monte-Carlo standard error of the quantile at `p`: half the distance between the quantiles one
    /// standard error of the weighted distribution function below and above (Woodruff, Confidence
    /// intervals for medians and other position measures, JASA 47, 1952).
    pub fn quantile_error(&self, p: f64) -> f64 {
        let cut = self.quantile(p);
        let error = self
            .sum(|x, w| (w * (f64::from(x <= cut) - p)).powi(2))
            .sqrt();
        (self.quantile(p + error) - self.quantile(p - error)) / 2.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn equal_weights_give_the_plain_answers() {
        let draws = WeightedDraws::new(&[4.0, 1.0, 3.0, 2.0], &[7.0; 4]);
        assert_relative_eq!(draws.mean(), 2.5);
        assert_relative_eq!(draws.standard_deviation(), 1.25f64.sqrt());
        assert_relative_eq!(draws.mean_error(), (1.25f64 / 4.0).sqrt());
        assert_relative_eq!(draws.quantile(0.5), 2.5);
        assert_relative_eq!(draws.quantile(0.1), 1.3);
        assert_relative_eq!(draws.quantile(1.2), 4.0);
    }

    #[test]
    fn a_weight_of_zero_is_a_draw_not_taken() {
        let with = WeightedDraws::new(&[4.0, 1.0, -1e9, 2.0], &[0.2, 0.5, 0.0, 0.3]);
        let without = WeightedDraws::new(&[4.0, 1.0, 2.0], &[0.2, 0.5, 0.3]);
        assert_eq!(with.quantile(0.0), without.quantile(0.0));
        assert_eq!(with.quantile_error(0.4), without.quantile_error(0.4));
        assert_eq!(with.mean_error(), without.mean_error());
    }

    #[test]
    fn what_is_no_weight_gives_nan() {
        let wrong: [(&[f64], &[f64]); 6] = [
            (&[], &[]),
            (&[1.0], &[0.0]),
            (&[1.0, 2.0], &[1.0]),
            (&[1.0, 2.0], &[2.0, -1.0]),
            (&[1.0, 2.0], &[1.0, f64::INFINITY]),
            (&[1.0, f64::NAN], &[1.0, 1.0]),
        ];
        for (values, weights) in wrong {
            let draws = WeightedDraws::new(values, weights);
            for answer in [draws.mean(), draws.standard_deviation(), draws.mean_error()] {
                assert!(answer.is_nan());
            }
            assert!(draws.quantile(0.5).is_nan() && draws.quantile_error(0.5).is_nan());
        }
    }
}
