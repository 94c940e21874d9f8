//! Building the sums over lives, once per law.

use super::{AgeReplacement, Sums};
use crate::decisions::DecisionError;
use crate::decisions::standard_axis::{LOOKS, tails};
use crate::decisions::strike_factors::StrikeFactors;
use crate::numerics::GaussLegendre;

impl AgeReplacement {
    pub(super) fn sum_over_lives(&mut self) {
        let axis = self.axis;
        let steps = axis.offsets.map(|offset| (self.sigma * offset).exp());
        let stride = (self.sigma * axis.width).exp();
        let start = self.costs.call_at * (self.location + self.sigma * axis.start).exp();
        let mut sums = Sums {
            exposure: start,
            wear_hours: self.left_wear_hours(start, axis.start),
            ..Sums::default()
        };
        let mut edges = Vec::with_capacity(axis.edges.len());
        for weighted in &axis.weighted {
            let edge = edges.len();
            edges.push(sums);
            sums.wear_rate = 0.0;
            self.add_panel(&mut sums, weighted, &steps);
            edges[edge].wear_rate = sums.wear_rate;
            sums.exposure *= stride;
        }
        self.whole = sums;
        edges.push(sums);
        sum_from_the_right(&mut edges);
        self.edges = edges;
        self.add_right_tail();
    }

    /// Adds one panel; `wear_rate` counts this way too, and is turned round at the end.
    #[inline]
    fn add_panel(&self, sums: &mut Sums, weighted: &[f64; LOOKS], steps: &[f64; LOOKS]) {
        let last = self.strike_rate * sums.exposure * steps[LOOKS - 1];
        if last < StrikeFactors::SERIES_UP_TO {
            self.add_panel_by(sums, weighted, steps, StrikeFactors::by_series);
        } else {
            self.add_panel_by(sums, weighted, steps, StrikeFactors::at);
        }
    }

    #[inline(always)]
    fn add_panel_by(
        &self,
        sums: &mut Sums,
        weighted: &[f64; LOOKS],
        steps: &[f64; LOOKS],
        factors: impl Fn(f64) -> StrikeFactors,
    ) {
        let rate = self.strike_rate;
        let exposures = steps.map(|step| sums.exposure * step);
        let strikes = exposures.map(|exposure| factors(rate * exposure));
        let shares: [f64; LOOKS] = std::array::from_fn(|k| weighted[k] * exposures[k]);
        let (mut hours, mut wear_hours, mut wear_rate) = (0.0, 0.0, 0.0);
        for k in 0..LOOKS {
            hours += shares[k] * strikes[k].hours;
            wear_hours += shares[k] * strikes[k].hour_sum;
            wear_rate += weighted[k] / exposures[k];
        }
        sums.hours += hours;
        sums.wear_hours += self.costs.call_at * wear_hours;
        sums.wear_rate += self.costs.call_at * wear_rate;
    }

    /// Edges that nobody ever calls: only `E[1/T]` counts.
    pub(super) fn sum_rates(&mut self) -> Result<(), DecisionError> {
        let lambda = self.strike_rate;
        self.whole.hours = 1.0 / lambda;
        if self.costs.running_at_dull == 0.0 {
            return Ok(());
        }
        if tails(self.family).left_exponential && self.sigma >= 1.0 {
            return Err(DecisionError::UnboundedRunningCost);
        }
        self.whole.wear_rate = self.mean_rate_by_table();
        self.whole.wear_hours = self.whole.wear_rate / (lambda * lambda);
        Ok(())
    }

    fn mean_rate_by_table(&self) -> f64 {
        let (axis, sigma) = (self.axis, self.sigma);
        let table = axis.weighted.iter().enumerate().map(|(panel, weighted)| {
            let edge = axis.start + axis.width * panel as f64;
            let looks = weighted.iter().zip(&axis.offsets);
            looks
                .map(|(weight, offset)| weight * (-sigma * (edge + offset)).exp())
                .sum::<f64>()
        });
        (-self.location).exp() * table.sum::<f64>() + self.left_wear_rate(f64::NEG_INFINITY)
    }

    /// Log-logistic lives go on beyond the axis with density `e^-w`.
    fn add_right_tail(&mut self) {
        if !tails(self.family).right_exponential {
            return;
        }
        if self.strike_rate == 0.0 {
            self.add_tail_without_strikes();
        } else {
            self.add_tail_with_strikes();
        }
    }

    fn add_tail_without_strikes(&mut self) {
        let shrinks = 1.0 - self.sigma;
        let rest = if shrinks > 0.0 {
            self.whole.exposure * (-self.axis.end()).exp() / shrinks
        } else {
            f64::INFINITY
        };
        self.whole.hours += rest;
        self.whole.wear_hours += 0.5 * self.costs.call_at * rest;
    }

    /// Panel by panel until nobody is left, or until strikes have ended every cycle and the rest has
    /// a closed form.
    fn add_tail_with_strikes(&mut self) {
        let lambda = self.strike_rate;
        let steps = self.axis.offsets.map(|offset| (self.sigma * offset).exp());
        let stride = (self.sigma * self.axis.width).exp();
        let mut w = self.axis.end();
        while lambda * self.whole.exposure < 50.0 {
            if self.whole.exposure * (-w).exp() < 1e-18 * self.whole.hours {
                return;
            }
            let weights = self.tail_weights(w);
            let mut whole = self.whole;
            self.add_panel(&mut whole, &weights, &steps);
            whole.exposure *= stride;
            self.whole = whole;
            w += self.axis.width;
        }
        let per_strike = (-w).exp() / lambda;
        let struck_by = lambda * self.whole.exposure * (1.0 + self.sigma);
        self.whole.hours += per_strike;
        self.whole.wear_hours += self.costs.call_at * per_strike / struck_by;
    }

    fn tail_weights(&self, from: f64) -> [f64; LOOKS] {
        let rule = GaussLegendre::<LOOKS>::new();
        std::array::from_fn(|k| {
            let w = from + self.axis.offsets[k];
            0.5 * self.axis.width * rule.weights[k] * (-w).exp()
        })
    }
}

/// Turns each panel's own `wear_rate` into that of all lives beyond its left edge. Summed from the
/// right: differences from the whole would lose every digit where spread is large.
fn sum_from_the_right(edges: &mut [Sums]) {
    let mut beyond = 0.0;
    for (place, edge) in edges.iter_mut().rev().enumerate() {
        if place > 0 {
            beyond += edge.wear_rate;
        }
        edge.wear_rate = beyond;
    }
}
