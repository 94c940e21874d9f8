//! What must not change what edges and their runs say: the order of rows, a run cut in pieces, a run
//! without hours.

use keenspan::lives::{Observation, RunLives, run_lives};
use keenspan::logbook::{EdgeRuns, read_edge_runs};
use keenspan::wear::EdgeRecords;
use proptest::prelude::*;
use proptest::sample::select;

/// One edge as it is written down; ends of runs count from 1, 0 being fresh.
#[derive(Debug, Clone)]
struct Edge {
    machine: u32,
    kind: &'static str,
    struck: bool,
    sharp: usize,
    dull: Option<usize>,
    runs: Vec<(f64, f64)>,
}

/// What is done to one run.
#[derive(Debug, Clone, Copy)]
enum Change {
    Nothing,
    /// Cut at this share of its hours, and the second part again.
    Cut(f64, f64),
    /// A run without hours before it, with this covariate.
    EmptyBefore(f64),
    /// A run without hours after it, with this covariate.
    EmptyAfter(f64),
}

fn covariate() -> impl Strategy<Value = f64> {
    select(vec![-0.26, 0.0, 1.0])
}

fn edge() -> impl Strategy<Value = Edge> {
    let hundredths = prop_oneof![1 => Just(0_u32), 6 => 1_u32..900];
    let runs = prop::collection::vec((hundredths, covariate()), 1..6);
    let kinds = select(vec!["exact", "interval", "left", "right"]);
    (
        runs,
        kinds,
        1_u32..12,
        any::<bool>(),
        any::<prop::sample::Index>(),
    )
        .prop_map(|(mut runs, kind, machine, struck, place)| {
            let count = runs.len();
            // Only an edge that ran can go dull.
            runs[count - 1].0 = runs[count - 1].0.max(1);
            let kind = if kind == "interval" && count == 1 {
                "left"
            } else {
                kind
            };
            let (sharp, dull) = match kind {
                "exact" => (count - 1, Some(count)),
                "interval" => (1 + place.index(count - 1), Some(count)),
                "left" => (0, Some(count)),
                _ => (place.index(count + 1), None),
            };
            let hours = |(hundredths, x): (u32, f64)| (f64::from(hundredths) / 100.0, x);
            Edge {
                machine,
                kind,
                struck: struck && kind == "right",
                sharp,
                dull,
                runs: runs.into_iter().map(hours).collect(),
            }
        })
}

fn change() -> impl Strategy<Value = Change> {
    prop_oneof![
        Just(Change::Nothing),
        (0.01..0.99, 0.01..0.99).prop_map(|(one, other)| Change::Cut(one, other)),
        covariate().prop_map(Change::EmptyBefore),
        covariate().prop_map(Change::EmptyAfter),
    ]
}

impl Edge {
    /// The same edge, written down otherwise.
    fn changed(&self, changes: &[Change]) -> Self {
        let mut runs = Vec::new();
        let mut ends = vec![0];
        for (&(hours, x), change) in self.runs.iter().zip(changes) {
            let pieces = match *change {
                Change::Nothing => vec![(hours, x)],
                Change::Cut(one, other) => {
                    let first = hours * one;
                    let second = (hours - first) * other;
                    vec![(first, x), (second, x), (hours - first - second, x)]
                }
                Change::EmptyBefore(empty) => vec![(0.0, empty), (hours, x)],
                Change::EmptyAfter(empty) => vec![(hours, x), (0.0, empty)],
            };
            runs.extend(pieces);
            ends.push(runs.len());
        }
        Self {
            sharp: ends[self.sharp],
            dull: self.dull.map(|dull| ends[dull]),
            runs,
            ..self.clone()
        }
    }

    fn rows(&self, id: usize) -> (String, Vec<String>) {
        let total: f64 = self.runs.iter().map(|(hours, _)| hours).sum();
        let dull = self.dull.map_or(String::new(), |dull| dull.to_string());
        let own = format!(
            "{id},{},{},{},{},{},{dull},{total}",
            self.machine,
            self.kind,
            u8::from(self.struck),
            self.runs.len(),
            self.sharp
        );
        let run =
            |(place, (hours, x)): (usize, &(f64, f64))| format!("{id},{},{hours},{x}", place + 1);
        (own, self.runs.iter().enumerate().map(run).collect())
    }
}

/// Writes the tables, reads them, and makes of them what the fit gets.
fn fitted(
    edges: &[String],
    runs: &[String],
) -> (EdgeRuns, RunLives, EdgeRecords, Vec<Observation>) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let write = |name: &str, header: &str, rows: &[String]| {
        let file = folder.path().join(name);
        std::fs::write(&file, format!("{header}\n{}\n", rows.join("\n"))).expect("writable");
        file
    };
    let header = "edge_id,machine,kind,struck,n_runs,sharp_run,dull_run,hours_total";
    let edges = write("edges.csv", header, edges);
    let runs = write("runs.csv", "edge_id,run,hours,x", runs);
    let table = read_edge_runs(&edges, &runs, Some("machine")).expect("good tables");
    let lives = run_lives(&table);
    let (records, observations) = EdgeRecords::from_run_lives(&lives);
    records.check().expect("whole records");
    (table, lives, records, observations)
}

fn written(edges: &[Edge]) -> (Vec<String>, Vec<String>) {
    let rows = (1..).zip(edges).map(|(id, edge)| edge.rows(id));
    let (edges, runs): (Vec<String>, Vec<Vec<String>>) = rows.unzip();
    (edges, runs.concat())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn rows_in_any_order_say_the_same(
        (plain, shuffled) in prop::collection::vec(edge(), 1..15).prop_flat_map(|edges| {
            let (edges, runs) = written(&edges);
            let shuffled = (Just(edges.clone()).prop_shuffle(), Just(runs.clone()).prop_shuffle());
            (Just((edges, runs)), shuffled)
        })
    ) {
        prop_assert_eq!(fitted(&plain.0, &plain.1), fitted(&shuffled.0, &shuffled.1));
    }

    #[test]
    fn runs_cut_in_pieces_and_runs_without_hours_say_the_same_to_the_last_bit(
        edges in prop::collection::vec((edge(), prop::collection::vec(change(), 5)), 1..10)
    ) {
        let plain: Vec<Edge> = edges.iter().map(|(edge, _)| edge.clone()).collect();
        let changed: Vec<Edge> = edges.iter().map(|(edge, how)| edge.changed(how)).collect();
        let ((edges, runs), (more_edges, more_runs)) = (written(&plain), written(&changed));
        let (_, lives, records, observations) = fitted(&edges, &runs);
        let (_, lives_too, records_too, observations_too) = fitted(&more_edges, &more_runs);
        prop_assert_eq!(records, records_too);
        prop_assert_eq!(observations, observations_too);
        prop_assert_eq!((lives.strikes, lives.hours), (lives_too.strikes, lives_too.hours));
    }

    /// So that the two above can fail.
    #[test]
    fn a_hundredth_of_an_hour_more_says_something_else(edge in edge(), place in any::<prop::sample::Index>()) {
        let mut longer = edge.clone();
        longer.runs[place.index(edge.runs.len())].0 += 0.01;
        let ((edges, runs), (more_edges, more_runs)) = (written(&[edge]), written(&[longer]));
        prop_assert_ne!(fitted(&edges, &runs).2, fitted(&more_edges, &more_runs).2);
    }
}
