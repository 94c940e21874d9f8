//! Effective number of draws, from the autocorrelation within chains and the spread between them.

use super::moments::{all_equal, mean, variance};

/// How many independent draws would tell the mean as well: `S / tau`, where `tau` sums the
/// autocorrelations until Geyer's initial monotone sequence ends. NaN where all values are equal.
///
/// No Fourier transform: Geyer's sum ends after a few lags for chains that mix, and the lags beyond it
/// are never worked out.
///
/// Source: Vehtari and others (2021), section 3.2; Geyer, Practical Markov chain Monte Carlo,
/// Statistical Science 7(4), 1992. Capped at `S log10(S)`.
pub(super) fn effective_draws(chains: &[Vec<f64>]) -> f64 {
    if all_equal(chains) {
        return f64::NAN;
    }
    let correlation = Autocorrelation::of(chains);
    let draws = (chains.len() * correlation.length) as f64;
    draws / initial_monotone_sum(&correlation).max(1.0 / draws.log10())
}

/// Autocorrelation of several chains at once.
struct Autocorrelation {
    /// Draws less their chain's mean.
    centred: Vec<Vec<f64>>,
    length: usize,
    /// Mean variance of a chain.
    within: f64,
    /// Estimated variance of the quantity.
    total: f64,
}

impl Autocorrelation {
    fn of(chains: &[Vec<f64>]) -> Self {
        let length = chains.first().map_or(0, Vec::len);
        let means: Vec<f64> = chains.iter().map(|chain| mean(chain)).collect();
        let centred: Vec<Vec<f64>> = chains
            .iter()
            .zip(&means)
            .map(|(chain, centre)| chain.iter().map(|x| x - centre).collect())
            .collect();
        let within = chains.iter().map(|chain| variance(chain)).sum::<f64>() / chains.len() as f64;
        let between = if chains.len() > 1 {
            variance(&means)
        } else {
            0.0
        };
        let share = (length as f64 - 1.0) / length as f64;
        Self {
            centred,
            length,
            within,
            total: within * share + between,
        }
    }

    fn at(&self, lag: usize) -> f64 {
        let products: f64 = self
            .centred
            .iter()
            .map(|chain| dot(chain, &chain[lag..]))
            .sum();
        let covariance = products / (self.centred.len() * self.length) as f64;
        1.0 - (self.within - covariance) / self.total
    }
}

/// Sum of products over the shorter of two slices, in four parts that the processor adds side by side.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let length = a.len().min(b.len());
    let (a, b) = (a[..length].chunks_exact(4), b[..length].chunks_exact(4));
    let rest: f64 = a
        .remainder()
        .iter()
        .zip(b.remainder())
        .map(|(x, y)| x * y)
        .sum();
    let mut parts = [0.0; 4];
    for (x, y) in a.zip(b) {
        for (part, (x, y)) in parts.iter_mut().zip(x.iter().zip(y)) {
            *part += x * y;
        }
    }
    parts.iter().sum::<f64>() + rest
}

/// `1 + 2 (rho_1 + rho_2 + ...)`. Sums of neighbours at lags 2k and 2k + 1 are taken while they are
/// positive (the chain's own noise takes over where they are not), and never above the one before.
fn initial_monotone_sum(correlation: &Autocorrelation) -> f64 {
    let pair_at = |lag: usize| {
        (
            if lag == 0 { 1.0 } else { correlation.at(lag) },
            correlation.at(lag + 1),
        )
    };
    let mut pair = pair_at(0);
    let mut least = pair.0 + pair.1;
    let mut sum = 0.0;
    let mut lag = 0;
    while pair.0 + pair.1 > 0.0 && lag + 4 < correlation.length {
        sum += least;
        lag += 2;
        pair = pair_at(lag);
        least = least.min(pair.0 + pair.1);
    }
    // The first even lag beyond: one more term that lowers the variance of an antithetic chain's sum.
    2.0 * sum - 1.0 + pair.0.max(0.0)
}
