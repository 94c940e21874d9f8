//! Expected cost and length of one cycle of an edge, for one life law.

mod optimum;
mod sums;

pub use optimum::Cheapest;
pub(super) use optimum::Least;

use super::cycle_costs::CheckedCosts;
use super::standard_axis::{LARGEST_SIGMA, LawAt, SMALLEST_SIGMA, StandardAxis, tails};
use super::strike_factors::StrikeFactors;
use super::{CycleCosts, DecisionError};
use crate::numerics::GaussLegendre;
use crate::quantities::{MeterHours, Money, Probability, QuantityError};
use crate::wear::{Family, LifeDistribution, LifeLaw};
use std::sync::LazyLock;

/// Looks on a part of a panel, at most half of one wide: as good as eight on a whole one.
static PART: LazyLock<GaussLegendre<5>> = LazyLock::new(GaussLegendre::new);

/// An edge pulled at exposure `tau`, for a fixed life law, strike rate and costs.
///
/// The cycle ends at `min(tau, w_call T, X)`: pulled as planned, called dull in the field, or
/// struck, `X` exponential with the strike rate `lambda`. With `L` its expected length and `K + N`
/// its expected cost,
///
/// ```text
/// L(tau) = tau e1(lambda tau) S(a) + E[ s e1(lambda s); s < tau ]              s = w_call T, a = tau / w_call
/// N(tau) = P E[ e^(-lambda s); s < tau ] + lambda S_x L(tau)
///        + c_d ( tau^2 q(lambda tau) E[1/T; T > a] + E[ s^2 q(lambda s) / T; s < tau ] )
/// C(tau) = (K + N(tau)) / L(tau)
/// ```
///
/// `K`, `P`, `S_x`, `c_d`, `w_call` as in [`CycleCosts`], `S` the survival of `T`, and `e1`, `q` the
/// strike factors "hours" and "hour_sum". Each follows from
/// `L = integral of e^(-lambda t) S(t / w_call) dt` and its like by parts, which leaves nothing but
/// means over `T`. With `c_d = 0` and `w_call = 1` this is age replacement: Barlow and Proschan
/// (1965), Mathematical Theory of Reliability, section 3.2; the ratio of means is the renewal reward
/// theorem.
///
/// # Examples
///
/// ```
/// use keenspan::decisions::{AgeReplacement, Cheapest, KnifeLayout, ShopCosts};
/// use keenspan::wear::{Family, LifeLaw};
///
/// let costs = ShopCosts::common_practice()?.cycle(KnifeLayout { knives: 4, edges_per_knife: 2 })?;
/// let law = LifeLaw { family: Family::Weibull, log_median: 55.0_f64.ln(), sigma: 0.33 };
/// let cycle = AgeReplacement::new(&law, 0.002, &costs)?;
/// let Cheapest::ChangeAt { interval, cost_per_hour } = cycle.cheapest()? else {
///     return Err("no planned change pays".into());
/// };
/// assert!((cycle.cost_per_hour(interval)?.get() - cost_per_hour.get()).abs() < 1e-9);
/// assert!(cycle.expected_hours(interval)? < interval);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct AgeReplacement {
    family: Family,
    sigma: f64,
    location: f64,
    /// Natural log of the exposure at which `W` is zero: `ln w_call + location`.
    log_reach: f64,
    pub(super) strike_rate: f64,
    pub(super) costs: CheckedCosts,
    axis: &'static StandardAxis,
    /// Sums at each edge of the axis. Empty where edges are never called.
    edges: Vec<Sums>,
    /// Sums over all lives.
    whole: Sums,
}

/// Means over lives with `w_call T` below an exposure.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Sums {
    /// The exposure, meter hours.
    pub exposure: f64,
    /// `E[ s e1(lambda s); s < exposure ]`.
    hours: f64,
    /// `E[ s^2 q(lambda s) / T; s < exposure ]`.
    wear_hours: f64,
    /// `E[ 1/T; s > exposure ]`.
    wear_rate: f64,
}

/// Expected cost beyond the planned change and expected length, with their slopes in `tau`.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Cycle {
    pub cost: f64,
    pub length: f64,
    pub cost_slope: f64,
    pub length_slope: f64,
    /// Chance that it ends with a call.
    pub called: f64,
    /// Expected sum over its hours of the wear fraction, which is what running cost goes by.
    pub worn: f64,
}

