//! How surprising what was last seen of each edge is: chances under the law, at fixed parameters.
//!
//! An eye sees `X = ln u - ln T + error` at wear age `u`. A bound is a log wear fraction `c`; its chance is
//! `P(X <= c)`, small where the edge lasted far longer than it had to. For moments known without error
//! the chance is that of not being dull yet, `P(T > u)`. Either is given that the edge came into view.
//!
//! Each bound is compiled to the terms of an edge whose log-likelihood is the log of that chance, so that
//! the integrals over life stand in one place only.

#[cfg(test)]
mod tests;

use super::local::{Local, LocalPoint};
use super::looked::looked_at;
use super::{Compiler, EdgeTerms, Likelihood, LikelihoodSettings, Order, Term};
use crate::lives::{Noticed, Observation, Sight};
use crate::quantities::Grade;
use crate::wear::WearError;
use crate::wear::effects::Effects;
use crate::wear::eye::Glance;
use crate::wear::life_distribution::LifeDistribution;
use crate::wear::life_nodes::Precision;
use crate::wear::parameters::Layout;
use crate::wear::wear_sum::CovariateRows;
use serde::{Deserialize, Serialize};

/// What was last seen of an edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LastSeen {
    /// Given this grade.
    Graded(Grade),
    /// Its bright flat was measured.
    Measured,
    /// Noticed in the cut as it went dull.
    NoticedDull,
    /// Noticed in the cut only when it was overrun.
    NoticedOverrun,
    /// Nobody had called it.
    NotCalled,
    /// The moment at which it went dull, or a stretch that holds it, known without error.
    Timed,
    /// Not dull yet, known without error.
    NotDull,
    /// Nothing.
    Nothing,
}

impl LastSeen {
    /// Whether it tells where the edge stood, and not only that nobody had called it.
    pub fn tells(self) -> bool {
        !matches!(
            self,
            LastSeen::NotCalled | LastSeen::NotDull | LastSeen::Nothing
        )
    }
}

/// The bounds of one edge, by their place among all bounds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LastLook {
    /// What was seen.
    pub seen: LastSeen,
    /// The bound with the smaller chance; `None` where the chance is 0.
    pub low: Option<usize>,
    /// The bound with the larger chance, the same as `low` for what was seen at one point; `None` where the
    /// chance is 1.
    pub high: Option<usize>,
    /// The cuts between the four grades, where it was graded.
    pub cuts: Option<[usize; 3]>,
    /// The wear fraction at which an edge is noticed dull, at the age of the last look.
    pub noticed: Option<usize>,
    /// The bound at its entry, for an edge that came into view late.
    pub entry: Option<usize>,
}

/// One bound: what the chance is of, apart from the terms.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Bound {
    /// Which sum of the edge is the age.
    age: usize,
    /// Log wear fraction.
    cut: f64,
}

/// The last looks of a set of edges.
#[derive(Debug, Clone)]
pub struct Predictive {
    /// One "edge" for each bound.
    likelihood: Likelihood,
    bounds: Vec<Bound>,
    looks: Vec<LastLook>,
}

impl Predictive {
    /// The last look of each edge, in the order of the edges.
    pub fn looks(&self) -> &[LastLook] {
        &self.looks
    }

    /// The log of the chance of these bounds.
    pub fn log_chances(&self, theta: &[f64], effects: &[f64], bounds: &[usize]) -> Vec<f64> {
        let values = self.likelihood.of_edges(theta, effects, bounds).into_iter();
        // Rounding of the integral may leave a hair above one.
        values.map(|value| value.min(0.0)).collect()
    }

    /// For every bound the log of life over typical life of this very edge with which it would have been
    /// seen at exactly the bound, by an eye without error.
    pub fn log_lives(&self, theta: &[f64], effects: &[f64]) -> Vec<f64> {
        let bounds = self.bounds.iter();
        let ages = self
            .likelihood
            .log_ages(theta, effects, bounds.clone().map(|bound| bound.age));
        ages.into_iter()
            .zip(bounds)
            .map(|(age, bound)| age - bound.cut)
            .collect()
    }
}

