//! Scores are standard normal where crews obey the model, verdicts seldom cry wolf, and a model that is wrong is
//! found out.
//!
//! With `CALIBRATION=long` tables of crews of 24 edges are printed.

use super::as_the_model_says;
use super::study::on_all_cores;
use super::worlds::World;
use keenspan::lives::{EdgeLife, Observation};
use keenspan::quantities::{WearFraction, WearHours};
use keenspan::simulation::{CrewPlan, Truth, crew};
use keenspan::wear::{
    Adequacy, EdgeRecords, Family, PriorPack, Verdict, WearModel, seeded, test_scores,
};
use linfa::traits::Fit;
use linfa::{DatasetBase, ParamGuard};
use std::collections::BTreeMap;

const CREWS: u64 = 200;
const EDGES: usize = 10;
const DRAWS: usize = 250;
/// Crews of 24 edges in the tables.
const LONG: u64 = 200;
/// How much shorter lives run in the second half of a crew that changed.
const SHORTER: f64 = 0.7;

/// What one crew's log says.
type Log = (EdgeRecords, Vec<Observation>);

fn examined(seed: u64, (records, seen): Log, draws: usize) -> Adequacy {
    let pack = PriorPack::common_practice().expect("the pack");
    let called_at = WearFraction::new(1.3).expect("a fraction");
    let data = DatasetBase::new(records, seen);
    let model = WearModel::params(&pack, called_at)
        .method(keenspan::wear::Method::Laplace)
        .draws(draws)
        .seed(seed);
    let model = model.check().expect("settings");
    let posterior = model.fit(&data).expect("a fit");
    model
        .adequacy(&data, &posterior, seed)
        .expect("an examination")
}

/// What came of many crews.
struct Study(Vec<Adequacy>);

impl Study {
    fn of(crews: u64, draws: usize, invent: impl Fn(u64) -> Log + Sync) -> Self {
        let examine = |seed| examined((1 << 33) + seed, invent(seed), draws);
        Self(on_all_cores(0..crews, examine))
    }

    /// The scores of the edges from this one on, of all crews.
    fn scores(&self, from: usize) -> Vec<f64> {
        let edges = self.0.iter().flat_map(|one| &one.edges[from..]);
        edges.map(|edge| edge.score).collect()
    }

    /// How often each verdict came, by its key.
    fn verdicts(&self) -> BTreeMap<String, usize> {
        let mut counts = BTreeMap::new();
        for one in &self.0 {
            let json = serde_json::to_value(&one.verdict).expect("json");
            let key = json["verdict"].as_str().expect("a key").to_string();
            *counts.entry(key).or_insert(0) += 1;
        }
        counts
    }

    /// The 5 % and 10 % quantiles of a number, and its median.
    fn quantiles(&self, of: impl Fn(&Adequacy) -> f64) -> [f64; 3] {
        let mut all: Vec<f64> = self.0.iter().map(of).collect();
        all.sort_by(f64::total_cmp);
        [0.05, 0.1, 0.5].map(|share| all[(share * all.len() as f64) as usize])
    }

    fn share(&self, of: impl Fn(&Adequacy) -> bool) -> f64 {
        self.0.iter().filter(|one| of(one)).count() as f64 / self.0.len() as f64
    }

    fn alarms(&self) -> f64 {
        self.share(|one| !matches!(one.verdict, Verdict::Fits | Verdict::TooFewEdges { .. }))
    }

