//! Have Markov chains arrived, and how much do their draws tell?
//!
//! Vehtari, Gelman, Simpson, Carpenter and Buerkner, Rank-normalization, folding, and localization: an
//! improved R-hat for assessing convergence of MCMC, Bayesian Analysis 16(2), 2021.

mod effective;
mod moments;
mod ranks;

use effective::effective_draws;
use moments::{all_equal, mean, variance};
use ranks::normal_scores;
use statrs::function::beta::inv_beta_reg;

/// The tails that [`Chains::tail_effective_draws`] looks at (Vehtari and others 2021, section 4.3).
const TAILS: [f64; 2] = [0.05, 0.95];
/// The standard normal's probabilities at minus and plus one standard error.
const ONE_ERROR_AROUND: [f64; 2] = [0.158_655_253_931_457_05, 0.841_344_746_068_543];
/// Half a chain needs two draws to have a variance.
const FEWEST_DRAWS: usize = 4;

/// The draws of one quantity by several chains of equal length.
///
/// Every answer is NaN where the draws cannot give one: all draws are equal, one is not finite, the
/// chains differ in length or hold fewer than four draws.
#[derive(Debug, Clone)]
pub struct Chains {
    chains: Vec<Vec<f64>>,
    /// All draws, ascending.
    sorted: Vec<f64>,
    /// Normal scores of the ranks in all half chains.
    scores: Vec<Vec<f64>>,
}

impl Chains {
    /// Looks at chains, each the draws of one quantity in order.
    pub fn new(chains: &[Vec<f64>]) -> Self {
        let chains = if usable(chains) {
            chains.to_vec()
        } else {
            Vec::new()
        };
        let mut sorted = chains.concat();
        sorted.sort_unstable_by(f64::total_cmp);
        let scores = scores_of(&halves(&chains));
        Self {
            chains,
            sorted,
            scores,
        }
    }

    /// Rank-normalised split R-hat: the larger of that of the draws and that of their distances from the
    /// median. Near 1 where all halves of all chains agree; the paper asks for less than 1.01. Infinite
    /// where no half chain moves but they differ.
    ///
    /// One chain is enough, since its halves are compared; ArviZ asks for two.
    pub fn r_hat(&self) -> f64 {
        if self.chains.is_empty() {
            return f64::NAN;
        }
        let mut folded = halves(&self.chains);
        let middle = median(&folded);
        folded
            .iter_mut()
            .flatten()
            .for_each(|x| *x = (*x - middle).abs());
        split_r_hat(&self.scores).max(split_r_hat(&scores_of(&folded)))
    }

    /// Effective number of draws for the middle of the distribution: that of the mean of the normal
    /// scores. The paper asks for 100 a chain.
    pub fn bulk_effective_draws(&self) -> f64 {
        effective_draws(&self.scores)
    }

    /// Effective number of draws for the tails: the smaller one of the 5 % and the 95 % quantile. NaN
    /// also where so many draws are equal that none lies beyond one of those.
    pub fn tail_effective_draws(&self) -> f64 {
        let [low, high] = TAILS.map(|p| self.quantile_effective_draws(p));
        if high.is_nan() { high } else { low.min(high) }
    }

    /// Monte-Carlo standard error of the mean of all draws, in their unit.
    pub fn mean_error(&self) -> f64 {
        (variance(&self.sorted) / effective_draws(&halves(&self.chains))).sqrt()
    }

    /// Monte-Carlo standard error of the quantile at `p`, strictly between 0 and 1, in the unit of the
    /// draws: half the distance between the draws at the places where a beta law of the effective number
    /// of draws puts one standard error below and above (Vehtari and others 2021, section 4.4).
    pub fn quantile_error(&self, p: f64) -> f64 {
        let effective = self.quantile_effective_draws(p);
        if effective.is_nan() {
            return f64::NAN;
        }
        let last = self.sorted.len() - 1;
        let [low, high] = ONE_ERROR_AROUND.map(|around| {
            let place = inv_beta_reg(effective * p + 1.0, effective * (1.0 - p) + 1.0, around);
            place * self.sorted.len() as f64 - 1.0
        });
        // A negative place becomes the first draw.
        (self.sorted[(high.ceil() as usize).min(last)] - self.sorted[low.floor() as usize]) / 2.0
    }

    /// Effective number of draws for the share of draws up to the quantile at `p`.
    fn quantile_effective_draws(&self, p: f64) -> f64 {
        if self.chains.is_empty() || !(0.0..=1.0).contains(&p) {
            return f64::NAN;
        }
        let cut = sorted_quantile(&self.sorted, p);
        let mut up_to_cut = halves(&self.chains);
        up_to_cut
            .iter_mut()
            .flatten()
            .for_each(|x| *x = f64::from(*x <= cut));
        effective_draws(&up_to_cut)
    }
}

