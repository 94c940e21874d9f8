//! Whether a fitted model is adequate: everything that is looked at, from one function.

use super::counts::{Counts, counts};
use super::curve::{FittedCurve, chance_of_half_life, fitted_curve};
use super::edge_scores::{EdgeScore, ScoresTest, edge_scores, test_edges};
use super::leave_one_out::LeaveOneOut;
use super::predicted::{DRAWS, Foretold, Predicted, Span, foretold};
use super::verdict::Verdict;
use crate::lives::Observation;
use crate::wear::generator::seeded_stream;
use crate::wear::sample::{Doubt, Method};
use crate::wear::{EdgeRecords, Family, WearError, WearModel, WearPosterior};
use linfa::dataset::DatasetBase;
use rayon::prelude::*;
use serde::Serialize;

/// Most edges for which the model is fitted anew where their weights cannot be trusted. Basis: time.
const MOST_FITTED_ANEW: usize = 5;

/// Draws of such a fit. Basis: what is foretold of one edge errs by some 5 %.
const DRAWS_ANEW: usize = 400;

/// Streams of the seed.
const SCORES: u64 = 1 << 40;
const TESTS: u64 = SCORES + 1;
const COUNTS: u64 = SCORES + 2;

/// How well one law of life foretells the edges.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FamilyFit {
    /// The law.
    pub family: Family,
    /// The sum of the log predictive densities of edges, each foretold by the others.
    pub log_density: f64,
    /// Its standard error.
    pub standard_error: f64,
    /// About how many parameters the edges decide.
    pub effective_parameters: f64,
    /// Its log density less that of the fitted law; 0 for the fitted law itself.
    pub better_by: f64,
    /// Standard error of that difference, edge by edge.
    pub better_by_error: f64,
    /// Edges whose weights cannot be trusted, so that the sum may be off.
    pub doubtful_edges: Vec<usize>,
    /// What weakens the draws behind it.
    pub doubts: Vec<Doubt>,
}

/// How well the fitted model fits.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Adequacy {
    /// What to make of it.
    pub verdict: Verdict,
    /// The law that was fitted.
    pub family: Family,
    /// Every law on the same edges and priors; one that could not be fitted is missing.
    pub families: Vec<FamilyFit>,
    /// The fitted law, edge by edge.
    pub left_out: LeaveOneOut,
    /// Edges whose weights cannot be trusted: what is said of them is rough.
    pub doubtful_edges: Vec<usize>,
    /// What was last seen of each edge, as a score.
    pub edges: Vec<EdgeScore>,
    /// The test of all scores; `None` without edges.
    pub scores_test: Option<ScoresTest>,
    /// The fitted law against the estimate that knows no law; `None` where nothing was seen.
    pub curve: Option<FittedCurve>,
    /// What the model would count again.
    pub counts: Counts,
}

/// What is known of the fitted law.
struct Own<'a> {
    predicted: Predicted<'a>,
    left_out: LeaveOneOut,
    spans: Vec<Span>,
}

type Data = DatasetBase<EdgeRecords, Vec<Observation>>;

impl WearModel {
    /// Examines a posterior that this model gave for these edges. The same seed gives the same answer,
    /// whatever the number of threads.
    ///
    /// The other laws are fitted on the way, by weighted draws.
    ///
    /// # Errors
    ///
    /// [`WearError::Adequacy`] where the nonparametric estimate does not settle, [`WearError::Unpaired`] where
    /// the posterior is of other edges.
    pub fn adequacy(
        &self,
        dataset: &Data,
        posterior: &WearPosterior,
        seed: u64,
    ) -> Result<Adequacy, WearError> {
        let edges = dataset.records().edges.len();
        if posterior.density().last_looks().len() != edges {
            return Err(WearError::Unpaired {
                records: edges,
                observations: posterior.density().last_looks().len(),
            });
        }
        let ((own, curve), others) = rayon::join(
            || {
                let curve = || fitted_curve(posterior.density(), posterior.sample());
                rayon::join(|| self.own(dataset, posterior), curve)
            },
            || self.others(dataset, posterior),
        );
        let Own {
            predicted,
            left_out,
            spans,
        } = own;
        let looks = posterior.density().last_looks();
        let scores = edge_scores(looks, &spans, &mut seeded_stream(seed, SCORES))?;
        let scores_test = match scores.is_empty() {
            true => None,
            false => Some(test_edges(&scores, &mut seeded_stream(seed, TESTS))?),
        };
        let half_life = chance_of_half_life(posterior.density(), posterior.sample());
        let counts = counts(
            posterior.density(),
            &predicted,
            &scores,
            half_life,
            &mut seeded_stream(seed, COUNTS),
        )?;
        let own = FamilyFit::of(posterior, &left_out, &left_out);
        let others = others
            .iter()
            .map(|(posterior, theirs)| FamilyFit::of(posterior, theirs, &left_out));
        let families: Vec<FamilyFit> = std::iter::once(own).chain(others).collect();
        let mut adequacy = Adequacy {
            verdict: Verdict::Fits,
            family: posterior.family(),
            families,
            doubtful_edges: left_out.doubtful(),
            left_out,
            edges: scores,
            scores_test,
            curve: curve?,
            counts,
        };
        adequacy.verdict = Verdict::of(&adequacy);
        Ok(adequacy)
    }

