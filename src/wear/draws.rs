//! Draws of everything, to be looked at under any conditions.

use super::life_law::{DrawUnderConditions, LifeLaw};
use super::parameters::Layout;
use super::posterior::Asked;
use super::records::{Grouping, features_of};
use super::sample::Draw;
use super::{AgedDraw, AgedEdge, Family};
use crate::numerics::elementary::logistic;
use crate::numerics::lanes::{exp_each, ln_each};
use crate::quantities::MeterHours;
use crate::wood::Blend;
use rayon::prelude::*;

/// Draws of all parameters and of the strike rates, to be looked at under any conditions.
#[derive(Debug, Clone)]
pub struct Draws {
    pub(super) family: Family,
    pub(super) layout: Layout,
    pub(super) groupings: Vec<Grouping>,
    pub(super) draws: Vec<WholeDraw>,
}

/// One draw of everything.
#[derive(Debug, Clone)]
pub(super) struct WholeDraw {
    pub(super) wear: Draw,
    /// For each grouping, the normal score of a level that was never seen.
    pub(super) unseen: Vec<f64>,
    pub(super) strikes: [f64; 4],
}

impl Draws {
    /// About `count` of them, at even steps.
    pub fn thinned(&self, count: usize) -> Self {
        let step = (self.draws.len() / count.max(1)).max(1);
        Self {
            family: self.family,
            layout: self.layout.clone(),
            groupings: self.groupings.clone(),
            draws: self.draws.iter().step_by(step).cloned().collect(),
        }
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        self.draws.len()
    }

    /// Each draw's view of an edge that has worked.
    pub fn aged(&self, edge: &AgedEdge) -> Vec<AgedDraw> {
        let draws = self.draws.par_iter();
        draws
            .map(|draw| edge.under(&draw.wear.shared, &draw.wear.effects))
            .collect()
    }

    /// Each draw's wear hours per meter hour in a blend.
    pub fn wear_rates(&self, blend: &Blend) -> Vec<f64> {
        wear_rates(
            blend,
            &self.layout,
            self.draws.iter().map(|draw| &draw.wear),
        )
    }

    /// Meter hours in one blend that wear an edge as much as these in another, on the mean over the draws;
    /// `None` where the answer is no number of hours.
    pub fn equal_wear(&self, hours: MeterHours, of: &Blend, in_this: &Blend) -> Option<MeterHours> {
        self.equal_wear_by(hours, &self.wear_rates(of), in_this)
    }

    /// The same, where the [`Draws::wear_rates`] of the first blend are known.
    pub fn equal_wear_by(
        &self,
        hours: MeterHours,
        of: &[f64],
        in_this: &Blend,
    ) -> Option<MeterHours> {
        let rates = of.iter().zip(self.wear_rates(in_this));
        let ratios: f64 = rates.map(|(of, here)| of / here).sum();
        MeterHours::new(hours.get() * ratios / self.draws.len() as f64).ok()
    }

    /// Each draw's strikes per meter hour in a blend.
    pub fn strike_rates(&self, blend: &Blend) -> Vec<f64> {
        let shares = blend.contamination_shares();
        let of_draw = |draw: &WholeDraw| {
            let classes = draw.strikes.iter().zip(shares);
            classes.map(|(rate, share)| share * rate).sum()
        };
        self.draws.iter().map(of_draw).collect()
    }

    /// Each draw's share of the wear so far that a touch-up takes back.
    pub fn touch_up_shares(&self) -> Vec<f64> {
        let place = self.layout.touch_up();
        let draws = self.draws.iter();
        draws
            .map(|draw| logistic(draw.wear.shared[place]))
            .collect()
    }

    /// Each draw's law of life and strike rate under the conditions asked about. A blend wears at the
    /// average of its parts' rates.
    pub fn under(&self, asked: &Asked) -> Vec<DrawUnderConditions> {
        self.under_at(asked, &self.wear_rates(&asked.blend))
    }

