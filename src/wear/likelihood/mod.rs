//! What each edge contributes to the log-likelihood, with gradient and Hessian.
//!
//! | seen | contribution |
//! | --- | --- |
//! | dull at exactly `t` | `ln f(u(t)) + ln r(t)`; the wear rate `r` at that moment is the Jacobian |
//! | not dull by `t` | `ln S(u(t))` |
//! | dull within `(a, b]` | `ln(S(u(a)) - S(u(b)))` |
//! | dull by `t` | `ln F(u(t))` |
//! | looked at | `ln` of the integral over life of the product of `P(look given u/T)` |
//!
//! Left truncation at `e` divides by `S(u(e))`; for edges known through somebody's eye it divides by
//! the chance that nobody had called the edge by then.
//!
//! A touch-up takes a share of the wear so far off the edge's age. What is known without error then
//! follows the hazard at that virtual age, phase by phase (Kijima 1989, second kind); an eye sees the
//! present age against the life that the edge was ground with.

mod aged;
mod at_shared;
mod chain;
mod columns;
mod compile;
mod known;
mod local;
mod looked;
mod one_look;
mod predictive;
mod seen;

use super::covariate_rows::{CovariateRows, Rates};
use super::effects::Effects;
use super::eye::Glance;
use super::life_distribution::Family;
use super::life_nodes::Precision;
use super::parameters::Layout;
use super::wear_sum::{WearSum, WearSumAt};
use crate::numerics::Arrow;
use crate::numerics::elementary::{logistic, softplus};
use crate::numerics::newton::Quadratic;
pub use aged::{AgedDraw, AgedEdge};
pub use at_shared::AtShared;
use chain::{Destination, Gathered, destinations, spread};
use columns::EdgeColumns;
pub use compile::{Compiler, Habits};
use known::{KnownLives, Scale};
use local::{Local, LocalPoint};
use nalgebra::DVector;
pub use predictive::{LastLook, LastSeen, Predictive, PredictiveBuilder, chance_going};
use rayon::prelude::*;
use std::ops::Range;
use std::sync::Arc;

/// How many derivatives are wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Order {
    /// None.
    Value,
    /// The first.
    Gradient,
    /// The first and the second.
    Hessian,
}

/// A stretch of an edge's life over which it gathers hazard: from fresh to an age, or from one age on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Phase {
    /// From fresh to this age.
    FromFresh(usize),
    /// From the first age on, gaining the second.
    From(usize, usize),
}

/// One piece of an edge's log-likelihood; numbers are indices of the edge's wear sums.
#[derive(Debug, Clone, PartialEq)]
pub enum Term {
    /// Not dull over a phase, given not dull at its start.
    NotDull(Phase),
    /// Dull within one of these phases, given not dull at the start of the first.
    DullWithin(Vec<Phase>),
    /// Dull at this very age, given not dull before.
    DullAt(usize),
    /// Looks, each at its age; `sign` -1 divides by them.
    LookedAt {
        /// Age and what was seen.
        looks: Vec<(usize, Glance)>,
        /// 1 or -1.
        sign: f64,
    },
    /// `factor x ln u` of this sum: part of a Jacobian.
    LogSum {
        /// Which sum.
        sum: usize,
        /// 1 or -1.
        factor: f64,
    },
}

/// One edge (or one row of a life table) as the likelihood sees it.
#[derive(Debug, Clone)]
pub struct EdgeTerms {
    /// The wear sums that the terms speak of.
    pub sums: Vec<WearSum>,
    /// Covariates `z` of log life.
    pub features: Vec<f64>,
    /// The group effects that shift its log life, by number.
    pub effects: Vec<usize>,
    /// The pieces.
    pub terms: Vec<Term>,
    /// How many times this very edge was seen.
    pub weight: f64,
}

/// What the likelihood needs besides the parameters.
#[derive(Debug, Clone, Copy)]
pub struct LikelihoodSettings {
    /// Family of life distributions.
    pub family: Family,
    /// Standardised log life for which the location stands.
    pub anchor: f64,
}

