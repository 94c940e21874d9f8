//! Scores of lives are standard normal where nothing changed, false signs are as rare as stated, and faults are
//! found and blamed on what they befell.
//!
//! With `CALIBRATION=long` tables of larger studies are printed.

use super::plan;
use super::study::on_all_cores;
use super::worlds::World;
use keenspan::decisions::{
    DriftAnswer, DriftVerdict, Factor, FinishedEdge, Scheme, ScoreSpan, Side, drift,
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
    let edge = |score: &keenspan::wear::LifeScore| {
        let life = &lives[score.edge];
        let mut levels = vec![
            (Factor::Machine, life.machine.clone()),
            (Factor::Set, life.set.clone()),
        ];
        if life.features.regrinds > 0 {
            levels.push((Factor::Grinder, life.features.ground_by.clone()));
        }
        FinishedEdge {
            ahead: span(&score.ahead),
            together: span(&score.together),
            log_life_per_score: score.log_life_per_score,
            rough: score.ahead.rough || score.together.rough,
            levels,
        }
    };
    let scores = model.life_scores(&data, &posterior, seed).expect("scores");
    scores.iter().map(edge).collect()
}

fn span(bounds: &keenspan::wear::ScoreBounds) -> ScoreSpan {
    ScoreSpan {
        low: bounds.low,
        high: bounds.high,
    }
}

fn scheme(decision: f64) -> Scheme {
    Scheme::new(0.5, decision).expect("a scheme")
}

struct Study(Vec<Vec<FinishedEdge>>);

impl Study {
    fn of(crews: u64, truth: Truth, edges: usize, faults: &[Fault]) -> Self {
        let world = World::new(CrewPlan {
            own_conditions: Vec::new(),
            ..plan(edges, truth)
        });
        let invent = |seed: u64| {
            let plan = CrewPlan {
                own_conditions: Vec::new(),
                faults: faults.to_vec(),
                ..plan(edges, world.truth(&mut seeded(seed)))
            };
            finished((1 << 33) + seed, &crew((1 << 35) + seed, &plan))
        };
        Self(on_all_cores(0..crews, invent))
    }

    fn answers(&self, decision: f64) -> Vec<DriftAnswer> {
        let answer = |edges: &Vec<FinishedEdge>| {
            drift(edges, &[], scheme(decision), Level::NINETY).expect("an answer")
        };
        self.0.iter().map(answer).collect()
    }

    fn print(&self, title: &str) {
        let spans = || self.0.iter().flatten().map(|edge| edge.ahead);
        let count = spans().count() as f64;
        let told = spans().map(|span| span.told()).sum::<f64>() / count;
        let mean = spans().map(|span| span.mean()).sum::<f64>() / count;
        let square = spans().map(|span| span.mean().powi(2)).sum::<f64>() / count;
        let rough = self.0.iter().flatten().filter(|e| e.rough).count() as f64 / count;
        println!(
            "{title}: told {told:.3}, mean {mean:.3}, mean square {square:.3}, rough {rough:.4}"
        );
        for decision in [4.0, 5.0] {
            let answers = self.answers(decision);
            let share = |of: &dyn Fn(&DriftAnswer) -> bool| {
                answers.iter().filter(|a| of(a)).count() as f64 / answers.len() as f64
            };
            let raw = self.0.iter().map(|edges| {
                let mut cusum = keenspan::decisions::Cusum::new(scheme(decision));
                edges.iter().for_each(|edge| {
                    cusum.push(edge.ahead);
                });
                cusum.runs().to_vec()
            });
            let raw: Vec<_> = raw.collect();
            let raw_of = |side: Side| {
                raw.iter()
                    .filter(|runs| runs.iter().any(|run| run.side == side))
                    .count() as f64
                    / raw.len() as f64
            };
            println!(
                "  raw short {:.3}, raw long {:.3}",
                raw_of(Side::Shorter),
                raw_of(Side::Longer)
            );
            let edges: usize = answers.iter().map(|a| a.edges).sum();
            let signs: usize = answers.iter().map(|a| a.shifts.len()).sum();
            println!(
                "  h {decision}: any sign {:.3}, one in {:.0} edges; short now {:.3}, long now {:.3}; ran short {:.3}, ran long {:.3}",
                share(&|a| !a.shifts.is_empty()),
                edges as f64 / signs as f64,
                share(&|a| a.verdict == DriftVerdict::Runs(Side::Shorter)),
                share(&|a| a.verdict == DriftVerdict::Runs(Side::Longer)),
                share(&|a| a.verdict == DriftVerdict::Ran(Side::Shorter)),
                share(&|a| a.verdict == DriftVerdict::Ran(Side::Longer)),
            );
        }
    }

