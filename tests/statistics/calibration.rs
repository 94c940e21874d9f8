//! Bounds hold as often as they say: truths drawn from the prior pack, crews invented from each, and the
//! share of 90 % bounds that hold the truth counted.

use keenspan::lives::Rotor;
use keenspan::quantities::{MeterHours, WearFraction, WearHours};
use keenspan::simulation::{CrewPlan, StrikeRates, Truth, crew};
use keenspan::wear::{EdgeRecords, NormalPrior, PriorPack, WearModel, seeded};
use linfa::DatasetBase;
use linfa::traits::Fit;
use rand::Rng;
use rand_distr::{Distribution, StandardNormal};

/// Half the width of 90 % bounds, in standard deviations.
const NINETY: f64 = 1.644_853_626_951_472_2;

/// Parameters in the order of the fit: log median life, disc, reground, seven wear coefficients, log sigma.
fn draw(priors: &[NormalPrior], random: &mut impl Rng) -> Vec<f64> {
    priors
        .iter()
        .map(|prior| {
            let score: f64 = StandardNormal.sample(random);
            prior.mean() + prior.spread() * score
        })
        .collect()
}

fn truth_of(theta: &[f64], base: &Truth) -> Truth {
    let mut truth = *base;
    truth.median_life = WearHours::new(theta[0].exp()).expect("hours");
    truth.disc_share = theta[1].exp();
    truth.reground_share = theta[2].exp();
    truth.effects.hardness_exponent = theta[3];
    truth.effects.dusty = theta[4].exp();
    truth.effects.dirty = theta[5].exp();
    truth.effects.gritty = theta[6].exp();
    truth.effects.dry = theta[7].exp();
    truth.effects.frozen = theta[8].exp();
    truth.effects.palm = theta[9].exp();
    truth.sigma = theta[10].exp();
    truth
}

/// Share of crews whose 90 % bounds hold the truth, for each parameter.
fn coverage(crews: u64, edges: usize, base: &Truth, machines: &[Rotor]) -> Vec<f64> {
    let pack = PriorPack::common_practice().expect("the pack");
    let priors = pack.priors().expect("priors");
    let model = WearModel::params(&pack, WearFraction::new(1.3).expect("a fraction"))
        .expect("a model")
        .eye_error(base.grader_error);
    let mut held = vec![0.0; priors.len()];
    for seed in 0..crews {
        let theta = draw(&priors, &mut seeded(seed));
        let plan = CrewPlan {
            edges,
            machines: machines.to_vec(),
            truth: truth_of(&theta, base),
            schedule: MeterHours::new(50.0).expect("hours"),
            ..CrewPlan::default()
        };
        let (records, seen) = EdgeRecords::from_edges(&crew(1000 + seed, &plan), &[]);
        let posterior = model.fit(&DatasetBase::new(records, seen)).expect("a fit");
        let laplace = posterior.laplace();
        for (i, truth) in theta.iter().enumerate() {
            let off = (truth - laplace.mode()[i]).abs() / laplace.spread(i);
            held[i] += f64::from(u8::from(off <= NINETY)) / crews as f64;
        }
    }
    held
}

const NO_STRIKES: StrikeRates = StrikeRates {
    clean: 0.0,
    dusty: 0.0,
    dirty: 0.0,
    gritty: 0.0,
};

/// Room for chance: four standard errors of a share of 0.9.
fn room(crews: u64) -> f64 {
    4.0 * (0.9 * 0.1 / crews as f64).sqrt()
}

#[test]
fn bounds_hold_nine_times_in_ten_where_the_crew_is_as_the_model_says() {
    // Every edge graded when pulled on schedule, nothing stopped early.
    let base = Truth {
        noticing: 0.0,
        called_at: f64::INFINITY,
        strikes: NO_STRIKES,
        ..Truth::stated()
    };
    for share in coverage(200, 24, &base, &[Rotor::Drum]) {
        assert!((share - 0.9).abs() < room(200), "{share}");
    }
}

#[test]
fn bounds_hold_where_edges_are_noticed_dull_called_late_and_struck() {
    let held = coverage(200, 24, &Truth::stated(), &[Rotor::Drum]);
    for share in held {
        assert!((share - 0.9).abs() < room(200), "{share}");
    }
}
