//! What one change is expected to teach: the mean square of its score over everything that may be seen.
//!
//! Chances and scores are both those of the likelihood that the fit uses, at the most probable
//! parameters. What a poorer habit of grading sees is what a richer one sees, added up, so that no habit
//! that looks more often can come out as teaching less.

use super::super::density::WearDensity;
use super::super::draws::log_rate;
use super::super::life_distribution::LifeDistribution;
use super::super::life_law::LifeLaw;
use super::super::life_nodes::Precision;
use super::super::posterior::WearPosterior;
use super::super::records::{EdgeRecord, EdgeRecords, Stretch, features_of};
use super::super::{Layout, WearError};
use super::subject::Subject;
use super::{FutureChange, Habit};
use crate::lives::{Look, Noticed, Observation, Sight};
use crate::numerics::GaussLegendre;
use crate::quantities::{Grade, MeterHours, WearFraction};
use crate::wood::Blend;
use nalgebra::{DMatrix, DVector};
use std::sync::LazyLock;

/// Outcomes rarer than this teach nothing on the average.
const NEGLIGIBLE: f64 = 1e-9;
/// Lives shorter than one in so many, or longer, do not count.
const RARE: f64 = 1e-5;
/// The eye is this many of its errors off at most.
const FAR: f64 = 4.0;
/// Steps of the measured flat, in its errors: the trapezoidal rule on a normal law is exact to sixteen
/// digits at such a step.
const FLAT_STEP: f64 = 0.7;
/// Moments of calling an edge, on either side of the check.
const MOMENTS: usize = 8;
/// The grades of an edge that nobody called.
const NOT_CALLED: [Grade; 3] = [Grade::Keen, Grade::Working, Grade::Dull];

/// Information of one change about the coordinates in question.
///
/// The crew calls an edge once its eye sees it overrun; if it has not by the interval, the edge is pulled
/// then, and the habit says what is seen. The moment of calling is read as the fit reads it, and shared
/// out over the hours before the interval by its density.
pub fn lesson_of_one(
    posterior: &WearPosterior,
    subject: &Subject,
    future: &FutureChange,
) -> Result<DMatrix<f64>, WearError> {
    let size = subject.mode.len();
    let mut lesson = Lesson {
        posterior,
        subject,
        future,
        law: posterior.law_at_mode(&future.asked),
        wood: one_row(posterior, &future.asked.blend),
        information: DMatrix::zeros(size, size),
    };
    let pulled = lesson.pulled()?;
    lesson.called(1.0 - pulled)?;
    Ok(lesson.information)
}

struct Lesson<'a> {
    posterior: &'a WearPosterior,
    subject: &'a Subject,
    future: &'a FutureChange,
    law: LifeLaw,
    /// The wood asked about, as one row of covariates and its share of the hours.
    wood: (f64, Vec<f64>),
    information: DMatrix<f64>,
}

/// The log of how likely something is to be seen, and its score.
type Scored = (f64, DVector<f64>);

