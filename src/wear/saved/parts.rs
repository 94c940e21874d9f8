//! The pieces of a saved model, as they are written.

use super::SavedModelError;
use crate::numerics::{Arrow, Block};
use crate::wear::density::{Anchor, DensitySettings, WearDensity};
use crate::wear::effects::Effects;
use crate::wear::prior::{HalfNormal, NormalPrior, Prior, Priors};
use crate::wear::records::Grouping;
use crate::wear::{Family, WearError};
use nalgebra::DMatrix;
use serde::{Deserialize, Serialize};

/// Names of the covariates.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Names {
    /// Of life.
    pub life: Vec<String>,
    /// Of the wear rate.
    pub wear: Vec<String>,
}

/// How the likelihood was read.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Settings {
    anchor: WrittenAnchor,
    called_at: f64,
    flat_error: f64,
    flat_exponent: f64,
}

#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
enum WrittenAnchor {
    Median,
    Intercept,
}

impl Settings {
    pub fn of(settings: &DensitySettings) -> Self {
        Self {
            anchor: match settings.anchor {
                Anchor::Median => WrittenAnchor::Median,
                Anchor::Intercept => WrittenAnchor::Intercept,
            },
            called_at: settings.called_at,
            flat_error: settings.flat_error,
            flat_exponent: settings.flat_exponent,
        }
    }

    pub fn restored(&self, family: Family) -> Result<DensitySettings, SavedModelError> {
        for found in [self.called_at, self.flat_error, self.flat_exponent] {
            if !(found.is_finite() && found > 0.0) {
                return Err(SavedModelError::OutOfRange {
                    field: "settings",
                    wanted: "above zero",
                    found,
                });
            }
        }
        Ok(DensitySettings {
            family,
            anchor: match self.anchor {
                WrittenAnchor::Median => Anchor::Median,
                WrittenAnchor::Intercept => Anchor::Intercept,
            },
            called_at: self.called_at,
            flat_error: self.flat_error,
            flat_exponent: self.flat_exponent,
        })
    }
}

/// The priors that the fit began with.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WrittenPriors {
    shared: Vec<WrittenPrior>,
    spreads: Vec<f64>,
}

#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
enum WrittenPrior {
    Flat,
    Normal { mean: f64, spread: f64 },
    Held(Endless),
}

impl WrittenPriors {
    pub fn of(priors: &Priors) -> Self {
        let shared = priors.shared.iter().map(|prior| match prior {
            Prior::Flat => WrittenPrior::Flat,
            Prior::Normal(law) => WrittenPrior::Normal {
                mean: law.mean(),
                spread: law.spread(),
            },
            Prior::Held(value) => WrittenPrior::Held(Endless::of(*value)),
        });
        Self {
            shared: shared.collect(),
            spreads: priors.spreads.iter().map(|prior| prior.scale()).collect(),
        }
    }

    pub fn restored(&self) -> Result<Priors, SavedModelError> {
        let shared = self.shared.iter().map(|prior| match *prior {
            WrittenPrior::Flat => Ok(Prior::Flat),
            WrittenPrior::Normal { mean, spread } => {
                Ok(Prior::Normal(NormalPrior::new(mean, spread)?))
            }
            WrittenPrior::Held(value) => Ok(Prior::Held(value.get())),
        });
        let spreads = self.spreads.iter().map(|scale| HalfNormal::new(*scale));
        Ok(Priors {
            shared: shared.collect::<Result<_, WearError>>()?,
            spreads: spreads.collect::<Result<_, WearError>>()?,
        })
    }
}

/// Something that edges share, with its levels.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WrittenGrouping {
    name: String,
    levels: Vec<String>,
}

impl WrittenGrouping {
    pub fn of(grouping: &Grouping) -> Self {
        Self {
            name: grouping.name.clone(),
            levels: grouping.levels.clone(),
        }
    }

    pub fn restored(self) -> Grouping {
        Grouping {
            name: self.name,
            levels: self.levels,
        }
    }
}

/// Minus the Hessian of the log-likelihood: a dense corner, and blocks of group effects that touch nothing else.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Information {
    corner: Vec<Vec<f64>>,
    blocks: Vec<WrittenBlock>,
}

