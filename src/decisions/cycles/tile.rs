//! A few draws side by side, in columns: every loop over a column becomes vector instructions.

use super::axis::{AXIS, Axis, EDGES, END, LOOKS, START, WIDTH};
use crate::decisions::cycle::Cycle;
use crate::decisions::cycle_costs::CheckedCosts;
use crate::decisions::strike_factors::StrikeFactors;
use crate::numerics::GaussLegendre;
use crate::numerics::lanes::exp;
use std::sync::LazyLock;

/// Draws in a tile.
pub(super) const DRAWS: usize = 32;
pub(super) type Column = [f64; DRAWS];

/// Looks on a part of a panel, at most half of one wide: as good as on a whole one.
const PARTS: usize = 5;
static PART: LazyLock<GaussLegendre<PARTS>> = LazyLock::new(GaussLegendre::new);

/// A law of Weibull lives with strikes, in meter hours.
#[derive(Debug, Clone, Copy)]
pub(super) struct Law {
    pub sigma: f64,
    pub location: f64,
    pub strike_rate: f64,
}

/// The draws of a tile with their sums over lives.
#[derive(Debug)]
pub(super) struct Tile {
    pub sigma: Column,
    /// Log of the exposure at which `W` is zero.
    pub log_reach: Column,
    pub strike_rate: Column,
    /// `E[1/T]` of lives below the axis is this times `1 / (1 - sigma)`, in first order.
    rate_at_start: Column,
    pub edges: Box<[Sums; EDGES]>,
}

/// Means over lives at an edge of the axis: see `cycle::Sums`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sums {
    pub exposure: Column,
    pub hours: Column,
    pub wear_hours: Column,
    pub wear_rate: Column,
}

impl Sums {
    const ZERO: Self = Self {
        exposure: [0.0; DRAWS],
        hours: [0.0; DRAWS],
        wear_hours: [0.0; DRAWS],
        wear_rate: [0.0; DRAWS],
    };
}

/// Where each draw's age lies on the axis.
struct Placed {
    /// The cumulative hazard there.
    hazard: Column,
    /// How far below the axis; never above zero.
    below: Column,
    /// How far from the nearest edge.
    step: Column,
    edge_hazard: Column,
    /// At the nearest edge.
    sums: Sums,
}

impl Tile {
    /// `laws` has at most [`DRAWS`] of them; where fewer, some law stands in.
    #[inline(always)]
    pub fn new<const FUSED: bool>(laws: &[Law], call_at: f64) -> Self {
        let mut tile = Self {
            sigma: [0.5; DRAWS],
            log_reach: [0.0; DRAWS],
            strike_rate: [0.0; DRAWS],
            rate_at_start: [0.0; DRAWS],
            edges: Box::new([Sums::ZERO; EDGES]),
        };
        let log_call = call_at.ln();
        for (k, law) in laws.iter().take(DRAWS).enumerate() {
            tile.sigma[k] = law.sigma;
            tile.log_reach[k] = log_call + law.location;
            tile.strike_rate[k] = law.strike_rate;
        }
        let axis = &*AXIS;
        tile.start::<FUSED>(call_at);
        let mut steps = [[0.0; DRAWS]; LOOKS];
        for look in 0..LOOKS {
            steps[look] = tile.factors::<FUSED>(axis.offsets[look]);
        }
        let stride = tile.factors::<FUSED>(WIDTH);
        for panel in 0..EDGES - 1 {
            tile.add_panel::<FUSED>(axis, panel, &steps, &stride, call_at);
        }
        for panel in (0..EDGES - 1).rev() {
            let beyond = tile.edges[panel + 1].wear_rate;
            let here = &mut tile.edges[panel].wear_rate;
            (0..DRAWS).for_each(|k| here[k] += beyond[k]);
        }
        tile
    }

    /// `exp(sigma step)`, how much longer lives are one step up the axis.
    #[inline(always)]
    fn factors<const FUSED: bool>(&self, step: f64) -> Column {
        let mut factors = [0.0; DRAWS];
        for k in 0..DRAWS {
            factors[k] = exp::<FUSED>(self.sigma[k] * step);
        }
        factors
    }

    /// Sums at the start of the axis, of the exponential left tail.
    #[inline(always)]
    fn start<const FUSED: bool>(&mut self, call_at: f64) {
        let hazard = AXIS.hazards[0];
        for k in 0..DRAWS {
            let exposure = exp::<FUSED>(self.log_reach[k] + self.sigma[k] * START);
            let strikes = StrikeFactors::quick::<FUSED>(self.strikes_below(k, exposure));
            let shares = (1.0 + self.sigma[k], 2.0 + self.sigma[k]);
            let below = exposure * hazard * (1.0 / shares.0 - hazard / shares.1);
            let first = &mut self.edges[0];
            first.exposure[k] = exposure;
            first.hours[k] = below * strikes.hours;
            first.wear_hours[k] = below * strikes.hour_sum * call_at;
            self.rate_at_start[k] = call_at / exposure * hazard;
        }
    }

