//! The shape of the answer.

use super::carriers::Carrier;
use super::cusum::Side;
use super::look_at::LookAt;
use super::series::{Group, GroupChart};
use crate::decisions::Caveat;
use crate::quantities::{Estimate, Probability};
use serde::{Deserialize, Serialize};
use std::ops::Range;

/// Whether lives of these edges run shorter or longer than they should.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DriftAnswer {
    /// What to make of it.
    pub verdict: DriftVerdict,
    /// Finished edges looked at.
    #[serde(rename = "edges_finished")]
    pub edges: usize,
    /// How many edges whose end was noticed tell as much as they do.
    pub worth: f64,
    /// How the sums are read.
    pub scheme: SchemeFigures,
    /// Edges over which lives ran shorter or longer, in the order in which they were noticed.
    pub shifts: Vec<Shift>,
    /// Each edge's place in the sums, in order of time.
    pub chart: Vec<ChartEdge>,
    /// The sums of each machine and of each who grinds, where there are several.
    pub groups: Vec<GroupChart>,
    /// What must be said beside the answer.
    pub caveats: Vec<Caveat>,
}

/// How lives run now.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum DriftVerdict {
    /// As they should, as far as can be seen.
    NoSign,
    /// Shorter or longer than they should.
    Runs(Side),
    /// Shorter or longer for a time, and no more.
    Ran(Side),
}

/// The scheme, and what it can be relied on for.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct SchemeFigures {
    /// Reference value, in standard deviations of single edges.
    pub reference: f64,
    /// Decision interval, in the same.
    pub decision: f64,
    /// Edges between false signs on average, of all sums together, where lives run as they should.
    pub edges_between_false_signs: f64,
    /// The ratio of lives that one standard deviation makes, shorter.
    pub clear_ratio: f64,
    /// Edges after which lives that run so short are noticed, on average.
    pub edges_to_notice: f64,
}

/// Edges over which lives ran shorter or longer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Shift {
    /// Which way.
    pub side: Side,
    /// Whose edges; absent for all.
    pub group: Option<Group>,
    /// The first edge, by its place in order of time.
    pub first: Estimate<usize>,
    /// The edge with which it was noticed.
    pub noticed: usize,
    /// The last edge; absent where it goes on.
    pub last: Option<usize>,
    /// How many edges.
    #[serde(rename = "edges_in_run")]
    pub edges: usize,
    /// How long these edges last over how long all others do.
    pub ratio: Estimate<f64>,
    /// The chance that it is spread evenly over sets, grinders, machines and dirt.
    #[serde(rename = "chance_spread_evenly")]
    pub spread_evenly: Probability,
    /// What may carry it alone, the likeliest first.
    pub carriers: Vec<Carrier>,
    /// What to look at, in order.
    pub look_at: Vec<LookAt>,
}

impl Shift {
    /// From its first edge to its last, of so many in all.
    pub(super) fn places(&self, edges: usize) -> Range<usize> {
        self.first.point..self.last.map_or(edges, |last| last + 1)
    }
}

/// One edge in the sums.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ChartEdge {
    /// The mean score that fits what was seen of it, as the edges before it foretell it: positive for a life longer
    /// than foretold.
    pub score: f64,
    /// The lowest score that fits; absent where nothing bounds it.
    pub low: Option<f64>,
    /// The highest that fits; absent where nothing bounds it.
    pub high: Option<f64>,
    /// How much it tells, as a share of an edge whose end was noticed.
    pub told: f64,
    /// The mean score as all other edges foretell it.
    pub score_by_all: f64,
    /// The sum for longer lives.
    pub longer: f64,
    /// The sum for shorter lives.
    pub shorter: f64,
}
