//! Many crews, fitted on all cores. The answer depends on the seeds alone, not on the number of threads.

use super::fit::{Fitted, Told};
use super::ranks::{Ranks, rank_among};
use std::ops::Range;
use std::sync::atomic::{AtomicU64, Ordering};
use std::thread;

/// One crew's data, and what is true of it by name.
pub struct Invented<T> {
    pub truth: Vec<(&'static str, f64)>,
    pub data: T,
}

/// Where the truth of one quantity ranked among the draws, crew by crew.
pub struct Outcome {
    pub quantity: &'static str,
    /// Among all draws: for coverage.
    pub ranks: Ranks,
    /// Among draws thinned until they do not hang together: for uniformity.
    pub thinned: Ranks,
}

/// What came of a study.
pub struct Study {
    pub outcomes: Vec<Outcome>,
    /// How each crew's draws were made.
    pub told: Vec<Told>,
    /// Why crews could not be fitted; they are not among the outcomes.
    pub failures: Vec<String>,
}

/// Draws left after thinning: ranks run from 0 to 99.
const THINNED: usize = 99;
/// Seeds of draws lie this far from those of crews: draws of their own for each crew, that hang together
/// neither with its truth nor with another crew's.
pub const DRAW_SEEDS: u64 = 1 << 33;

/// Invents and fits a crew for each seed; the fit is handed a seed for its draws.
pub fn run<T>(
    seeds: Range<u64>,
    quantities: &[&'static str],
    invent: &(impl Fn(u64) -> Invented<T> + Sync),
    fit: &(impl Fn(u64, &T) -> Result<Fitted, String> + Sync),
) -> Study {
    let by_crew = on_all_cores(seeds, |seed| {
        let invented = invent(seed);
        let fitted = fit(DRAW_SEEDS + seed, &invented.data);
        let fitted = fitted.map_err(|failure| format!("crew {seed}: {failure}"))?;
        let placed = |quantity: &&'static str| {
            let mut known = invented.truth.iter();
            let truth = known.find(|(name, _)| name == quantity);
            Placed::of(truth.expect("a true value").1, &fitted.column(quantity))
        };
        let placed: Vec<Placed> = quantities.iter().map(placed).collect();
        Ok::<_, String>((placed, fitted.told))
    });
    let mut study = Study {
        outcomes: Vec::new(),
        told: Vec::new(),
        failures: Vec::new(),
    };
    let mut all = Vec::new();
    for crew in by_crew {
        match crew {
            Ok((placed, told)) => {
                all.push(placed);
                study.told.push(told);
            }
            Err(failure) => study.failures.push(failure),
        }
    }
    let outcome = |(i, quantity): (usize, &&'static str)| Outcome {
        quantity,
        ranks: Ranks::gather(all.iter().map(|placed| placed[i].among_all)),
        thinned: Ranks::gather(all.iter().map(|placed| placed[i].among_thinned)),
    };
    study.outcomes = quantities.iter().enumerate().map(outcome).collect();
    study
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
