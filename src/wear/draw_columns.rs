//! Draws by parameter rather than by draw: a fleet's have a thousand effects each, of which a question needs a few.

use super::draws::GroupPlace;
use super::parameters::Layout;
use super::posterior::Asked;
use super::records::features_of;
use super::sample::Draw;
use crate::numerics::lanes::{exp_each, ln_each};
use crate::wood::{Blend, BlendPart};
use std::collections::HashMap;

/// For each parameter, its value in every draw.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct DrawColumns {
    count: usize,
    shared: Vec<Vec<f64>>,
    effects: Vec<Vec<f64>>,
    spreads: Vec<Vec<f64>>,
}

impl DrawColumns {
    pub fn of<'d>(draws: impl Iterator<Item = &'d Draw> + Clone) -> Self {
        Self {
            count: draws.clone().count(),
            shared: columns(draws.clone().map(|draw| draw.shared.as_slice())),
            effects: columns(draws.clone().map(|draw| draw.effects.as_slice())),
            spreads: columns(draws.map(|draw| draw.spreads.as_slice())),
        }
    }

    /// Each draw's wear hours per meter hour, averaged over a blend's parts.
    pub fn wear_rates(&self, layout: &Layout, blend: &Blend) -> Vec<f64> {
        let mut sums = vec![0.0; self.count];
        for part in blend.parts() {
            add(&mut sums, part.share, &self.rates_of(layout, part));
        }
        sums
    }

    /// The same of several blends, which have most of their parts in common.
    pub fn wear_rates_each(&self, layout: &Layout, blends: &[Blend]) -> Vec<Vec<f64>> {
        let mut known: HashMap<Vec<u64>, Vec<f64>> = HashMap::new();
        let mut of_blend = |blend: &Blend| {
            let mut sums = vec![0.0; self.count];
            for part in blend.parts() {
                let row = part.covariates.row().iter();
                let rates = known.entry(row.map(|x| x.to_bits()).collect());
                let rates = rates.or_insert_with(|| self.rates_of(layout, part));
                add(&mut sums, part.share, rates);
            }
            sums
        };
        blends.iter().map(&mut of_blend).collect()
    }

    fn rates_of(&self, layout: &Layout, part: &BlendPart) -> Vec<f64> {
        let mut column = vec![0.0; self.count];
        // A row that is shorter holds zeros beyond its end.
        let row = part.covariates.row().iter();
        for (x, rates) in row.zip(&self.shared[layout.rates()]) {
            add(&mut column, *x, rates);
        }
        exp_column(&mut column);
        column
    }

    /// Each draw's spread of log life.
    pub fn sigmas(&self, layout: &Layout) -> Vec<f64> {
        let mut sigmas = self.shared[layout.log_sigma()].clone();
        exp_column(&mut sigmas);
        sigmas
    }

    /// What the groups asked about add to log life; `unseen` holds each grouping's normal scores of a level that was
    /// never seen, where such are wanted.
    pub fn group_shifts(&self, places: &[GroupPlace], unseen: &[Vec<f64>]) -> Vec<f64> {
        let mut shifts = vec![0.0; self.count];
        for place in places {
            let mut shift = vec![0.0; self.count];
            for (level, share) in &place.seen {
                add(&mut shift, *share, &self.effects[place.start + level]);
            }
            if let Some(scores) = unseen.get(place.grouping) {
                let spreads = &self.spreads[place.grouping];
                let both = shift.iter_mut().zip(scores).zip(spreads);
                both.for_each(|((sum, score), spread)| *sum += place.unseen * score * spread);
            }
            add(&mut shifts, 1.0, &shift);
        }
        shifts
    }

    /// Each draw's variance of log life among levels never seen.
    pub fn unseen_variances(&self, places: &[GroupPlace]) -> Vec<f64> {
        let mut variances = vec![0.0; self.count];
        for place in places {
            let both = variances.iter_mut().zip(&self.spreads[place.grouping]);
            both.for_each(|(sum, spread)| *sum += (place.unseen * spread).powi(2));
        }
        variances
    }

    /// Each draw's log of median life in meter hours: typical life over the average wear rate.
    pub fn log_medians(
        &self,
        layout: &Layout,
        asked: &Asked,
        group_shifts: &[f64],
        wear_rates: &[f64],
    ) -> Vec<f64> {
        let mut shift = vec![0.0; self.count];
        let features = features_of(asked.rotor, asked.reground);
        for (z, column) in features.iter().zip(&self.shared[layout.features()]) {
            add(&mut shift, *z, column);
        }
        let mut medians = self.shared[layout.location()].clone();
        let mut log_rates = wear_rates.to_vec();
        ln_each(&mut log_rates);
        add(&mut medians, 1.0, &shift);
        add(&mut medians, 1.0, group_shifts);
        add(&mut medians, -1.0, &log_rates);
        medians
    }
}

