//! The cycle of an edge under many draws at once: what [`AgeReplacement`] tells exactly of one law, to 2e-7; at the
//! spreads and strikes of ordinary work to 3e-10, its cost per hour to 2e-11. What is left comes of strikes among the shortest lives.
//!
//! Decisions fit Weibull lives, and ask hundreds of draws about the same hours. Here these stand in tiles of
//! columns, the sums over lives take coarser panels, and no step of a loop branches, so that the processor takes
//! several draws at a time. What the tables do not suit (another family, a wide spread, edges that nobody ever
//! calls, a choice that hangs on the last digits) goes by the exact sums.

// Loops over several columns at once read best, and become vector instructions, by the place in the column.
#![allow(clippy::needless_range_loop)]

mod axis;
mod least;
#[cfg(test)]
mod tests;
mod tile;

use super::cycle::{AgeReplacement, Cycle, Least};
use super::cycle_costs::CheckedCosts;
use super::standard_axis::SMALLEST_SIGMA;
use super::{CycleCosts, DecisionError};
use crate::wear::{DrawUnderConditions, Family, LifeDistribution};
use tile::{Column, DRAWS, Law, Tile};

/// The widest spread of log life that the tables suit: `E[1/T]` has no end at 1, and hangs on the tail before.
const WIDEST: f64 = 0.75;
/// How far from zero the log of median life may lie.
const LONGEST: f64 = 50.0;
/// Strikes in a median life, far beyond any that a crew would bear.
const MOST_STRIKES: f64 = 5.0;

/// Every draw's cycles, in the order of the draws.
pub(super) struct Cycles {
    draws: Vec<DrawUnderConditions>,
    costs: CycleCosts,
    checked: CheckedCosts,
    tiles: Vec<Tile>,
    /// For each tile, 1 where a column is a draw's own and 0 where a law stands in.
    own: Vec<Column>,
    /// The draws that go by the exact sums, with their places.
    exact: Vec<(usize, AgeReplacement)>,
}

impl Cycles {
    /// # Errors
    ///
    /// Those of [`AgeReplacement::new`].
    pub fn new(draws: &[DrawUnderConditions], costs: &CycleCosts) -> Result<Self, DecisionError> {
        let checked = costs.check()?;
        let mut exact = Vec::new();
        let mut laws = Vec::with_capacity(draws.len());
        for (place, draw) in draws.iter().enumerate() {
            if suits(draw, &checked) {
                laws.push(law(draw));
            } else {
                exact.push((place, exactly(draw, costs)?));
                laws.push(STAND_IN);
            }
        }
        let tiles = if exact.len() == draws.len() {
            Vec::new()
        } else {
            pulp::Arch::new().dispatch(Built {
                laws: &laws,
                call_at: checked.call_at,
            })
        };
        Ok(Self {
            draws: draws.to_vec(),
            costs: *costs,
            checked,
            own: own_columns(draws.len(), &exact),
            tiles,
            exact,
        })
    }

    /// Each draw's cycle where edges are pulled at so many hours.
    pub fn at(&self, hours: f64) -> Vec<Cycle> {
        let tables = || {
            pulp::Arch::new().dispatch(At {
                tiles: &self.tiles,
                costs: &self.checked,
                hours,
            })
        };
        // At no hours at all the log of them is out of the tables' range.
        if hours > 0.0 {
            self.merged(tables(), |draw| draw.cycle(hours))
        } else {
            let none = Cycle {
                length_slope: 1.0,
                ..Cycle::default()
            };
            vec![none; self.draws.len()]
        }
    }

    /// Each draw's cycle where edges run until they are called or struck.
    pub fn until_called(&self) -> Vec<Cycle> {
        let of_tile = |tile: &Tile| std::array::from_fn(|k| tile.beyond(&self.checked, k));
        let tables = self.tiles.iter().map(of_tile).collect();
        self.merged(tables, AgeReplacement::beyond)
    }

    /// What each draw pays per hour where edges run until they are called or struck.
    pub fn rates_until_called(&self) -> Vec<f64> {
        let of_tile = |tile: &Tile| {
            std::array::from_fn(|k| self.checked.rate_of(&tile.beyond(&self.checked, k)))
        };
        let tables = self.tiles.iter().map(of_tile).collect();
        self.merged(tables, AgeReplacement::rate_until_called)
    }

