//! Draws of everything, to be looked at under any conditions.

use super::life_law::{DrawUnderConditions, LifeLaw};
use super::parameters::Layout;
use super::posterior::Asked;
use super::records::{Grouping, features_of};
use super::sample::Draw;
use super::strikes::strikes_per_hour;
use super::{AgedDraw, AgedEdge, Family};
use crate::numerics::elementary::logistic;
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
        let rates = self.layout.rates();
        let draws = self.draws.iter();
        draws
            .map(|draw| wear_rate(blend, &draw.wear.shared[rates.clone()]))
            .collect()
    }

    /// Meter hours in one blend that wear an edge as much as these in another, on the mean over the draws;
    /// `None` where the answer is no number of hours.
    pub fn equal_wear(&self, hours: MeterHours, of: &Blend, in_this: &Blend) -> Option<MeterHours> {
        let rates = self
            .wear_rates(of)
            .into_iter()
            .zip(self.wear_rates(in_this));
        let ratios: f64 = rates.map(|(of, here)| of / here).sum();
        MeterHours::new(hours.get() * ratios / self.draws.len() as f64).ok()
    }

    /// Each draw's strikes per meter hour in a blend.
    pub fn strike_rates(&self, blend: &Blend) -> Vec<f64> {
        let draws = self.draws.iter();
        draws
            .map(|draw| strikes_per_hour(&draw.strikes, blend))
            .collect()
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
        let places = places(&self.groupings, asked);
        self.draws
            .iter()
            .map(|draw| {
                let shift = group_shift(&draw.wear, &places, &draw.unseen);
                DrawUnderConditions {
                    law: law(self.family, &self.layout, &draw.wear, shift, asked),
                    strikes_per_hour: strikes_per_hour(&draw.strikes, &asked.blend),
                }
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

/// Wear hours per meter hour, averaged over a blend's parts.
pub(super) fn wear_rate(blend: &Blend, rates: &[f64]) -> f64 {
    let parts = blend.parts().iter();
    parts
        .map(|part| part.share * log_rate(part.covariates.row(), rates).exp())
        .sum()
}

/// Life in meter hours at a draw: typical life over the blend's average wear rate.
pub(super) fn law(
    family: Family,
    layout: &Layout,
    draw: &Draw,
    group_shift: f64,
    asked: &Asked,
) -> LifeLaw {
    let theta = &draw.shared;
    let rate = wear_rate(&asked.blend, &theta[layout.rates()]);
    let features = features_of(asked.rotor, asked.reground);
    let shift: f64 = theta[layout.features()]
        .iter()
        .zip(features)
        .map(|(g, z)| g * z)
        .sum();
    LifeLaw {
        family,
        log_median: theta[layout.location()] + shift + group_shift - rate.ln(),
        sigma: theta[layout.log_sigma()].exp(),
    }
}
