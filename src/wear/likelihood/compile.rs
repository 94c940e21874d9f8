//! From records and observations to the terms of the likelihood.

use super::{EdgeTerms, Term};
use crate::lives::{Look, Noticed, Observation, Sight};
use crate::wear::WearError;
use crate::wear::eye::Glance;
use crate::wear::records::EdgeRecord;
use crate::wear::wear_sum::{CovariateRows, WearSum};

/// Builds one edge's terms; `number` is its place among the records, for error messages.
pub fn compile(
    number: usize,
    record: &EdgeRecord,
    observation: &Observation,
    rows: &mut CovariateRows,
    habits: Habits,
) -> Result<EdgeTerms, WearError> {
    let mut edge = Compiler {
        number,
        record,
        rows,
        habits,
        sums: Vec::new(),
        terms: Vec::new(),
    };
    edge.observe(observation)?;
    Ok(EdgeTerms {
        sums: edge.sums,
        features: record.features.clone(),
        terms: edge.terms,
        weight: record.weight,
    })
}

/// What is held of a crew's ways while its observations are read.
#[derive(Debug, Clone, Copy)]
pub struct Habits {
    /// Share of wear that a touch-up takes back.
    pub touch_up_share: f64,
    /// Wear fraction at which an edge is called that nobody had noticed going dull.
    pub called_at: f64,
}

struct Compiler<'a> {
    number: usize,
    record: &'a EdgeRecord,
    rows: &'a mut CovariateRows,
    habits: Habits,
    sums: Vec<WearSum>,
    terms: Vec<Term>,
}

impl Compiler<'_> {
    fn observe(&mut self, observation: &Observation) -> Result<(), WearError> {
        match observation {
            Observation::RightCensored(at) => self.not_dull_by(at.get()),
            Observation::LeftCensored(by) => {
                self.dull_within(self.record.entry.unwrap_or(0.0), by.get())
            }
            Observation::IntervalCensored { after, by } => {
                self.not_dull_by(after.get())?;
                self.dull_within(after.get(), by.get())
            }
            Observation::Exact(at) => {
                self.not_dull_by(at.get())?;
                let age = self.age(at.get())?;
                self.terms.push(Term::DullAt(age));
                self.by_the_hour(at.get(), age)
            }
            Observation::Graded { looks, noticed } => self.looked_at(looks, *noticed),
        }
    }

    fn not_dull_by(&mut self, at: f64) -> Result<(), WearError> {
        let entry = self.record.entry.unwrap_or(0.0);
        if at <= entry {
            return Ok(());
        }
        let term = if entry > 0.0 {
            Term::NotDullOver(self.stretch(entry, at)?)
        } else {
            Term::NotDullBy(self.age(at)?)
        };
        self.terms.push(term);
        Ok(())
    }

    fn dull_within(&mut self, after: f64, by: f64) -> Result<(), WearError> {
        if by <= after {
            return Err(WearError::NoWear { edge: self.number });
        }
        let term = if after > 0.0 {
            Term::DullWithin(self.stretch(after, by)?)
        } else {
            Term::DullBy(self.age(by)?)
        };
        self.terms.push(term);
        Ok(())
    }

    /// The Jacobian from wear age to hours, `ln(du/dt) - ln u`: an age density counts on `ln u`.
    fn by_the_hour(&mut self, at: f64, age: usize) -> Result<(), WearError> {
        let rate = self.rate(at)?;
        self.terms.push(Term::LogSum {
            sum: rate,
            factor: 1.0,
        });
        self.terms.push(Term::LogSum {
            sum: age,
            factor: -1.0,
        });
        Ok(())
    }

    fn looked_at(&mut self, looks: &[Look], noticed: Option<Noticed>) -> Result<(), WearError> {
        let mut glances = Vec::new();
        if let Some(entry) = self.record.entry.filter(|entry| *entry > 0.0) {
            // The edge is in the log only because nobody had called it by then.
            let not_called = (self.age(entry)?, Glance::from(Sight::NotCalled));
            self.terms.push(Term::LookedAt {
                looks: vec![not_called],
                sign: -1.0,
            });
            glances.push(not_called);
        }
        for look in looks {
            glances.push((self.age(look.at.get())?, Glance::from(look.sight)));
        }
        if let Some(Noticed { at, late }) = noticed {
            let age = self.age(at.get())?;
            let fraction = if late { self.habits.called_at } else { 1.0 };
            glances.push((age, Glance::At(fraction.ln())));
            self.by_the_hour(at.get(), age)?;
        }
        if !glances.is_empty() {
            self.terms.push(Term::LookedAt {
                looks: glances,
                sign: 1.0,
            });
        }
        Ok(())
    }

    fn stretch(&mut self, from: f64, to: f64) -> Result<(usize, usize), WearError> {
        if self
            .record
            .touch_ups
            .iter()
            .any(|at| *at > from && *at < to)
        {
            return Err(WearError::TouchUpInStretch { edge: self.number });
        }
        let start = self.age(from)?;
        let parts = self.overlap(from, to, 1.0);
        Ok((start, self.push(parts)?))
    }

    /// The wear age at `at`: each touch-up takes its share off all wear before it.
    fn age(&mut self, at: f64) -> Result<usize, WearError> {
        let mut parts = Vec::new();
        let mut from = 0.0;
        let mut kept = (1.0 - self.habits.touch_up_share).powi(
            self.record
                .touch_ups
                .iter()
                .filter(|touch_up| **touch_up < at)
                .count() as i32,
        );
        for &touch_up in self
            .record
            .touch_ups
            .iter()
            .filter(|touch_up| **touch_up < at)
        {
            parts.extend(self.overlap(from, touch_up, kept));
            from = touch_up;
            kept /= 1.0 - self.habits.touch_up_share;
        }
        parts.extend(self.overlap(from, at, 1.0));
        self.push(parts)
    }

    /// The wear rate just before `at`.
    fn rate(&mut self, at: f64) -> Result<usize, WearError> {
        let record = self.record;
        let last = record
            .stretches
            .iter()
            .find(|s| s.start < at && at <= s.stop);
        let last = last.or(record.stretches.last().filter(|s| s.start < at));
        let parts: Vec<_> = last.map_or(Vec::new(), |s| s.parts.clone());
        let indexed = parts
            .iter()
            .map(|(share, row)| (self.rows.index(row), *share))
            .collect();
        self.push(indexed)
    }

    /// Hours by covariate row within `(from, to]`, times `factor`.
    fn overlap(&mut self, from: f64, to: f64, factor: f64) -> Vec<(usize, f64)> {
        let record = self.record;
        let mut parts = Vec::new();
        for stretch in &record.stretches {
            let hours = stretch.stop.min(to) - stretch.start.max(from);
            if hours > 0.0 {
                for (share, row) in &stretch.parts {
                    parts.push((self.rows.index(row), factor * share * hours));
                }
            }
        }
        parts
    }

    fn push(&mut self, parts: Vec<(usize, f64)>) -> Result<usize, WearError> {
        let sum = WearSum::new(parts).ok_or(WearError::NoWear { edge: self.number })?;
        // The same age may be asked for twice: as entry and as a look, say.
        if let Some(known) = self.sums.iter().position(|s| *s == sum) {
            return Ok(known);
        }
        self.sums.push(sum);
        Ok(self.sums.len() - 1)
    }
}
