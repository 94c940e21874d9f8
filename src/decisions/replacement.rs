//! The textbook problem of age replacement on its own: one law of life, the cost of a planned renewal
//! and of a failure. Nothing of a log in it, so that anybody can hold it against printed tables.

use super::cycle::AgeReplacement;
use super::{CycleCosts, DecisionError};
use crate::quantities::{Money, WearFraction};
use crate::wear::{Family, LifeLaw};
use serde::Serialize;

/// A finite age that saves a smaller share than this is told from running to failure by rounding only.
const WORTH_A_RULE: f64 = 1e-9;

/// What is renewed, and what each kind of renewal costs in all. Time in any one unit, money in any.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Renewals {
    /// Life, in that unit of time.
    pub law: LifeLaw,
    /// A renewal at the planned age.
    pub planned: f64,
    /// A renewal forced by failure, all of it.
    pub failure: f64,
    /// Strikes per unit of time that end a life whatever its age; 0 for none.
    pub strikes: f64,
    /// A renewal forced by a strike, all of it.
    pub strike: f64,
}

/// The best age, and what it saves.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Replacement {
    /// The age of least cost per unit of time; `None` where running to failure is best, 0 where a
    /// planned renewal costs nothing and would be made all the time.
    pub age: Option<f64>,
    /// Expected cost per unit of time at that age; of running to failure where there is none.
    pub cost_rate: f64,
    /// Expected cost per unit of time where nothing is renewed before it fails.
    pub run_to_failure_rate: f64,
    /// The share of the latter that the age saves; 0 where there is none.
    pub saving: f64,
}

impl Renewals {
    /// The age of least expected cost per unit of time.
    ///
    /// ```text
    /// C(T) = (c_p P(planned) + c_f P(failed) + c_s P(struck)) / E[min(life, strike, T)]
    /// ```
    ///
    /// Source: Barlow and Proschan (1965), Mathematical Theory of Reliability, section 3.2. With `L` the
    /// expected length a strike comes with chance `lambda L`, so that its cost moves no age. Where the
    /// hazard does not rise throughout there may be several local minima; the least of all counts.
    ///
    /// # Errors
    ///
    /// [`DecisionError::CostOutOfRange`] for costs or strikes below zero or not finite, and
    /// [`DecisionError::ParameterOutOfRange`] for a law out of reach.
    ///
    /// # Examples
    ///
    /// Shape 2.5, 63.2 % life 1000; in print (an open-source reliability package's documentation): 493.05.
    ///
    /// ```
    /// use keenspan::decisions::Renewals;
    /// use keenspan::wear::{Family, LifeLaw};
    ///
    /// let sigma: f64 = 1.0 / 2.5;
    /// let median = 1000.0 * 2.0_f64.ln().powf(sigma);
    /// let renewals = Renewals {
    ///     law: LifeLaw { family: Family::Weibull, log_median: median.ln(), sigma },
    ///     planned: 1.0,
    ///     failure: 5.0,
    ///     strikes: 0.0,
    ///     strike: 0.0,
    /// };
    /// let best = renewals.best()?;
    /// assert_eq!(best.age.map(|age| format!("{age:.2}")), Some("493.05".to_string()));
    /// assert!(best.cost_rate < best.run_to_failure_rate);
    /// # Ok::<(), keenspan::decisions::DecisionError>(())
    /// ```
    pub fn best(&self) -> Result<Replacement, DecisionError> {
        self.check()?;
        let cycle = self.cycle()?;
        let run_to_failure = self.run_to_failure(&cycle);
        let never = Replacement {
            age: None,
            cost_rate: run_to_failure,
            run_to_failure_rate: run_to_failure,
            saving: 0.0,
        };
        let Some((age, rate)) = self.least(&cycle) else {
            return Ok(never);
        };
        let saving = 1.0 - rate / run_to_failure;
        let worth_it = Replacement {
            age: Some(age),
            cost_rate: rate,
            saving,
            ..never
        };
        Ok(if saving > WORTH_A_RULE {
            worth_it
        } else {
            never
        })
    }

    /// The cycle with these costs; any cost of a planned renewal does where it is free, for only
    /// lengths and chances are asked of it then.
    fn cycle(&self) -> Result<AgeReplacement, DecisionError> {
        let planned = if self.planned > 0.0 {
            self.planned
        } else {
            1.0
        };
        let costs = CycleCosts {
            planned: Money::new(planned)?,
            forced_extra: Money::new((self.failure - planned).max(0.0))?,
            strike_extra: Money::ZERO,
            running_at_dull: Money::ZERO,
            call_at: Some(WearFraction::new(1.0)?),
        };
        AgeReplacement::new(&self.law, self.strikes, &costs)
    }

    /// The cheapest finite age with its cost per unit of time; `None` where there is none.
    fn least(&self, cycle: &AgeReplacement) -> Option<(f64, f64)> {
        if self.failure <= self.planned {
            return None;
        }
        if self.planned == 0.0 {
            return (self.hazard_starts_at_zero()).then_some((0.0, self.strikes * self.strike));
        }
        let least = cycle.least();
        let strikes = self.strikes * (self.strike - self.planned);
        least.age.map(|age| (age, least.rate + strikes))
    }

    fn run_to_failure(&self, cycle: &AgeReplacement) -> f64 {
        let whole = cycle.beyond();
        // Where the mean life is infinite failures come at no rate at all in the long run.
        let failures = if whole.length.is_finite() {
            whole.called.max(0.0) / whole.length
        } else {
            0.0
        };
        self.failure * failures + self.strikes * self.strike
    }

    /// Whether a fresh one fails at no rate at all, so that free renewals avoid every failure.
    fn hazard_starts_at_zero(&self) -> bool {
        match self.law.family {
            Family::Weibull | Family::Loglogistic => self.law.sigma < 1.0,
            Family::Lognormal => true,
        }
    }

    fn check(&self) -> Result<(), DecisionError> {
        let figures = [
            ("the cost of a planned renewal", self.planned),
            ("the cost of a failure", self.failure),
            ("the strike rate", self.strikes),
            ("the cost of a strike", self.strike),
        ];
        for (item, found) in figures {
            if !(found >= 0.0 && found.is_finite()) {
                return Err(DecisionError::CostOutOfRange {
                    item: item.to_owned(),
                    expected: "zero or more and finite",
                    found,
                });
            }
        }
        Ok(())
    }
}