    /// Each draw's cheapest age.
    ///
    /// # Errors
    ///
    /// Those of [`AgeReplacement::new`].
    pub fn least(&self) -> Result<Vec<Least>, DecisionError> {
        let tables = pulp::Arch::new().dispatch(LeastOf {
            tiles: &self.tiles,
            costs: &self.checked,
        });
        let least = self.merged(tables, |draw| Some(draw.least()));
        let exactly = |(least, draw): (Option<Least>, &DrawUnderConditions)| {
            least.map_or_else(|| Ok(exactly(draw, &self.costs)?.least()), Ok)
        };
        least.into_iter().zip(&self.draws).map(exactly).collect()
    }

    /// The exposure by which all but a share `late` of a draw's edges would have been called.
    pub fn called_by(&self, draw: usize, late: f64) -> f64 {
        let law = &self.draws[draw].law;
        let w = law.family.quantile(1.0 - late);
        self.checked.call_at * (law.location() + law.sigma * w).exp()
    }

    /// In each draw, the chance that an edge goes dull within so many hours of work.
    pub fn chances_dull(&self, hours: f64) -> Vec<f64> {
        let draws = self.draws.iter();
        draws.map(|draw| draw.law.chance_dull_by(hours)).collect()
    }

    /// In each draw, the chance that a strike ends such a cycle: strikes come at a fixed rate over its length.
    pub fn chances_struck(&self, cycles: &[Cycle]) -> Vec<f64> {
        let draws = self.draws.iter().zip(cycles);
        draws
            .map(|(draw, cycle)| (draw.strikes_per_hour * cycle.length).min(1.0))
            .collect()
    }

    /// Cost per hour of such cycles.
    pub fn rates(&self, cycles: &[Cycle]) -> Vec<f64> {
        let rate = |cycle| self.checked.rate_of(cycle);
        cycles.iter().map(rate).collect()
    }

    /// Each draw's strikes per meter hour.
    pub fn strike_rates(&self) -> impl Iterator<Item = f64> {
        self.draws.iter().map(|draw| draw.strikes_per_hour)
    }

    /// What a cycle is priced by.
    pub fn costs(&self) -> &CheckedCosts {
        &self.checked
    }

    /// Cost per hour on the mean over the draws where edges are pulled at so many hours, above zero, and how it rises
    /// there: what [`Cycles::at`] tells, with no list made of it.
    pub fn means_at(&self, hours: f64) -> Means {
        let sums = pulp::Arch::new().dispatch(SumsAt {
            tiles: &self.tiles,
            own: &self.own,
            costs: &self.checked,
            hours,
        });
        let with_exact = |sums: Means, (_, draw): &(usize, AgeReplacement)| {
            let cycle = draw.cycle(hours);
            Means {
                rate: sums.rate + self.checked.rate_of(&cycle),
                slope: sums.slope + self.checked.rate_slope_of(&cycle),
            }
        };
        let sums = self.exact.iter().fold(sums, with_exact);
        let count = self.draws.len() as f64;
        Means {
            rate: sums.rate / count,
            slope: sums.slope / count,
        }
    }

    /// How cost per hour rises with the age at which edges are pulled.
    pub fn slopes(&self, cycles: &[Cycle]) -> Vec<f64> {
        let slope = |cycle| self.checked.rate_slope_of(cycle);
        cycles.iter().map(slope).collect()
    }

    /// What the tiles say of the draws, with what the exact sums say where those are asked.
    fn merged<T>(&self, tiles: Vec<[T; DRAWS]>, ask: impl Fn(&AgeReplacement) -> T) -> Vec<T> {
        if tiles.is_empty() {
            return self.exact.iter().map(|(_, draw)| ask(draw)).collect();
        }
        let mut all: Vec<T> = tiles.into_iter().flatten().collect();
        all.truncate(self.draws.len());
        for (place, draw) in &self.exact {
            all[*place] = ask(draw);
        }
        all
    }
}

fn exactly(
    draw: &DrawUnderConditions,
    costs: &CycleCosts,
) -> Result<AgeReplacement, DecisionError> {
    AgeReplacement::new(&draw.law, draw.strikes_per_hour, costs)
}

fn suits(draw: &DrawUnderConditions, costs: &CheckedCosts) -> bool {
    let law = &draw.law;
    let strikes = draw.strikes_per_hour * law.log_median.exp();
    law.family == Family::Weibull
        && (SMALLEST_SIGMA..=WIDEST).contains(&law.sigma)
        && law.log_median.abs() <= LONGEST
        && (0.0..=MOST_STRIKES).contains(&strikes)
        && (0.1..=10.0).contains(&costs.call_at)
}

