//! What a log has taught, as the prior pack of the next machine.

use keenspan::decisions::ShopCosts;
use keenspan::lives::{Observation, Rotor, edge_lives};
use keenspan::logbook::read::read_logbook;
use keenspan::quantities::{Basis, WearFraction};
use keenspan::wear::{
    Among, Asked, EdgeRecords, LearnedPackError, Method, Prior, PriorPack, Priors, StrikePosterior,
    StrikeRecord, WearModel, WearModelParams, WearPosterior,
};
use keenspan::wood::{Blend, Contamination};
use linfa::traits::Fit;
use linfa::{DatasetBase, ParamGuard};
use std::path::Path;

/// The demo's first edges, and what goes with them.
pub struct Crew {
    pub pack: PriorPack,
    pub records: EdgeRecords,
    pub seen: Vec<Observation>,
    pub strikes: StrikePosterior,
}

/// At most `count` edges of the demo log.
pub fn crew(count: usize) -> Crew {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("datasets/demo-riverbank");
    let lives = edge_lives(&read_logbook(&folder).expect("the demo log").logbook);
    let pack = PriorPack::common_practice().expect("the pack");
    let (mut records, mut seen) = EdgeRecords::from_lives(&lives);
    records.edges.truncate(count);
    seen.truncate(count);
    let record = StrikeRecord::new(&lives.strikes, &lives.usual_mix.crew);
    let strikes = StrikePosterior::new(&pack, &record);
    Crew {
        pack,
        records,
        seen,
        strikes,
    }
}

impl Crew {
    pub fn model(&self, set: impl Fn(WearModelParams) -> WearModelParams) -> WearModel {
        let called_at = WearFraction::new(1.3).expect("a fraction");
        let model = set(WearModel::params(&self.pack, called_at));
        model.check().expect("a model")
    }

    pub fn fit(&self, set: impl Fn(WearModelParams) -> WearModelParams) -> WearPosterior {
        let dataset = DatasetBase::new(self.records.clone(), self.seen.clone());
        self.model(set).fit(&dataset).expect("a fit")
    }

    fn fitted(&self) -> WearPosterior {
        self.fit(|it| it.method(Method::Laplace).draws(4000))
    }

    fn learned(&self, posterior: &WearPosterior, discount: f64) -> String {
        let text = PriorPack::common_practice_text();
        PriorPack::from_posterior(text, posterior, &self.strikes, discount).expect("a pack")
    }

    fn priors(&self, text: &str) -> Priors {
        let pack = PriorPack::parse(text).expect("a pack that can be read");
        pack.priors_for(&self.records).expect("priors")
    }
}

fn normal(prior: &Prior) -> (f64, f64) {
    match prior {
        Prior::Normal(law) => (law.mean(), law.spread()),
        other => panic!("{other:?} is no normal law"),
    }
}

/// Five digits are written; a spread comes of the difference of two ends.
const ROUNDING: f64 = 2e-3;

#[test]
fn next_to_no_carrying_over_is_the_old_pack() {
    let crew = crew(usize::MAX);
    let text = crew.learned(&crew.fitted(), 1e-9);
    let (now, before) = (
        crew.priors(&text),
        crew.priors(PriorPack::common_practice_text()),
    );
    for (now, before) in now.shared.iter().zip(&before.shared) {
        let ((mean, spread), (mean_before, spread_before)) = (normal(now), normal(before));
        assert!((mean - mean_before).abs() < ROUNDING * spread_before);
        assert!((spread / spread_before - 1.0).abs() < ROUNDING);
    }
    for (now, before) in now.spreads.iter().zip(&before.spreads) {
        assert!((now.scale() / before.scale() - 1.0).abs() < ROUNDING);
    }
    // The numbers as they are written; the ranges of the old pack are even to 3 %.
    let pack = PriorPack::parse(&text).expect("a pack");
    let old = crew.pack.entries();
    for (name, now) in pack.entries() {
        let named = old.iter().find(|(known, _)| *known == name);
        let before = named.map_or_else(
            || {
                &old.iter()
                    .find(|(known, _)| known == "strikes.gamma_shape")
                    .expect("it")
                    .1
            },
            |(_, entry)| entry,
        );
        assert!(
            (now.likely - before.likely).abs() <= 1e-4 * before.likely,
            "{name}"
        );
        if name != "wear.hardness" {
            assert!((now.low / before.low - 1.0).abs() < 0.03, "{name}: {now:?}");
        }
        assert!(
            (now.high / before.high - 1.0).abs() < 0.03,
            "{name}: {now:?}"
        );
    }
}

#[test]
fn everything_carried_over_is_the_posterior() {
    let crew = crew(usize::MAX);
    let posterior = crew.fitted();
    let text = crew.learned(&posterior, 1.0);
    let now = crew.priors(&text);
    for (place, prior) in now.shared.iter().enumerate() {
        let wanted = posterior.sample().summary(|draw| draw.shared[place]);
        let (mean, spread) = normal(prior);
        assert!(
            (mean - wanted.mean).abs() < ROUNDING * wanted.spread,
            "{place}"
        );
        assert!((spread / wanted.spread - 1.0).abs() < ROUNDING, "{place}");
    }
    for (number, prior) in now.spreads.iter().enumerate() {
        let square: f64 = posterior
            .sample()
            .weighted_draws()
            .map(|(draw, weight)| weight * draw.spreads[number].powi(2))
            .sum();
        assert!((prior.scale() / square.sqrt() - 1.0).abs() < 1e-4);
    }
    let pack = PriorPack::parse(&text).expect("a pack");
    let strikes = StrikePosterior::new(&pack, &StrikeRecord::default());
    for class in Contamination::ALL {
        let wanted = crew.strikes.mean(class);
        assert!((strikes.mean(class) / wanted - 1.0).abs() < 1e-4);
    }
}