    fn print(&self, title: &str) {
        let scores = self.scores(0);
        let mean = scores.iter().sum::<f64>() / scores.len() as f64;
        let square = scores.iter().map(|s| s * s).sum::<f64>() / scores.len() as f64;
        let p = test_scores(&scores).expect("scores").p_value;
        let (verdicts, doubtful) = (
            self.verdicts(),
            self.share(|one| !one.doubtful_edges.is_empty()),
        );
        println!("{title}: scores' mean {mean:.3}, mean square {square:.3}, p {p:.4}");
        println!("  {verdicts:?}; doubtful edges in {doubtful:.2} of crews");
        let test = |of: fn(&keenspan::wear::ScoresTest) -> f64| {
            self.quantiles(|one| one.scores_test.as_ref().map_or(1.0, of))
        };
        let oddest = |one: &Adequacy| {
            let tails = one.edges.iter().map(|edge| edge.tail());
            one.edges.len() as f64 * tails.fold(1.0, f64::min)
        };
        println!(
            "  quantiles at 5, 10, 50 %: p {:.3?}",
            test(|test| test.p_value)
        );
        println!("    spread {:.3?}", test(|test| test.spread));
        println!("    p of spread {:.3?}", test(|test| test.spread_p_value));
        println!(
            "    oddest edge's tail, times edges {:.3?}",
            self.quantiles(oddest)
        );
        let short = |one: &Adequacy| one.counts.short_lived.map_or(1.0, |count| count.tail);
        let grade = |one: &Adequacy| {
            let tails = one.counts.grades.iter().map(|grade| grade.count.tail);
            tails.fold(1.0, f64::min)
        };
        let noticed = |one: &Adequacy| one.counts.noticed.map_or(1.0, |count| count.tail);
        println!(
            "  tails below 5 %: short-lived {:.2}, any grade {:.2}, noticed {:.2}",
            self.share(|one| short(one) < 0.05),
            self.share(|one| grade(one) < 0.05),
            self.share(|one| noticed(one) < 0.05),
        );
    }
}

fn world(edges: usize, truth: Truth) -> World {
    World::new(CrewPlan {
        edges,
        truth,
        ..CrewPlan::default()
    })
}

/// A crew of which everything is drawn from the priors.
fn log(world: &World, edges: usize, seed: u64) -> Log {
    let truth = world.truth(&mut seeded(seed));
    let plan = CrewPlan {
        edges,
        truth,
        ..CrewPlan::default()
    };
    EdgeRecords::from_edges(&crew((1 << 34) + seed, &plan), &[])
}

/// A crew whose lives run shorter in its second half.
fn changed(world: &World, edges: usize, times: f64, seed: u64) -> Log {
    let truth = world.truth(&mut seeded(seed));
    let half = |number: u64, times: f64| {
        let median = truth.median_life.get() * times;
        let plan = CrewPlan {
            edges: edges / 2,
            truth: Truth {
                median_life: WearHours::new(median).expect("hours"),
                ..truth
            },
            ..CrewPlan::default()
        };
        crew((number << 34) + seed, &plan)
    };
    let lives: Vec<EdgeLife> = [half(1, 1.0), half(2, times)].concat();
    EdgeRecords::from_edges(&lives, &[])
}

#[test]
fn scores_of_crews_that_obey_the_model_are_standard_normal_and_alarms_are_rare() {
    let world = world(EDGES, as_the_model_says());
    let study = Study::of(CREWS, DRAWS, |seed| log(&world, EDGES, seed));
    study.print("as the model says");
    let p = test_scores(&study.scores(0)).expect("scores").p_value;
    assert!(p > 0.001, "{p}");
    assert!(study.alarms() <= 0.1, "{:?}", study.verdicts());
}

#[test]
fn lives_that_run_shorter_in_the_second_half_are_seen_in_its_scores() {
    let world = world(EDGES, as_the_model_says());
    let study = Study::of(CREWS / 2, DRAWS, |seed| {
        changed(&world, EDGES, SHORTER, seed)
    });
    study.print("shorter in the second half");
    let second = study.scores(EDGES / 2);
    let p = test_scores(&second).expect("scores").p_value;
    assert!(p < 1e-4, "{p}");
    assert!(second.iter().sum::<f64>() < 0.0);
}

#[test]
fn tables() {
    if std::env::var("CALIBRATION").is_ok_and(|mode| mode == "long") {
        let crews = |title: &str, truth: Truth| {
            let world = world(24, truth);
            Study::of(LONG, 400, |seed| log(&world, 24, seed)).print(title);
        };
        crews("24 edges, as the model says", as_the_model_says());
        crews("24 edges, noticed, called late, struck", Truth::stated());
        let lognormal = Truth {
            family: Family::Lognormal,
            ..as_the_model_says()
        };
        crews("24 edges, lognormal lives", lognormal);
        let world = world(24, as_the_model_says());
        for times in [SHORTER, 0.35] {
            let study = Study::of(LONG, 400, |seed| changed(&world, 24, times, seed));
            study.print(&format!(
                "24 edges, lives {times} as long in the second half"
            ));
        }
    }
}