    fn print_found(&self, title: &str, from: usize, times: f64, blame: Option<(Factor, &str)>) {
        self.print(title);
        for decision in [4.0, 5.0] {
            let answers = self.answers(decision);
            let found: Vec<_> = answers
                .iter()
                .filter_map(|a| {
                    a.shifts
                        .iter()
                        .find(|s| s.side == Side::Shorter && s.noticed >= from)
                })
                .collect();
            let n = answers.len() as f64;
            let delay: f64 =
                found.iter().map(|s| (s.noticed - from) as f64).sum::<f64>() / found.len() as f64;
            let held = found
                .iter()
                .filter(|s| s.ratio.lower <= times && times <= s.ratio.upper)
                .count() as f64
                / found.len() as f64;
            let ratio: f64 =
                found.iter().map(|s| s.ratio.point.ln()).sum::<f64>() / found.len() as f64;
            let start = found
                .iter()
                .filter(|s| s.first.lower <= from && from <= s.first.upper)
                .count() as f64
                / found.len() as f64;
            let blamed = |s: &&keenspan::decisions::Shift, least: f64| match blame {
                None => {
                    s.spread_evenly.get() >= least
                        && s.carriers
                            .iter()
                            .all(|c| c.chance.get() < s.spread_evenly.get())
                }
                Some((factor, level)) => s.carriers.first().is_some_and(|c| {
                    c.factor == factor
                        && c.level == level
                        && c.chance.get() > least.max(s.spread_evenly.get())
                }),
            };
            let first = found.iter().filter(|s| blamed(s, 0.0)).count() as f64 / found.len() as f64;
            let sure = found.iter().filter(|s| blamed(s, 0.5)).count() as f64 / found.len() as f64;
            println!(
                "  h {decision}: found {:.3}, after {delay:.1} edges; ratio {:.3}, held {held:.2}; start held {start:.2}; blamed {first:.2}, likelier than not {sure:.2}",
                found.len() as f64 / n,
                ratio.exp()
            );
        }
    }
}

#[test]
fn tables() {
    if std::env::var("CALIBRATION").is_ok_and(|mode| mode == "long") {
        Study::of(60, Truth::stated(), EDGES, &[]).print("stated");
        let fault = |at: Option<&str>, times: f64, from: usize| Fault {
            from,
            at: at.map(String::from),
            times,
        };
        let stated = Truth::stated();
        for (title, from, at, times, blame) in [
            (
                "the mill 0.5 from 20",
                20,
                Some("the mill"),
                0.5,
                Some((Factor::Grinder, "the mill")),
            ),
            (
                "the mill 0.5 from 34",
                34,
                Some("the mill"),
                0.5,
                Some((Factor::Grinder, "the mill")),
            ),
            (
                "machine 1 0.5 from 24",
                24,
                Some("machine 1"),
                0.5,
                Some((Factor::Machine, "machine 1")),
            ),
            ("all 0.6 from 24", 24, None, 0.6, None),
        ] {
            let study = Study::of(30, stated, EDGES, &[fault(at, times, from)]);
            study.print_found(title, from, times, blame);
        }
    }
}
