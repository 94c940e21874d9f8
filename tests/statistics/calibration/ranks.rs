//! Where the truth ranks among the draws. If truth and draws come from the same posterior, every rank is
//! equally likely (Talts, Betancourt, Simpson, Vehtari and Gelman, Validating Bayesian inference algorithms
//! with simulation-based calibration, arXiv:1804.06788, 2018, theorem 1).

use keenspan::wear::diagnostics::{Bands, uniform_bands};
use statrs::distribution::{ChiSquared, ContinuousCDF};
use std::collections::HashMap;
use std::sync::{Arc, Mutex};

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

/// Points at which the distribution function of the ranks is looked at.
const POINTS: usize = 20;
/// Parts that the chi-square counts.
const PARTS: usize = 10;

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

    /// Whether the distribution function keeps within simultaneous bands at every point, which that of
    /// uniform ranks does with this probability (Saeilynoja, Buerkner and Vehtari, Statistics and
    /// Computing 32:32, 2022).
    pub fn uniform(&self, probability: f64) -> bool {
        let cells = (self.draws + 1) as f64;
        let values: Vec<f64> = self
            .ranks
            .iter()
            .map(|rank| (*rank as f64 + 1.0) / cells)
            .collect();
        bands(self.ranks.len(), probability).inside(&values)
    }

    /// The p-value of Pearson's chi-square for equal numbers of ranks in [`PARTS`] parts.
    pub fn chi_square(&self) -> f64 {
        let cells = self.draws + 1;
        let mut counts = [0.0; PARTS];
        for rank in &self.ranks {
            counts[rank * PARTS / cells] += 1.0;
        }
        let expected = self.ranks.len() as f64 / PARTS as f64;
        let square = |count: f64| (count - expected).powi(2) / expected;
        let law = ChiSquared::new((PARTS - 1) as f64).expect("a law");
        law.sf(counts.into_iter().map(square).sum())
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

/// The bands for so many crews, worked out once.
fn bands(crews: usize, probability: f64) -> Arc<Bands> {
    static KNOWN: Mutex<Option<HashMap<(usize, u64), Arc<Bands>>>> = Mutex::new(None);
    let mut known = KNOWN.lock().expect("bands");
    let known = known.get_or_insert_default();
    let bands = || Arc::new(uniform_bands(crews, POINTS, probability));
    known
        .entry((crews, probability.to_bits()))
        .or_insert_with(bands)
        .clone()
}
