//! Edge lives from tables of edges and runs, where the moment of dulling is known to lie at or between
//! ends of runs.

use super::Observation;
use crate::logbook::{EdgeRun, EdgeRuns, EdgeSeen, EdgeWithRuns};
use crate::quantities::MeterHours;

/// A stretch `(start, stop]` of an edge's life under one row of covariates.
#[derive(Debug, Clone, PartialEq)]
pub struct RunStretch {
    /// Hours of life when it began.
    pub start: MeterHours,
    /// Hours of life when it ended.
    pub stop: MeterHours,
    /// Covariates of the wear rate.
    pub covariates: Vec<f64>,
}

/// One edge's life.
#[derive(Debug, Clone, PartialEq)]
pub struct RunLife {
    /// Stretches in order, without gaps, from zero.
    pub stretches: Vec<RunStretch>,
    /// What is known of the moment at which it went dull.
    pub observation: Observation,
    /// Which level of the group it belongs to.
    pub level: Option<usize>,
}

/// The lives of all edges of a table, with the strikes that they met.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RunLives {
    /// Names of the covariates of the wear rate.
    pub covariate_names: Vec<String>,
    /// Name and levels of the group that edges belong to.
    pub group: Option<(String, Vec<String>)>,
    /// The lives, in the order of the edges.
    pub lives: Vec<RunLife>,
    /// Edges that a strike ended.
    pub strikes: usize,
    /// Hours during which a strike could have come: all of them, those after the last look too.
    pub hours: MeterHours,
}

/// The life of each edge. Runs without hours and cuts between runs of equal covariates leave no trace,
/// to the last bit: a sampler would make a visible difference of it.
pub fn run_lives(table: &EdgeRuns) -> RunLives {
    let lives: Vec<RunLife> = table.edges.iter().map(life).collect();
    let hours = lives.iter().filter_map(|life| life.stretches.last());
    RunLives {
        covariate_names: table.covariate_names.clone(),
        group: table
            .group_name
            .clone()
            .map(|name| (name, table.levels.clone())),
        hours: super::hours(hours.map(|last| last.stop.get()).sum()),
        strikes: table.edges.iter().filter(|edge| edge.struck).count(),
        lives,
    }
}

fn life(edge: &EdgeWithRuns) -> RunLife {
    // Runs are merged between looks, never across one, so that each look falls on the end of a stretch.
    let mut line = Line::default();
    let (sharp, dull) = match edge.seen {
        EdgeSeen::Exact { dull_run } | EdgeSeen::Left { dull_run } => (0, Some(dull_run)),
        EdgeSeen::Interval {
            sharp_run,
            dull_run,
        } => (sharp_run, Some(dull_run)),
        EdgeSeen::Right { sharp_run } => (sharp_run, None),
    };
    let after = line.run_to(edge, sharp);
    let by = dull.map(|dull| line.run_to(edge, dull));
    line.run_to(edge, edge.runs.len());
    let observation = match (edge.seen, by) {
        (EdgeSeen::Exact { .. }, Some(at)) => Observation::Exact(at),
        // Sharp at the end of runs without hours says nothing.
        (_, Some(by)) if after == MeterHours::ZERO => Observation::LeftCensored(by),
        (_, Some(by)) => Observation::IntervalCensored { after, by },
        (_, None) => Observation::RightCensored(after),
    };
    RunLife {
        stretches: line.stretches,
        observation,
        level: edge.level,
    }
}

/// An edge's life, as far as it is laid out.
#[derive(Debug, Default)]
struct Line {
    stretches: Vec<RunStretch>,
    end: MeterHours,
    runs: usize,
}

impl Line {
    /// Lays out the runs up to the end of run `number`, and returns the hours of life by then.
    fn run_to(&mut self, edge: &EdgeWithRuns, number: usize) -> MeterHours {
        let runs = edge.runs.get(self.runs..number).unwrap_or_default();
        let runs: Vec<&EdgeRun> = runs.iter().filter(|run| run.hours.get() > 0.0).collect();
        for equal in runs.chunk_by(|one, other| one.covariates == other.covariates) {
            let hours: f64 = equal.iter().map(|run| run.hours.get()).sum();
            let start = self.end;
            self.end = start + super::hours(twelve_digits(hours));
            self.stretches.push(RunStretch {
                start,
                stop: self.end,
                covariates: equal[0].covariates.clone(),
            });
        }
        self.runs = self.runs.max(number);
        self.end
    }
}

/// Twelve significant digits: 1.1 and 2.2 hours are then 3.3, as if they had been written in one.
fn twelve_digits(hours: f64) -> f64 {
    format!("{hours:.11e}").parse().unwrap_or(hours)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hours(value: f64) -> MeterHours {
        MeterHours::new(value).expect("hours")
    }

    fn edge(seen: EdgeSeen, runs: &[(f64, f64)]) -> EdgeWithRuns {
        let run = |&(length, x): &(f64, f64)| EdgeRun {
            hours: hours(length),
            covariates: vec![x],
        };
        EdgeWithRuns {
            id: "1".to_string(),
            level: None,
            seen,
            struck: false,
            runs: runs.iter().map(run).collect(),
        }
    }

    #[test]
    fn looks_stand_at_the_ends_of_their_runs() {
        let runs = [(1.5, 0.0), (2.0, 1.0), (0.5, 1.0)];
        let seen = |seen| life(&edge(seen, &runs)).observation;
        assert_eq!(
            seen(EdgeSeen::Exact { dull_run: 3 }),
            Observation::Exact(hours(4.0))
        );
        assert_eq!(
            seen(EdgeSeen::Left { dull_run: 2 }),
            Observation::LeftCensored(hours(3.5))
        );
        assert_eq!(
            seen(EdgeSeen::Interval {
                sharp_run: 1,
                dull_run: 2
            }),
            Observation::IntervalCensored {
                after: hours(1.5),
                by: hours(3.5)
            }
        );
        assert_eq!(
            seen(EdgeSeen::Right { sharp_run: 0 }),
            Observation::RightCensored(MeterHours::ZERO)
        );
    }

    #[test]
    fn hours_after_the_last_look_are_open_to_strikes() {
        let mut struck = edge(EdgeSeen::Right { sharp_run: 1 }, &[(1.5, 0.0), (2.0, 0.0)]);
        struck.struck = true;
        let lives = run_lives(&EdgeRuns {
            covariate_names: vec!["hard".to_string()],
            edges: vec![struck],
            ..EdgeRuns::default()
        });
        assert_eq!((lives.strikes, lives.hours), (1, hours(3.5)));
        assert_eq!(lives.lives[0].stretches.len(), 2);
    }

    /// The wear rate of an exact moment is that of the last run with hours.
    #[test]
    fn a_run_without_hours_does_not_set_the_rate_at_which_an_edge_went_dull() {
        let plain = life(&edge(EdgeSeen::Exact { dull_run: 1 }, &[(1.5, 0.0)]));
        let more = edge(
            EdgeSeen::Exact { dull_run: 3 },
            &[(0.0, 9.0), (1.5, 0.0), (0.0, 7.0)],
        );
        assert_eq!(life(&more), plain);
    }

    #[test]
    fn a_run_cut_in_three_is_the_same_to_the_last_bit() {
        let whole = life(&edge(EdgeSeen::Exact { dull_run: 1 }, &[(3.3, 0.0)]));
        let cut = [(1.1, 0.0), (1.1, 0.0), (1.1, 0.0)];
        assert_ne!(1.1 + 1.1 + 1.1, 3.3);
        assert_eq!(life(&edge(EdgeSeen::Exact { dull_run: 3 }, &cut)), whole);
    }
}