/// The chance that an eye with log error `eye` sees a wear fraction below 1 on an edge of this age: `log_age`
/// is the log of its wear age over its typical life, `sigma` the spread of log life. Without an eye it is the
/// chance that the edge is not dull yet.
pub fn chance_going(
    settings: LikelihoodSettings,
    log_age: f64,
    sigma: f64,
    eye: Option<f64>,
) -> f64 {
    let LikelihoodSettings { family, anchor } = settings;
    let Some(eye) = eye else {
        return family.log_survival(log_age / sigma + anchor).exp();
    };
    let point = LocalPoint {
        ages: vec![log_age],
        sigma,
        eye,
        anchor,
    };
    let mut local = Local::zero(1, Order::Value);
    let looks = [(0, Glance::below(0.0))];
    looked_at(&mut local, &point, family, &looks, 1.0, Precision::Sampling);
    local.value.exp().min(1.0)
}

/// Gathers the bounds of edge after edge.
#[derive(Default)]
pub struct PredictiveBuilder {
    terms: Vec<EdgeTerms>,
    bounds: Vec<Bound>,
    looks: Vec<LastLook>,
}

impl PredictiveBuilder {
    /// Takes in what was last seen of the next edge.
    pub fn add(
        &mut self,
        compiler: Compiler<'_>,
        observation: &Observation,
        effects: &Effects,
    ) -> Result<(), WearError> {
        let mut edge = EdgeBounds {
            compiler,
            bounds: Vec::new(),
        };
        let mut look = edge.last_look(observation)?;
        look.shift(self.bounds.len());
        self.looks.push(look);
        let whole = edge.compiler.finish(effects);
        for (bound, terms) in edge.bounds {
            self.bounds.push(bound);
            self.terms.push(EdgeTerms {
                terms,
                weight: 1.0,
                ..whole.clone()
            });
        }
        Ok(())
    }

    /// All together.
    pub fn finish(
        self,
        rows: CovariateRows,
        layout: Layout,
        effects: Effects,
        settings: LikelihoodSettings,
    ) -> Predictive {
        Predictive {
            likelihood: Likelihood::new(self.terms, rows, layout, effects, settings),
            bounds: self.bounds,
            looks: self.looks,
        }
    }
}

impl LastLook {
    fn of(seen: LastSeen) -> Self {
        Self {
            seen,
            low: None,
            high: None,
            cuts: None,
            noticed: None,
            entry: None,
        }
    }

    /// Counts bounds from `first` on.
    fn shift(&mut self, first: usize) {
        let places = [
            &mut self.low,
            &mut self.high,
            &mut self.noticed,
            &mut self.entry,
        ];
        let cuts = self.cuts.iter_mut().flatten();
        for place in places.into_iter().flatten().chain(cuts) {
            *place += first;
        }
    }
}

/// The bounds of one edge.
struct EdgeBounds<'a> {
    compiler: Compiler<'a>,
    bounds: Vec<(Bound, Vec<Term>)>,
}