    /// Strikes expected in the lives of the left tail up to an exposure `s`: their factors, taken there, are the
    /// means over the tail up to the square of it, for `E[s^2] / E[s]` is `s (1 + sigma) / (1 + 2 sigma)`.
    #[inline(always)]
    fn strikes_below(&self, k: usize, exposure: f64) -> f64 {
        let sigma = self.sigma[k];
        self.strike_rate[k] * exposure * (1.0 + sigma) / (1.0 + 2.0 * sigma)
    }

    /// From one edge to the next; `wear_rate` of the panel alone, at its left edge.
    #[inline(always)]
    fn add_panel<const FUSED: bool>(
        &mut self,
        axis: &Axis,
        panel: usize,
        steps: &[Column; LOOKS],
        stride: &Column,
        call_at: f64,
    ) {
        let from = self.edges[panel];
        let mut to = from;
        let mut rates = [0.0; DRAWS];
        for look in 0..LOOKS {
            let weight = axis.weighted[panel][look];
            for k in 0..DRAWS {
                let exposure = from.exposure[k] * steps[look][k];
                let strikes = StrikeFactors::quick::<FUSED>(self.strike_rate[k] * exposure);
                to.hours[k] += weight * exposure * strikes.hours;
                to.wear_hours[k] += call_at * weight * exposure * strikes.hour_sum;
                rates[k] += call_at * weight / exposure;
            }
        }
        for k in 0..DRAWS {
            to.exposure[k] *= stride[k];
        }
        to.wear_rate = [0.0; DRAWS];
        self.edges[panel].wear_rate = rates;
        self.edges[panel + 1] = to;
    }

    /// Each draw's cycle at its own age, told with the log of it.
    #[inline(always)]
    pub fn at<const FUSED: bool>(
        &self,
        costs: &CheckedCosts,
        ages: &Column,
        log_ages: &Column,
    ) -> Cycles {
        let placed = self.place::<FUSED>(log_ages);
        let sums = self.sums_at::<FUSED>(&placed, costs.call_at);
        let mut cycles = Cycles::ZERO;
        for k in 0..DRAWS {
            let survival = exp::<FUSED>(-placed.hazard[k]);
            let law = LawAt {
                survival,
                slope: placed.hazard[k] * survival / (self.sigma[k] * ages[k]),
            };
            let sums = SumsOfOne {
                exposure: ages[k],
                hours: sums.hours[k],
                wear_hours: sums.wear_hours[k],
                wear_rate: sums.wear_rate[k],
            };
            let cycle = assemble::<FUSED>(costs, self.strike_rate[k], &sums, &law);
            cycles.set(k, &cycle);
        }
        cycles
    }

    #[inline(always)]
    fn place<const FUSED: bool>(&self, log_ages: &Column) -> Placed {
        let mut placed = Placed {
            hazard: [0.0; DRAWS],
            below: [0.0; DRAWS],
            step: [0.0; DRAWS],
            edge_hazard: [0.0; DRAWS],
            sums: Sums::ZERO,
        };
        let mut nearest = [0.0; DRAWS];
        for k in 0..DRAWS {
            let w = (log_ages[k] - self.log_reach[k]) / self.sigma[k];
            let on_axis = w.clamp(START, END);
            nearest[k] = ((on_axis - START) / WIDTH + 0.5).floor();
            placed.step[k] = on_axis - (START + WIDTH * nearest[k]);
            placed.below[k] = (w - START).clamp(-300.0, 0.0);
            // Survival beyond 6 is below 1e-175.
            placed.hazard[k] = exp::<FUSED>(w.clamp(-300.0, 6.0));
        }
        for k in 0..DRAWS {
            let edge = (nearest[k] as usize).min(EDGES - 1);
            let at_edge = &self.edges[edge];
            placed.edge_hazard[k] = AXIS.hazards[edge];
            placed.sums.exposure[k] = at_edge.exposure[k];
            placed.sums.hours[k] = at_edge.hours[k];
            placed.sums.wear_hours[k] = at_edge.wear_hours[k];
            placed.sums.wear_rate[k] = at_edge.wear_rate[k];
        }
        placed
    }

