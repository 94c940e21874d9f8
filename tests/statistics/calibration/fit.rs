//! What a fit hands in. To calibrate another posterior, write another function like [`posterior`].

use super::decision::log_interval;
use super::worlds::CrewLog;
use keenspan::quantities::WearFraction;
use keenspan::wear::{
    ChainLengths, Doubt, Family, Health, Method, PriorPack, Sample, SampleSettings, WearModel,
    WearPosterior, seeded,
};
use linfa::traits::Fit;
use linfa::{DatasetBase, ParamGuard};
use rand::seq::SliceRandom;

/// Draws from a posterior: one row a draw, one column a name.
pub struct Fitted {
    pub names: Vec<String>,
    pub draws: Vec<Vec<f64>>,
    pub told: Told,
}

/// How draws were made.
#[derive(Debug, Clone, Copy, Default)]
pub struct Told {
    /// Shape of the tail of the weights.
    pub k_hat: Option<f64>,
    /// Weighted draws could not be trusted, so that chains were run instead.
    pub switched: bool,
    /// The search for the most probable values did not settle.
    pub unsettled: bool,
    /// How many independent draws they are worth.
    pub effective: f64,
    pub r_hat: Option<f64>,
    pub divergences: usize,
    /// The program itself warns that answers must not rest on them.
    pub untrustworthy: bool,
}

impl Fitted {
    /// The draws of one name.
    pub fn column(&self, name: &str) -> Vec<f64> {
        let mut names = self.names.iter();
        let place = names.position(|known| known == name);
        let place = place.unwrap_or_else(|| panic!("no draws of {name}"));
        self.draws.iter().map(|draw| draw[place]).collect()
    }

    /// Weighted draws come in order of typical life. To be ranked among by some of them they must stand in no order. Chains are thinned as they are.
    pub fn shuffled_unless_chains(mut self, sample: &Sample, seed: u64) -> Self {
        if sample.health().method != "nuts" {
            self.draws.shuffle(&mut seeded(seed));
        }
        self
    }
}

impl From<&Health> for Told {
    fn from(health: &Health) -> Self {
        Self {
            k_hat: health.k_hat,
            switched: health.switched.is_some(),
            unsettled: health.switched == Some(Doubt::NotSettled),
            effective: health.effective,
            r_hat: health.r_hat,
            divergences: health.divergences.unwrap_or(0),
            untrustworthy: !health.is_trustworthy(),
        }
    }
}

/// Draws that a fit hands in: 99 ranks are thinned from them, and bounds to a thousandth are told.
pub const DRAWS: usize = 1000;
/// Wear fraction at which the fit takes crews to call an edge: that of the stated truth.
const CALLED_AT: f64 = 1.3;
/// Seeds of shuffles lie this far from those of draws.
const SHUFFLES: u64 = 1 << 34;

/// How a posterior is drawn.
#[derive(Clone, Copy)]
pub struct Way {
    pub method: Method,
    pub family: Family,
    /// Weighted draws that are made; [`DRAWS`] of equal weight are handed in.
    pub draws: usize,
    pub chains: ChainLengths,
}

impl Way {
    /// As the program does by itself.
    pub fn of(method: Method, family: Family) -> Self {
        Self {
            method,
            family,
            draws: SampleSettings::default().draws,
            chains: ChainLengths::default(),
        }
    }
}

/// Draws from the posterior of a crew's log, with what they say of the questions asked.
pub fn posterior(way: Way) -> impl Fn(u64, &CrewLog) -> Result<Fitted, String> + Sync {
    let pack = PriorPack::common_practice().expect("the pack");
    let called_at = WearFraction::new(CALLED_AT).expect("a fraction");
    move |seed, log| {
        let data = DatasetBase::new(log.records.clone(), log.seen.clone());
        let model = WearModel::params(&pack, called_at)
            .family(way.family)
            .method(way.method)
            .draws(way.draws)
            .chains(way.chains)
            .seed(seed);
        let model = model.check().expect("settings");
        let posterior = model.fit(&data).map_err(|error| error.to_string())?;
        drawn(posterior.sample())?;
        Ok(handed_in(&posterior, log, seed))
    }
}

/// Weighted draws none of which can be used are a failure of the fit.
pub fn drawn(sample: &Sample) -> Result<(), String> {
    if sample.even(1).is_empty() {
        return Err(format!(
            "{} draws, none to be used: {:?}",
            sample.len(),
            sample.health()
        ));
    }
    Ok(())
}

fn handed_in(posterior: &WearPosterior, log: &CrewLog, seed: u64) -> Fitted {
    let names = posterior.density().names().into_iter().map(str::to_owned);
    let groupings = posterior.groupings().iter();
    let mut names: Vec<String> = names
        .chain(groupings.map(|grouping| format!("{}_spread", grouping.name)))
        .collect();
    let sample = posterior.sample();
    let even = sample.even(DRAWS).into_iter();
    let mut rows: Vec<Vec<f64>> = even
        .map(|draw| draw.shared.into_iter().chain(draw.spreads).collect())
        .collect();
    // The same draws in the same order.
    let draws = posterior.draws(&log.strikes, DRAWS, &mut seeded(seed));
    for question in &log.questions {
        names.push(question.life.to_owned());
        names.extend(question.interval.map(str::to_owned));
        for (row, under) in rows.iter_mut().zip(draws.under(&question.asked)) {
            row.push(under.law.log_median);
            row.extend(question.interval.map(|_| log_interval(&under)));
        }
    }
    let fitted = Fitted {
        names,
        draws: rows,
        told: posterior.health().into(),
    };
    fitted.shuffled_unless_chains(sample, SHUFFLES + seed)
}
