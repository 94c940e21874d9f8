use super::*;
use crate::logbook::write::EdgeRunsText;
use crate::logbook::{EdgeRun, EdgeSeen, EdgeWithRuns};
use crate::quantities::MeterHours;
use std::path::PathBuf;

/// Two files in a folder of their own.
struct Files {
    folder: tempfile::TempDir,
}

impl Files {
    fn of(edges: &str, runs: &str) -> Self {
        let folder = tempfile::tempdir().expect("a temporary folder");
        std::fs::write(folder.path().join("edges.csv"), edges).expect("a writable folder");
        std::fs::write(folder.path().join("runs.csv"), runs).expect("a writable folder");
        Self { folder }
    }

    fn both(&self) -> [PathBuf; 2] {
        ["edges.csv", "runs.csv"].map(|name| self.folder.path().join(name))
    }

    fn quick(&self) -> Option<EdgeHours> {
        let [edges, runs] = self.both();
        quick::in_pieces(&edges, &runs, Some("machine"), 1000).expect("files")
    }

    fn careful(&self) -> Result<EdgeHours, EdgeRunsReadError> {
        let [edges, runs] = self.both();
        careful::read(&edges, &runs, Some("machine"))
    }

    fn whole(&self) -> Result<EdgeHours, EdgeRunsReadError> {
        let [edges, runs] = self.both();
        read_edge_runs(&edges, &runs, Some("machine")).map(|table| EdgeHours::of(&table))
    }

    /// Faults as the careful stream names them.
    fn fault(&self) -> String {
        assert_eq!(self.quick(), None, "what is wrong must be read with care");
        self.careful().expect_err("a fault").to_string()
    }
}

/// Two hundred edges of every kind on machines whose names are not in order; ids are.
fn tables() -> EdgeRunsText {
    let mut text = EdgeRunsText::header("machine", &["hard", "dirt"]);
    for id in 1..=200_usize {
        let count = 2 + id % 5;
        let run = |number: usize| EdgeRun {
            hours: MeterHours::new(0.25 * ((id * 7 + number * 3) % 11) as f64 + 0.5)
                .expect("hours"),
            covariates: vec![[0.3, -0.1, 0.0][(id + number) % 3], (number % 2) as f64],
        };
        let seen = match id % 4 {
            0 => EdgeSeen::Exact { dull_run: count },
            1 => EdgeSeen::Interval {
                sharp_run: 1,
                dull_run: 2,
            },
            2 => EdgeSeen::Left { dull_run: count },
            _ => EdgeSeen::Right { sharp_run: id % 3 },
        };
        let edge = EdgeWithRuns {
            id: id.to_string(),
            level: None,
            seen,
            struck: id % 8 == 3,
            runs: (0..count).map(run).collect(),
        };
        text.push(["10", "9", "otter"][id / 70], &edge);
    }
    text
}

#[test]
fn three_readers_find_the_same_hours() {
    let EdgeRunsText { edges, runs } = tables();
    let files = Files::of(&edges, &runs);
    let quick = files.quick().expect("plain tables");
    assert_eq!(
        (quick.edges(), quick.levels.as_slice()),
        (200, &["9", "10", "otter"].map(String::from)[..])
    );
    assert_eq!(quick.rows.len(), 6);
    assert_eq!(quick, files.careful().expect("good tables"));
    assert_eq!(quick, files.whole().expect("good tables"));
    assert_eq!(
        quick
            .segment_hours
            .iter()
            .filter(|hours| **hours <= 0.0)
            .count(),
        0
    );
}

/// Edge 1: sharp at the end of run 1, dull at that of run 2, one more run.
#[test]
fn an_edge_keeps_its_hours_by_row_up_to_each_look() {
    let edges =
        "edge_id,machine,kind,struck,sharp_run,dull_run\n1,a,interval,0,2,4\n2,a,exact,0,2,3\n";
    let runs = "edge_id,run,hours,x\n1,1,1.5,0\n1,2,2,0\n1,3,4,1\n1,4,3,0\n1,5,9,1\n2,1,1,1\n2,2,2,0\n2,3,5,1\n";
    let hours = Files::of(edges, runs).quick().expect("plain tables");
    assert_eq!(hours.segment_hours, [3.5, 4.0, 3.0, 6.0, 2.0]);
    assert_eq!(hours.segment_rows, [0, 1, 0, 1, 0]);
    assert_eq!(
        (hours.sharp.as_slice(), hours.ends.as_slice()),
        (&[1, 0][..], &[3, 5][..])
    );
    assert_eq!(hours.dulling, [Dulling::Between, Dulling::Exact]);
    assert_eq!((hours.moment[1], hours.hours, hours.runs), (1, 27.5, 8));
}