impl AgeReplacement {
    /// Sums up the law once; afterwards every interval is cheap.
    ///
    /// # Errors
    ///
    /// [`DecisionError::ParameterOutOfRange`] for a law out of reach (spread below 0.001 or above
    /// 8), [`DecisionError::CostOutOfRange`] for a cost that makes no sense,
    /// [`DecisionError::UnboundedRunningCost`] where nobody ever calls an edge and `E[1/T]` is
    /// infinite.
    pub fn new(
        law: &LifeLaw,
        strikes_per_hour: f64,
        costs: &CycleCosts,
    ) -> Result<Self, DecisionError> {
        let costs = costs.check()?;
        let axis = StandardAxis::for_spread(law.family, law.sigma).ok_or(out_of_range(
            "the spread of log life",
            (SMALLEST_SIGMA, LARGEST_SIGMA),
            law.sigma,
        ))?;
        within("the log of median life", (-200.0, 200.0), law.log_median)?;
        within("strikes per hour", (0.0, 1e9), strikes_per_hour)?;
        let mut built = Self {
            family: law.family,
            sigma: law.sigma,
            location: law.location(),
            log_reach: costs.call_at.ln() + law.location(),
            strike_rate: strikes_per_hour,
            costs,
            axis,
            edges: Vec::new(),
            whole: Sums::default(),
        };
        if costs.call_at.is_finite() {
            built.sum_over_lives();
        } else {
            built.sum_rates()?;
        }
        Ok(built)
    }

    /// Expected cost per meter hour in the long run of an edge pulled at `interval`, `C(tau)`.
    ///
    /// # Errors
    ///
    /// [`QuantityError::NotFinite`] at interval zero, where changes never end.
    pub fn cost_per_hour(&self, interval: MeterHours) -> Result<Money, QuantityError> {
        Money::new(self.rate(interval.get()))
    }

    /// Expected cost per meter hour where edges run until the crew calls or a strike forces a change.
    ///
    /// # Errors
    ///
    /// [`QuantityError::NotFinite`] where nobody ever calls and running cost grows for ever.
    pub fn cost_until_called(&self) -> Result<Money, QuantityError> {
        Money::new(self.rate_until_called())
    }

    /// Expected meter hours that an edge pulled at `interval` works: strikes and calls end some early.
    ///
    /// # Errors
    ///
    /// None for any interval; the type checks itself.
    pub fn expected_hours(&self, interval: MeterHours) -> Result<MeterHours, QuantityError> {
        MeterHours::new(self.cycle(interval.get()).length)
    }

    /// Chance that a strike ends the work of an edge pulled at `interval`.
    ///
    /// # Errors
    ///
    /// None for any interval; the type checks itself.
    pub fn chance_of_strike(&self, interval: MeterHours) -> Result<Probability, QuantityError> {
        Probability::new(self.chance_struck(interval.get()))
    }

    /// The cheapest thing to do.
    ///
    /// # Errors
    ///
    /// [`QuantityError::NotFinite`] where no policy has a finite cost.
    pub fn cheapest(&self) -> Result<Cheapest, QuantityError> {
        let least = self.least();
        let cost_per_hour = Money::new(least.rate)?;
        Ok(match least.age {
            Some(age) => Cheapest::ChangeAt {
                interval: MeterHours::new(age)?,
                cost_per_hour,
            },
            None => Cheapest::RunUntilCalled { cost_per_hour },
        })
    }

    /// `C(tau)` as a plain number.
    pub(super) fn rate(&self, tau: f64) -> f64 {
        self.rate_of(&self.cycle(tau))
    }

    pub(super) fn rate_of(&self, cycle: &Cycle) -> f64 {
        self.costs.rate_of(cycle)
    }

    /// Chance that a strike ends the cycle: strikes come at a fixed rate over its length.
    pub(super) fn chance_struck(&self, tau: f64) -> f64 {
        (self.strike_rate * self.cycle(tau).length).min(1.0)
    }

    /// Expected cost per hour where edges run until they are called or struck.
    pub(super) fn rate_until_called(&self) -> f64 {
        let AgeReplacement { costs, whole, .. } = self;
        if whole.hours.is_finite() {
            return self.rate_of(&self.beyond());
        }
        // The mean life is infinite: only what each hour costs in the end is left. That is the mean
        // wear fraction at age a of edges that last longer; for a log-logistic tail of index
        // 1/sigma this tends to 1 / (1 + sigma), and edges that never go dull cost nothing.
        if costs.call_at.is_finite() {
            costs.running_at_dull * costs.call_at / (1.0 + self.sigma)
        } else if costs.running_at_dull > 0.0 {
            f64::INFINITY
        } else {
            0.0
        }
    }

    /// Edges of the axis with the cycle of an edge pulled there.
    pub(super) fn at_edges(&self) -> impl Iterator<Item = (f64, Cycle)> {
        self.edges
            .iter()
            .zip(&self.axis.edges)
            .map(|(sums, law)| (sums.exposure, self.assemble(sums, law)))
    }

    /// `E[1/T]`.
    pub(super) fn mean_wear_rate(&self) -> f64 {
        self.whole.wear_rate
    }

