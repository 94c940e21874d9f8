//! Expected cost per hour, averaged over the posterior, and where it is least.

use super::cycles::{Cycles, Means};
use super::spread::{mean, quantile};
use super::{CycleCosts, DecisionError};
use crate::numerics::brent_root;
use crate::wear::DrawUnderConditions;

/// Share of edges that would not yet have been called at the horizon of a draw in which no planned
/// change pays.
const STILL_RUNNING: f64 = 0.01;
/// Step of the grid in the log of hours: a cubic on it is good to some 1e-4 of the cost.
const STEP: f64 = 0.2;
/// Twice as far where only the best interval is wanted, which is then found between two of its points.
const WIDE_STEP: f64 = 2.0 * STEP;
/// The grid reaches this far beyond the middle nine tenths of the draws' own best, as a ratio.
const REACH: f64 = 2.5;
/// Error of the log of the best interval. The cost is flat there: this moves it by 1e-14.
const CLOSE: f64 = 1e-7;
/// An interval that saves a smaller share than this is none.
const WORTH_A_RULE: f64 = 1e-9;

/// Each draw by itself, in the order of the draws.
pub(super) struct OwnBest {
    /// The best age.
    pub ages: Vec<f64>,
    /// What is paid per hour under the best policy.
    pub least: Vec<f64>,
    /// Share of draws in which no planned change pays.
    pub until_called: f64,
}

/// Every draw, ready to be asked the cost of any interval.
pub(super) struct MeanCurve {
    draws: Cycles,
    pub own: OwnBest,
    /// Mean cost per hour where edges run until called.
    pub until_called_rate: f64,
    grid: Vec<GridPoint>,
    best: usize,
    wanted: Wanted,
}

/// What the grid is for.
#[derive(Clone, Copy, PartialEq)]
enum Wanted {
    Curve,
    /// Only where mean cost is least.
    Best,
}

/// A point of the grid.
pub(super) struct GridPoint {
    pub log_hours: f64,
    /// Cost per hour in each draw; none where only the best is wanted.
    pub rates: Vec<f64>,
    pub mean: f64,
    /// Slope of the mean in the log of hours.
    slope: f64,
}

impl OwnBest {
    /// Where a planned change pays on the mean: for who does not ask after which interval.
    ///
    /// # Errors
    ///
    /// As [`MeanCurve::new`].
    pub fn where_plans_pay(
        draws: &[DrawUnderConditions],
        costs: &CycleCosts,
    ) -> Result<Self, DecisionError> {
        let draws = Cycles::new(draws, costs)?;
        let own = Self::of(&draws)?;
        // The middle draw's best is near enough to the best on the mean to tell, mostly.
        let at_middle = draws.means_at(own.middle()?).rate;
        if pays(at_middle, mean(&draws.rates_until_called())) {
            return Ok(own);
        }
        MeanCurve::laid(draws, own, Wanted::Best).map(|curve| curve.own)
    }

    fn of(draws: &Cycles) -> Result<Self, DecisionError> {
        let best = draws.least()?;
        let none = best.iter().filter(|least| least.age.is_none()).count();
        let ages = best.iter().enumerate().map(|(draw, least)| {
            let horizon = || draws.called_by(draw, STILL_RUNNING);
            least.age.unwrap_or_else(horizon)
        });
        Ok(Self {
            ages: ages.collect(),
            least: best.iter().map(|least| least.rate).collect(),
            until_called: none as f64 / best.len() as f64,
        })
    }

    /// The middle one of the best ages.
    ///
    /// # Errors
    ///
    /// [`DecisionError::NoDraws`].
    pub fn middle(&self) -> Result<f64, DecisionError> {
        let mut sorted = self.ages.clone();
        sorted.sort_unstable_by(f64::total_cmp);
        quantile(&sorted, 0.5).ok_or(DecisionError::NoDraws)
    }
}

/// Whether an interval saves enough to be one.
fn pays(rate: f64, until_called: f64) -> bool {
    rate < until_called * (1.0 - WORTH_A_RULE)
}

impl MeanCurve {
    /// # Errors
    ///
    /// [`DecisionError::RunUntilCalled`] where no interval is cheaper on the mean, and those of
    /// [`AgeReplacement::new`](super::AgeReplacement::new).
    pub fn new(draws: &[DrawUnderConditions], costs: &CycleCosts) -> Result<Self, DecisionError> {
        Self::of(Cycles::new(draws, costs)?)
    }

    /// The best interval and each draw's own, on a grid that tells no more than these.
    ///
    /// # Errors
    ///
    /// As [`MeanCurve::new`].
    pub fn best_alone(
        draws: &[DrawUnderConditions],
        costs: &CycleCosts,
    ) -> Result<Self, DecisionError> {
        Self::wanted(Cycles::new(draws, costs)?, Wanted::Best)
    }

