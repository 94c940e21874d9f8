//! What was last seen of each edge, turned into bounds and their terms.

use super::chances::LookBelow;
use super::{Bound, LastLook, LastSeen, Predictive};
use crate::lives::{Noticed, Observation, Sight};
use crate::quantities::Grade;
use crate::wear::WearError;
use crate::wear::covariate_rows::CovariateRows;
use crate::wear::effects::Effects;
use crate::wear::eye::Glance;
use crate::wear::likelihood::{Compiler, EdgeTerms, Likelihood, LikelihoodSettings, Term};
use crate::wear::parameters::Layout;
use std::sync::{Arc, LazyLock};

/// Gathers the bounds of edge after edge.
#[derive(Default)]
pub struct PredictiveBuilder {
    /// The edges, with no terms of their own.
    edges: Vec<EdgeTerms>,
    bounds: Vec<Bound>,
    /// Of each bound which edge it is of, and its terms.
    terms: Vec<(usize, Vec<Term>)>,
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
        let own = self.edges.len();
        self.edges.push(edge.compiler.finish(effects));
        for (bound, terms) in edge.bounds {
            self.bounds.push(bound);
            self.terms.push((own, terms));
        }
        Ok(())
    }

    /// All together.
    pub fn finish(
        self,
        rows: Arc<CovariateRows>,
        layout: Layout,
        effects: Effects,
        settings: LikelihoodSettings,
    ) -> Predictive {
        let (edges, terms) = (self.edges, self.terms);
        let of_bounds = move || {
            let bound = |(own, terms): (usize, Vec<Term>)| EdgeTerms {
                terms,
                weight: 1.0,
                ..edges[own].clone()
            };
            let bounds = terms.into_iter().map(bound).collect();
            Likelihood::new(bounds, rows, layout, effects, settings)
        };
        Predictive {
            likelihood: LazyLock::new(Box::new(of_bounds)),
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
        let look = LookBelow::of(&terms);
        self.bounds.push((Bound { age, cut, look }, terms));
        Ok(self.bounds.len() - 1)
    }
}
