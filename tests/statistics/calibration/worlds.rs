//! Truths drawn from the prior pack, and crews invented from each.

use super::decision::log_interval;
use super::study::Invented;
use keenspan::lives::{EdgeLife, Ending, Observation, Rotor};
use keenspan::simulation::{
    CrewPlan, GroupEffects, GroupSpreads, InventedCrew, Truth, invented_crew,
};
use keenspan::wear::{
    Among, Asked, DrawUnderConditions, EdgeRecords, LifeLaw, NormalPrior, PriorPack,
    StrikePosterior, StrikeRecord, seeded, seeded_stream, strikes_per_hour,
};
use keenspan::wood::{Blend, Contamination, Covariates, WoodMix, WoodState};
use rand::Rng;
use rand_distr::{Distribution, Poisson, StandardNormal};

/// A way of working in which everything that a fit learns is drawn anew for each crew.
pub struct World {
    plan: CrewPlan,
    drawn: Vec<(&'static str, NormalPrior)>,
    own_condition: NormalPrior,
    /// Scales of the half-normal laws from which the spreads of groups are drawn.
    spreads: [f64; 3],
}

/// What a fit is handed of one crew.
pub struct CrewLog {
    pub records: EdgeRecords,
    pub seen: Vec<Observation>,
    /// Strike rates, with what was counted.
    pub strikes: StrikePosterior,
    pub questions: Vec<Question>,
}

/// Something that an owner asks.
pub struct Question {
    /// Name of the log of median life in meter hours.
    pub life: &'static str,
    /// Name of the log of the interval that costs least, where it is asked for.
    pub interval: Option<&'static str>,
    pub asked: Asked,
}

/// Names of the spreads of groups.
const SPREADS: [&str; 3] = ["machine_spread", "set_spread", "grinder_spread"];
/// The crew's own condition, where the plan has one.
pub const OWN: &str = "vines";
/// What crews ask: life, interval.
const ASKED: [(&str, Option<&str>); 6] = [
    (
        "life, drum, reground, clean",
        Some("interval, drum, reground, clean"),
    ),
    (
        "life, drum, reground, dirty",
        Some("interval, drum, reground, dirty"),
    ),
    (
        "life, drum, reground, usual wood",
        Some("interval, drum, reground, usual wood"),
    ),
    ("life, drum, new, clean", None),
    ("life, disc, reground, clean", None),
    (
        "life, disc, reground, usual wood",
        Some("interval, disc, reground, usual wood"),
    ),
];
/// The seed of a crew lies this far from that of its truth.
const CREW_SEEDS: u64 = 1 << 32;
/// Strikes and their rates have a stream of their own.
const STRIKES: u64 = 1;

/// Everything that is true of one crew.
struct Whole {
    truth: Truth,
    /// Coefficients of the wear rate, the crew's own behind the others.
    rates: Vec<f64>,
    strikes: [f64; 4],
    effects: GroupEffects,
}

impl World {
    pub fn new(plan: CrewPlan) -> Self {
        let pack = pack();
        // The pack's priors are those of the parameters without touch-ups and the eye, in their order.
        let apart = ["touch_up", "log_eye"];
        let names = Truth::PARAMETERS.into_iter();
        let names = names.filter(|name| !apart.contains(name));
        let mut drawn: Vec<_> = names.zip(pack.priors().expect("priors")).collect();
        drawn.extend([
            ("touch_up", pack.touch_up_prior().expect("a prior")),
            ("log_eye", pack.eye_error_prior().expect("a prior")),
        ]);
        assert_eq!(drawn.len(), Truth::PARAMETERS.len());
        Self {
            plan,
            drawn,
            own_condition: pack.own_condition().expect("a prior"),
            spreads: [
                pack.machine_spread(),
                pack.set_spread(),
                pack.grinder_spread(),
            ],
        }
    }

    /// Names of what is drawn for each crew.
    pub fn learned(&self) -> Vec<&'static str> {
        let own = self.plan.own_conditions.iter().map(|_| OWN);
        let parameters = self.drawn.iter().map(|(name, _)| *name);
        parameters.chain(own).chain(SPREADS).collect()
    }

