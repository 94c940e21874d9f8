//! Jobs as they are typed, and how they are called in the answer.

use super::{Job, Planning};
use crate::failure::Failure;
use crate::words::above_zero;
use keenspan::decisions::PresentEdge;
use keenspan::logbook::read::{JobListError, LogbookError, read_job_list};
use keenspan::logbook::{JobLength, JobToCome, Line, Logbook};
use keenspan::quantities::{MeterHours, as_found};
use keenspan::views::NamedJob;
use keenspan::wood::{Contamination, WoodMix, WoodState};
use std::io::ErrorKind;

pub fn loads(text: &str) -> Result<f64, String> {
    above_zero(text, "loads, such as 3")
}

/// Working days that a job may take: beyond, what it does to edges is a matter of the year, and to play it out
/// day by day takes for ever.
const MOST_DAYS: f64 = 60.0;

/// Meter hours that a job has at the least: three minutes. Basis: judged; nobody drives out for less.
const LEAST_HOURS: f64 = 0.05;

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

/// Whole hours where they are many, else as many digits as tell.
fn in_short(hours: f64) -> String {
    match hours {
        many if many >= 1e9 => as_found(many),
        many if many >= 10.0 => format!("{many:.0}"),
        few if few >= 0.1 => format!("{few:.1}"),
        fewer => as_found(fewer),
    }
}

impl Planning<'_> {
    /// Whether a job can be played out day by day.
    pub(super) fn not_too_long(&self, job: &JobToCome, day: MeterHours) -> Result<(), Failure> {
        let hours = self.hours(job)?.get();
        let (day, most) = (day.get(), MOST_DAYS * day.get());
        let JobToCome { name, .. } = job;
        if hours < LEAST_HOURS {
            return Err(Failure::Usage(format!(
                "\"{name}\" of {} hours is too short to plan: a job has at least {LEAST_HOURS} meter hours",
                as_found(hours)
            )));
        }
        if hours <= most {
            return Ok(());
        }
        Err(Failure::Usage(format!(
            "\"{name}\" of {} hours is too long to plan: a job may take {MOST_DAYS:.0} working days, which are {} hours at {} meter hours a day. Give fewer hours, more hours a day with --day, or the job in parts",
            in_short(hours),
            in_short(most),
            in_short(day)
        )))
    }

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
        const WANTED: &str = "A list of jobs is a table (CSV) with a header \"name,hours,wood,dirt,state\" and a row for each job; loads may stand for hours";
        match &error {
            JobListError::Unreadable(LogbookError::Unreadable { path, source })
                if source.kind() == ErrorKind::NotFound =>
            {
                Self::Usage(format!(
                    "there is no file {}: write it, or name another with --list FILE.\n{WANTED}",
                    path.display()
                ))
            }
            JobListError::Unreadable(_) => Self::Usage(format!("{error}.\n{WANTED}")),
            _ => Self::Usage(error.to_string()),
        }
    }
}
