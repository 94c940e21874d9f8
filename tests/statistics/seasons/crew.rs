//! A crew that nobody has seen: its truth, its wood, its luck. Written apart from the simulation of the demo.

use crate::calibration::worlds::World;
use keenspan::simulation::{CrewPlan, Truth};
use keenspan::wear::{LifeDistribution, PriorPack, StrikePosterior, StrikeRecord, seeded_stream};
use keenspan::wood::{Blend, Contamination, WoodMix, WoodState};
use rand::{Rng, RngExt};
use rand_distr::{Distribution, Exp1, StandardNormal};
use std::sync::Arc;

/// How dirty a crew's wood is: shares of clean, dusty, dirty and gritty days.
#[derive(Debug, Clone, Copy)]
pub struct Dirt {
    pub name: &'static str,
    pub shares: [f64; 4],
}

pub const CREWS: [Dirt; 3] = [
    Dirt {
        name: "clean",
        shares: [0.8, 0.15, 0.05, 0.0],
    },
    Dirt {
        name: "mixed",
        shares: [0.4, 0.3, 0.2, 0.1],
    },
    Dirt {
        name: "dirty",
        shares: [0.1, 0.25, 0.4, 0.25],
    },
];

/// One day of chipping.
#[derive(Debug, Clone)]
pub struct Day {
    pub hours: f64,
    pub blend: Arc<Blend>,
    pub contamination: Contamination,
    /// True wear hours per meter hour.
    pub rate: f64,
    /// True strikes per meter hour.
    pub strikes: f64,
}

/// One edge of the season, the same under every policy.
#[derive(Debug, Clone, Copy)]
pub struct Luck {
    /// Wear hours to dull.
    pub life: f64,
    /// Wear hours at which its operator feels it go dull, if at all.
    pub felt: f64,
    /// Strikes met in the mean of exponentials: the hazard at which the first comes.
    pub strike: f64,
    /// Error of the eye that grades it when it comes out.
    pub eye: f64,
}

/// A season of one crew.
#[derive(Debug, Clone)]
pub struct Crew {
    pub days: Vec<Day>,
    pub edges: Vec<Luck>,
    pub eye_error: f64,
}

/// Meter hours in a day: between these.
const HOURS: (f64, f64) = (2.0, 6.0);
/// Edges that no season uses up.
const EDGES: usize = 2000;
const WOODS: [&str; 5] = ["oak", "ash", "spruce", "willow", "oak 50%, spruce 50%"];

impl Crew {
    /// Drawn from the prior pack, as a crew whose first log this is.
    pub fn new(seed: u64, dirt: Dirt, days: usize) -> Self {
        let world = World::new(CrewPlan {
            truth: Truth::stated(),
            ..CrewPlan::default()
        });
        let mut random = seeded_stream(seed, 77);
        let truth = world.truth(&mut random);
        let pack = PriorPack::common_practice().expect("the pack");
        let strikes = StrikePosterior::new(&pack, &StrikeRecord::default()).draw(&mut random);
        Self {
            days: (0..days)
                .map(|_| day(&truth, &strikes, dirt, &mut random))
                .collect(),
            edges: (0..EDGES)
                .map(|edge| luck(&truth, edge, &mut random))
                .collect(),
            eye_error: truth.grader_error,
        }
    }
}

fn day(truth: &Truth, strikes: &[f64; 4], dirt: Dirt, random: &mut impl Rng) -> Day {
    let mut left = random.random::<f64>();
    let class = dirt.shares.iter().position(|share| {
        left -= share;
        left < 0.0
    });
    let class = class.unwrap_or(0);
    let contamination = Contamination::ALL[class];
    let wood = WOODS[random.random_range(0..WOODS.len())];
    let wood = WoodMix::parse(wood).expect("a wood");
    let blend = Blend::of(&wood, contamination, WoodState::Green);
    Day {
        hours: random.random_range(HOURS.0..HOURS.1),
        rate: truth.rate(&blend),
        strikes: strikes[class],
        blend: Arc::new(blend),
        contamination,
    }
}

/// The first two edges are new steel; all later ones have been ground.
fn luck(truth: &Truth, edge: usize, random: &mut impl Rng) -> Luck {
    let regrinds = u32::from(edge >= 2);
    let score = truth.family.quantile(random.random::<f64>()) - truth.family.median();
    let typical = truth
        .median_of(keenspan::lives::Rotor::Drum, regrinds)
        .get();
    let life = typical * (truth.sigma * score).exp();
    let normal: [f64; 2] = std::array::from_fn(|_| StandardNormal.sample(&mut *random));
    let feels = random.random::<f64>() < truth.noticing;
    let strike: f64 = Exp1.sample(random);
    Luck {
        life,
        felt: if feels {
            life * (truth.grader_error * normal[0]).exp()
        } else {
            f64::INFINITY
        },
        strike,
        eye: normal[1],
    }
}