    /// Names of what an owner asks.
    pub fn asked() -> Vec<&'static str> {
        let each = ASKED.into_iter();
        each.flat_map(|(life, interval)| [Some(life), interval])
            .flatten()
            .collect()
    }

    /// One crew and what is true of it.
    pub fn crew(&self, seed: u64) -> Invented<CrewLog> {
        let mut random = seeded(seed);
        let truth = self.truth(&mut random);
        let mut plan = CrewPlan {
            truth,
            ..self.plan.clone()
        };
        for own in &mut plan.own_conditions {
            own.coefficient = drawn_from(&self.own_condition, &mut random);
        }
        let own: Vec<String> = plan
            .own_conditions
            .iter()
            .map(|own| own.name.clone())
            .collect();
        let own_rates = plan.own_conditions.iter().map(|own| own.coefficient);
        let rates: Vec<f64> = truth.coefficients().into_iter().chain(own_rates).collect();
        let InventedCrew { lives, effects, .. } = invented_crew(CREW_SEEDS + seed, &plan);
        let (strikes, record) = strikes(&truth, &lives, &mut seeded_stream(seed, STRIKES));
        let whole = Whole {
            truth,
            rates,
            strikes,
            effects,
        };
        let questions = questions(&lives);
        let (records, seen) = EdgeRecords::from_edges(&lives, &own);
        Invented {
            truth: whole.named(&questions),
            data: CrewLog {
                records,
                seen,
                strikes: StrikePosterior::new(&pack(), &record),
                questions,
            },
        }
    }

    /// What is true of one crew.
    pub fn truth(&self, random: &mut impl Rng) -> Truth {
        let mut parameters = self.plan.truth.parameters();
        for (name, prior) in &self.drawn {
            let place = Truth::PARAMETERS.iter().position(|known| known == name);
            parameters[place.expect("a parameter")] = drawn_from(prior, random);
        }
        let [machine, set, grinder] = self.spreads.map(|scale| {
            let score: f64 = StandardNormal.sample(random);
            scale * score.abs()
        });
        let truth = self
            .plan
            .truth
            .with_parameters(&parameters)
            .expect("a truth");
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

fn drawn_from(prior: &NormalPrior, random: &mut impl Rng) -> f64 {
    let score: f64 = StandardNormal.sample(random);
    prior.mean() + prior.spread() * score
}

impl Whole {
    /// All true values by name.
    fn named(&self, questions: &[Question]) -> Vec<(&'static str, f64)> {
        let parameters = self.truth.parameters();
        let mut named: Vec<_> = Truth::PARAMETERS.into_iter().zip(parameters).collect();
        let own = self.rates[Covariates::COUNT..].iter();
        named.extend(own.map(|coefficient| (OWN, *coefficient)));
        let GroupSpreads {
            machine,
            set,
            grinder,
        } = self.truth.spreads;
        named.extend(SPREADS.into_iter().zip([machine, set, grinder]));
        for question in questions {
            let under = self.under(&question.asked);
            named.push((question.life, under.law.log_median));
            let interval = question.interval.map(|name| (name, log_interval(&under)));
            named.extend(interval);
        }
        named
    }

    /// The true law under asked conditions.
    fn under(&self, asked: &Asked) -> DrawUnderConditions {
        let rate = |part: &keenspan::wood::BlendPart| {
            let terms = part.covariates.row().iter().zip(&self.rates);
            part.share * terms.map(|(x, beta)| x * beta).sum::<f64>().exp()
        };
        let rate: f64 = asked.blend.parts().iter().map(rate).sum();
        let groups: f64 = asked.among.iter().map(|among| self.shift(among)).sum();
        let typical = self
            .truth
            .median_of(asked.rotor, u32::from(asked.reground))
            .get();
        DrawUnderConditions {
            law: LifeLaw {
                family: self.truth.family,
                log_median: typical.ln() + groups - rate.ln(),
                sigma: self.truth.sigma,
            },
            strikes_per_hour: strikes_per_hour(&self.strikes, &asked.blend),
        }
    }

    /// What the levels asked about add to log life, by their shares.
    fn shift(&self, among: &Among) -> f64 {
        let effects = match among.grouping.as_str() {
            "machine" => &self.effects.machines,
            "set" => &self.effects.sets,
            _ => &self.effects.grinders,
        };
        let shares = among.shares.iter();
        shares.map(|(level, share)| share * effects[level]).sum()
    }
}

fn pack() -> PriorPack {
    PriorPack::common_practice().expect("the pack")
}

/// True strike rates and what was counted. Where the plan lets strikes end no edge, rates are drawn from
/// the pack, and strikes counted that end none; else those are counted that ended edges.
fn strikes(truth: &Truth, lives: &[EdgeLife], random: &mut impl Rng) -> ([f64; 4], StrikeRecord) {
    let mut record = StrikeRecord::default();
    for segment in lives.iter().flat_map(|life| &life.exposure.segments) {
        let hours = segment.stop.get() - segment.start.get();
        let shares = segment.blend.contamination_shares();
        (0..4).for_each(|i| record.hours[i] += hours * shares[i]);
    }
    let stated = Contamination::ALL.map(|class| truth.strike_rate(class));
    if stated.iter().any(|rate| *rate > 0.0) {
        for life in lives.iter().filter(|life| life.ending == Ending::Struck) {
            let last = life.exposure.segments.last().expect("a run");
            let shares = last.blend.contamination_shares();
            (0..4).for_each(|i| record.strikes[i] += shares[i]);
        }
        return (stated, record);
    }
    let rates = StrikePosterior::new(&pack(), &StrikeRecord::default()).draw(random);
    for i in 0..4 {
        let expected = rates[i] * record.hours[i];
        record.strikes[i] = Poisson::new(expected).map_or(0.0, |law| law.sample(random));
    }
    (rates, record)
}

/// The wood that one machine usually chips, as its log has it.
fn usual_wood(lives: &[EdgeLife], machine: &str) -> Blend {
    let own = lives.iter().filter(|life| life.machine == machine);
    let segments = own.flat_map(|life| &life.exposure.segments);
    let weighted = segments.map(|it| (it.stop.get() - it.start.get(), it.blend.as_ref()));
    Blend::average(weighted).expect("hours")
}

/// The questions of [`ASKED`], in their order: of the first machine where they say drum, of the second
/// where they say disc.
fn questions(lives: &[EdgeLife]) -> Vec<Question> {
    let hardwood = WoodMix::parse("hardwood").expect("a wood");
    let plain = |dirt| Blend::of(&hardwood, dirt, WoodState::Green);
    let question = |(life, interval): (&'static str, Option<&'static str>)| {
        let rotor = if life.contains("drum") {
            Rotor::Drum
        } else {
            Rotor::Disc
        };
        let mut with_rotor = lives.iter().filter(|edge| edge.features.rotor == rotor);
        let machine = with_rotor.next().expect("a machine").machine.as_str();
        let blend = if life.contains("usual") {
            usual_wood(lives, machine)
        } else if life.contains("dirty") {
            plain(Contamination::Dirty)
        } else {
            plain(Contamination::Clean)
        };
        let reground = life.contains("reground");
        Question {
            life,
            interval,
            asked: Asked {
                blend,
                rotor,
                reground,
                among: known(Among::of_machine(lives, machine, reground), lives),
            },
        }
    };
    ASKED.into_iter().map(question).collect()
}

/// Without groupings of which no edge told a level yet: of a new one nothing is true that could be ranked.
fn known(among: Vec<Among>, lives: &[EdgeLife]) -> Vec<Among> {
    let reground = lives.iter().any(|life| life.features.regrinds > 0);
    let mut among = among;
    among.retain(|among| among.grouping != "grinder" || (reground && !among.shares.is_empty()));
    among
}

/// Scores of normal priors have mean 0 and variance 1; a half-normal law of scale `s` has mean
/// `s sqrt(2 / pi)` and mean square `s^2`. Four standard errors each.
#[test]
fn truths_are_drawn_from_the_pack() {
    const TRUTHS: u64 = 2000;
    let world = World::new(CrewPlan::default());
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
    for (i, scale) in world.spreads.into_iter().enumerate() {
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
