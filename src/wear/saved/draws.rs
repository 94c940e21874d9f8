//! The draws of a saved model.

use super::SavedModelError;
use super::parts::sized;
use crate::wear::density::WearDensity;
use crate::wear::sample::{Draw, Health, Sample};
use serde::{Deserialize, Serialize};

/// Draws as they are, with their weights, or chains, whose draws all weigh the same.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WrittenDraws {
    /// The length of each chain.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    chain: Option<usize>,
    /// Of draws that are no chains.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    weights: Vec<f64>,
    /// One draw each: the shared parameters that are not held, the group effects, the spreads.
    rows: Vec<Vec<f64>>,
}

/// How far weights may be from adding up to one.
const ROUNDING: f64 = 1e-6;

impl WrittenDraws {
    /// `free` are the places of the shared parameters that are not held.
    pub fn of(sample: &Sample, free: &[usize]) -> Self {
        let row = |draw: &Draw| {
            let shared: Vec<f64> = free.iter().map(|&place| draw.shared[place]).collect();
            [&shared[..], &draw.effects, &draw.spreads].concat()
        };
        let chain = sample.chain();
        let weights = sample.weighted_draws().map(|(_, weight)| weight);
        Self {
            weights: match chain {
                Some(_) => Vec::new(),
                None => weights.collect(),
            },
            rows: sample.weighted_draws().map(|(draw, _)| row(draw)).collect(),
            chain,
        }
    }

    pub fn is_finite(&self) -> bool {
        let mut all = self.rows.iter().flatten().chain(&self.weights);
        all.all(|x| x.is_finite())
    }

    pub fn restored(
        self,
        density: &WearDensity,
        health: Health,
    ) -> Result<Sample, SavedModelError> {
        let count = self.rows.len();
        let weights = match self.chain {
            Some(length) if length == 0 || !count.is_multiple_of(length) || count == 0 => {
                return Err(SavedModelError::Misfit {
                    field: "draws",
                    wanted: length,
                    found: count,
                });
            }
            // As the sampler weighs them.
            Some(_) => vec![1.0 / count as f64; count],
            None => weights(self.weights, count)?,
        };
        let draws = self.rows.into_iter().map(|row| draw(row, density));
        let draws = draws.collect::<Result<_, _>>()?;
        Ok(Sample::restored(draws, weights, self.chain, health))
    }
}

fn draw(row: Vec<f64>, density: &WearDensity) -> Result<Draw, SavedModelError> {
    let (free, effects) = (density.free(), density.effects().count());
    let spreads = density.priors().spreads.len();
    let row = sized("draws", row, free.len() + effects + spreads)?;
    let held = density.priors().shared.iter().map(|prior| prior.centre());
    let mut shared: Vec<f64> = held.collect();
    for (&place, value) in free.iter().zip(&row) {
        shared[place] = *value;
    }
    let (row, spreads) = row.split_at(free.len() + effects);
    Ok(Draw {
        shared,
        effects: row[free.len()..].to_vec(),
        spreads: spreads.to_vec(),
    })
}

fn weights(weights: Vec<f64>, count: usize) -> Result<Vec<f64>, SavedModelError> {
    let weights = sized("draws", weights, count)?;
    let sum: f64 = weights.iter().sum();
    let below = weights.iter().copied().find(|weight| *weight < 0.0);
    if below.is_some() || (sum - 1.0).abs() > ROUNDING {
        return Err(SavedModelError::OutOfRange {
            field: "draws",
            wanted: "given weights of zero or more that add up to one",
            found: below.unwrap_or(sum),
        });
    }
    Ok(weights)
}