/// A block: which effects stand in it, its border with the corner, the block itself.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct WrittenBlock {
    effects: Vec<usize>,
    border: Vec<Vec<f64>>,
    own: Vec<Vec<f64>>,
}

impl Information {
    pub fn of(arrow: &Arrow, effects: &Effects) -> Self {
        let block = |(part, effects): (Block, &Vec<usize>)| WrittenBlock {
            effects: effects.clone(),
            border: rows(&part.border),
            own: rows(&part.own),
        };
        let parts = arrow.parts().zip(effects.members());
        Self {
            corner: rows(arrow.corner()),
            blocks: parts.map(block).collect(),
        }
    }

    pub fn is_finite(&self) -> bool {
        let parts = self.blocks.iter();
        let blocks = parts.flat_map(|block| block.border.iter().chain(&block.own));
        let mut all = self.corner.iter().chain(blocks).flatten();
        all.all(|x| x.is_finite())
    }

    /// Where the effects stand.
    pub fn effects(&self, groupings: &[Grouping]) -> Result<Effects, SavedModelError> {
        let blocks = self.blocks.iter().map(|block| block.effects.clone());
        Effects::in_blocks(groupings, blocks.collect()).ok_or_else(|| SavedModelError::NotAModel {
            reason:
                "an effect of its \"information\" stands in two blocks, or is none of its groupings"
                    .to_string(),
        })
    }

    pub fn restored(&self, density: &WearDensity) -> Result<Arrow, SavedModelError> {
        let effects = density.effects();
        let size = density.free().len() + effects.in_corner();
        let corner = matrix(&self.corner, size, size)?;
        let mut parts = Vec::with_capacity(self.blocks.len());
        for block in &self.blocks {
            let own = block.effects.len();
            parts.push(Block {
                border: matrix(&block.border, size, own)?,
                own: matrix(&block.own, own, own)?,
            });
        }
        let misfit = SavedModelError::Misfit {
            field: "information",
            wanted: effects.blocks().len(),
            found: parts.len(),
        };
        Arrow::of(corner, &parts, effects.blocks()).ok_or(misfit)
    }
}

fn rows(matrix: &DMatrix<f64>) -> Vec<Vec<f64>> {
    let row = |i: usize| matrix.row(i).iter().copied().collect();
    (0..matrix.nrows()).map(row).collect()
}

fn matrix(
    rows: &[Vec<f64>],
    count: usize,
    columns: usize,
) -> Result<DMatrix<f64>, SavedModelError> {
    let uneven = rows.iter().map(Vec::len).find(|found| *found != columns);
    let (wanted, found) = match uneven {
        Some(found) => (columns, found),
        None => (count, rows.len()),
    };
    if wanted != found {
        return Err(SavedModelError::Misfit {
            field: "information",
            wanted,
            found,
        });
    }
    let all = rows.iter().flatten().copied();
    Ok(DMatrix::from_row_iterator(count, columns, all))
}

/// A list that must hold so many numbers.
pub fn sized(
    field: &'static str,
    list: Vec<f64>,
    wanted: usize,
) -> Result<Vec<f64>, SavedModelError> {
    let found = list.len();
    if found == wanted {
        return Ok(list);
    }
    Err(SavedModelError::Misfit {
        field,
        wanted,
        found,
    })
}

/// A number that may be infinite, for which JSON has no way of its own: a tail too heavy to have a
/// shape, the logit of nothing at all.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Endless {
    Finite(f64),
    Infinite(Infinite),
}

#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Infinite {
    #[serde(rename = "infinite")]
    Above,
    #[serde(rename = "minus infinite")]
    Below,
}

impl Endless {
    pub fn of(x: f64) -> Self {
        if x == f64::INFINITY {
            Endless::Infinite(Infinite::Above)
        } else if x == f64::NEG_INFINITY {
            Endless::Infinite(Infinite::Below)
        } else {
            Endless::Finite(x)
        }
    }

    pub fn get(self) -> f64 {
        match self {
            Endless::Finite(x) => x,
            Endless::Infinite(Infinite::Above) => f64::INFINITY,
            Endless::Infinite(Infinite::Below) => f64::NEG_INFINITY,
        }
    }
}
