//! Scores are standard normal where crews obey the model, and verdicts seldom cry wolf.

use super::study::{Invented, on_all_cores};
use super::worlds::World;
use super::{as_the_model_says, crews_of_24};
use keenspan::quantities::{WearFraction, WearHours};
use keenspan::simulation::{CrewPlan, Truth, crew};
use keenspan::wear::{Adequacy, EdgeRecords, Family, PriorPack, Verdict, WearModel, test_scores};
use linfa::traits::Fit;
use linfa::{DatasetBase, ParamGuard};
use std::collections::BTreeMap;

const CREWS: u64 = 20;
const DRAWS: usize = 1000;

fn examined(seed: u64, invented: Invented) -> Adequacy {
    let pack = PriorPack::common_practice().expect("the pack");
    let called_at = WearFraction::new(1.3).expect("a fraction");
    let data = DatasetBase::new(invented.records, invented.seen);
    let model = WearModel::params(&pack, called_at).draws(DRAWS).seed(seed);
    let model = model.check().expect("settings");
    let t = std::time::Instant::now();
    let posterior = model.fit(&data).expect("a fit");
    let t1 = t.elapsed();
    let r = model.adequacy(&data, &posterior, seed).expect("examined");
    if seed % 10 == 0 {
        println!(
            "fit {t1:?} {} adequacy {:?}",
            posterior.health().method,
            t.elapsed() - t1
        );
    }
    r
}

/// What came of many crews.
struct Study {
    all: Vec<Adequacy>,
}

impl Study {
    fn of(crews: u64, invent: impl Fn(u64) -> Invented + Sync) -> Self {
        let all = on_all_cores(0..crews, |seed| examined((1 << 33) + seed, invent(seed)));
        Self { all }
    }

    fn scores(&self, from: usize) -> Vec<f64> {
        let edges = self.all.iter().flat_map(|one| &one.edges[from..]);
        edges.map(|edge| edge.score).collect()
    }

    fn alarms(&self) -> BTreeMap<String, usize> {
        let mut counts = BTreeMap::new();
        for one in &self.all {
            let word = format!("{:?}", one.verdict);
            let word = word
                .split([' ', '{'])
                .next()
                .unwrap_or_default()
                .to_string();
            *counts.entry(word).or_insert(0) += 1;
        }
        counts
    }

    fn share(&self, of: impl Fn(&Adequacy) -> bool) -> f64 {
        self.all.iter().filter(|one| of(one)).count() as f64 / self.all.len() as f64
    }

    fn print(&self, title: &str) {
        let scores = self.scores(0);
        let n = scores.len() as f64;
        let mean = scores.iter().sum::<f64>() / n;
        let square = scores.iter().map(|s| s * s).sum::<f64>() / n;
        let p = test_scores(&scores).expect("scores").p_value;
        println!(
            "{title}: mean {mean:.3}, square {square:.3}, p {p:.4}, {:?}",
            self.alarms()
        );
        let high = |one: &Adequacy| one.left_out.edges.iter().filter(|e| e.k_hat > 0.7).count();
        let heavy: usize = self.all.iter().map(high).sum();
        let doubtful: usize = self.all.iter().map(|one| one.doubtful_edges.len()).sum();
        println!("  k-hat above 0.7: {heavy} edges of {n}, still doubtful {doubtful}");
        for (name, tail) in [
            (
                "p",
                Box::new(|one: &Adequacy| one.scores_test.map_or(1.0, |t| t.p_value))
                    as Box<dyn Fn(&Adequacy) -> f64>,
            ),
            (
                "spread",
                Box::new(|one: &Adequacy| one.scores_test.map_or(1.0, |t| t.spread_p_value)),
            ),
            (
                "edge",
                Box::new(|one: &Adequacy| {
                    one.edges.iter().map(|e| e.tail()).fold(1.0, f64::min) * one.edges.len() as f64
                }),
            ),
            (
                "noticed",
                Box::new(|one: &Adequacy| one.counts.noticed.map_or(1.0, |c| c.tail)),
            ),
            (
                "short",
                Box::new(|one: &Adequacy| one.counts.short_lived.map_or(1.0, |c| c.tail)),
            ),
            (
                "dull",
                Box::new(|one: &Adequacy| one.counts.grades.get(2).map_or(1.0, |c| c.count.tail)),
            ),
        ] {
            let below = [0.01, 0.02, 0.05, 0.1].map(|cut| self.share(|one| tail(one) < cut));
            println!("  {name} tail below 1, 2, 5, 10 %: {below:?}");
        }
    }
}

#[test]
fn scores_of_crews_that_obey_the_model_are_standard_normal() {
    let world = crews_of_24(as_the_model_says());
    let study = Study::of(CREWS, |seed| world.crew(seed));
    study.print("as the model says");
    let p = test_scores(&study.scores(0)).expect("scores").p_value;
    assert!(p > 0.001, "{p}");
    // One in ten at most, and four standard errors of that.
    let alarms =
        study.share(|one| !matches!(one.verdict, Verdict::Fits | Verdict::TooFewEdges { .. }));
    assert!(alarms < 0.1, "{alarms}");
}