/// The log-likelihood of a set of edges.
#[derive(Debug, Clone)]
pub struct Likelihood {
    edges: Vec<EdgeTerms>,
    /// Where each edge's derivatives go.
    destinations: Vec<Vec<Destination>>,
    /// The block of group effects that each edge belongs to.
    blocks: Vec<Option<usize>>,
    /// Where in its block each edge's effects stand.
    places_in_blocks: Vec<Vec<usize>>,
    columns: EdgeColumns,
    /// All edges, where they are known so.
    known: Option<KnownLives>,
    rows: Arc<CovariateRows>,
    layout: Layout,
    effects: Effects,
    settings: LikelihoodSettings,
}

/// Second derivatives are summed in at most so many parts, which does not depend on the number of threads:
/// the last bit of a sum must not either.
const PARTS: usize = 8;
/// Fewer edges than this are not worth a part of their own.
const LEAST_PART: usize = 8;

/// What all edges have in common at one point of the parameters.
struct Common<'a> {
    family: Family,
    anchor: f64,
    theta: &'a [f64],
    rates: Rates,
    sigma: f64,
    eye: f64,
    order: Order,
    precision: Precision,
}

impl Common<'_> {
    fn scale(&self) -> Scale {
        Scale {
            sigma: self.sigma,
            anchor: self.anchor,
        }
    }
}

/// Room to work in, kept from edge to edge.
#[derive(Default)]
struct Workspace {
    sums: Vec<WearSumAt>,
    point: LocalPoint,
    local: Local,
    /// Factors of the `ln u` of each sum that knows nothing of location and spread.
    log_sums: Vec<f64>,
}

impl Likelihood {
    /// Of these edges.
    pub fn new(
        edges: Vec<EdgeTerms>,
        rows: Arc<CovariateRows>,
        layout: Layout,
        effects: Effects,
        settings: LikelihoodSettings,
    ) -> Self {
        let places = edges
            .iter()
            .map(|edge| destinations(edge, &layout, &effects));
        let block = |edge: &EdgeTerms| {
            edge.effects
                .iter()
                .find_map(|&effect| effects.block(effect))
        };
        let in_block = |edge: &EdgeTerms| {
            let own = edge.effects.iter();
            own.filter_map(|&effect| effects.place_in_block(effect))
                .collect()
        };
        Self {
            destinations: places.collect(),
            blocks: edges.iter().map(block).collect(),
            places_in_blocks: edges.iter().map(in_block).collect(),
            columns: EdgeColumns::of(&edges),
            known: KnownLives::of(&edges, settings.family),
            edges,
            rows,
            layout,
            effects,
            settings,
        }
    }

    /// Which parameter stands where.
    pub fn layout(&self) -> &Layout {
        &self.layout
    }

    /// Where group effects stand.
    pub fn effects(&self) -> &Effects {
        &self.effects
    }

    /// The block of group effects that each edge belongs to.
    pub fn blocks(&self) -> &[Option<usize>] {
        &self.blocks
    }

    /// The block of each edge, and where in it the edge's effects stand.
    pub fn edges_in_blocks(&self) -> impl Iterator<Item = (Option<usize>, &[usize])> {
        let places = self.places_in_blocks.iter().map(Vec::as_slice);
        self.blocks.iter().copied().zip(places)
    }

    /// Family of life distributions.
    pub fn family(&self) -> Family {
        self.settings.family
    }

    /// Family and anchor.
    pub fn settings(&self) -> LikelihoodSettings {
        self.settings
    }

    /// For each edge the log of one of its ages over its typical life: which one, `which` says in turn.
    fn log_ages(
        &self,
        theta: &[f64],
        effects: &[f64],
        which: impl Iterator<Item = usize>,
    ) -> Vec<f64> {
        let common = self.common(theta, Order::Value, Precision::Sampling);
        let mut at = WearSumAt::default();
        let edges = self.edges.iter().enumerate().zip(which);
        edges
            .map(|((number, edge), age)| {
                edge.sums[age].evaluate(&self.rows, &common.rates, Order::Value, &mut at);
                at.value - self.location_of(number, theta, effects)
            })
            .collect()
    }