    /// Sums at an age: those at the nearest edge and what lies between, or what the exponential left tail
    /// leaves below the axis.
    #[inline(always)]
    fn sums_at<const FUSED: bool>(&self, placed: &Placed, call_at: f64) -> Sums {
        let mut sums = placed.sums;
        self.take_below::<FUSED>(&mut sums, &placed.below);
        let part = &*PART;
        for look in 0..PARTS {
            let (place, weight) = (0.5 * (1.0 + part.nodes[look]), 0.5 * part.weights[look]);
            for k in 0..DRAWS {
                let step = place * placed.step[k];
                let exposure = sums.exposure[k] * exp::<FUSED>(self.sigma[k] * step);
                let hazard = placed.edge_hazard[k] * exp::<FUSED>(step);
                let lives = weight * placed.step[k] * hazard * exp::<FUSED>(-hazard);
                let strikes = StrikeFactors::quick::<FUSED>(self.strike_rate[k] * exposure);
                sums.hours[k] += lives * exposure * strikes.hours;
                sums.wear_hours[k] += call_at * lives * exposure * strikes.hour_sum;
                sums.wear_rate[k] -= call_at * lives / exposure;
            }
        }
        sums
    }

    /// Below the axis sums shrink as `e^((1 + sigma) w)`, and strikes take less of them.
    #[inline(always)]
    fn take_below<const FUSED: bool>(&self, sums: &mut Sums, below: &Column) {
        let (start, hazard) = (self.edges[0].exposure, AXIS.hazards[0]);
        for k in 0..DRAWS {
            let sigma = self.sigma[k];
            let shorter = exp::<FUSED>(sigma * below[k]);
            let rarer = exp::<FUSED>(below[k]);
            let spared = self.strikes_below(k, start[k]) * (1.0 - shorter);
            let tail = shorter * rarer;
            sums.hours[k] *= tail * (1.0 + spared / 2.0);
            sums.wear_hours[k] *= tail * (1.0 + spared * 2.0 / 3.0);
            let shed = (1.0 - rarer / shorter) / (1.0 - sigma)
                - hazard * (1.0 - rarer * rarer / shorter) / (2.0 - sigma);
            sums.wear_rate[k] += self.rate_at_start[k] * shed;
        }
    }
}

/// One draw's sums at an age, as [`Sums`].
pub(super) struct SumsOfOne {
    pub exposure: f64,
    pub hours: f64,
    pub wear_hours: f64,
    pub wear_rate: f64,
}

/// Share of edges not yet called at an age, and how fast they are called there, per hour.
pub(super) struct LawAt {
    pub survival: f64,
    pub slope: f64,
}

/// As `AgeReplacement` puts a cycle together.
#[inline(always)]
pub(super) fn assemble<const FUSED: bool>(
    costs: &CheckedCosts,
    lambda: f64,
    sums: &SumsOfOne,
    law: &LawAt,
) -> Cycle {
    let tau = sums.exposure;
    let strikes = StrikeFactors::quick::<FUSED>(lambda * tau);
    let length = tau * strikes.hours * law.survival + sums.hours;
    let called = 1.0 - law.survival - lambda * sums.hours;
    let worn = tau * tau * strikes.hour_sum * sums.wear_rate + sums.wear_hours;
    let struck = lambda * costs.strike_extra;
    let each_hour = costs.forced_extra * law.slope
        + struck * law.survival
        + costs.running_at_dull * tau * sums.wear_rate;
    Cycle {
        cost: costs.forced_extra * called + struck * length + costs.running_at_dull * worn,
        length,
        cost_slope: strikes.survived * each_hour,
        length_slope: strikes.survived * law.survival,
        called,
        worn,
    }
}

/// The cycles of a tile.
#[derive(Debug)]
pub(super) struct Cycles {
    pub cost: Column,
    pub length: Column,
    pub cost_slope: Column,
    pub length_slope: Column,
    called: Column,
    worn: Column,
}

impl Cycles {
    const ZERO: Self = Self {
        cost: [0.0; DRAWS],
        length: [0.0; DRAWS],
        cost_slope: [0.0; DRAWS],
        length_slope: [0.0; DRAWS],
        called: [0.0; DRAWS],
        worn: [0.0; DRAWS],
    };

    #[inline(always)]
    fn set(&mut self, k: usize, cycle: &Cycle) {
        self.cost[k] = cycle.cost;
        self.length[k] = cycle.length;
        self.cost_slope[k] = cycle.cost_slope;
        self.length_slope[k] = cycle.length_slope;
        self.called[k] = cycle.called;
        self.worn[k] = cycle.worn;
    }

    #[inline(always)]
    pub fn get(&self, k: usize) -> Cycle {
        Cycle {
            cost: self.cost[k],
            length: self.length[k],
            cost_slope: self.cost_slope[k],
            length_slope: self.length_slope[k],
            called: self.called[k],
            worn: self.worn[k],
        }
    }
}