    /// # Errors
    ///
    /// As [`MeanCurve::new`].
    pub fn of(draws: Cycles) -> Result<Self, DecisionError> {
        Self::wanted(draws, Wanted::Curve)
    }

    fn wanted(draws: Cycles, wanted: Wanted) -> Result<Self, DecisionError> {
        let own = OwnBest::of(&draws)?;
        Self::laid(draws, own, wanted)
    }

    fn laid(draws: Cycles, own: OwnBest, wanted: Wanted) -> Result<Self, DecisionError> {
        let mut curve = Self {
            until_called_rate: mean(&draws.rates_until_called()),
            draws,
            own,
            grid: Vec::new(),
            best: 0,
            wanted,
        };
        curve.grid = curve.lay_grid()?;
        curve.insert_best()?;
        Ok(curve)
    }

    /// A grid round the draws' own best, long enough that mean cost falls at its start and, where it
    /// ever rises, rises at its end.
    fn lay_grid(&self) -> Result<Vec<GridPoint>, DecisionError> {
        let mut sorted = self.own.ages.clone();
        sorted.sort_unstable_by(f64::total_cmp);
        let own = |share: f64| Some(quantile(&sorted, share)?.ln());
        let (low, high, longest) = own(0.05)
            .zip(own(0.95))
            .zip(own(1.0))
            .map(|((low, high), longest)| (low - REACH.ln(), high + REACH.ln(), longest))
            .ok_or(DecisionError::NoDraws)?;
        let steps = ((high - low) / self.step()).ceil();
        let mut grid: Vec<GridPoint> = (0..=steps as u32)
            .map(|step| self.grid_point(low + (high - low) * f64::from(step) / steps))
            .collect();
        self.lengthen(&mut grid, longest);
        Ok(grid)
    }

    /// A few draws with very short or long lives may carry the mean. Beyond every draw's own best
    /// there is nothing left to find.
    fn lengthen(&self, grid: &mut Vec<GridPoint>, longest: f64) {
        let shortest = self.own.ages.iter().copied().fold(f64::MAX, f64::min).ln();
        while let Some(first) = grid.first().filter(|point| point.slope > 0.0) {
            let earlier = first.log_hours - self.step();
            if first.log_hours < shortest {
                break;
            }
            grid.insert(0, self.grid_point(earlier));
        }
        while let Some(last) = grid.last().filter(|point| point.slope < 0.0) {
            if last.log_hours > longest {
                break;
            }
            let later = last.log_hours + self.step();
            grid.push(self.grid_point(later));
        }
    }

    fn step(&self) -> f64 {
        match self.wanted {
            Wanted::Curve => STEP,
            Wanted::Best => WIDE_STEP,
        }
    }

    fn grid_point(&self, log_hours: f64) -> GridPoint {
        let hours = log_hours.exp();
        let (means, rates) = match self.wanted {
            Wanted::Best => (self.draws.means_at(hours), Vec::new()),
            Wanted::Curve => {
                let cycles = self.draws.at(hours);
                let rates = self.draws.rates(&cycles);
                let slope = mean(&self.draws.slopes(&cycles));
                let rate = mean(&rates);
                (Means { rate, slope }, rates)
            }
        };
        GridPoint {
            log_hours,
            mean: means.rate,
            slope: hours * means.slope,
            rates,
        }
    }

    pub fn grid(&self) -> &[GridPoint] {
        &self.grid
    }

    /// In each draw, the chance that an edge goes dull within so many hours of work.
    pub fn chances_dull(&self, hours: f64) -> Vec<f64> {
        self.draws.chances_dull(hours)
    }

    /// In each draw, the chance that a strike ends the work of an edge pulled at so many hours.
    pub fn chances_struck(&self, hours: f64) -> Vec<f64> {
        self.draws.chances_struck(&self.draws.at(hours))
    }

    pub fn rates(&self, hours: f64) -> Vec<f64> {
        self.draws.rates(&self.draws.at(hours))
    }

    /// The point of the grid where mean cost is least.
    pub fn best(&self) -> &GridPoint {
        &self.grid[self.best]
    }

    /// Puts the interval of least mean cost into the grid.
    fn insert_best(&mut self) -> Result<(), DecisionError> {
        let turns = self
            .grid
            .windows(2)
            .filter(|pair| pair[0].slope < 0.0 && pair[1].slope >= 0.0)
            .filter_map(|pair| self.turn_between(&pair[0], &pair[1]));
        let least = turns
            .map(|log_hours| self.grid_point(log_hours))
            .min_by(|left, right| left.mean.total_cmp(&right.mean))
            .filter(|point| pays(point.mean, self.until_called_rate))
            .ok_or(DecisionError::RunUntilCalled {
                cost_per_hour: self.until_called_rate,
            })?;
        self.best = self
            .grid
            .partition_point(|point| point.log_hours < least.log_hours);
        self.grid.insert(self.best, least);
        Ok(())
    }

