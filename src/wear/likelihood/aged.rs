//! An edge that has worked: how far it is worn by now, and what lives it may have by what was seen of it.

use super::local::LocalPoint;
use super::looked::lives_seen;
use super::{Compiler, EdgeTerms, Habits, Likelihood, LikelihoodSettings, Order, Term};
use crate::lives::Observation;
use crate::quantities::MeterHours;
use crate::wear::covariate_rows::CovariateRows;
use crate::wear::density::Anchor;
use crate::wear::effects::Effects;
use crate::wear::life_nodes::Precision;
use crate::wear::parameters::Layout;
use crate::wear::records::EdgeRecord;
use crate::wear::wear_sum::WearSumAt;
use crate::wear::{LifeLaw, WearError};
use std::sync::Arc;

/// An edge that has worked, ready to be looked at under any parameters.
#[derive(Debug, Clone)]
pub struct AgedEdge {
    /// Of this one edge.
    likelihood: Likelihood,
    /// Which of its wear sums is its age now.
    now: usize,
}

/// One such edge under one set of parameters.
#[derive(Debug, Clone, PartialEq)]
pub struct AgedDraw {
    /// Wear hours on it, after what touch-ups took back.
    pub wear: f64,
    /// Lives that it may have, wear hours, each with its chance; lives rise and chances add up to 1. Draws that are alike,
    /// and what is thinned from them, share them.
    pub lives: Arc<[(f64, f64)]>,
}

impl AgedEdge {
    /// What was seen of an edge, and all that it has gone through.
    pub(in crate::wear) fn new(
        record: &EdgeRecord,
        seen: &Observation,
        columns: usize,
        habits: Habits,
        (layout, effects, settings): (Layout, Effects, LikelihoodSettings),
    ) -> Result<Self, WearError> {
        let mut rows = CovariateRows::new(columns + 1);
        let compiler = Compiler::new(0, record, &mut rows, habits);
        let (terms, now) = compiler.compile_aged(seen, &effects)?;
        Ok(Self {
            likelihood: Likelihood::new(vec![terms], Arc::new(rows), layout, effects, settings),
            now,
        })
    }

    /// The edge under these parameters.
    pub(in crate::wear) fn under(&self, theta: &[f64], effects: &[f64]) -> AgedDraw {
        self.likelihood.aged(theta, effects, self.now)
    }
}

impl Likelihood {
    /// The only edge, worn to one of its ages.
    fn aged(&self, theta: &[f64], effects: &[f64], now: usize) -> AgedDraw {
        let common = self.common(theta, Order::Value, Precision::Sampling);
        let edge = &self.edges[0];
        let location = self.location_of(0, theta, effects);
        let mut at = WearSumAt::default();
        let mut log_ages = edge.sums.iter().map(|sum| {
            sum.evaluate(&self.rows, &common.rates, Order::Value, &mut at);
            at.value - location
        });
        let point = LocalPoint {
            ages: log_ages.by_ref().collect(),
            sigma: common.sigma,
            eye: common.eye,
            anchor: common.anchor,
        };
        let looks = looks_at(edge);
        let lives = lives_seen(&point, common.family, &looks);
        AgedDraw {
            wear: (point.ages[now] + location).exp(),
            lives: lives
                .into_iter()
                .map(|(log_life, chance)| ((log_life + location).exp(), chance))
                .collect(),
        }
    }
}

impl AgedDraw {
    /// A fresh edge.
    pub fn fresh(law: &LifeLaw) -> Self {
        let point = LocalPoint {
            ages: Vec::new(),
            sigma: law.sigma,
            eye: 1.0,
            anchor: Anchor::Median.standardised(law.family),
        };
        let lives = lives_seen(&point, law.family, &[]);
        Self {
            wear: 0.0,
            lives: lives
                .into_iter()
                .map(|(log_life, chance)| ((log_life + law.log_median).exp(), chance))
                .collect(),
        }
    }

    /// After so many more meter hours, of which nobody has said anything yet.
    pub fn after(mut self, hours: MeterHours, wear_per_hour: f64) -> Self {
        self.wear += hours.get() * wear_per_hour;
        self
    }
}

/// All looks at an edge. That it came into view late says nothing of its life beyond them: the chance of
/// that is the same for all lives.
fn looks_at(edge: &EdgeTerms) -> Vec<(usize, super::Glance)> {
    let looks = edge.terms.iter().filter_map(|term| match term {
        Term::LookedAt { looks, sign } if *sign > 0.0 => Some(looks.clone()),
        _ => None,
    });
    looks.flatten().collect()
}
