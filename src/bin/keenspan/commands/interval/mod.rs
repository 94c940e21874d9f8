//! The owner's question: what should the knife-change interval be, and what does today's rule cost?

mod tried;

use crate::answer::Answer;
use crate::asked_wood::AskedWood;
use crate::failure::Failure;
use crate::fitting::{Drawn, Fitted, Fitting, layout, machines};
use crate::settings::Settings;
use crate::unfit;
use crate::words::{hours_between, hours_of_a_year};
use clap::Args;
use keenspan::decisions::{
    CycleCosts, DecisionError, IntervalAnswer, Question, Way, YearAhead, Years, recommend,
    recommend_alone,
};
use keenspan::lives::Alarm;
use keenspan::logbook::Machine;
use keenspan::logbook::read::Reading;
use keenspan::quantities::{Level, MeterHours, Money, Units};
use keenspan::views::{IntervalReport, MachineInterval, Recommended, View, WoodInterval};
use keenspan::wear::{Asked, DrawUnderConditions, FutureChange, Habit};
use keenspan::wood::{Blend, Contamination, WoodError, WoodMix, WoodState};
use rayon::prelude::*;
use std::path::PathBuf;
use tried::Alternative;

/// The woods of the table.
const WOODS: [&str; 2] = ["hardwood", "softwood"];
/// "Half again as much from bottom to top": the width that further changes are counted for.
const NARROW: f64 = 1.5;

/// When to change knives, for each machine, with bounds; and what today's rule costs
///
/// Answers for the wood that the log says each machine chips; ask for other wood with --wood, --dirt and
/// --state. With an empty log the answer is common practice, and says so.
#[derive(Debug, Default, Args)]
pub struct Interval {
    /// Only this machine
    #[arg(long, value_name = "NAME")]
    machine: Option<String>,
    #[command(flatten)]
    wood: AskedWood,
    /// Compare with this rule, in meter hours, rather than the one in machines.csv
    #[arg(long, value_name = "HOURS", value_parser = hours_between, allow_negative_numbers = true)]
    rule: Option<f64>,
    /// Meter hours in a year of each machine asked about, rather than at the pace of the log
    #[arg(long, value_name = "HOURS", value_parser = hours_of_a_year, allow_negative_numbers = true)]
    hours_per_year: Option<f64>,
    /// What if: interval, wood, dirt, state or an item of costs.csv, such as waiting_share=0.5; may be
    /// given again, and all of it makes one alternative beside things as they are
    #[arg(long = "try", value_name = "KEY=VALUE", value_parser = tried::assignment)]
    tried: Vec<(String, String)>,
    /// A prior pack of your own, as models/common-practice.toml
    #[arg(long, value_name = "FILE")]
    priors: Option<PathBuf>,
    /// A saved fit; used where neither the log nor the priors have changed since
    #[arg(long, value_name = "FILE")]
    model: Option<PathBuf>,
}

impl Interval {
    /// As asked for the page of every machine.
    pub fn of_report(hours_per_year: Option<f64>) -> Self {
        Self {
            hours_per_year,
            ..Self::default()
        }
    }

    pub fn execute(&self, settings: &Settings) -> Result<Answer, Failure> {
        // Before any work is done.
        Alternative::of(&self.tried)?;
        let reading = settings.read_log_for_answer()?;
        let (priors, saved) = (self.priors.as_deref(), self.model.as_deref());
        let fitting = Fitting::of_decision(priors, saved, settings.seed);
        let fitted = fitting.fit(&reading.logbook, &|_| {})?;
        let status = fitted.status();
        let units = settings.units_for(&reading);
        let drawn = fitted.drawn(settings.seed);
        let report = self.report(&reading, &drawn, (settings.seed, units))?;
        Ok(Answer {
            command: "interval",
            words: report.text(),
            fields: report.json(),
            warnings: report.warnings(),
            units,
            status,
        })
    }

    /// The answers, as they were asked for.
    pub fn report(
        &self,
        reading: &Reading,
        drawn: &Drawn,
        (seed, units): (u64, Units),
    ) -> Result<IntervalReport, Failure> {
        let alternative = Alternative::of(&self.tried)?;
        let machines = machines(&reading.logbook, self.machine.as_deref())?;
        let answers = machines
            .par_iter()
            .map(|machine| self.answer(drawn, machine, alternative.as_ref()))
            .collect::<Vec<_>>();
        // An interval says nothing of the set at work: whoever reads no further must not miss that.
        let mut standing = drawn.fitted.standing(reading, seed);
        for machine in machines {
            let unfit = unfit::at_work(&drawn.fitted, machine, units)?;
            standing
                .alarms
                .extend(unfit.map(|set| Alarm::from(set.alarm())));
        }
        Ok(IntervalReport {
            machines: answers.into_iter().collect::<Result<_, _>>()?,
            standing,
            rule_was_typed: self.rule.is_some(),
        })
    }