#[test]
fn quotes_and_capitals_are_left_to_the_careful_readers_who_find_the_same() {
    let EdgeRunsText { edges, runs } = tables();
    let plain = Files::of(&edges, &runs).quick();
    let quoted = Files::of(
        &edges.replacen("\n1,", "\n\"1\",", 1),
        &runs.replacen(",0.5,", ", 0.50 ,", 1),
    );
    assert_eq!(quoted.quick(), None);
    assert_eq!(quoted.careful().ok(), plain);
    let [edges, runs] = quoted.both();
    let read = read_edge_hours(&edges, &runs, Some("machine"), &|_| {});
    assert_eq!(read.ok(), plain);
}

#[test]
fn a_run_out_of_place_in_a_large_table_is_named_with_what_belongs_there() {
    let edges = "edge_id,machine,kind,sharp_run,dull_run\n1,a,right,1,\n2,a,right,1,\n";
    let files = Files::of(edges, "edge_id,run,hours\n2,1,3\n1,1,2\n");
    let told = files.fault();
    for part in [
        "runs.csv: line 2, column \"edge_id\": found \"2\"",
        "a run of edge \"1\"",
        "edges.csv",
    ] {
        assert!(told.contains(part), "{told}");
    }
    let told = Files::of(edges, "edge_id,run,hours\n1,1,2\n2,1,3\n1,2,2\n").fault();
    assert!(
        told.contains("line 4, column \"edge_id\": found \"1\"; write no more rows"),
        "{told}"
    );
    // Small ones may stand in any order.
    let [edges, runs] = files.both();
    let read = read_edge_hours(&edges, &runs, Some("machine"), &|_| {}).expect("good tables");
    assert_eq!(read.segment_hours, [2.0, 3.0]);
}

#[test]
fn faults_are_told_as_the_reader_of_small_tables_tells_them() {
    let EdgeRunsText { edges, runs } = tables();
    let changes = [
        ("\n5,1,", "\n5,7,", "runs"),
        ("interval", "intervall", "edges"),
        ("\n9,3,", "\n9,x,", "runs"),
        ("\n12,2,", "\n12,2,-", "runs"),
        ("\n8,10,exact,0,", "\n8,10,exact,0,9", "edges"),
        ("\n20,10,exact,0", "\n20,10,exact,1", "edges"),
        ("\n7,10,", "\n6,10,", "edges"),
    ];
    for (from, to, file) in changes {
        let changed = |text: &str, name: &str| {
            let here = file == name;
            assert!(!here || text.contains(from), "{from:?} is not there");
            if here {
                text.replacen(from, to, 1)
            } else {
                text.to_string()
            }
        };
        let files = Files::of(&changed(&edges, "edges"), &changed(&runs, "runs"));
        let told = files.fault();
        let whole = files.whole().expect_err("a fault").to_string();
        let first = told.lines().next().expect("a line");
        assert!(whole.lines().any(|line| line == first), "{told}\n{whole}");
    }
}

/// A run of an edge that nobody knows puts the two files out of step: it is named, and no edge after it is blamed.
#[test]
fn a_misspelt_edge_is_named_and_those_after_it_are_left_alone() {
    let EdgeRunsText { edges, runs } = tables();
    let files = Files::of(&edges, &runs.replacen("\n5,2,", "\n5x,2,", 1));
    let told = files.fault();
    assert!(told.contains("\"5x\""), "{told}");
    assert!(
        !told.contains("\"7\"") && told.lines().count() < 20,
        "{told}"
    );
}

#[test]
fn lines_are_counted_no_further_than_is_asked() {
    let files = Files::of("a\n1\n2\n", "");
    let [edges, runs] = files.both();
    assert!(has_lines(&edges, 3) && !has_lines(&edges, 4));
    assert!(!has_lines(&runs, 1) && !has_lines("no-such-file".as_ref(), 1));
}