fn law(draw: &DrawUnderConditions) -> Law {
    Law {
        sigma: draw.law.sigma,
        location: draw.law.location(),
        strike_rate: draw.strikes_per_hour,
    }
}

/// For each tile, 1 where a column is one of so many draws' own, and not of one that goes by the exact sums.
fn own_columns(draws: usize, exact: &[(usize, AgeReplacement)]) -> Vec<Column> {
    let mut own = vec![[1.0; DRAWS]; draws.div_ceil(DRAWS)];
    let beyond = draws..own.len() * DRAWS;
    for place in exact.iter().map(|(place, _)| *place).chain(beyond) {
        own[place / DRAWS][place % DRAWS] = 0.0;
    }
    own
}

/// Means over the draws, at one age.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Means {
    /// Of cost per hour.
    pub rate: f64,
    /// Of how it rises with the age.
    pub slope: f64,
}

/// Keeps the place of a draw that goes by the exact sums.
const STAND_IN: Law = Law {
    sigma: 0.5,
    location: 0.0,
    strike_rate: 0.0,
};

struct Built<'a> {
    laws: &'a [Law],
    call_at: f64,
}

struct At<'a> {
    tiles: &'a [Tile],
    costs: &'a CheckedCosts,
    hours: f64,
}

struct SumsAt<'a> {
    tiles: &'a [Tile],
    own: &'a [Column],
    costs: &'a CheckedCosts,
    hours: f64,
}

struct LeastOf<'a> {
    tiles: &'a [Tile],
    costs: &'a CheckedCosts,
}

impl pulp::WithSimd for Built<'_> {
    type Output = Vec<Tile>;

    /// Compiled once for each kind of processor, as those below: all that is called from here is inlined, which
    /// the function of a `map` would not be.
    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> Vec<Tile> {
        let mut tiles = Vec::with_capacity(self.laws.len().div_ceil(DRAWS));
        for laws in self.laws.chunks(DRAWS) {
            tiles.push(if S::IS_SCALAR {
                Tile::new::<false>(laws, self.call_at)
            } else {
                Tile::new::<true>(laws, self.call_at)
            });
        }
        tiles
    }
}

impl pulp::WithSimd for At<'_> {
    type Output = Vec<[Cycle; DRAWS]>;

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> Self::Output {
        let ages: Column = [self.hours; DRAWS];
        let log_ages: Column = [self.hours.ln(); DRAWS];
        let mut all = Vec::with_capacity(self.tiles.len());
        for tile in self.tiles {
            let cycles = if S::IS_SCALAR {
                tile.at::<false>(self.costs, &ages, &log_ages)
            } else {
                tile.at::<true>(self.costs, &ages, &log_ages)
            };
            all.push(std::array::from_fn(|k| cycles.get(k)));
        }
        all
    }
}

impl pulp::WithSimd for SumsAt<'_> {
    type Output = Means;

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> Means {
        let ages: Column = [self.hours; DRAWS];
        let log_ages: Column = [self.hours.ln(); DRAWS];
        let (mut rates, mut slopes) = ([0.0; DRAWS], [0.0; DRAWS]);
        for (tile, own) in self.tiles.iter().zip(self.own) {
            let cycles = if S::IS_SCALAR {
                tile.at::<false>(self.costs, &ages, &log_ages)
            } else {
                tile.at::<true>(self.costs, &ages, &log_ages)
            };
            for k in 0..DRAWS {
                let rate = (self.costs.planned + cycles.cost[k]) / cycles.length[k];
                let slope =
                    (cycles.cost_slope[k] - rate * cycles.length_slope[k]) / cycles.length[k];
                rates[k] += if own[k] > 0.0 { rate } else { 0.0 };
                slopes[k] += if own[k] > 0.0 { slope } else { 0.0 };
            }
        }
        Means {
            rate: rates.iter().sum(),
            slope: slopes.iter().sum(),
        }
    }
}

impl pulp::WithSimd for LeastOf<'_> {
    type Output = Vec<[Option<Least>; DRAWS]>;

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> Self::Output {
        let mut all = Vec::with_capacity(self.tiles.len());
        for tile in self.tiles {
            all.push(if S::IS_SCALAR {
                tile.least::<false>(self.costs)
            } else {
                tile.least::<true>(self.costs)
            });
        }
        all
    }
}
