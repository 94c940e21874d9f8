//! How many edges, one after the other, are used up in a stretch of hours: one draw.

use crate::wear::DrawUnderConditions;

/// Cells of the stretch. With trapezoids a chance is off by at most some `(changes / 240)^2 / 6`.
const CELLS: f64 = 240.0;
/// At least so many to a typical edge.
const CELLS_AN_EDGE: f64 = 24.0;

/// A row of edges, each worked until its planned change, a call or a strike.
///
/// ```text
/// P(n edges used up before h) = sum over a of (n choose a) p^a H_(n-a)(h - a tau)
/// H_m(x) = integral of H_(m-1)(x - u) dF(u),   H_0 = 1 for x > 0
/// ```
///
/// with `F` the chance that an edge ends early by `u < tau`, and `p = 1 - F(tau-)` that it lasts: how
/// many are planned is counted one by one, so that only smooth laws are summed on the grid. Renewal
/// counting: Cox (1962), Renewal Theory, chapter 3; trapezoids in the Stieltjes integral as in Xie
/// (1989), Communications in Statistics B 18, 281-293.
pub(super) struct UsedUp {
    /// Length of the stretch, meter hours.
    stretch: f64,
    /// The planned interval; infinite without one.
    planned: f64,
    /// Chance that an edge lasts until then.
    lasts: f64,
    /// Width of a cell.
    step: f64,
    /// Chance that an edge ends early in each cell.
    ends: Vec<f64>,
    /// `H_m` at the edges between cells, for `m` from 1.
    together: Vec<Vec<f64>>,
}

impl UsedUp {
    /// `typical` hours of an edge decide on the grid.
    pub fn new(
        draw: &DrawUnderConditions,
        call_at: f64,
        planned: Option<f64>,
        stretch: f64,
        typical: f64,
    ) -> Self {
        let planned = planned.unwrap_or(f64::INFINITY);
        let wanted = (stretch / CELLS).min(typical / CELLS_AN_EDGE);
        // The law of one edge has a corner at the planned interval: it lies on the grid.
        let step = if planned < stretch {
            planned / (planned / wanted).ceil()
        } else {
            wanted
        };
        let ended_by = |hours: f64| {
            let dull = draw.law.chance_dull_by(hours / call_at);
            1.0 - (1.0 - dull) * (-draw.strikes_per_hour * hours).exp()
        };
        let reach = planned.min(stretch);
        let cells = (reach / step - 1e-9).ceil().max(0.0) as usize;
        let edges: Vec<f64> = (0..=cells)
            .map(|edge| ended_by(step * edge as f64))
            .collect();
        Self {
            stretch,
            planned,
            lasts: 1.0 - edges.last().copied().unwrap_or(0.0),
            step,
            ends: edges.windows(2).map(|pair| pair[1] - pair[0]).collect(),
            together: Vec::new(),
        }
    }

    /// Chance that `edges` fresh ones are used up, one after the other, before the stretch is over.
    pub fn chance(&mut self, edges: usize) -> f64 {
        self.reach(edges);
        let mut ways = 1.0;
        let mut chance = 0.0;
        for planned in 0..=edges {
            let left = self.stretch - self.planned_hours(planned);
            if left <= 1e-9 * self.stretch {
                break;
            }
            let early = edges - planned;
            chance += ways * self.together(early, left);
            // (n choose a+1) p^(a+1) from (n choose a) p^a.
            ways *= self.lasts * early as f64 / (planned + 1) as f64;
        }
        chance.clamp(0.0, 1.0)
    }

    /// Infinity times none is none.
    fn planned_hours(&self, edges: usize) -> f64 {
        if edges == 0 {
            0.0
        } else {
            self.planned * edges as f64
        }
    }

    /// `H_m` at `hours`, on a straight line between edges of the grid.
    fn together(&self, edges: usize, hours: f64) -> f64 {
        let Some(row) = edges.checked_sub(1).and_then(|row| self.together.get(row)) else {
            return 1.0;
        };
        let place = hours / self.step;
        let below = (place.floor() as usize).min(row.len().saturating_sub(2));
        match row.get(below..below + 2) {
            Some(&[low, high]) => low + (place - below as f64) * (high - low),
            _ => 0.0,
        }
    }

    /// Works `H_m` out up to `edges`.
    fn reach(&mut self, edges: usize) {
        let cells = (self.stretch / self.step - 1e-9).ceil().max(0.0) as usize;
        while self.together.len() < edges {
            let middles: Vec<f64> = match self.together.last() {
                Some(row) => row
                    .windows(2)
                    .map(|pair| 0.5 * (pair[0] + pair[1]))
                    .collect(),
                None => vec![1.0; cells],
            };
            let mut row = vec![0.0; cells + 1];
            // Compiled for wide registers too: nearly all the time of a plan goes here.
            pulp::Arch::new().dispatch(|| followed_by(&self.ends, &middles, &mut row));
            self.together.push(row);
        }
    }
}

/// Adds up, at each edge of the grid, the ways to get there: an end in one cell, and the rest after it.
#[inline(always)]
fn followed_by(ends: &[f64], rest: &[f64], row: &mut [f64]) {
    for (cell, ends) in ends.iter().enumerate() {
        let later = row.iter_mut().skip(cell + 1);
        for (at, rest) in later.zip(rest) {
            *at += ends * rest;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wear::{Family, LifeLaw};

    /// Edges that end by strikes alone are exponential.
    fn struck(rate: f64) -> DrawUnderConditions {
        DrawUnderConditions {
            law: LifeLaw {
                family: Family::Weibull,
                log_median: 60.0,
                sigma: 0.3,
            },
            strikes_per_hour: rate,
        }
    }

    #[test]
    fn edges_that_never_end_early_are_used_up_on_the_dot() {
        let mut row = UsedUp::new(&struck(0.0), 1.3, Some(10.0), 35.0, 10.0);
        assert_eq!(
            [0, 1, 3, 4].map(|edges| row.chance(edges)),
            [1.0, 1.0, 1.0, 0.0]
        );
        // On the dot is not before.
        let mut row = UsedUp::new(&struck(0.0), 1.3, Some(10.0), 30.0, 10.0);
        assert_eq!([2, 3].map(|edges| row.chance(edges)), [1.0, 0.0]);
        let mut row = UsedUp::new(&struck(0.0), 1.3, Some(10.0), 0.0, 10.0);
        assert_eq!(row.chance(0), 0.0);
    }

    // Two edges, each struck at rate 1/10 or pulled at 10 hours, within 15: by hand
    // P(X1 + X2 < 15) = 1 - P(both last) - P(one lasts, the other ends in (5, 10))
    //   - P(both early, together beyond 15), the last a triangle of (20 - 15)^2 / 2 under
    //   e^-(x+y)/10 / 100: integral of (20 - s) e^(-s/10) / 100 ds from 15 to 20.
    #[test]
    fn planned_and_early_ends_are_mixed_as_by_hand() {
        let mut row = UsedUp::new(&struck(0.1), 1.3, Some(10.0), 15.0, 10.0);
        let lasts = (-1.0f64).exp();
        let late = (-0.5f64).exp() - lasts;
        // With v = s/10: integral of (2 - v) e^-v dv from 1.5 to 2 = [(v - 1) e^-v].
        let triangle = (-2.0f64).exp() - 0.5 * (-1.5f64).exp();
        let expected = 1.0 - lasts * lasts - 2.0 * lasts * late - triangle;
        let found = row.chance(2);
        assert!((found - expected).abs() < 2e-5, "{found} {expected}");
    }
}
