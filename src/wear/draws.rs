//! Draws of everything, to be looked at under any conditions.

use super::draw_columns::{DrawColumns, columns};
use super::life_law::{DrawUnderConditions, LifeLaw};
use super::parameters::Layout;
use super::posterior::Asked;
use super::records::Grouping;
use super::sample::Draw;
use super::{AgedDraw, AgedEdge, Family};
use crate::numerics::elementary::logistic;
use crate::numerics::resampling::by_turns;
use crate::quantities::MeterHours;
use crate::wood::Blend;
use rayon::prelude::*;
use std::sync::OnceLock;

/// Draws of all parameters and of the strike rates, to be looked at under any conditions.
#[derive(Debug, Clone)]
pub struct Draws {
    family: Family,
    layout: Layout,
    groupings: Vec<Grouping>,
    draws: Vec<WholeDraw>,
    /// The same by parameter, once somebody asks.
    columns: OnceLock<(DrawColumns, Vec<Vec<f64>>)>,
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
    pub(super) fn new(
        family: Family,
        layout: Layout,
        groupings: Vec<Grouping>,
        draws: Vec<WholeDraw>,
    ) -> Self {
        Self {
            family,
            layout,
            groupings,
            draws,
            columns: OnceLock::new(),
        }
    }

    /// About `count` of them, at even steps.
    pub fn thinned(&self, count: usize) -> Self {
        Self::new(
            self.family,
            self.layout.clone(),
            self.groupings.clone(),
            self.thinned_of(&self.draws, count),
        )
    }

    /// Of what was made of every draw, what [`Draws::thinned`] has of it.
    pub fn thinned_of<T: Clone>(&self, all: &[T], count: usize) -> Vec<T> {
        let step = self.draws.len() / count.max(1);
        let places = by_turns(self.draws.len(), step);
        places.filter_map(|place| all.get(place).cloned()).collect()
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        self.draws.len()
    }

    /// Each draw's view of an edge that has worked.
    pub fn aged(&self, edge: &AgedEdge) -> Vec<AgedDraw> {
        // A draw of much weight comes several times, one after the other; a fleet's half of the time.
        let alike: Vec<&[WholeDraw]> = self.draws.chunk_by(|a, b| a.wear == b.wear).collect();
        let views = alike.par_iter().flat_map_iter(|alike| {
            let wear = &alike[0].wear;
            let view = edge.under(&wear.shared, &wear.effects);
            std::iter::repeat_n(view, alike.len())
        });
        views.collect()
    }

    /// Each draw's wear hours per meter hour in a blend.
    pub fn wear_rates(&self, blend: &Blend) -> Vec<f64> {
        self.columns().0.wear_rates(&self.layout, blend)
    }

    /// Meter hours in one blend that wear an edge as much as these in another, on the mean over the draws;
    /// `None` where the answer is no number of hours.
    pub fn equal_wear(&self, hours: MeterHours, of: &Blend, in_this: &Blend) -> Option<MeterHours> {
        let in_this = std::slice::from_ref(in_this);
        self.equal_wear_each(hours, &self.wear_rates(of), in_this)
            .pop()
            .flatten()
    }

    /// The same for each of several blends, where the [`Draws::wear_rates`] of the first are known.
    pub fn equal_wear_each(
        &self,
        hours: MeterHours,
        of: &[f64],
        in_these: &[Blend],
    ) -> Vec<Option<MeterHours>> {
        let equal = |rates: Vec<f64>| {
            let ratios: f64 = of.iter().zip(rates).map(|(of, here)| of / here).sum();
            MeterHours::new(hours.get() * ratios / self.draws.len() as f64).ok()
        };
        let rates = self.columns().0.wear_rates_each(&self.layout, in_these);
        rates.into_iter().map(equal).collect()
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
        let (wear, unseen) = self.columns();
        let shifts = wear.group_shifts(&places, unseen);
        let medians = wear.log_medians(&self.layout, asked, &shifts, rates);
        let laws = medians.into_iter().zip(wear.sigmas(&self.layout));
        let laws = laws.map(|(log_median, sigma)| LifeLaw {
            family: self.family,
            log_median,
            sigma,
        });
        let both = laws.zip(self.strike_rates(&asked.blend));
        both.map(|(law, strikes_per_hour)| DrawUnderConditions {
            law,
            strikes_per_hour,
        })
        .collect()
    }

    /// The draws by parameter, with each grouping's scores of a level never seen.
    fn columns(&self) -> &(DrawColumns, Vec<Vec<f64>>) {
        self.columns.get_or_init(|| {
            let draws = self.draws.iter();
            (
                DrawColumns::of(draws.clone().map(|draw| &draw.wear)),
                columns(draws.map(|draw| draw.unseen.as_slice())),
            )
        })
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

/// `row . beta`; a row that is shorter holds zeros beyond its end.
pub(super) fn log_rate(row: &[f64], rates: &[f64]) -> f64 {
    row.iter().zip(rates).map(|(x, b)| x * b).sum()
}
