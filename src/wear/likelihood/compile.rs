//! From records and observations to the terms of the likelihood.

use super::{EdgeTerms, Phase, Term};
use crate::lives::{Look, Noticed, Observation, Sight};
use crate::quantities::WearFraction;
use crate::wear::WearError;
use crate::wear::covariate_rows::CovariateRows;
use crate::wear::effects::Effects;
use crate::wear::eye::Glance;
use crate::wear::records::EdgeRecord;
use crate::wear::wear_sum::WearSum;

/// What is held of a crew's ways while its observations are read.
#[derive(Debug, Clone, Copy)]
pub struct Habits {
    /// Wear fraction at which an edge is called that nobody had noticed going dull.
    pub called_at: f64,
    /// Error of a measured flat, on the log of wear fraction.
    pub flat_error: f64,
    /// The bright flat grows as the wear fraction to this power.
    pub flat_exponent: f64,
}

impl Habits {
    fn glance(&self, sight: Sight) -> Glance {
        match sight {
            Sight::Graded(grade) => Glance::of_grade(grade),
            Sight::NotCalled => Glance::not_called(),
            Sight::Measured(fraction) => self.measured(fraction),
        }
    }

    fn measured(&self, fraction: WearFraction) -> Glance {
        Glance::Measured {
            log_fraction: self.log_fraction(fraction),
            error: self.flat_error,
        }
    }

    /// The log wear fraction that a flat of this relative width tells of.
    fn log_fraction(&self, fraction: WearFraction) -> f64 {
        fraction.get().ln() / self.flat_exponent
    }
}

/// Builds the terms of one edge.
pub struct Compiler<'a> {
    /// Its place among the records, for error messages.
    number: usize,
    /// What it is and went through.
    record: &'a EdgeRecord,
    /// The distinct covariate rows so far.
    rows: &'a mut CovariateRows,
    /// The crew's ways.
    habits: Habits,
    /// Which of those rows each part of each stretch is, where nothing was touched up after it, once it was
    /// asked for: ages share most of their stretches.
    row_numbers: Vec<Option<usize>>,
    sums: Vec<WearSum>,
    /// Which sum each age is that was asked for; `None` where there are no hours.
    ages: Vec<(f64, Moment, Option<usize>)>,
    terms: Vec<Term>,
}

impl<'a> Compiler<'a> {
    /// Nothing built yet.
    pub fn new(
        number: usize,
        record: &'a EdgeRecord,
        rows: &'a mut CovariateRows,
        habits: Habits,
    ) -> Self {
        let parts = record.stretches.iter().map(|stretch| stretch.parts.len());
        Self {
            number,
            record,
            rows,
            habits,
            row_numbers: vec![None; parts.sum()],
            sums: Vec::new(),
            ages: Vec::new(),
            terms: Vec::new(),
        }
    }

    /// The terms of what was seen of the edge. Leaves nothing built, as [`Compiler::new`] does.
    pub fn compile(
        &mut self,
        observation: &Observation,
        effects: &Effects,
    ) -> Result<EdgeTerms, WearError> {
        self.observe(observation)?;
        Ok(self.finish(effects))
    }

    /// The same with the age by the end of all that the edge went through, its touch-ups done: which of
    /// the sums it is.
    pub(super) fn compile_aged(
        mut self,
        observation: &Observation,
        effects: &Effects,
    ) -> Result<(EdgeTerms, usize), WearError> {
        self.observe(observation)?;
        let total = self.record.stretches.last().map_or(0.0, |last| last.stop);
        let now = self.age(total, Moment::After)?;
        Ok((self.finish(effects), now))
    }

    /// What has been built so far, with which the next terms have nothing to do.
    pub(super) fn finish(&mut self, effects: &Effects) -> EdgeTerms {
        let groups = self.record.groups.iter().enumerate();
        self.ages.clear();
        EdgeTerms {
            sums: std::mem::take(&mut self.sums),
            features: self.record.features.clone(),
            effects: groups
                .filter_map(|(g, level)| Some(effects.of_grouping(g).start + (*level)?))
                .collect(),
            terms: std::mem::take(&mut self.terms),
            weight: self.record.weight,
        }
    }