    /// The same for the first so many edges.
    pub fn of_first(&self, edges: usize) -> Self {
        let first = edges.min(self.edges.len());
        let mut edges = self.edges[..first].to_vec();
        let sums = edges.iter_mut().flat_map(|edge| &mut edge.sums);
        let rows = Arc::new(self.rows.of_sums(sums));
        Self {
            columns: EdgeColumns::of(&edges),
            known: KnownLives::of(&edges, self.settings.family),
            edges,
            rows,
            destinations: self.destinations[..first].to_vec(),
            blocks: self.blocks[..first].to_vec(),
            places_in_blocks: self.places_in_blocks[..first].to_vec(),
            layout: self.layout.clone(),
            effects: self.effects.clone(),
            settings: self.settings,
        }
    }

    /// The log-likelihood of some edges, to the precision that sampling needs.
    pub fn of_edges(&self, theta: &[f64], effects: &[f64], edges: &[usize]) -> Vec<f64> {
        let at = AtShared::new(self, theta, edges.to_vec());
        at.values(effects)
    }

    /// Value and gradient, to the precision that sampling needs. The gradient's order is that of
    /// [`Likelihood::quadratic`].
    pub fn slope(&self, theta: &[f64], effects: &[f64]) -> (f64, DVector<f64>) {
        let common = self.common(theta, Order::Gradient, Precision::Sampling);
        let at = self.slope_of_known(&common, effects);
        let at = at.unwrap_or_else(|| self.sum(&common, effects));
        (at.value, at.gradient)
    }

    /// Value, gradient and Hessian. Coordinates: the parameters of [`Layout`], then the group effects
    /// as [`Effects::place`] has them.
    pub fn quadratic(
        &self,
        theta: &[f64],
        effects: &[f64],
        precision: Precision,
    ) -> Quadratic<Arrow> {
        let common = self.common(theta, Order::Hessian, precision);
        self.sum(&common, effects)
    }

