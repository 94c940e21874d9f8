//! Truths drawn from the prior pack, and crews invented from each.

use super::study::Invented;
use keenspan::simulation::{CrewPlan, GroupSpreads, Truth, crew};
use keenspan::wear::{EdgeRecords, NormalPrior, PriorPack, seeded};
use rand::Rng;
use rand_distr::{Distribution, StandardNormal};

/// A way of working in which some parameters are drawn anew for each crew; the others stay.
pub struct World {
    plan: CrewPlan,
    drawn: Vec<(&'static str, NormalPrior)>,
    /// Scales of the half-normal laws from which the spreads of groups are drawn.
    spreads: Option<[f64; 3]>,
}

/// Names of the spreads of groups.
const SPREADS: [&str; 3] = ["machine_spread", "set_spread", "grinder_spread"];

impl World {
    /// Draws what a fit learns that holds the eye and touch-ups and knows no groups: eleven parameters.
    pub fn new(plan: CrewPlan) -> Self {
        let held = ["touch_up", "log_eye"];
        let names = Truth::PARAMETERS.into_iter();
        let names = names.filter(|name| !held.contains(name));
        let priors = pack().priors().expect("priors");
        let drawn: Vec<_> = names.zip(priors).collect();
        assert_eq!(drawn.len(), Truth::PARAMETERS.len() - held.len());
        Self {
            plan,
            drawn,
            spreads: None,
        }
    }

    /// Draws the share of a touch-up, the grader's error and the spreads of groups as well.
    pub fn drawing_all(mut self) -> Self {
        let pack = pack();
        self.drawn.extend([
            ("touch_up", pack.touch_up_prior().expect("a prior")),
            ("log_eye", pack.eye_error_prior().expect("a prior")),
        ]);
        self.spreads = Some([
            pack.machine_spread(),
            pack.set_spread(),
            pack.grinder_spread(),
        ]);
        self
    }

    /// Names of what is drawn for each crew.
    pub fn learned(&self) -> Vec<&'static str> {
        let parameters = self.drawn.iter().map(|(name, _)| *name);
        let spreads = self.spreads.iter().flat_map(|_| SPREADS);
        parameters.chain(spreads).collect()
    }

    /// One crew and what is true of it.
    pub fn crew(&self, seed: u64) -> Invented {
        let truth = self.truth(&mut seeded(seed));
        let mut named: Vec<_> = Truth::PARAMETERS
            .into_iter()
            .zip(truth.parameters())
            .collect();
        let GroupSpreads {
            machine,
            set,
            grinder,
        } = truth.spreads;
        named.extend(SPREADS.into_iter().zip([machine, set, grinder]));
        let plan = CrewPlan {
            truth,
            ..self.plan.clone()
        };
        let own: Vec<String> = plan
            .own_conditions
            .iter()
            .map(|own| own.name.clone())
            .collect();
        let lives = crew(CREW_SEEDS + seed, &plan);
        let (records, seen) = EdgeRecords::from_edges(&lives, &own);
        Invented {
            truth: named,
            records,
            seen,
        }
    }

    /// What is true of one crew.
    pub fn truth(&self, random: &mut impl Rng) -> Truth {
        let mut parameters = self.plan.truth.parameters();
        for (name, prior) in &self.drawn {
            let place = Truth::PARAMETERS.iter().position(|known| known == name);
            let score: f64 = StandardNormal.sample(random);
            parameters[place.expect("a parameter")] = prior.mean() + prior.spread() * score;
        }
        let truth = self
            .plan
            .truth
            .with_parameters(&parameters)
            .expect("a truth");
        let Some(scales) = self.spreads else {
            return truth;
        };
        let [machine, set, grinder] = scales.map(|scale| {
            let score: f64 = StandardNormal.sample(random);
            scale * score.abs()
        });
        Truth {
            spreads: GroupSpreads {
                machine,
                set,
                grinder,
            },
            ..truth
        }
    }
}

fn pack() -> PriorPack {
    PriorPack::common_practice().expect("the pack")
}

/// The seed of a crew lies this far from that of its truth.
const CREW_SEEDS: u64 = 1 << 32;

/// Scores of normal priors have mean 0 and variance 1; a half-normal law of scale `s` has mean
/// `s sqrt(2 / pi)` and mean square `s^2`. Four standard errors each.
#[test]
fn truths_are_drawn_from_the_pack() {
    const TRUTHS: u64 = 2000;
    let world = World::new(CrewPlan::default()).drawing_all();
    let truths: Vec<Truth> = (0..TRUTHS)
        .map(|seed| world.truth(&mut seeded(seed)))
        .collect();
    let mean = |of: &dyn Fn(&Truth) -> f64| truths.iter().map(of).sum::<f64>() / TRUTHS as f64;
    let error = |variance: f64| 4.0 * (variance / TRUTHS as f64).sqrt();
    for (name, prior) in &world.drawn {
        let place = Truth::PARAMETERS
            .iter()
            .position(|known| known == name)
            .expect("a parameter");
        let score = |truth: &Truth| (truth.parameters()[place] - prior.mean()) / prior.spread();
        assert!(mean(&score).abs() < error(1.0), "{name}");
        let square = mean(&|truth| score(truth).powi(2));
        assert!((square - 1.0).abs() < error(2.0), "{name}: {square}");
    }
    let half_normal = (2.0 / std::f64::consts::PI).sqrt();
    let scales = world.spreads.expect("scales");
    for (i, scale) in scales.into_iter().enumerate() {
        let spread = |truth: &Truth| {
            let GroupSpreads {
                machine,
                set,
                grinder,
            } = truth.spreads;
            [machine, set, grinder][i] / scale
        };
        assert!((mean(&spread) - half_normal).abs() < error(1.0 - half_normal.powi(2)));
        assert!((mean(&|truth| spread(truth).powi(2)) - 1.0).abs() < error(2.0));
    }
    assert_eq!(world.learned().len(), 16);
}