/// Rows that are all of one length, turned round.
pub(super) fn columns<'d>(rows: impl Iterator<Item = &'d [f64]> + Clone) -> Vec<Vec<f64>> {
    let count = rows.clone().count();
    let length = rows.clone().next().map_or(0, <[f64]>::len);
    let mut columns = vec![Vec::with_capacity(count); length];
    for row in rows {
        let both = columns.iter_mut().zip(row);
        both.for_each(|(column, value)| column.push(*value));
    }
    columns
}

/// Adds a multiple of one column to another.
fn add(to: &mut [f64], factor: f64, column: &[f64]) {
    if factor != 0.0 {
        let both = to.iter_mut().zip(column);
        both.for_each(|(to, value)| *to += factor * value);
    }
}

/// Each of a column by its `exp`; a number that would be infinite becomes as large as numbers are.
fn exp_column(column: &mut [f64]) {
    const LARGEST: f64 = 709.0;
    for x in column.iter_mut().filter(|x| **x > LARGEST) {
        *x = LARGEST;
    }
    exp_each(column);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lives::Rotor;
    use crate::wood::{Contamination, WoodMix, WoodState};

    fn draw(place: u32) -> Draw {
        let value = |i: u32| (f64::from(place * 31 + i * 7) * 0.37).sin();
        Draw {
            shared: (0..Layout::new(2, 7).dimension() as u32)
                .map(value)
                .collect(),
            effects: (20..26).map(value).collect(),
            spreads: (40..42).map(|i| value(i).abs()).collect(),
        }
    }

    /// A second way, draw by draw, with the standard library's exp and ln.
    fn log_median(draw: &Draw, layout: &Layout, asked: &Asked, unseen: [f64; 2]) -> (f64, f64) {
        let theta = &draw.shared;
        let parts = asked.blend.parts().iter();
        let rate: f64 = parts
            .map(|part| {
                let row = part.covariates.row().iter();
                let log: f64 = row.zip(&theta[layout.rates()]).map(|(x, b)| x * b).sum();
                part.share * log.exp()
            })
            .sum();
        // Level 1 of the first grouping; of the second, a quarter of level 2 and the rest never seen.
        let groups = draw.effects[1] + 0.25 * draw.effects[3 + 2];
        let never_seen = 0.75 * unseen[1] * draw.spreads[1];
        let features = theta[layout.features()][0];
        let location = theta[layout.location()] + features + groups + never_seen;
        (location - rate.ln(), rate)
    }

    #[test]
    fn columns_say_what_each_draw_says() {
        let draws: Vec<Draw> = (0..37).map(draw).collect();
        let layout = Layout::new(2, 7);
        let woods = WoodMix::parse("hardwood").expect("a wood");
        let gritty = Blend::of(&woods, Contamination::Gritty, WoodState::Green);
        let clean = Blend::of(&woods, Contamination::Clean, WoodState::Dry);
        let asked = Asked {
            blend: Blend::average([(0.3, &gritty), (0.7, &clean)]).expect("a blend"),
            rotor: Rotor::Disc,
            reground: false,
            among: Vec::new(),
        };
        let place = |grouping, start, seen: (usize, f64)| GroupPlace {
            grouping,
            start,
            seen: vec![seen],
            unseen: 1.0 - seen.1,
        };
        let places = [place(0, 0, (1, 1.0)), place(1, 3, (2, 0.25))];
        let scores: Vec<f64> = (0..37).map(|i| f64::from(i * 5 % 7) - 3.0).collect();
        let unseen = [scores.clone(), scores.clone()];
        let columns = DrawColumns::of(draws.iter());
        let rates = columns.wear_rates(&layout, &asked.blend);
        let shifts = columns.group_shifts(&places, &unseen);
        let medians = columns.log_medians(&layout, &asked, &shifts, &rates);
        let variances = columns.unseen_variances(&places);
        for (i, draw) in draws.iter().enumerate() {
            let (median, rate) = log_median(draw, &layout, &asked, [scores[i]; 2]);
            assert!((rates[i] / rate - 1.0).abs() < 1e-13, "{i}");
            assert!((medians[i] - median).abs() < 1e-13, "{i}");
            let variance = (0.75 * draw.spreads[1]).powi(2);
            assert!((variances[i] - variance).abs() < 1e-15, "{i}");
        }
    }
}