impl EdgeBounds<'_> {
    fn last_look(&mut self, observation: &Observation) -> Result<LastLook, WearError> {
        let (seen, low, high) = match observation {
            Observation::Graded { looks, noticed } => {
                let last = looks.last().map(|look| (look.at.get(), look.sight));
                let noticed = noticed.filter(|n| last.is_none_or(|(at, _)| n.at.get() >= at));
                return match (noticed, last) {
                    (Some(noticed), _) => self.noticed(noticed),
                    (None, Some((at, sight))) => self.seen(at, sight),
                    (None, None) => Ok(LastLook::of(LastSeen::Nothing)),
                };
            }
            Observation::Exact(at) => (LastSeen::Timed, Some(at.get()), Some(at.get())),
            Observation::RightCensored(at) => (LastSeen::NotDull, None, Some(at.get())),
            Observation::LeftCensored(by) => (LastSeen::Timed, Some(by.get()), None),
            Observation::IntervalCensored { after, by } => {
                (LastSeen::Timed, Some(by.get()), Some(after.get()))
            }
        };
        let beyond = |at: &f64| *at > self.compiler.entry();
        let high = high.filter(beyond);
        let low_bound = match low {
            Some(at) => Some(self.not_dull_by(at)?),
            None => None,
        };
        let high_bound = match high {
            Some(at) if Some(at) == low => low_bound,
            Some(at) => Some(self.not_dull_by(at)?),
            None => None,
        };
        let entry = match self.compiler.entry() {
            entry if entry > 0.0 => Some(self.bound(entry, 0.0, Vec::new())?),
            _ => None,
        };
        Ok(LastLook {
            low: low_bound,
            high: high_bound,
            entry,
            ..LastLook::of(seen)
        })
    }

    fn noticed(&mut self, noticed: Noticed) -> Result<LastLook, WearError> {
        let fraction = self.compiler.noticed_at(noticed);
        let at = noticed.at.get();
        let bound = self.eye_sees_below(at, fraction.ln())?;
        let (seen, dull) = if noticed.late {
            (LastSeen::NoticedOverrun, self.eye_sees_below(at, 0.0)?)
        } else {
            (LastSeen::NoticedDull, bound)
        };
        Ok(LastLook {
            low: Some(bound),
            high: Some(bound),
            noticed: Some(dull),
            entry: self.came_into_view()?,
            ..LastLook::of(seen)
        })
    }

    fn seen(&mut self, at: f64, sight: Sight) -> Result<LastLook, WearError> {
        let noticed = Some(self.eye_sees_below(at, 0.0)?);
        let entry = self.came_into_view()?;
        let look = |seen| LastLook {
            noticed,
            entry,
            ..LastLook::of(seen)
        };
        Ok(match sight {
            Sight::Graded(grade) => {
                let mut cuts = [0; 3];
                for (place, cut) in cuts.iter_mut().zip(Grade::CUTS) {
                    *place = self.eye_sees_below(at, cut.ln())?;
                }
                let number = grade as usize;
                LastLook {
                    low: number.checked_sub(1).map(|below| cuts[below]),
                    high: cuts.get(number).copied(),
                    cuts: Some(cuts),
                    ..look(LastSeen::Graded(grade))
                }
            }
            Sight::NotCalled => LastLook {
                high: Some(self.eye_sees_below(at, Grade::CUTS[2].ln())?),
                ..look(LastSeen::NotCalled)
            },
            Sight::Measured(fraction) => {
                let (cut, glance) = self.compiler.measured_below(fraction);
                let bound = self.sees(at, cut, glance)?;
                LastLook {
                    low: Some(bound),
                    high: Some(bound),
                    ..look(LastSeen::Measured)
                }
            }
        })
    }

    /// The bound below which an edge is not called, at the entry.
    fn came_into_view(&mut self) -> Result<Option<usize>, WearError> {
        let entry = self.compiler.entry();
        if entry > 0.0 {
            let cut = Grade::CUTS[2].ln();
            return Ok(Some(self.eye_sees_below(entry, cut)?));
        }
        Ok(None)
    }

    fn eye_sees_below(&mut self, at: f64, cut: f64) -> Result<usize, WearError> {
        self.sees(at, cut, Glance::below(cut))
    }

    /// The chance of a glance at this hour, given that nobody had called the edge at its entry.
    fn sees(&mut self, at: f64, cut: f64, glance: Glance) -> Result<usize, WearError> {
        let mut terms = Vec::new();
        let mut looks = Vec::new();
        if let Some(not_called) = self.compiler.not_called_at_entry()? {
            looks.push(not_called);
            terms.push(Term::LookedAt {
                looks: vec![not_called],
                sign: -1.0,
            });
        }
        looks.push((self.compiler.age_by(at)?, glance));
        terms.push(Term::LookedAt { looks, sign: 1.0 });
        self.bound(at, cut, terms)
    }

    /// The chance of not being dull by then, given not dull at the entry.
    fn not_dull_by(&mut self, at: f64) -> Result<usize, WearError> {
        let terms = self.compiler.terms_of_not_dull_by(at)?;
        self.bound(at, 0.0, terms)
    }

    fn bound(&mut self, at: f64, cut: f64, terms: Vec<Term>) -> Result<usize, WearError> {
        let age = self.compiler.age_by(at)?;
        self.bounds.push((Bound { age, cut }, terms));
        Ok(self.bounds.len() - 1)
    }
}