    /// The cycle of an edge pulled at `tau`.
    pub(super) fn cycle(&self, tau: f64) -> Cycle {
        let w = (tau.ln() - self.log_reach) / self.sigma;
        if self.edges.is_empty() || w < self.axis.start {
            return self.before_the_axis(tau, w);
        }
        if w >= self.axis.end() {
            return self.beyond();
        }
        let place = ((w - self.axis.start) / self.axis.width).round() as usize;
        let from = self.axis.start + self.axis.width * place as f64;
        let mut sums = self.edges[place];
        self.add_part(&mut sums, from, w);
        sums.exposure = tau;
        self.assemble(&sums, &LawAt::new(self.family, w))
    }

    fn assemble(&self, sums: &Sums, law: &LawAt) -> Cycle {
        let (costs, lambda, tau) = (&self.costs, self.strike_rate, sums.exposure);
        let strikes = StrikeFactors::at(lambda * tau);
        let length = tau * strikes.hours * law.survival + sums.hours;
        let called = law.failure - lambda * sums.hours;
        let worn = tau * tau * strikes.hour_sum * sums.wear_rate + sums.wear_hours;
        let called_slope = law.density / (self.sigma * tau);
        let each_hour = costs.forced_extra * called_slope
            + lambda * costs.strike_extra * law.survival
            + costs.running_at_dull * tau * sums.wear_rate;
        Cycle {
            cost: costs.forced_extra * called
                + lambda * costs.strike_extra * length
                + costs.running_at_dull * worn,
            length,
            cost_slope: strikes.survived * each_hour,
            length_slope: strikes.survived * law.survival,
            called,
            worn,
        }
    }

    /// Below the axis next to nobody has called; sums come from the exponential left tail.
    fn before_the_axis(&self, tau: f64, w: f64) -> Cycle {
        let never = self.edges.is_empty();
        let (w, law) = if never {
            let law = LawAt {
                failure: 0.0,
                survival: 1.0,
                density: 0.0,
            };
            (f64::NEG_INFINITY, law)
        } else {
            (w, LawAt::new(self.family, w))
        };
        let sums = Sums {
            exposure: tau,
            hours: 0.0,
            wear_hours: if never {
                0.0
            } else {
                self.left_wear_hours(tau, w)
            },
            wear_rate: if never {
                self.whole.wear_rate
            } else {
                self.edges[0].wear_rate + self.left_wear_rate(w)
            },
        };
        self.assemble(&sums, &law)
    }

    /// `E[ s^2 q / T; s < tau ]` where the density is `e^w` and strikes are as good as none.
    fn left_wear_hours(&self, tau: f64, w: f64) -> f64 {
        if tails(self.family).left_exponential {
            0.5 * self.costs.call_at * tau * w.exp() / (1.0 + self.sigma)
        } else {
            0.0
        }
    }

    /// `E[1/T]` between `w` and the start of the axis where the density is `e^w`:
    /// `e^-location` times the integral of `e^((1 - sigma) w)`.
    fn left_wear_rate(&self, w: f64) -> f64 {
        if !tails(self.family).left_exponential {
            return 0.0;
        }
        let start = self.axis.start;
        let grows = 1.0 - self.sigma;
        let at_start = (grows * start - self.location).exp();
        if grows.abs() < 1e-12 {
            at_start * (start - w)
        } else {
            at_start * -(grows * (w - start)).exp_m1() / grows
        }
    }

    pub(super) fn beyond(&self) -> Cycle {
        let law = LawAt {
            failure: 1.0,
            survival: 0.0,
            density: 0.0,
        };
        let whole = Sums {
            exposure: 1.0,
            wear_rate: 0.0,
            ..self.whole
        };
        self.assemble(&whole, &law)
    }

    /// Adds what lies between `from`, an edge, and `to`, half a panel away at most.
    fn add_part(&self, sums: &mut Sums, from: f64, to: f64) {
        let half = 0.5 * (to - from);
        let at_edge = sums.exposure;
        for (x, weight) in PART.nodes.iter().zip(&PART.weights) {
            let step = half * (1.0 + x);
            let exposure = at_edge * (self.sigma * step).exp();
            let weight = half * weight * self.family.log_density(from + step).exp();
            self.add_look(sums, weight, exposure);
            sums.wear_rate -= weight * self.costs.call_at / exposure;
        }
    }

    #[inline]
    fn add_look(&self, sums: &mut Sums, weight: f64, exposure: f64) {
        let strikes = StrikeFactors::at(self.strike_rate * exposure);
        sums.hours += weight * exposure * strikes.hours;
        sums.wear_hours += weight * exposure * strikes.hour_sum * self.costs.call_at;
    }
}

fn within(parameter: &'static str, range: (f64, f64), found: f64) -> Result<(), DecisionError> {
    ((range.0..=range.1).contains(&found))
        .then_some(())
        .ok_or(out_of_range(parameter, range, found))
}

fn out_of_range(parameter: &'static str, (low, high): (f64, f64), found: f64) -> DecisionError {
    DecisionError::ParameterOutOfRange {
        parameter,
        low,
        high,
        found,
    }
}
