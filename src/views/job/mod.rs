//! The plan of jobs, in a crew lead's words.

mod ready;
mod sentences;

use super::format::{hours, set_in, wrapped};
use super::standing::WIDTH;
use super::{Standing, UnfitSet, View};
use crate::decisions::{Caveat, JobPlan, Leaving, PlannedJob};
use crate::quantities::MeterHours;
use serde_json::{Map, Value, json};

pub use ready::{SetPartlyFresh, SetsReady};

/// A job as it was written.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedJob {
    /// What the crew calls it.
    pub name: String,
    /// What goes through, in words.
    pub conditions: String,
}

/// What `job` answers.
#[derive(Debug, Clone, PartialEq)]
pub struct JobReport {
    /// Machine, by name.
    pub machine: String,
    /// The edge on it, in words.
    pub edge: String,
    /// The set on it, where it must not be run.
    pub unfit: Option<UnfitSet>,
    /// The jobs, in the order in which they were written.
    pub jobs: Vec<NamedJob>,
    /// Meter hours of a day's work.
    pub day: MeterHours,
    /// The plan.
    pub plan: JobPlan,
    /// The sets out of the machine, beside what the plan needs.
    pub ready: SetsReady,
    /// What it stands on.
    pub standing: Standing,
}

impl JobReport {
    fn name(&self, job: &PlannedJob) -> &str {
        self.jobs.get(job.written).map_or("", |named| &named.name)
    }

    fn conditions(&self, job: &PlannedJob) -> &str {
        let named = self.jobs.get(job.written);
        named.map_or("", |named| &named.conditions)
    }

    fn heading(&self) -> String {
        let asked = format!(
            "{}; the edge on it: {}",
            sentences::asked(&self.plan),
            self.edge
        );
        let answer = format!(
            "{}: {} {}",
            self.machine,
            sentences::take(&self.plan.sets),
            sentences::leave(&self.plan)
        );
        // The answer's first line stands flush.
        set_in(&answer, WIDTH).trim_start().to_string() + &set_in(&asked, WIDTH)
    }

    fn job(&self, place: usize, job: &PlannedJob) -> String {
        let currency = &self.standing.currency;
        let mut text = String::new();
        if place > 0
            && let Some(sentence) = sentences::change_before(job)
        {
            text.push_str(&set_in(&sentence, WIDTH));
        }
        let title = format!(
            "{}. {}, {} meter hours, {}",
            place + 1,
            self.name(job),
            hours(job.hours),
            self.conditions(job)
        );
        text.push_str(&set_in(&title, WIDTH));
        for (label, sentence) in sentences::of_job(job, currency) {
            text.push_str(&wrapped(label, &sentence, WIDTH));
        }
        text + "\n"
    }

    /// Why the edge on the machine cannot be left on, or that none is known to be.
    fn must_change(&self) -> Option<String> {
        match (self.plan.leave, &self.unfit) {
            (Leaving::MustChange, Some(unfit)) => Some(sentences::unfit(unfit)),
            (Leaving::MustChange, None) => Some(sentences::STRUCK.to_string()),
            (Leaving::FitFirst, _) => Some(sentences::MISSING.to_string()),
            _ => None,
        }
    }

    fn answer(&self, job: &PlannedJob) -> Value {
        let mut fields = Map::from_iter([
            ("machine".to_string(), json!(self.machine)),
            ("job".to_string(), json!(self.name(job))),
            ("conditions".to_string(), json!(self.conditions(job))),
            ("caveats".to_string(), json!(self.plan.caveats)),
        ]);
        if let Value::Object(job) = json!(job) {
            fields.extend(job);
        }
        Value::Object(fields)
    }

    fn plan(&self) -> Value {
        let mut fields = Map::from_iter([
            ("machine".to_string(), json!(self.machine)),
            ("edge_in_words".to_string(), json!(self.edge)),
            ("hours_a_day".to_string(), json!(self.day)),
            ("ready".to_string(), self.ready.json()),
            (
                "must_not_run".to_string(),
                json!(self.unfit.as_ref().map_or(&[][..], |it| &it.must_not)),
            ),
            (
                "must_not_run_in_words".to_string(),
                json!(self.unfit.as_ref().map_or(Vec::new(), UnfitSet::reasons)),
            ),
        ]);
        if let Value::Object(mut plan) = json!(self.plan) {
            plan.remove("jobs");
            fields.extend(plan);
        }
        Value::Object(fields)
    }
}

impl View for JobReport {
    fn text(&self) -> String {
        let mut text = self.standing.head() + &self.heading();
        for caveat in &self.plan.caveats {
            text.push_str(&wrapped("!", &format!("{caveat}."), WIDTH));
        }
        let alarms = self.must_change().into_iter().chain(self.ready.alarm());
        for sentence in alarms {
            text.push_str(&wrapped("!", &sentence, WIDTH));
        }
        text.push('\n');
        for (place, job) in self.plan.jobs.iter().enumerate() {
            text.push_str(&self.job(place, job));
        }
        for (label, sentence) in sentences::of_plan(&self.plan, self.day, &self.standing.currency) {
            text.push_str(&wrapped(label, &sentence, WIDTH));
            if label == sentences::CARRY {
                text.push_str(&wrapped("ready", &self.ready.sentence(), WIDTH));
            }
        }
        text.push('\n');
        text + &self.standing.foot()
    }

    fn json(&self) -> Map<String, Value> {
        let answers = self.plan.jobs.iter().map(|job| self.answer(job));
        let mut fields = self.standing.fields("job", answers.collect());
        fields.insert("plan".to_string(), self.plan());
        fields
    }

    fn warnings(&self) -> Vec<String> {
        let said = |caveat: &Caveat| format!("{}: {caveat}", self.machine);
        let mut warnings = self.standing.alarms();
        warnings.extend(self.plan.caveats.iter().map(said));
        let alarms = self.must_change().into_iter().chain(self.ready.alarm());
        warnings.extend(alarms.map(|sentence| format!("{}: {sentence}", self.machine)));
        warnings
    }
}
