//! What is asked about jobs.

use crate::decisions::{CycleCosts, DecisionError, Evidence};
use crate::quantities::{Level, MeterHours, Probability};
use crate::wear::{AgedDraw, LifeLaw};

/// One job. Rates have one entry for each posterior draw, all in one order.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// How long the chipper runs.
    pub hours: MeterHours,
    /// Wear hours per meter hour in its wood.
    pub wear_rates: Vec<f64>,
    /// Strikes per meter hour.
    pub strike_rates: Vec<f64>,
}

/// What the machine usually does.
#[derive(Debug, Clone, PartialEq)]
pub struct UsualWork {
    /// Wear hours per meter hour in its usual wood, draw by draw.
    pub wear_rates: Vec<f64>,
    /// Strikes per meter hour there.
    pub strike_rates: Vec<f64>,
    /// Change on plan after this many meter hours of it.
    pub interval: MeterHours,
    /// Whether a planned change pays at all. Where none does, `interval` only sets the scale.
    pub changed_on_plan: bool,
    /// Meter hours of a day's work: longer jobs have evenings in which to change.
    pub day: MeterHours,
}

/// The edge on the machine as the crew leaves.
#[derive(Debug, Clone, PartialEq)]
pub enum PresentEdge {
    /// Fresh.
    Fresh,
    /// One is on, and the log does not tell what it has gone through: it counts as fresh, and the plan says so.
    Unknown,
    /// It has worked: what each posterior draw makes of it.
    Worn(Vec<AgedDraw>),
    /// It must not be run, or was struck and not ground since: it comes off before anything else.
    Unfit,
    /// No row of the log says that any is on: one is fitted before anything else.
    Missing,
}

/// Fresh edges, counted as they are carried.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct EdgesAtHand {
    /// Edges on each set; 2 where knives are reversible.
    pub per_set: u32,
    /// Fresh edges of the set on the machine beyond the one at work.
    pub left_on_machine: u32,
}

/// Jobs, and all that their plan depends on.
#[derive(Debug, Clone, PartialEq)]
pub struct JobQuestion {
    /// The jobs, in the order in which they were written.
    pub jobs: Vec<Job>,
    /// Lives of fresh edges in wear hours, draw by draw.
    pub fresh: Vec<LifeLaw>,
    /// The edge at work.
    pub present: PresentEdge,
    /// What the machine usually does.
    pub usual: UsualWork,
    /// What changes cost.
    pub costs: CycleCosts,
    /// Edges at hand.
    pub edges: EdgesAtHand,
    /// The accepted chance of running out of fresh edges.
    pub risk: Probability,
    /// The level of every bound.
    pub level: Level,
    /// What the draws stand on, job by job.
    pub evidence: Vec<Evidence>,
}

impl JobQuestion {
    /// How many draws there are.
    ///
    /// # Errors
    ///
    /// [`DecisionError::NoDraws`] where there are none, or not as many everywhere;
    /// [`DecisionError::NoJobs`]; [`DecisionError::ParameterOutOfRange`] for hours that are not above zero.
    pub(super) fn draws(&self) -> Result<usize, DecisionError> {
        let draws = self.fresh.len();
        let aged = match &self.present {
            PresentEdge::Worn(aged) => aged.len(),
            _ => draws,
        };
        let usual = [&self.usual.wear_rates, &self.usual.strike_rates];
        let jobs = self.jobs.iter();
        let rates = jobs.flat_map(|job| [&job.wear_rates, &job.strike_rates]);
        let alike = aged == draws && rates.chain(usual).all(|rates| rates.len() == draws);
        if draws == 0 || !alike {
            return Err(DecisionError::NoDraws);
        }
        if self.jobs.is_empty() {
            return Err(DecisionError::NoJobs);
        }
        for (parameter, hours) in self.spans() {
            above_zero(parameter, hours)?;
        }
        Ok(draws)
    }

    fn spans(&self) -> impl Iterator<Item = (&'static str, f64)> {
        let jobs = self.jobs.iter().map(|job| ("hours of a job", job.hours));
        let usual = [
            ("the interval", self.usual.interval),
            ("hours of a day", self.usual.day),
        ];
        jobs.chain(usual)
            .map(|(parameter, hours)| (parameter, hours.get()))
    }
}

/// More hours than any list of jobs has.
const MOST_HOURS: f64 = 1e4;

fn above_zero(parameter: &'static str, found: f64) -> Result<(), DecisionError> {
    (found > 0.0 && found <= MOST_HOURS)
        .then_some(())
        .ok_or(DecisionError::ParameterOutOfRange {
            parameter,
            low: 0.0,
            high: MOST_HOURS,
            found,
        })
}
