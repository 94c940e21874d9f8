//! Scores of lives are standard normal where nothing changed, false signs are as rare as stated, and faults are
//! found and blamed on what they befell.
//!
//! With `CALIBRATION=long` tables of larger studies are printed.

use super::plan;
use super::study::on_all_cores;
use super::worlds::World;
use keenspan::decisions::{
    DriftAnswer, Factor, FinishedEdge, Scheme, ScoreSpan, Shift, Side, drift,
};
use keenspan::lives::EdgeLife;
use keenspan::quantities::{Level, WearFraction};
use keenspan::simulation::{CrewPlan, Fault, Truth, crew};
use keenspan::wear::{EdgeRecords, Method, PriorPack, WearModel, seeded};
use linfa::traits::Fit;
use linfa::{DatasetBase, ParamGuard};

const EDGES: usize = 48;
const DRAWS: usize = 400;

/// The finished edges of one crew, in order of time.
fn finished(seed: u64, lives: &[EdgeLife]) -> Vec<FinishedEdge> {
    let pack = PriorPack::common_practice().expect("the pack");
    let called_at = WearFraction::new(1.3).expect("a fraction");
    let (records, seen) = EdgeRecords::from_edges(lives, &[]);
    let data = DatasetBase::new(records, seen);
    let model = WearModel::params(&pack, called_at)
        .method(Method::Laplace)
        .draws(DRAWS)
        .seed(seed);
    let model = model.check().expect("settings");
    let posterior = model.fit(&data).expect("a fit");
    let scores = model.life_scores(&data, &posterior, seed).expect("scores");
    scores
        .iter()
        .map(|score| FinishedEdge::of(&lives[score.edge], score))
        .collect()
}

/// The edges of many crews.
struct Crews(Vec<Vec<FinishedEdge>>);

/// What becomes of a fault.
struct Found {
    /// Share of crews in which it was noticed at all.
    found: f64,
    /// Edges after its first until then, on average.
    after: f64,
    /// Of those found: bounds of the ratio hold it; bounds of the start hold it; what it befell is the likeliest.
    ratio_held: f64,
    start_held: f64,
    blamed: f64,
}

fn share<T>(all: &[T], of: impl Fn(&T) -> bool) -> f64 {
    all.iter().filter(|one| of(one)).count() as f64 / all.len() as f64
}

impl Crews {
    fn of(crews: u64, edges: usize, fault: Option<&Fault>) -> Self {
        let like = CrewPlan {
            own_conditions: Vec::new(),
            faults: fault.into_iter().cloned().collect(),
            ..plan(edges, Truth::stated())
        };
        let world = World::new(like.clone());
        let invent = |seed: u64| {
            let plan = CrewPlan {
                truth: world.truth(&mut seeded(seed)),
                ..like.clone()
            };
            finished((1 << 33) + seed, &crew((1 << 35) + seed, &plan))
        };
        Self(on_all_cores(0..crews, invent))
    }

    fn answers(&self, decision: f64) -> Vec<DriftAnswer> {
        let scheme = Scheme::new(0.5, decision).expect("a scheme");
        let answer = |edges: &Vec<FinishedEdge>| {
            drift(edges, &[], scheme, Level::NINETY).expect("an answer")
        };
        self.0.iter().map(answer).collect()
    }

    /// Mean and mean square of the scores, and how much they tell: the mean square of mean scores is that where
    /// scores are standard normal.
    fn moments(&self) -> [f64; 3] {
        let spans: Vec<ScoreSpan> = self.0.iter().flatten().map(|edge| edge.ahead).collect();
        let mean =
            |of: &dyn Fn(&ScoreSpan) -> f64| spans.iter().map(of).sum::<f64>() / spans.len() as f64;
        [
            mean(&|span| span.mean()),
            mean(&|span| span.mean().powi(2)),
            mean(&|span| span.told()),
        ]
    }