    /// The same, where the [`Draws::wear_rates`] of the blend asked about are known.
    pub fn under_at(&self, asked: &Asked, rates: &[f64]) -> Vec<DrawUnderConditions> {
        let places = places(&self.groupings, asked);
        let wear = self.draws.iter().map(|draw| &draw.wear);
        let shift = |draw: &WholeDraw| group_shift(&draw.wear, &places, &draw.unseen);
        let shifts: Vec<f64> = self.draws.iter().map(shift).collect();
        let medians = log_medians(&self.layout, wear.clone().zip(shifts), rates, asked);
        let place = self.layout.log_sigma();
        let mut sigmas: Vec<f64> = wear.map(|draw| draw.shared[place]).collect();
        exp_column(&mut sigmas);
        let strikes = self.strike_rates(&asked.blend);
        let laws = medians
            .into_iter()
            .zip(sigmas)
            .map(|(log_median, sigma)| LifeLaw {
                family: self.family,
                log_median,
                sigma,
            });
        let both = laws.zip(strikes);
        both.map(|(law, strikes_per_hour)| DrawUnderConditions {
            law,
            strikes_per_hour,
        })
        .collect()
    }
}

/// The levels of one grouping that are asked about, by number.
pub(super) struct GroupPlace {
    pub grouping: usize,
    /// Where the grouping's effects begin.
    pub start: usize,
    pub seen: Vec<(usize, f64)>,
    /// The share of levels never seen.
    pub unseen: f64,
}

pub(super) fn places(groupings: &[Grouping], asked: &Asked) -> Vec<GroupPlace> {
    let mut start = 0;
    let mut places = Vec::new();
    for (number, grouping) in groupings.iter().enumerate() {
        if let Some(among) = asked
            .among
            .iter()
            .find(|among| among.grouping == grouping.name)
        {
            let seen: Vec<(usize, f64)> = among
                .shares
                .iter()
                .filter_map(|(name, share)| Some((grouping.level(name)?, *share)))
                .collect();
            let known: f64 = seen.iter().map(|(_, share)| share).sum();
            places.push(GroupPlace {
                grouping: number,
                start,
                unseen: (1.0 - known).max(0.0),
                seen,
            });
        }
        start += grouping.levels.len();
    }
    places
}

/// What the groups asked about add to log life.
pub(super) fn group_shift(draw: &Draw, places: &[GroupPlace], unseen: &[f64]) -> f64 {
    let shift = |place: &GroupPlace| {
        let seen = place.seen.iter();
        let seen: f64 = seen
            .map(|(level, share)| share * draw.effects[place.start + level])
            .sum();
        seen + place.unseen * unseen[place.grouping] * draw.spreads[place.grouping]
    };
    places.iter().map(shift).sum()
}

/// `row . beta`; a row that is shorter holds zeros beyond its end.
pub(super) fn log_rate(row: &[f64], rates: &[f64]) -> f64 {
    row.iter().zip(rates).map(|(x, b)| x * b).sum()
}

/// Each of a column by its `exp`; a number that would be infinite becomes as large as numbers are.
fn exp_column(column: &mut [f64]) {
    const LARGEST: f64 = 709.0;
    for x in column.iter_mut().filter(|x| **x > LARGEST) {
        *x = LARGEST;
    }
    exp_each(column);
}

/// Each draw's wear hours per meter hour, averaged over a blend's parts.
pub(super) fn wear_rates<'d>(
    blend: &Blend,
    layout: &Layout,
    draws: impl Iterator<Item = &'d Draw> + Clone,
) -> Vec<f64> {
    let rates = layout.rates();
    let mut sums: Vec<f64> = draws.clone().map(|_| 0.0).collect();
    let mut column = Vec::with_capacity(sums.len());
    for part in blend.parts() {
        let row = part.covariates.row();
        let logs = draws
            .clone()
            .map(|draw| log_rate(row, &draw.shared[rates.clone()]));
        column.clear();
        column.extend(logs);
        exp_column(&mut column);
        let both = sums.iter_mut().zip(&column);
        both.for_each(|(sum, rate)| *sum += part.share * rate);
    }
    sums
}

/// Each draw's log of median life in meter hours: typical life over the average wear rate. Draws come with what
/// their groups add to log life.
pub(super) fn log_medians<'d>(
    layout: &Layout,
    draws: impl Iterator<Item = (&'d Draw, f64)>,
    rates: &[f64],
    asked: &Asked,
) -> Vec<f64> {
    let features = features_of(asked.rotor, asked.reground);
    let mut log_rates = rates.to_vec();
    ln_each(&mut log_rates);
    let log_median = |((draw, group_shift), log_rate): ((&Draw, f64), f64)| {
        let theta = &draw.shared;
        let of_features = theta[layout.features()].iter().zip(features);
        let shift: f64 = of_features.map(|(g, z)| g * z).sum();
        theta[layout.location()] + shift + group_shift - log_rate
    };
    draws.zip(log_rates).map(log_median).collect()
}