impl Lesson<'_> {
    /// Adds what is seen of edges pulled at the interval; their share.
    fn pulled(&mut self) -> Result<f64, WearError> {
        let not_called = self.look(1.0, Sight::NotCalled)?;
        let (log_share, score) = self.scored(vec![not_called], None)?;
        match self.future.habit {
            Habit::NothingWritten => self.add(log_share.exp(), &score),
            Habit::Graded => {
                for grade in NOT_CALLED {
                    let look = self.look(1.0, Sight::Graded(grade))?;
                    self.see(vec![look])?;
                }
            }
            Habit::GradedAndChecked => {
                for (check, grade) in all_of(Grade::ALL, NOT_CALLED) {
                    let looks = vec![
                        self.look(0.5, Sight::Graded(check))?,
                        self.look(1.0, Sight::Graded(grade))?,
                    ];
                    self.see(looks)?;
                }
            }
            Habit::FlatMeasured => {
                for (fraction, log_step) in self.flats() {
                    let fraction =
                        WearFraction::new(fraction).map_err(|_| WearError::NoWear { edge: 0 })?;
                    let measured = self.look(1.0, Sight::Measured(fraction))?;
                    // Only edges that nobody called are measured, but the fit reads the flat alone.
                    let (log, _) = self.scored(vec![not_called, measured], None)?;
                    let (_, score) = self.scored(vec![measured], None)?;
                    self.add((log + log_step).exp(), &score);
                }
            }
        }
        Ok(log_share.exp())
    }

    /// Adds what is seen of edges called before the interval, `share` of all.
    fn called(&mut self, share: f64) -> Result<(), WearError> {
        if share < NEGLIGIBLE {
            return Ok(());
        }
        let moments = self.moments();
        let mut seen = Vec::new();
        for (hours, log_step) in moments {
            let at = meter_hours(hours)?;
            let noticed = Some(Noticed { at, late: true });
            let checked = self.future.habit == Habit::GradedAndChecked
                && hours > 0.5 * self.future.interval.get();
            let looks = if checked {
                let graded = |grade| Ok(vec![self.look(0.5, Sight::Graded(grade))?]);
                Grade::ALL
                    .map(graded)
                    .into_iter()
                    .collect::<Result<_, WearError>>()?
            } else {
                vec![Vec::new()]
            };
            for looks in looks {
                let (log, score) = self.scored(looks, noticed)?;
                seen.push(((log + log_step).exp(), score));
            }
        }
        let total: f64 = seen.iter().map(|(weight, _)| weight).sum();
        if total > 0.0 {
            for (weight, score) in seen {
                self.add(share * weight / total, &score);
            }
        }
        Ok(())
    }

    fn see(&mut self, looks: Vec<Look>) -> Result<(), WearError> {
        let (log, score) = self.scored(looks, None)?;
        self.add(log.exp(), &score);
        Ok(())
    }

    fn add(&mut self, share: f64, score: &DVector<f64>) {
        if share > NEGLIGIBLE {
            self.information.ger(share, score, score, 1.0);
        }
    }

    /// A look at a part of the interval.
    fn look(&self, part: f64, sight: Sight) -> Result<Look, WearError> {
        let at = meter_hours(part * self.future.interval.get())?;
        Ok(Look { at, sight })
    }

    /// Measured flats as fractions of the width when dull, with the log of the step of log wear fraction that
    /// each stands for.
    fn flats(&self) -> Vec<(f64, f64)> {
        let settings = self.posterior.density().settings();
        let interval = self.future.interval.get().ln();
        let slack = FAR * settings.flat_error;
        let low = interval - self.log_life(1.0 - RARE) - slack;
        let overrun = Grade::Overrun.band().0.map_or(0.0, f64::ln);
        let high = (interval - self.log_life(RARE)).min(overrun + FAR * self.eye()) + slack;
        let step = FLAT_STEP * settings.flat_error;
        let count = ((high - low) / step).ceil().max(1.0) as usize;
        (0..=count)
            .map(|i| low + i as f64 * step)
            .map(|log| ((settings.flat_exponent * log).exp(), step.ln()))
            .collect()
    }

    /// Hours at which an edge may be called before the interval, with the log of the step that each
    /// stands for.
    fn moments(&self) -> Vec<(f64, f64)> {
        let end = self.future.interval.get().ln();
        let check = end - std::f64::consts::LN_2;
        let called_at = self.posterior.density().settings().called_at.ln();
        let start = called_at + self.log_life(RARE) - FAR * self.eye();
        static RULE: LazyLock<GaussLegendre<MOMENTS>> = LazyLock::new(GaussLegendre::new);
        let rule = *RULE;
        let panels = [(start, check), (start.max(check), end)];
        let panel = |(low, high): (f64, f64)| {
            let half = 0.5 * (high - low);
            let nodes = rule.nodes.into_iter().zip(rule.weights);
            nodes.map(move |(node, weight)| {
                let hours = (0.5 * (low + high) + half * node).exp();
                // The density counts by the hour.
                (hours, (weight * half * hours).ln())
            })
        };
        let has_hours = |(low, high): &(f64, f64)| low < high;
        panels
            .into_iter()
            .filter(has_hours)
            .flat_map(panel)
            .collect()
    }

    /// The log of the hours by which `share` of edges are dull.
    fn log_life(&self, share: f64) -> f64 {
        self.law.location() + self.law.sigma * self.law.family.quantile(share)
    }

    fn eye(&self) -> f64 {
        let place = self.posterior.layout().log_eye();
        self.posterior.shared_at_mode()[place].exp()
    }

    /// The log-likelihood of one change at the most probable parameters, and its gradient.
    fn scored(&self, looks: Vec<Look>, noticed: Option<Noticed>) -> Result<Scored, WearError> {
        let last = looks
            .iter()
            .map(|look| look.at)
            .chain(noticed.map(|n| n.at));
        let hours = last.map(MeterHours::get).fold(0.0, f64::max);
        let (posterior, subject) = (self.posterior, self.subject);
        let records = EdgeRecords {
            groupings: subject.groupings.clone(),
            edges: vec![self.record(hours)],
            ..no_records(posterior.layout())
        };
        let fitted = posterior.density();
        let density = WearDensity::arranged(
            &records,
            &[Observation::Graded { looks, noticed }],
            *fitted.settings(),
            fitted.priors().clone(),
            subject.effects.clone(),
        )?;
        let at = density.likelihood_at(&subject.mode, Precision::Full);
        Ok((at.value, at.gradient))
    }

    /// One change after so many hours.
    fn record(&self, hours: f64) -> EdgeRecord {
        let asked = &self.future.asked;
        EdgeRecord {
            features: features_of(asked.rotor, asked.reground).to_vec(),
            stretches: vec![Stretch {
                start: 0.0,
                stop: hours,
                parts: vec![self.wood.clone()],
            }],
            groups: self.subject.levels.clone(),
            weight: 1.0,
            ..EdgeRecord::default()
        }
    }
}

/// One row that wears as a blend of many does at the most probable rates, and whose wear changes with them as the blend's
/// does: the mean of its rows by their wear. First derivatives are all that a score needs.
pub(super) fn one_row(posterior: &WearPosterior, blend: &Blend) -> (f64, Vec<f64>) {
    let mode = posterior.shared_at_mode();
    let rates = &mode[posterior.layout().rates()];
    let mut mean = vec![0.0; rates.len()];
    let mut whole = 0.0;
    for part in blend.parts() {
        let row: Vec<f64> = part.covariates.padded(rates.len()).collect();
        let wear = part.share * log_rate(&row, rates).exp();
        whole += wear;
        mean.iter_mut()
            .zip(row)
            .for_each(|(mean, x)| *mean += wear * x);
    }
    mean.iter_mut().for_each(|mean| *mean /= whole);
    (whole / log_rate(&mean, rates).exp(), mean)
}

fn all_of<const N: usize, const M: usize>(
    first: [Grade; N],
    second: [Grade; M],
) -> impl Iterator<Item = (Grade, Grade)> {
    first
        .into_iter()
        .flat_map(move |one| second.map(|other| (one, other)))
}

fn meter_hours(hours: f64) -> Result<MeterHours, WearError> {
    MeterHours::new(hours).map_err(|_| WearError::NoWear { edge: 0 })
}

/// No edges, with as many covariates as the model was fitted with.
fn no_records(layout: &Layout) -> EdgeRecords {
    let mut records = EdgeRecords::of_crew();
    records
        .rate_names
        .resize(layout.rates().len(), String::new());
    records
}
