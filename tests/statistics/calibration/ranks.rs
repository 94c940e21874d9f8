//! Where the truth ranks among the draws. If truth and draws come from the same posterior, every rank is
//! equally likely (Talts, Betancourt, Simpson, Vehtari and Gelman, Validating Bayesian inference algorithms
//! with simulation-based calibration, arXiv:1804.06788, 2018, theorem 1).

use statrs::distribution::{Binomial, DiscreteCDF};

/// Ranks of the truth, crew by crew, each among the same number of draws.
pub struct Ranks {
    pub ranks: Vec<usize>,
    /// Ranks run from 0 to this.
    pub draws: usize,
}

/// How many draws lie below the truth.
pub fn rank_among(truth: f64, draws: &[f64]) -> usize {
    draws.iter().filter(|draw| **draw < truth).count()
}

/// Least and largest counts at or below `1/K, .., (K-1)/K` that a uniform sample keeps to.
pub struct CountBounds {
    pub lower: Vec<usize>,
    pub upper: Vec<usize>,
}

/// From a sample size, a number `K` of points and a probability to the bounds that all hold together with it.
pub type BoundsRule<'a> = &'a dyn Fn(usize, usize, f64) -> CountBounds;

/// Points at which the distribution function of the ranks is looked at.
pub const POINTS: usize = 20;

impl Ranks {
    /// From pairs of rank and number of draws.
    pub fn gather(placed: impl Iterator<Item = (usize, usize)>) -> Self {
        let (ranks, draws): (Vec<usize>, Vec<usize>) = placed.unzip();
        let all = draws.first().copied().unwrap_or(0);
        assert!(
            draws.iter().all(|draws| *draws == all),
            "crews with other numbers of draws"
        );
        Self { ranks, draws: all }
    }

    /// Crews whose rank lies in the first `i` of [`POINTS`] equal parts, for `i` from 1.
    fn counts(&self) -> Vec<usize> {
        let cells = self.draws + 1;
        assert_eq!(
            cells % POINTS,
            0,
            "{cells} ranks do not go into {POINTS} parts"
        );
        let below = |i: usize| {
            let end = i * cells / POINTS;
            self.ranks.iter().filter(|rank| **rank < end).count()
        };
        (1..POINTS).map(below).collect()
    }

    /// Whether the distribution function keeps within simultaneous bounds at every point.
    pub fn uniform(&self, probability: f64, rule: BoundsRule) -> bool {
        let bounds = rule(self.ranks.len(), POINTS, probability);
        let limits = bounds.lower.iter().zip(&bounds.upper);
        let mut counts = self.counts().into_iter().zip(limits);
        counts.all(|(count, (lower, upper))| (*lower..=*upper).contains(&count))
    }

    /// The widest gap between the ranks' distribution function and the uniform one, with its sign: above
    /// zero where the truth lies low among the draws.
    pub fn widest_gap(&self) -> f64 {
        let crews = self.ranks.len() as f64;
        let gaps = self.counts().into_iter().zip(1..);
        gaps.map(|(count, i)| count as f64 / crews - f64::from(i) / POINTS as f64)
            .fold(0.0, |widest: f64, gap| {
                if gap.abs() > widest.abs() {
                    gap
                } else {
                    widest
                }
            })
    }
}

/// Bounds that hold together at least as often as asked, by Bonferroni's inequality: at each of the
/// `K - 1` points the quantiles of the binomial at an equal share of the miss.
pub fn bonferroni(sample_size: usize, points: usize, probability: f64) -> CountBounds {
    let tail = 0.5 * (1.0 - probability) / (points - 1) as f64;
    let quantile = |i: usize, p: f64| {
        let share = i as f64 / points as f64;
        let law = Binomial::new(share, sample_size as u64).expect("a binomial law");
        law.inverse_cdf(p) as usize
    };
    CountBounds {
        lower: (1..points).map(|i| quantile(i, tail)).collect(),
        upper: (1..points).map(|i| quantile(i, 1.0 - tail)).collect(),
    }
}
