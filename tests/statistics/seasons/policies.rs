//! What a crew may go by: a fixed rule, the cut, or the program.

use super::crew::Day;
use super::season::{Log, Policy};
use keenspan::decisions::{AtWorkIn, CycleCosts, DecisionError, Evidence, due};
use keenspan::lives::Rotor;
use keenspan::quantities::{Level, WearFraction};
use keenspan::wear::{
    Among, Asked, Draws, EdgeRecords, Method, PriorPack, StrikePosterior, WearModel, WearPosterior,
    seeded,
};
use keenspan::wood::Blend;
use linfa::traits::Fit;
use linfa::{DatasetBase, ParamGuard};

/// Change after so many meter hours.
pub struct FixedRule(pub f64);

/// Change when the cut calls for it.
pub struct RunToDull;

/// Change when the program says that the edge is due.
pub struct Advised<'a> {
    costs: &'a CycleCosts,
    pack: PriorPack,
    seed: u64,
    known: Option<Known>,
    /// No need to ask before the edge at work has so many hours on it.
    quiet_until: f64,
}

/// The fit on the edges finished so far.
struct Known {
    edges: usize,
    posterior: WearPosterior,
    strikes: StrikePosterior,
}

/// Draws behind each mark; the program itself takes three times as many, and chains where their weights are
/// not to be trusted.
const DRAWS: usize = 200;
/// A mark is asked for again when this share of the hours left by the last one has been worked: wood changes
/// from day to day, and a mark with it.
const ASKED_AGAIN: f64 = 0.6;

/// A crew that is at the yard changes now rather than in the middle of a day that takes it past the mark.
fn now_is_nearer(hours_left: f64, day: &Day) -> bool {
    hours_left < 0.5 * day.hours
}

impl Policy for FixedRule {
    fn change_first(&mut self, log: &Log, day: &Day) -> bool {
        let worked = log
            .at_work
            .as_ref()
            .map_or(0.0, |life| life.exposure.total().get());
        now_is_nearer(self.0 - worked, day)
    }
}

impl Policy for RunToDull {
    fn change_first(&mut self, _: &Log, _: &Day) -> bool {
        false
    }
}

impl<'a> Advised<'a> {
    pub fn new(costs: &'a CycleCosts, seed: u64) -> Self {
        Self {
            costs,
            pack: PriorPack::common_practice().expect("the pack"),
            seed,
            known: None,
            quiet_until: 0.0,
        }
    }

    /// The fit, made anew after each change.
    fn known(&mut self, log: &Log) -> &Known {
        let stale = self
            .known
            .as_ref()
            .is_none_or(|known| known.edges != log.finished.len());
        if stale {
            let (records, seen) = EdgeRecords::from_edges(&log.finished, &[]);
            let called_at = WearFraction::new(1.3).expect("a fraction");
            let model = WearModel::params(&self.pack, called_at)
                .method(Method::Laplace)
                .draws(DRAWS)
                .seed(self.seed)
                .check()
                .expect("a model");
            self.quiet_until = 0.0;
            self.known = Some(Known {
                edges: log.finished.len(),
                posterior: model.fit(&DatasetBase::new(records, seen)).expect("a fit"),
                strikes: StrikePosterior::new(&self.pack, &log.strikes),
            });
        }
        self.known.as_ref().expect("a fit")
    }
}

impl Policy for Advised<'_> {
    fn change_first(&mut self, log: &Log, day: &Day) -> bool {
        let (seed, costs) = (self.seed, self.costs);
        let Some(at_work) = &log.at_work else {
            return false;
        };
        let worked = at_work.exposure.total().get();
        self.known(log);
        if worked < self.quiet_until {
            return false;
        }
        let known = self.known(log);
        let draws = known
            .posterior
            .draws(&known.strikes, DRAWS, &mut seeded(seed));
        // Numbered as the finished edges are: the edge at work shares its machine, set and grinder with them.
        let mut all = log.finished.clone();
        all.push(at_work.clone());
        let (records, seen) = EdgeRecords::from_edges(&all, &[]);
        let record = records.edges.last().expect("the edge at work");
        let same_groups = records.groupings == known.posterior.groupings();
        let mut record = record.clone();
        if !same_groups {
            // Its set or grinder has not finished an edge yet.
            record.groups.iter_mut().for_each(|group| *group = None);
        }
        let aged = known
            .posterior
            .aged(&record, &seen[seen.len() - 1])
            .expect("an edge");
        let edge = draws.aged(&aged);
        let recent = log.days.iter().rev().take(20);
        let ahead = Blend::average(recent.map(|(hours, blend)| (*hours, blend.as_ref())))
            .unwrap_or_else(Blend::reference);
        let reground = at_work.features.regrinds > 0;
        let laws = draws.under(&Asked {
            blend: ahead.clone(),
            rotor: Rotor::Drum,
            reground,
            among: Among::of_machine(&log.finished, "Alder", reground),
        });
        let left = hours_left(&draws, &edge, &laws, &ahead, costs).unwrap_or(f64::INFINITY);
        self.quiet_until = worked + ASKED_AGAIN * left.min(100.0);
        now_is_nearer(left, day)
    }
}

/// `None` where no planned change pays.
fn hours_left(
    draws: &Draws,
    edge: &[keenspan::wear::AgedDraw],
    laws: &[keenspan::wear::DrawUnderConditions],
    ahead: &Blend,
    costs: &CycleCosts,
) -> Option<f64> {
    let rates = draws.wear_rates(ahead);
    let at_work = AtWorkIn {
        edge,
        laws,
        rates: &rates,
        meter: None,
        lately: &rates,
    };
    let evidence = Evidence {
        edges_finished: 0,
        edges_graded: 0,
        prior_variance: 1.0,
        posterior_variance: 1.0,
    };
    match due(at_work, costs, Level::NINETY, &evidence) {
        Ok(answer) => Some(answer.hours_left.point.get()),
        Err(DecisionError::RunUntilCalled { .. }) => None,
        Err(error) => panic!("{error}"),
    }
}