/// Prior precision plus the share of what was added to it: Ibrahim and Chen (2000), for normal laws.
#[test]
fn half_carried_over_lies_between_as_precisions_do() {
    let crew = crew(usize::MAX);
    let posterior = crew.fitted();
    let whole = crew.priors(&crew.learned(&posterior, 1.0));
    let none = crew.priors(PriorPack::common_practice_text());
    let half = crew.priors(&crew.learned(&posterior, 0.5));
    for ((half, whole), none) in half.shared.iter().zip(&whole.shared).zip(&none.shared) {
        let [half, whole, none] = [half, whole, none].map(normal);
        let precision = |law: (f64, f64)| law.1.powi(-2);
        let wanted = (precision(whole) + precision(none)) / 2.0;
        assert!((precision(half) / wanted - 1.0).abs() < 2.0 * ROUNDING);
        let mean = (precision(whole) * whole.0 + precision(none) * none.0) / (2.0 * wanted);
        assert!((half.0 - mean).abs() < 2.0 * ROUNDING * half.1);
    }
}

/// The spread between machines counts for a machine never seen, and counts once.
#[test]
fn a_new_machine_carries_the_spread_between_machines_once() {
    let crew = crew(usize::MAX);
    let posterior = crew.fitted();
    let pack = PriorPack::parse(&crew.learned(&posterior, 1.0)).expect("a pack");
    let called_at = WearFraction::new(1.3).expect("a fraction");
    let next = WearModel::params(&pack, called_at).method(Method::Laplace);
    let empty = EdgeRecords {
        edges: Vec::new(),
        ..crew.records.clone()
    };
    let next = next
        .check()
        .expect("a model")
        .fit(&DatasetBase::new(empty, Vec::new()));
    let next = next.expect("a fit");
    let asked = |machine: bool| Asked {
        blend: Blend::reference(),
        rotor: Rotor::Drum,
        reground: false,
        among: Vec::from_iter(machine.then(|| Among {
            grouping: "machine".to_string(),
            shares: Vec::new(),
        })),
    };
    let variance = |machine: bool| next.log_life_variances(&asked(machine)).before;
    let learned = |machine: bool| posterior.log_life_variances(&asked(machine)).after;
    assert!((variance(false) / learned(false) - 1.0).abs() < 0.01);
    assert!((variance(true) / learned(true) - 1.0).abs() < 0.01);
    assert!(learned(true) > 1.02 * learned(false));
}

#[test]
fn a_learned_pack_says_where_it_comes_from_and_keeps_the_rest() {
    let crew = crew(usize::MAX);
    let text = crew.learned(&crew.fitted(), 0.5);
    let before = PriorPack::common_practice_text();
    let tail = |text: &str| text[text.find("# What things cost").expect("costs")..].to_string();
    assert_eq!(tail(&text), tail(before));
    assert_eq!(
        ShopCosts::from_pack(&text).expect("costs"),
        ShopCosts::from_pack(before).expect("costs")
    );
    for comment in before.lines().filter(|line| line.starts_with('#')) {
        assert!(text.contains(comment), "{comment}");
    }
    let pack = PriorPack::parse(&text).expect("a pack");
    let source = format!(
        "learned from {} edges, discount 0.5",
        crew.records.edges.len()
    );
    let not_learned = [
        "eye.flat_exponent",
        "eye.flat_error",
        "strikes.gamma_shape",
        "wear.own_condition",
    ];
    for (name, entry) in pack.entries() {
        let own = !not_learned.contains(&name.as_str());
        assert_eq!(entry.basis == Basis::OwnLog, own, "{name}");
        assert_eq!(entry.source.starts_with(&source), own, "{name}");
    }
    assert!(text.contains("would count twice"));
    // And it can be learned from again.
    let again = WearModel::params(&pack, WearFraction::new(1.3).expect("a fraction"));
    let dataset = DatasetBase::new(crew.records.clone(), crew.seen.clone());
    let again = again
        .check()
        .expect("a model")
        .fit(&dataset)
        .expect("a fit");
    let record = StrikePosterior::new(&pack, &StrikeRecord::default());
    PriorPack::from_posterior(&text, &again, &record, 1.0).expect("a pack of a pack");
}

#[test]
fn a_discount_out_of_range_and_a_pack_of_another_fit_are_refused() {
    let crew = crew(5);
    let posterior = crew.fit(|it| it.method(Method::Laplace).draws(200));
    let text = PriorPack::common_practice_text();
    for found in [0.0, -0.5, 1.001, f64::NAN] {
        let refused = PriorPack::from_posterior(text, &posterior, &crew.strikes, found);
        assert!(matches!(refused, Err(LearnedPackError::Discount { .. })));
    }
    let other = text.replace("likely = 0.33,", "likely = 0.34,");
    let refused = PriorPack::from_posterior(&other, &posterior, &crew.strikes, 0.5);
    assert_eq!(refused, Err(LearnedPackError::OtherPriors));
}