    fn observe(&mut self, observation: &Observation) -> Result<(), WearError> {
        match observation {
            Observation::RightCensored(at) => self.not_dull_by(at.get()),
            Observation::LeftCensored(by) => self.dull_within(self.entry(), by.get()),
            Observation::IntervalCensored { after, by } => {
                self.not_dull_by(after.get())?;
                self.dull_within(after.get().max(self.entry()), by.get())
            }
            Observation::Exact(at) => {
                self.not_dull_by(at.get())?;
                let age = self.age(at.get(), Moment::Before)?;
                self.terms.push(Term::DullAt(age));
                self.by_the_hour(at.get(), age)
            }
            Observation::Graded { looks, noticed } => self.looked_at(looks, *noticed),
        }
    }

    /// Hours of life at which it came into view.
    pub(super) fn entry(&self) -> f64 {
        self.record.entry.unwrap_or(0.0)
    }

    fn not_dull_by(&mut self, at: f64) -> Result<(), WearError> {
        let terms = self.terms_of_not_dull_by(at)?;
        self.terms.extend(terms);
        Ok(())
    }

    /// Not dull by then, given not dull at the entry.
    pub(super) fn terms_of_not_dull_by(&mut self, at: f64) -> Result<Vec<Term>, WearError> {
        let phases = self.phases(self.entry(), at)?;
        Ok(phases.into_iter().map(Term::NotDull).collect())
    }

    fn dull_within(&mut self, after: f64, by: f64) -> Result<(), WearError> {
        let phases = self.phases(after, by)?;
        if phases.is_empty() {
            return Err(WearError::NoWear { edge: self.number });
        }
        self.terms.push(Term::DullWithin(phases));
        Ok(())
    }

    /// The phases between touch-ups within `(from, to]`, each at its virtual age. A touch-up at `from`
    /// itself is done already, one at `to` is not.
    fn phases(&mut self, from: f64, to: f64) -> Result<Vec<Phase>, WearError> {
        let record = self.record;
        let between = record
            .touch_ups
            .iter()
            .copied()
            .filter(|at| *at > from && *at < to);
        let bounds: Vec<f64> = [from].into_iter().chain(between).chain([to]).collect();
        let mut phases = Vec::new();
        for pair in bounds.windows(2) {
            let gained = self.overlap(pair[0], pair[1], 0);
            // A phase of no hours gathers no hazard.
            let Some(gained) = self.push(gained) else {
                continue;
            };
            phases.push(match self.age_if_any(pair[0], Moment::After) {
                Some(start) => Phase::From(start, gained),
                None => Phase::FromFresh(gained),
            });
        }
        Ok(phases)
    }

    /// The Jacobian from wear age to hours, `ln(du/dt) - ln u`: an age density counts on `ln u`.
    fn by_the_hour(&mut self, at: f64, age: usize) -> Result<(), WearError> {
        let rate = self.rate(at)?;
        for (sum, factor) in [(rate, 1.0), (age, -1.0)] {
            self.terms.push(Term::LogSum { sum, factor });
        }
        Ok(())
    }

    fn looked_at(&mut self, looks: &[Look], noticed: Option<Noticed>) -> Result<(), WearError> {
        let mut glances = Vec::new();
        if let Some(not_called) = self.not_called_at_entry()? {
            self.terms.push(Term::LookedAt {
                looks: vec![not_called],
                sign: -1.0,
            });
            glances.push(not_called);
        }
        for look in looks {
            let age = self.age(look.at.get(), Moment::Before)?;
            glances.push((age, self.habits.glance(look.sight)));
        }
        if let Some(noticed) = noticed {
            let at = noticed.at.get();
            let age = self.age(at, Moment::Before)?;
            glances.push((age, Glance::At(self.noticed_at(noticed).ln())));
            self.by_the_hour(at, age)?;
        }
        if !glances.is_empty() {
            self.terms.push(Term::LookedAt {
                looks: glances,
                sign: 1.0,
            });
        }
        Ok(())
    }

    /// An edge that came into view late is in the log only because nobody had called it by then.
    pub(super) fn not_called_at_entry(&mut self) -> Result<Option<(usize, Glance)>, WearError> {
        let entry = self.entry();
        if entry > 0.0 {
            return Ok(Some((self.age_by(entry)?, Glance::not_called())));
        }
        Ok(None)
    }

    /// The wear fraction at which an edge is noticed.
    pub(super) fn noticed_at(&self, noticed: Noticed) -> f64 {
        if noticed.late {
            self.habits.called_at
        } else {
            1.0
        }
    }

