//! Many crews, fitted on all cores. The answer depends on the seeds alone, not on the number of threads.

use super::fit::Fitted;
use super::ranks::{Ranks, rank_among};
use keenspan::lives::Observation;
use keenspan::wear::EdgeRecords;
use std::ops::Range;
use std::sync::atomic::{AtomicU64, Ordering};
use std::thread;

/// One crew's data, and what is true of it by name.
pub struct Invented {
    pub truth: Vec<(&'static str, f64)>,
    pub records: EdgeRecords,
    pub seen: Vec<Observation>,
}

/// Something to be judged: a sum of parameters, each times a number. Log life under any conditions is one.
#[derive(Clone)]
pub struct Quantity {
    pub name: &'static str,
    pub terms: Vec<(&'static str, f64)>,
}

/// Where the truth ranked among the draws, crew by crew.
pub struct Outcome {
    pub quantity: &'static str,
    /// Among all draws: for coverage.
    pub ranks: Ranks,
    /// Among draws thinned until they do not hang together: for uniformity.
    pub thinned: Ranks,
}

/// Draws left after thinning: ranks run from 0 to 99.
const THINNED: usize = 99;

impl Quantity {
    /// Each parameter by itself.
    pub fn each(names: Vec<&'static str>) -> Vec<Self> {
        let one = |name| Self {
            name,
            terms: vec![(name, 1.0)],
        };
        names.into_iter().map(one).collect()
    }

    /// A sum of parameters.
    pub fn sum(name: &'static str, terms: &[(&'static str, f64)]) -> Self {
        Self {
            name,
            terms: terms.to_vec(),
        }
    }

    fn of_truth(&self, truth: &[(&'static str, f64)]) -> f64 {
        let value = |name: &str| truth.iter().find(|(known, _)| *known == name);
        let terms = self.terms.iter();
        terms
            .map(|(name, factor)| factor * value(name).expect("a true parameter").1)
            .sum()
    }

    fn of_draws(&self, fitted: &Fitted) -> Vec<f64> {
        let place = |name: &str| fitted.names.iter().position(|known| *known == name);
        let terms: Vec<(usize, f64)> = self
            .terms
            .iter()
            .map(|(name, factor)| (place(name).expect("a fitted parameter"), *factor))
            .collect();
        let value = |draw: &Vec<f64>| terms.iter().map(|(i, factor)| factor * draw[*i]).sum();
        fitted.draws.iter().map(value).collect()
    }
}

/// Seeds of draws lie this far from those of crews: draws of their own for each crew, that hang together
/// neither with its truth nor with another crew's.
const DRAW_SEEDS: u64 = 1 << 33;

/// Invents and fits a crew for each seed; the fit is handed a seed for its draws.
pub fn run(
    seeds: Range<u64>,
    quantities: &[Quantity],
    invent: &(impl Fn(u64) -> Invented + Sync),
    fit: &(impl Fn(u64, &EdgeRecords, &[Observation]) -> Fitted + Sync),
) -> Vec<Outcome> {
    let by_crew = on_all_cores(seeds, |seed| {
        let invented = invent(seed);
        let fitted = fit(DRAW_SEEDS + seed, &invented.records, &invented.seen);
        let rank = |quantity: &Quantity| {
            let (truth, draws) = (
                quantity.of_truth(&invented.truth),
                quantity.of_draws(&fitted),
            );
            Placed::of(truth, &draws)
        };
        quantities.iter().map(rank).collect::<Vec<_>>()
    });
    let outcome = |(i, quantity): (usize, &Quantity)| Outcome {
        quantity: quantity.name,
        ranks: Ranks::gather(by_crew.iter().map(|placed| placed[i].among_all)),
        thinned: Ranks::gather(by_crew.iter().map(|placed| placed[i].among_thinned)),
    };
    quantities.iter().enumerate().map(outcome).collect()
}

/// A truth's rank and the number of draws it is among.
struct Placed {
    among_all: (usize, usize),
    among_thinned: (usize, usize),
}

impl Placed {
    /// One draw fewer than handed in, so that there are as many ranks as draws: bounds of a round share
    /// then end at whole ranks.
    fn of(truth: f64, draws: &[f64]) -> Self {
        assert!(draws.len() > THINNED, "{} draws are too few", draws.len());
        let stride = draws.len() / (THINNED + 1);
        let thinned: Vec<f64> = draws
            .iter()
            .step_by(stride)
            .take(THINNED)
            .copied()
            .collect();
        let all = &draws[1..];
        Self {
            among_all: (rank_among(truth, all), all.len()),
            among_thinned: (rank_among(truth, &thinned), thinned.len()),
        }
    }
}

/// `work` on each seed; answers in the order of the seeds.
pub fn on_all_cores<T: Send>(seeds: Range<u64>, work: impl Fn(u64) -> T + Sync) -> Vec<T> {
    let cores = thread::available_parallelism().map_or(1, usize::from);
    let next = AtomicU64::new(seeds.start);
    let worker = || {
        let mut done = Vec::new();
        loop {
            let seed = next.fetch_add(1, Ordering::Relaxed);
            if seed >= seeds.end {
                return done;
            }
            done.push((seed, work(seed)));
        }
    };
    let mut all: Vec<(u64, T)> = thread::scope(|scope| {
        let workers: Vec<_> = (0..cores).map(|_| scope.spawn(worker)).collect();
        let finished = workers.into_iter().map(|worker| worker.join());
        finished.flat_map(|done| done.expect("a worker")).collect()
    });
    all.sort_by_key(|(seed, _)| *seed);
    all.into_iter().map(|(_, answer)| answer).collect()
}