fn usable(chains: &[Vec<f64>]) -> bool {
    let length = chains.first().map_or(0, Vec::len);
    length >= FEWEST_DRAWS
        && chains.iter().all(|chain| chain.len() == length)
        && chains.iter().flatten().all(|x| x.is_finite())
        && !all_equal(chains)
}

/// First and last half of each chain; the middle draw of an odd number is left out.
fn halves(chains: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let half = |chain: &Vec<f64>| chain.len() / 2;
    let first = chains.iter().map(|chain| chain[..half(chain)].to_vec());
    let last = chains
        .iter()
        .map(|chain| chain[chain.len() - half(chain)..].to_vec());
    first.chain(last).collect()
}

/// Normal scores over all chains together, in the shape of the chains.
fn scores_of(chains: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let length = chains.first().map_or(1, Vec::len);
    normal_scores(&chains.concat())
        .chunks(length)
        .map(<[f64]>::to_vec)
        .collect()
}

/// Potential scale reduction: estimated over within-chain standard deviation.
fn split_r_hat(halves: &[Vec<f64>]) -> f64 {
    if all_equal(halves) {
        return f64::NAN;
    }
    let length = halves.first().map_or(0, Vec::len) as f64;
    let means: Vec<f64> = halves.iter().map(|half| mean(half)).collect();
    let within = halves.iter().map(|half| variance(half)).sum::<f64>() / halves.len() as f64;
    (variance(&means) / within + (length - 1.0) / length).sqrt()
}

fn median(chains: &[Vec<f64>]) -> f64 {
    let mut sorted = chains.concat();
    sorted.sort_unstable_by(f64::total_cmp);
    sorted_quantile(&sorted, 0.5)
}

/// Quantile of ascending values, linear between the places `(i - 1) / (n - 1)` (type 7 of Hyndman and Fan
/// 1996).
fn sorted_quantile(sorted: &[f64], p: f64) -> f64 {
    let place = p * (sorted.len() as f64 - 1.0);
    let below = place as usize;
    let above = (below + 1).min(sorted.len() - 1);
    sorted[below] + (place - below as f64) * (sorted[above] - sorted[below])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all_answers(chains: &[Vec<f64>]) -> [f64; 5] {
        let chains = Chains::new(chains);
        [
            chains.r_hat(),
            chains.bulk_effective_draws(),
            chains.tail_effective_draws(),
            chains.mean_error(),
            chains.quantile_error(0.3),
        ]
    }

    #[test]
    fn draws_that_tell_nothing_give_nan() {
        let moving: Vec<f64> = (0..8).map(|i| f64::from(i * 5 % 8)).collect();
        let broken = moving.iter().map(|x| 1.0 / x).collect();
        let shorter = moving[1..].to_vec();
        let nothing: [&[Vec<f64>]; 6] = [
            &[],
            &[vec![], vec![]],
            &[vec![0.1; 10], vec![0.1; 10]],
            &[moving[..3].to_vec(), moving[3..6].to_vec()],
            &[moving.clone(), broken],
            &[moving.clone(), shorter],
        ];
        for chains in nothing {
            assert!(all_answers(chains).iter().all(|x| x.is_nan()), "{chains:?}");
        }
        let moved = moving.iter().map(|x| x + 0.5).collect();
        assert!(all_answers(&[moving, moved]).iter().all(|x| x.is_finite()));
    }

    #[test]
    fn chains_that_sit_still_apart_never_agree() {
        let apart = Chains::new(&[vec![0.0; 200], vec![1.0; 200]]);
        assert!(apart.r_hat() > 1e6);
        assert!(apart.bulk_effective_draws() < 3.0);
    }

    #[test]
    fn answers_follow_the_scale_and_only_the_errors_do() {
        let wave = |phase: f64| (0..60).map(|i| (phase + f64::from(i * i)).sin()).collect();
        let chains: Vec<Vec<f64>> = vec![wave(0.0), wave(0.4), wave(2.0)];
        let scaled: Vec<Vec<f64>> = chains
            .iter()
            .map(|chain| chain.iter().map(|x| 5.0 - 1024.0 * x).collect())
            .collect();
        let (plain, scaled) = (all_answers(&chains), all_answers(&scaled));
        for i in 0..3 {
            approx::assert_relative_eq!(plain[i], scaled[i], max_relative = 1e-9);
        }
        approx::assert_relative_eq!(1024.0 * plain[3], scaled[3], max_relative = 1e-9);
    }
}
