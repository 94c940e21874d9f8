//! Cycles of edges played out one by one, against the sums.

use crate::replacement::{costs, law};
use keenspan::decisions::AgeReplacement;
use keenspan::quantities::MeterHours;
use keenspan::wear::{Family, LifeDistribution, LifeLaw};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

const CYCLES: usize = 200_000;
const PLANNED: f64 = 90.0;
const FORCED_EXTRA: f64 = 150.0;
const STRIKE_EXTRA: f64 = 400.0;
const RUNNING: f64 = 6.0;
const CALL_AT: f64 = 1.3;
const STRIKES_PER_HOUR: f64 = 0.006;

/// One cycle: hours worked and money spent.
fn play(law: &LifeLaw, tau: f64, random: &mut ChaCha8Rng) -> (f64, f64) {
    let chance: f64 = random.random_range(1e-12..1.0);
    let wait: f64 = random.random_range(1e-300..1.0);
    let life = (law.log_median
        + law.sigma * (law.family.quantile(chance) - law.family.quantile(0.5)))
    .exp();
    let struck = -wait.ln() / STRIKES_PER_HOUR;
    let called = CALL_AT * life;
    let hours = tau.min(called).min(struck);
    let extra = if hours == struck {
        STRIKE_EXTRA
    } else if hours == called {
        FORCED_EXTRA
    } else {
        0.0
    };
    let running = RUNNING * hours * hours / (2.0 * life);
    (hours, PLANNED + extra + running)
}

/// The ratio of means with its Monte-Carlo standard error (delta method).
fn simulated_rate(law: &LifeLaw, tau: f64, seed: u64) -> (f64, f64) {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let played: Vec<(f64, f64)> = (0..CYCLES).map(|_| play(law, tau, &mut random)).collect();
    let n = CYCLES as f64;
    let hours = played.iter().map(|c| c.0).sum::<f64>() / n;
    let rate = played.iter().map(|c| c.1).sum::<f64>() / n / hours;
    let squares: f64 = played.iter().map(|c| (c.1 - rate * c.0).powi(2)).sum();
    (rate, (squares / n).sqrt() / hours / n.sqrt())
}

// Four Monte-Carlo standard errors: one false alarm in some 16,000 looks, and the seed is fixed.
#[test]
fn cost_per_hour_is_what_cycles_played_one_by_one_cost() {
    for (seed, family) in [Family::Weibull, Family::Lognormal, Family::Loglogistic]
        .into_iter()
        .enumerate()
    {
        for tau in [25.0, 60.0, 120.0] {
            let law = law(family, 0.35, 4.0);
            let costs = costs(PLANNED, FORCED_EXTRA, STRIKE_EXTRA, RUNNING, Some(CALL_AT));
            let summed = AgeReplacement::new(&law, STRIKES_PER_HOUR, &costs)
                .and_then(|sums| Ok(sums.cost_per_hour(MeterHours::new(tau)?)?))
                .unwrap()
                .get();
            let (played, error) = simulated_rate(&law, tau, 40 + seed as u64);
            assert!(
                (summed - played).abs() < 4.0 * error,
                "{family:?} at {tau} h: {summed} summed, {played} +- {error} played"
            );
        }
    }
}
