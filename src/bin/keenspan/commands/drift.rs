//! Everybody's question: do edges last as long as they should, and if not, since when and why?

use crate::answer::Answer;
use crate::failure::Failure;
use crate::fitting::{Fitted, Fitting, machines};
use crate::settings::Settings;
use clap::Args;
use keenspan::decisions::{BedKnifeWork, FinishedEdge, Scheme, drift};
use keenspan::lives::{CameOut, EdgeLife, Ending};
use keenspan::logbook::read::Reading;
use keenspan::quantities::Level;
use keenspan::views::{DriftChart, DriftReport, EdgeLabel, View};
use keenspan::wear::LifeScore;
use std::path::PathBuf;

/// Whether edges last shorter or longer than they should, since when, and what carries it
///
/// Looks at every finished edge of the log in order of time: how long it lasted against what those before it
/// foretell for it, in the wood that it chipped; all together, machine by machine, and by who ground them.
#[derive(Debug, Default, Args)]
pub struct Drift {
    /// Only this machine
    #[arg(long, value_name = "NAME")]
    machine: Option<String>,
    /// A prior pack of your own, as models/common-practice.toml
    #[arg(long, value_name = "FILE")]
    priors: Option<PathBuf>,
}

/// The finished edges of the log, in order of time.
struct Finished<'a> {
    fitted: &'a Fitted,
    scores: Vec<LifeScore>,
}

impl Drift {
    pub fn execute(&self, settings: &Settings) -> Result<Answer, Failure> {
        let reading = settings.read_log_for_answer()?;
        // A saved fit holds no edges, and here each edge is held against those before it.
        let fitting = Fitting::of_decision(self.priors.as_deref(), None, settings.seed);
        let fitted = fitting.fit(&reading.logbook, &|_| {})?;
        let report = self.report(&reading, &fitted, settings.seed)?;
        Ok(Answer {
            command: "drift",
            words: report.text(),
            fields: report.json(),
            warnings: report.warnings(),
            units: settings.units_for(&reading),
            status: fitted.status(),
        })
    }

    /// The answer, as it was asked for.
    pub fn report(
        &self,
        reading: &Reading,
        fitted: &Fitted,
        seed: u64,
    ) -> Result<DriftReport, Failure> {
        let machines = machines(&reading.logbook, self.machine.as_deref())?;
        let only = match machines.as_slice() {
            [one] => Some(one.name.as_str()),
            _ => None,
        };
        let finished = Finished {
            scores: fitted.life_scores(seed)?,
            fitted,
        };
        Ok(DriftReport {
            charts: vec![finished.chart(only)?],
            standing: fitted.standing(reading, seed),
        })
    }
}

impl Finished<'_> {
    fn chart(&self, machine: Option<&str>) -> Result<DriftChart, Failure> {
        let lives = &self.fitted.lives.lives;
        let of_chart = |life: &EdgeLife| {
            life.ending != Ending::Running && machine.is_none_or(|name| life.machine == name)
        };
        let chosen: Vec<(&EdgeLife, &LifeScore)> = self
            .scores
            .iter()
            .filter_map(|score| Some((lives.get(score.edge)?, score)))
            .filter(|(life, _)| of_chart(life))
            .collect();
        let edges: Vec<FinishedEdge> = chosen
            .iter()
            .map(|(life, score)| FinishedEdge::of(life, score))
            .collect();
        let labels: Vec<EdgeLabel> = chosen.iter().map(|(life, _)| label(life)).collect();
        let dates: Vec<Option<CameOut>> = chosen.iter().map(|(life, _)| life.came_out).collect();
        let works = self.bed_knife(machine, &dates);
        Ok(DriftChart {
            machine: machine.map(str::to_owned),
            answer: drift(&edges, &works, Scheme::USUAL, Level::NINETY)?,
            edges: labels,
        })
    }

    /// Work on the bed knife of the chart's machines, by how many edges had come out by then.
    fn bed_knife(&self, machine: Option<&str>, came_out: &[Option<CameOut>]) -> Vec<BedKnifeWork> {
        let states = self.fitted.lives.machines.iter();
        let states = states.filter(|state| machine.is_none_or(|name| state.machine == name));
        let works = states.flat_map(|state| state.bed_knife.iter().map(move |work| (state, work)));
        works
            .map(|(state, work)| BedKnifeWork {
                machine: state.machine.clone(),
                edges_before: came_out
                    .iter()
                    .filter(|out| out.is_some_and(|out| out.date <= work.date))
                    .count(),
                hours_since: work.hours_since,
            })
            .collect()
    }
}

fn label(life: &EdgeLife) -> EdgeLabel {
    EdgeLabel {
        machine: life.machine.clone(),
        set: life.set.clone(),
        edge: life.edge,
        came_out: life.came_out.map(|out| out.date.to_string()),
        meter: life.came_out.and_then(|out| out.meter),
        hours: life.exposure.total(),
    }
}