    fn common<'a>(&self, theta: &'a [f64], order: Order, precision: Precision) -> Common<'a> {
        let rates = &theta[self.layout.rates()];
        let mut beta = Vec::with_capacity(rates.len() + 1);
        beta.extend_from_slice(rates);
        // ln(1 - q): the last covariate counts the touch-ups that came after.
        beta.push(-softplus(theta[self.layout.touch_up()]));
        Common {
            family: self.settings.family,
            anchor: self.settings.anchor,
            theta,
            rates: self.rows.rates(&beta),
            sigma: theta[self.layout.log_sigma()].exp(),
            eye: theta[self.layout.log_eye()].exp(),
            order,
            precision,
        }
    }

    /// Second derivatives in parts side by side; what runs a million times is run on many threads by those
    /// who ask for it.
    fn sum(&self, common: &Common, effects: &[f64]) -> Quadratic<Arrow> {
        let part = if common.order == Order::Hessian {
            LEAST_PART.max(self.edges.len().div_ceil(PARTS))
        } else {
            self.edges.len().max(1)
        };
        let edges = self.edges.len();
        let parts: Vec<Quadratic<Arrow>> = (0..edges.div_ceil(part))
            .into_par_iter()
            .map(|number| number * part..edges.min((number + 1) * part))
            .map(|edges| self.sum_of(edges, common, effects))
            .collect();
        // In the order of the edges, however many threads there were.
        let mut parts = parts.into_iter();
        let first = parts.next().unwrap_or_else(|| self.nothing(common.order));
        let mut total = parts.fold(first, |mut total, part| {
            total.value += part.value;
            total.gradient += part.gradient;
            total.hessian.add_all(&part.hessian);
            total
        });
        total.hessian.mirror();
        self.by_logit_of_share(&mut total, common);
        total
    }

    fn sum_of(&self, edges: Range<usize>, common: &Common, effects: &[f64]) -> Quadratic<Arrow> {
        let mut total = self.nothing(common.order);
        let (mut work, mut gathered) = (Workspace::default(), Gathered::default());
        for edge in edges {
            let (weight, places) = (self.edges[edge].weight, &self.destinations[edge]);
            total.value += weight * self.locally(edge, common, effects, &mut work);
            let room = (&mut gathered, common.order);
            spread(&mut total, places, weight, &work, room);
        }
        total
    }

    /// A sum without edges.
    fn nothing(&self, order: Order) -> Quadratic<Arrow> {
        let dimension = self.layout.dimension() + self.effects.count();
        let hessian = if order == Order::Hessian {
            let corner = self.layout.dimension() + self.effects.in_corner();
            Arrow::zeros(corner, self.effects.blocks())
        } else {
            Arrow::zeros(0, &Arc::default())
        };
        Quadratic {
            value: 0.0,
            gradient: DVector::zeros(dimension),
            hessian,
        }
    }

    /// The chain rule from `ln(1 - q)`, in which the sums were differentiated, to the logit of `q`.
    fn by_logit_of_share(&self, total: &mut Quadratic<Arrow>, common: &Common) {
        let place = self.layout.touch_up();
        let share = logistic(common.theta[place]);
        let slope = total.gradient[place];
        total.gradient[place] = -share * slope;
        if common.order == Order::Hessian {
            let hessian = &mut total.hessian;
            hessian.scale(place, -share);
            hessian.add(place, place, -share * (1.0 - share) * slope);
        }
    }

    /// One edge's log-likelihood, its derivatives left in `work` in local coordinates.
    fn locally(
        &self,
        number: usize,
        common: &Common,
        effects: &[f64],
        work: &mut Workspace,
    ) -> f64 {
        let edge = &self.edges[number];
        work.sums
            .resize_with(edge.sums.len().max(work.sums.len()), WearSumAt::default);
        for (sum, at) in edge.sums.iter().zip(&mut work.sums) {
            sum.evaluate(&self.rows, &common.rates, common.order, at);
        }
        let location = self.location_of(number, common.theta, effects);
        let logs: Vec<f64> = work.sums[..edge.sums.len()]
            .iter()
            .map(|sum| sum.value)
            .collect();
        of_terms(edge, (common, common.precision), &logs, location, work)
    }

    /// The log of typical life of an edge, in wear hours.
    fn location_of(&self, edge: usize, theta: &[f64], effects: &[f64]) -> f64 {
        self.shared_location(edge, theta) + self.columns.shift_of_groups(edge, effects)
    }

    /// What of it hangs on no group effect.
    fn shared_location(&self, edge: usize, theta: &[f64]) -> f64 {
        let gamma = &theta[self.layout.features()];
        theta[self.layout.location()] + self.columns.shift_of_features(edge, gamma)
    }
}

/// One edge's log-likelihood from the logs of its wear sums and of its typical life.
fn of_terms(
    edge: &EdgeTerms,
    (common, precision): (&Common, Precision),
    logs: &[f64],
    location: f64,
    work: &mut Workspace,
) -> f64 {
    work.point.set(common, logs, location);
    work.local.reset(logs.len(), common.order);
    work.log_sums.clear();
    work.log_sums.resize(logs.len(), 0.0);
    for term in &edge.terms {
        add_term(term, common.family, precision, work);
    }
    let jacobians = work.log_sums.iter().zip(logs);
    work.local.value + jacobians.map(|(factor, log)| factor * log).sum::<f64>()
}

fn add_term(term: &Term, family: Family, precision: Precision, work: &mut Workspace) {
    let (local, point) = (&mut work.local, &work.point);
    match term {
        Term::NotDull(phase) => seen::not_dull(local, point, family, *phase),
        Term::DullWithin(phases) => seen::dull_within(local, point, family, phases),
        Term::DullAt(age) => seen::dull_at(local, point, family, *age),
        Term::LookedAt { looks, sign } => {
            looked::looked_at(local, point, family, looks, *sign, precision);
        }
        Term::LogSum { sum, factor } => work.log_sums[*sum] += factor,
    }
}