    fn turn_between(&self, low: &GridPoint, high: &GridPoint) -> Option<f64> {
        let slope = |log_hours: f64| {
            let hours = log_hours.exp();
            hours * self.draws.means_at(hours).slope
        };
        let ends = [low, high].map(|point| (point.log_hours, point.slope));
        brent_root(ends[0], ends[1], CLOSE, slope)
    }

    /// The stretch of hours round the best in which mean cost stays below `limit`; each end is where
    /// the grid ends if cost stays below as far as it reaches.
    pub fn stretch_below(&self, limit: f64) -> (f64, f64) {
        let (before, after) = (&self.grid[..=self.best], &self.grid[self.best..]);
        let from = before.windows(2).rev().find(|pair| pair[0].mean >= limit);
        let to = after.windows(2).find(|pair| pair[1].mean >= limit);
        let ends = (
            self.grid[0].log_hours,
            self.grid[self.grid.len() - 1].log_hours,
        );
        let crossing =
            |pair: &[GridPoint]| self.sharpened(crossing(&pair[0], &pair[1], limit), limit);
        (
            from.map_or(ends.0, crossing).exp(),
            to.map_or(ends.1, crossing).exp(),
        )
    }

    /// One step of Newton's method on the mean cost itself: the cubic alone is off by some 1e-4.
    fn sharpened(&self, log_hours: f64, limit: f64) -> f64 {
        let here = self.grid_point(log_hours);
        log_hours - (here.mean - limit) / here.slope
    }
}

/// Where the cubic through two points and their slopes crosses `limit`.
fn crossing(low: &GridPoint, high: &GridPoint, limit: f64) -> f64 {
    let width = high.log_hours - low.log_hours;
    let cubic = |part: f64| {
        let rest = 1.0 - part;
        let by_values = low.mean * (1.0 + 2.0 * part) * rest * rest
            + high.mean * (1.0 + 2.0 * rest) * part * part;
        let by_slopes = width * part * rest * (low.slope * rest - high.slope * part);
        by_values + by_slopes - limit
    };
    // The ends lie on both sides of the limit, so that there is a root; half-way is a safe word.
    let ends = [(0.0, cubic(0.0)), (1.0, cubic(1.0))];
    low.log_hours + width * brent_root(ends[0], ends[1], CLOSE, cubic).unwrap_or(0.5)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantities::{Money, WearFraction};
    use crate::wear::{Family, LifeLaw};

    #[test]
    fn the_best_alone_is_that_of_the_curve() {
        let costs = CycleCosts {
            planned: Money::new(60.0).unwrap(),
            forced_extra: Money::new(120.0).unwrap(),
            strike_extra: Money::new(300.0).unwrap(),
            running_at_dull: Money::new(6.0).unwrap(),
            call_at: Some(WearFraction::new(1.3).unwrap()),
        };
        // Spreads from 0.25 up: the widest go by the exact sums.
        let draw = |place: u32| DrawUnderConditions {
            law: LifeLaw {
                family: Family::Weibull,
                log_median: 50.0_f64.ln() + 0.2 * f64::from(place).sin(),
                sigma: 0.25 + 0.0125 * f64::from(place),
            },
            strikes_per_hour: 0.001 * f64::from(place % 5),
        };
        for count in [1, 32, 45] {
            let draws: Vec<DrawUnderConditions> = (0..count).map(draw).collect();
            let whole = MeanCurve::new(&draws, &costs).unwrap();
            let alone = MeanCurve::best_alone(&draws, &costs).unwrap();
            let (best, found) = (whole.best(), alone.best());
            assert!((best.log_hours - found.log_hours).abs() < 2.0 * CLOSE);
            assert!((best.mean / found.mean - 1.0).abs() < 1e-12);
            assert_eq!(whole.own.ages, alone.own.ages);
            let own = OwnBest::where_plans_pay(&draws, &costs).unwrap();
            assert_eq!(whole.own.least, own.least);
            let cycles = whole.draws.at(31.0);
            let means = whole.draws.means_at(31.0);
            let (rate, slope) = (whole.draws.rates(&cycles), whole.draws.slopes(&cycles));
            assert!((means.rate / mean(&rate) - 1.0).abs() < 1e-12);
            assert!((means.slope / mean(&slope) - 1.0).abs() < 1e-12);
        }
    }
}
