//! Jobs as they are typed, and how they are called in the answer.

use super::{Job, Planning};
use crate::failure::Failure;
use keenspan::decisions::PresentEdge;
use keenspan::logbook::read::{JobListError, read_job_list};
use keenspan::logbook::{JobLength, JobToCome, Line, Logbook};
use keenspan::quantities::{MeterHours, Probability};
use keenspan::views::NamedJob;
use keenspan::wood::{Contamination, WoodMix, WoodState};

fn above_zero(text: &str, wanted: &str) -> Result<f64, String> {
    let number = text.parse().ok();
    number
        .filter(|number: &f64| number.is_finite() && *number > 0.0)
        .ok_or_else(|| wanted.to_string())
}

pub fn hours(text: &str) -> Result<f64, String> {
    above_zero(text, "write hours above zero, such as 12")
}

pub fn loads(text: &str) -> Result<f64, String> {
    above_zero(text, "write loads above zero, such as 3")
}

pub fn risk(text: &str) -> Result<Probability, String> {
    const WANTED: &str = "write per cent between 0.1 and 50, such as 5";
    let per_cent = above_zero(text.trim_end_matches('%').trim(), WANTED)?;
    let share = Probability::new(per_cent / 100.0).ok();
    share
        .filter(|share| (0.001..=0.5).contains(&share.get()))
        .ok_or_else(|| WANTED.to_string())
}

impl Job {
    /// The jobs asked about.
    pub(super) fn jobs(&self, log: &Logbook) -> Result<Vec<JobToCome>, Failure> {
        if let Some(list) = &self.list {
            return Ok(read_job_list(list, &log.shop)?);
        }
        let length = match (self.hours, self.loads) {
            (Some(hours), _) => MeterHours::new(hours).ok().map(JobLength::Hours),
            (None, loads) => loads.map(JobLength::Loads),
        };
        let length = length.ok_or_else(|| {
            Failure::Usage(
                "say how long the job is, with --hours HOURS or --loads LOADS, or give a list of jobs with --list FILE"
                    .to_string(),
            )
        })?;
        Ok(vec![JobToCome {
            line: Line(0),
            name: "the job".to_string(),
            length,
            wood: self.wood.as_deref().map(WoodMix::parse).transpose()?,
            contamination: self.dirt.as_deref().map(Contamination::parse).transpose()?,
            state: self.state.as_deref().map(WoodState::parse).transpose()?,
        }])
    }
}

impl Planning<'_> {
    pub(super) fn named(&self, job: &JobToCome) -> NamedJob {
        let dirt = job.contamination.map(Contamination::word);
        let state = job.state.map(WoodState::word);
        let asked: Vec<&str> = dirt.into_iter().chain(state).collect();
        let usual = self.fitted.usual(self.machine).words;
        let conditions = match (&job.wood, asked.as_slice()) {
            (None, []) => usual,
            (None, asked) => format!("{usual}, all of it {}", asked.join(" and ")),
            (Some(wood), [_, _]) => format!("in {} {wood}", asked.join(", ")),
            (Some(wood), []) => format!("in {wood}, as dirty as usual"),
            (Some(wood), asked) => {
                format!("in {} {wood}, otherwise as usual", asked.join(", "))
            }
        };
        NamedJob {
            name: job.name.clone(),
            conditions,
        }
    }

    /// The edge on the machine, in words.
    pub(super) fn edge(&self, present: &PresentEdge, fresh: bool) -> String {
        let state = self.fitted.lives.machine(&self.machine.name);
        match state.and_then(|state| state.at_work.as_ref()) {
            _ if fresh => "fresh".to_string(),
            Some(at_work) => {
                let worked = at_work
                    .life
                    .and_then(|life| self.fitted.lives.lives.get(life))
                    .map_or(at_work.hours_since, |life| life.exposure.total());
                let told = format!(
                    "{}, edge {}, {:.1} meter hours on it",
                    at_work.set,
                    at_work.edge,
                    worked.get()
                );
                match present {
                    PresentEdge::Unfit if self.unfit.is_some() => format!("{told}, not to be run"),
                    PresentEdge::Unfit => format!("{told}, struck"),
                    PresentEdge::Fresh => format!("{told}, fresh"),
                    _ => told,
                }
            }
            None => "none known".to_string(),
        }
    }
}

impl From<JobListError> for Failure {
    fn from(error: JobListError) -> Self {
        Self::Usage(error.to_string())
    }
}