    /// The fitted law: its edges under its draws, and foretold by the others.
    fn own<'a>(&self, dataset: &Data, posterior: &'a WearPosterior) -> Own<'a> {
        let density = posterior.density();
        let predicted = Predicted::new(density, posterior.sample());
        let (mut left_out, mut spans) = predicted.edges();
        for (edge, foretold) in self.foretold_anew(dataset, posterior, &left_out) {
            left_out.replace(edge, foretold.log_density);
            spans[edge] = foretold.span;
        }
        left_out.add_up();
        Own {
            predicted,
            left_out,
            spans,
        }
    }

    /// The edges whose weights cannot be trusted, if they are few, each as foretold by a fit without it; one
    /// whose fit cannot be trusted is missing.
    fn foretold_anew(
        &self,
        dataset: &Data,
        posterior: &WearPosterior,
        left_out: &LeaveOneOut,
    ) -> Vec<(usize, Foretold)> {
        let doubtful = left_out.doubtful();
        if doubtful.len() > MOST_FITTED_ANEW {
            return Vec::new();
        }
        let model = self.quickly(posterior.family(), DRAWS_ANEW);
        let anew = |edge: usize| {
            // An edge that weighs nothing says nothing, and everything else keeps its place.
            let mut records = dataset.records().clone();
            records.edges[edge].weight = 0.0;
            let data = DatasetBase::new(records, dataset.targets().clone());
            let without = model.fit_from(&data, posterior).ok().filter(trusted)?;
            Some((edge, foretold(posterior.density(), without.sample(), edge)))
        };
        doubtful.into_par_iter().filter_map(anew).collect()
    }

    /// The other laws on the same edges.
    fn others(
        &self,
        dataset: &Data,
        posterior: &WearPosterior,
    ) -> Vec<(WearPosterior, LeaveOneOut)> {
        let others = Family::ALL.into_par_iter();
        others
            .filter(|family| *family != posterior.family())
            .filter_map(|family| {
                let model = self.quickly(family, DRAWS.min(self.draws()));
                let fitted = model.fit_telling(dataset, &|_| {}).ok()?;
                let left_out = self.left_out_of(dataset, &fitted);
                Some((fitted, left_out))
            })
            .collect()
    }

    fn left_out_of(&self, dataset: &Data, posterior: &WearPosterior) -> LeaveOneOut {
        let predicted = Predicted::new(posterior.density(), posterior.sample());
        let mut left_out = predicted.leave_one_out();
        for (edge, foretold) in self.foretold_anew(dataset, posterior, &left_out) {
            left_out.replace(edge, foretold.log_density);
        }
        left_out.add_up();
        left_out
    }

    /// The same model with another law, by weighted draws: chains take seconds.
    fn quickly(&self, family: Family, draws: usize) -> Self {
        self.clone().with(family, Method::Laplace, draws)
    }
}

fn trusted(posterior: &WearPosterior) -> bool {
    posterior.health().doubts.is_empty()
}

impl FamilyFit {
    fn of(posterior: &WearPosterior, left_out: &LeaveOneOut, fitted: &LeaveOneOut) -> Self {
        let (better_by, better_by_error) = left_out.better_than(fitted);
        Self {
            family: posterior.family(),
            log_density: left_out.log_density,
            standard_error: left_out.standard_error,
            effective_parameters: left_out.effective_parameters,
            better_by,
            better_by_error,
            doubtful_edges: left_out.doubtful(),
            doubts: posterior.health().doubts.clone(),
        }
    }
}