    fn found(&self, decision: f64, fault: &Fault, factor: Option<Factor>) -> Found {
        let answers = self.answers(decision);
        let of_fault = |shift: &&Shift| shift.side == Side::Shorter && shift.noticed >= fault.from;
        let found: Vec<&Shift> = answers
            .iter()
            .filter_map(|answer| answer.shifts.iter().find(of_fault))
            .collect();
        let after = found
            .iter()
            .map(|shift| (shift.noticed - fault.from) as f64);
        let held = |shift: &&Shift| {
            let carrier = shift
                .carriers
                .iter()
                .find(|it| Some(&it.level) == fault.at.as_ref());
            let ratio = carrier.map_or(shift.ratio, |carrier| carrier.ratio);
            ratio.lower <= fault.times && fault.times <= ratio.upper
        };
        let blamed = |shift: &&Shift| match (factor, shift.carriers.first()) {
            (None, first) => first.is_none_or(|first| first.chance < shift.spread_evenly),
            (Some(factor), Some(first)) => {
                first.factor == factor
                    && Some(&first.level) == fault.at.as_ref()
                    && first.chance > shift.spread_evenly
            }
            (Some(_), None) => false,
        };
        Found {
            found: found.len() as f64 / answers.len() as f64,
            after: after.sum::<f64>() / found.len() as f64,
            ratio_held: share(&found, held),
            start_held: share(&found, |shift| {
                shift.first.lower <= fault.from && fault.from <= shift.first.upper
            }),
            blamed: share(&found, blamed),
        }
    }
}

fn fault(from: usize, at: Option<&str>, times: f64) -> Fault {
    Fault {
        from,
        at: at.map(String::from),
        times,
    }
}

/// Three sums an edge, 465 edges between false signs of each: in 30 edges at most one crew in six has one. Of 16
/// crews more than seven come with a chance of 0.3 % (binomial).
#[test]
fn where_nothing_changed_scores_are_standard_normal_and_false_signs_as_rare_as_stated() {
    let crews = Crews::of(16, 30, None);
    let [mean, square, told] = crews.moments();
    let answers = crews.answers(5.0);
    let signs = share(&answers, |answer| !answer.shifts.is_empty());
    println!("mean {mean:.3}, mean square {square:.3} where {told:.3} is told; signs {signs:.3}");
    // Standard error 0.05, and a little more for what edges of one crew share.
    assert!(mean.abs() < 0.25, "{mean}");
    assert!((square / told - 1.0).abs() < 0.3, "{square} {told}");
    assert!(signs < 0.45, "{signs}");
}

#[test]
fn a_grinder_whose_edges_last_two_fifths_as_long_is_found_and_blamed_in_most_crews() {
    let fault = fault(16, Some("the mill"), 0.4);
    let crews = Crews::of(16, 40, Some(&fault));
    let found = crews.found(5.0, &fault, Some(Factor::Grinder));
    println!(
        "found {:.2} after {:.1} edges, ratio held {:.2}, start held {:.2}, blamed {:.2}",
        found.found, found.after, found.ratio_held, found.start_held, found.blamed
    );
    assert!(found.found > 0.6 && found.blamed > 0.6 && found.start_held > 0.6);
    assert!(found.after < 20.0, "{}", found.after);
}

#[test]
fn tables() {
    if !std::env::var("CALIBRATION").is_ok_and(|mode| mode == "long") {
        return;
    }
    let sound = Crews::of(100, EDGES, None);
    let [mean, square, told] = sound.moments();
    println!("nothing changed: mean {mean:.3}, mean square {square:.3} where {told:.3} is told");
    for decision in [4.0, 5.0] {
        let signs = share(&sound.answers(decision), |answer| !answer.shifts.is_empty());
        println!("  h {decision}: a sign in {signs:.3} of crews of {EDGES} edges");
    }
    for (factor, fault) in [
        (Some(Factor::Grinder), fault(20, Some("the mill"), 0.5)),
        (Some(Factor::Grinder), fault(32, Some("the mill"), 0.5)),
        (Some(Factor::Machine), fault(24, Some("machine 1"), 0.5)),
        (None, fault(24, None, 0.6)),
    ] {
        let crews = Crews::of(40, EDGES, Some(&fault));
        println!("{fault:?}");
        for decision in [4.0, 5.0] {
            let Found {
                found,
                after,
                ratio_held,
                start_held,
                blamed,
            } = crews.found(decision, &fault, factor);
            println!(
                "  h {decision}: found {found:.2}, after {after:.1} edges; ratio held {ratio_held:.2}, start held {start_held:.2}, blamed {blamed:.2}"
            );
        }
    }
}