    /// The log wear fraction that a measured flat tells of, and the glance that measures less.
    pub(super) fn measured_below(&self, fraction: WearFraction) -> (f64, Glance) {
        let cut = self.habits.log_fraction(fraction);
        let error = self.habits.flat_error;
        (cut, Glance::MeasuredBelow { high: cut, error })
    }

    /// The virtual age at `at`; a touch-up at that very hour has not been done.
    pub(super) fn age_by(&mut self, at: f64) -> Result<usize, WearError> {
        self.age(at, Moment::Before)
    }

    /// The virtual age at `at`.
    fn age(&mut self, at: f64, moment: Moment) -> Result<usize, WearError> {
        let edge = self.number;
        let age = self.age_if_any(at, moment);
        age.ok_or(WearError::NoWear { edge })
    }

    /// The virtual age at `at`; `None` where it is nothing.
    fn age_if_any(&mut self, at: f64, moment: Moment) -> Option<usize> {
        let asked =
            |(then, side, _): &&(f64, Moment, Option<usize>)| (*then, *side) == (at, moment);
        if let Some((_, _, known)) = self.ages.iter().find(asked) {
            return *known;
        }
        let parts = self.age_parts(at, moment);
        let age = self.push(parts);
        self.ages.push((at, moment, age));
        age
    }

    /// Hours by covariate row up to `at`, with the number of touch-ups that each stretch went through.
    fn age_parts(&mut self, at: f64, moment: Moment) -> Vec<(usize, f64)> {
        let record = self.record;
        let done = |touch_up: &f64| match moment {
            Moment::Before => *touch_up < at,
            Moment::After => *touch_up <= at,
        };
        let touch_ups: Vec<f64> = record.touch_ups.iter().copied().filter(done).collect();
        let mut parts = Vec::new();
        let mut from = 0.0;
        for (i, &touch_up) in touch_ups.iter().enumerate() {
            parts.extend(self.overlap(from, touch_up, touch_ups.len() - i));
            from = touch_up;
        }
        parts.extend(self.overlap(from, at, 0));
        parts
    }

    /// The wear rate just before `at`.
    fn rate(&mut self, at: f64) -> Result<usize, WearError> {
        let stretches = &self.record.stretches;
        let holds = |s: &&crate::wear::Stretch| s.start < at && at <= s.stop;
        let last = stretches.iter().find(holds);
        let last = last.or(stretches.last().filter(|s| s.start < at));
        let parts = last.map_or(&[][..], |stretch| &stretch.parts);
        let indexed = parts
            .iter()
            .map(|(share, row)| (self.index(row, 0), *share))
            .collect();
        let number = self.number;
        self.push(indexed).ok_or(WearError::NoWear { edge: number })
    }

    /// Hours by covariate row within `(from, to]`, after which came so many touch-ups.
    fn overlap(&mut self, from: f64, to: f64, touch_ups: usize) -> Vec<(usize, f64)> {
        let record = self.record;
        let mut parts = Vec::new();
        let mut first = 0;
        for stretch in &record.stretches {
            let hours = stretch.stop.min(to) - stretch.start.max(from);
            if hours > 0.0 {
                for (place, (share, row)) in stretch.parts.iter().enumerate() {
                    let number = match touch_ups {
                        0 => self.untouched(first + place, row),
                        _ => self.index(row, touch_ups),
                    };
                    parts.push((number, share * hours));
                }
            }
            first += stretch.parts.len();
        }
        parts
    }

    /// The number of the row of the part at this place among all of the edge's, with no touch-up after it.
    fn untouched(&mut self, place: usize, row: &[f64]) -> usize {
        if let Some(known) = self.row_numbers[place] {
            return known;
        }
        let number = self.index(row, 0);
        self.row_numbers[place] = Some(number);
        number
    }

    /// The last covariate counts touch-ups.
    fn index(&mut self, row: &[f64], touch_ups: usize) -> usize {
        let touch_ups = std::iter::once(touch_ups as f64);
        self.rows.index(row.iter().copied().chain(touch_ups))
    }

    /// `None` where there are no hours.
    fn push(&mut self, parts: Vec<(usize, f64)>) -> Option<usize> {
        let sum = WearSum::new(parts)?;
        // The same age may be asked for twice: as entry and as a look, say.
        if let Some(known) = self.sums.iter().position(|s| *s == sum) {
            return Some(known);
        }
        self.sums.push(sum);
        Some(self.sums.len() - 1)
    }
}

/// On which side of a touch-up at the same hour.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Moment {
    Before,
    After,
}