    fn question(&self, fitted: &Fitted, machine: &Machine, asked: &Asked) -> Question {
        Question {
            rule: self
                .rule
                .and_then(|hours| MeterHours::new(hours).ok())
                .or(machine.rule),
            service_every: machine.service_every,
            hours_per_year: self.hours_per_year(fitted, machine),
            level: Level::NINETY,
            evidence: fitted.evidence(machine, asked),
        }
    }

    /// As told, else at the pace of the log, where it spans half a year.
    fn hours_per_year(&self, fitted: &Fitted, machine: &Machine) -> Option<MeterHours> {
        let told = self
            .hours_per_year
            .and_then(|hours| MeterHours::new(hours).ok());
        told.or_else(|| fitted.lives.machine(&machine.name)?.hours_per_year)
    }

    fn answer(
        &self,
        drawn: &Drawn,
        machine: &Machine,
        alternative: Option<&Alternative>,
    ) -> Result<MachineInterval, Failure> {
        let fitted = &drawn.fitted;
        let conditions = self.wood.conditions(fitted.usual(machine))?;
        let asked = fitted.asked(machine, conditions.blend);
        let costs = fitted.cycle_costs(machine)?;
        let question = self.question(fitted, machine, &asked);
        let draws = drawn.draws.under(&asked);
        let answer = recommended(recommend(&draws, &costs, &question))?;
        let tried = alternative
            .map(|alternative| {
                let way = Way {
                    draws: &draws,
                    costs: &costs,
                };
                self.tried(drawn, machine, alternative, &way, &question)
            })
            .transpose()?;
        let further_changes = match &answer {
            Recommended::At(answer) => drawn.further_changes(asked, answer.interval.point)?,
            Recommended::WhenCalled { .. } => None,
        };
        Ok(MachineInterval {
            machine: machine.name.clone(),
            rotor: machine.rotor.word(),
            conditions: conditions.words,
            edges: question.evidence.edges_finished,
            further_changes,
            by_wood: drawn.by_wood(machine, &costs, &question)?,
            year: drawn.years(machine, &draws, &answer, &question)?,
            tried,
            answer,
        })
    }
}

impl Drawn {
    fn further_changes(
        &self,
        asked: Asked,
        interval: MeterHours,
    ) -> Result<Option<usize>, Failure> {
        let future = FutureChange {
            asked,
            interval,
            habit: Habit::Graded,
        };
        Ok(self.fitted.posterior.further_changes(&future, NARROW)?)
    }

    /// The year by today's rule and by what is recommended; `None` where its hours are not known.
    fn years(
        &self,
        machine: &Machine,
        draws: &[DrawUnderConditions],
        answer: &Recommended,
        question: &Question,
    ) -> Result<Option<Years>, Failure> {
        let Some(hours) = question.hours_per_year else {
            return Ok(None);
        };
        let costs = &self.fitted.costs;
        let year = YearAhead::new(draws, costs, layout(machine), hours, question.level)?;
        let recommended = match answer {
            Recommended::At(answer) => Some(answer.interval.point),
            Recommended::WhenCalled { .. } => None,
        };
        let by_rule = |rule| year.budget(Some(rule));
        Ok(Some(Years {
            today: question.rule.map(by_rule).transpose()?,
            recommended: year.budget(recommended)?,
        }))
    }

    /// The table by wood and dirt.
    fn by_wood(
        &self,
        machine: &Machine,
        costs: &CycleCosts,
        question: &Question,
    ) -> Result<Vec<WoodInterval>, Failure> {
        let cells: Vec<(Contamination, &'static str)> = Contamination::ALL
            .into_iter()
            .flat_map(|contamination| WOODS.map(|wood| (contamination, wood)))
            .collect();
        cells
            .par_iter()
            .map(|&(contamination, wood)| {
                let blend = Blend::of(&WoodMix::parse(wood)?, contamination, WoodState::Green);
                let draws = self.few.under(&self.fitted.asked(machine, blend));
                let interval = match recommend_alone(&draws, costs, question.level) {
                    Ok(interval) => Some(interval),
                    Err(DecisionError::RunUntilCalled { .. }) => None,
                    Err(error) => return Err(error.into()),
                };
                Ok(WoodInterval {
                    wood,
                    contamination: contamination.word(),
                    interval,
                })
            })
            .collect::<Vec<_>>()
            .into_iter()
            .collect()
    }
}

/// That no planned interval pays is an answer; everything else that stops a decision is a failure.
fn recommended(outcome: Result<IntervalAnswer, DecisionError>) -> Result<Recommended, Failure> {
    match outcome {
        Ok(answer) => Ok(Recommended::At(Box::new(answer))),
        Err(DecisionError::RunUntilCalled { cost_per_hour }) => {
            let cost_per_hour = Money::new(cost_per_hour).map_err(DecisionError::from)?;
            Ok(Recommended::WhenCalled { cost_per_hour })
        }
        Err(error) => Err(error.into()),
    }
}

impl From<WoodError> for Failure {
    fn from(error: WoodError) -> Self {
        Self::Usage(error.to_string())
    }
}
