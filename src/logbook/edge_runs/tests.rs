use super::*;
use crate::logbook::RowNames;

const EDGES: &str = "\
edge_id,machine,regime,kind,struck,n_runs,sharp_run,dull_run,hours_total
10,wren,attended,exact,0,2,1,2,4.5
9,otter,inspected,interval,0,3,1,3,6.0
2,otter,inspected,left,0,1,0,1,2.25
1,wren,inspected,right,1,2,0,,3.0
";
const RUNS: &str = "\
edge_id,run,hours,hard,dirt
10,2,1.5,-0.2,1
10,1,3.0,0.1,0
9,1,2.0,0.1,0
9,2,0,0.4,1
9,3,4.0,0.1,0
2,1,2.25,0.1,0
1,1,1.0,0.1,0
1,2,2.0,0.3,0
";

fn read(edges: &str, runs: &str, group: Option<&str>) -> Result<EdgeRuns, EdgeRunsReadError> {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let files = [("edges.csv", edges), ("runs.csv", runs)].map(|(name, text)| {
        let file = folder.path().join(name);
        std::fs::write(&file, text).expect("a writable folder");
        file
    });
    read_edge_runs(&files[0], &files[1], group)
}

/// The faults, as `file line column: found; wanted`.
fn faults(edges: &str, runs: &str) -> Vec<String> {
    match read(edges, runs, Some("machine")) {
        Err(EdgeRunsReadError::Faults { problems }) => problems
            .iter()
            .map(|p| {
                let file = p.file.file_stem().expect("a name").to_string_lossy();
                format!("{file} {} {}: {}; {}", p.line, p.column, p.found, p.wanted)
            })
            .collect(),
        other => panic!("no faults but {other:?}"),
    }
}

/// Changes one thing, which must be there to be changed.
fn with(text: &str, from: &str, to: &str) -> String {
    assert!(text.contains(from), "{from} is not there");
    text.replacen(from, to, 1)
}

/// The one fault that this change makes must start so.
fn one_fault(edges: &str, runs: &str, starts: &str) {
    let found = faults(edges, runs);
    assert!(
        found.len() == 1 && found[0].starts_with(starts),
        "{found:#?}"
    );
}

#[test]
fn edges_levels_and_runs_stand_in_an_order_of_their_own() {
    let table = read(EDGES, RUNS, Some("machine")).expect("two good tables");
    let ids: Vec<&str> = table.edges.iter().map(|edge| edge.id.as_str()).collect();
    assert_eq!(ids, ["1", "2", "9", "10"]);
    assert_eq!(table.levels, ["otter", "wren"]);
    assert_eq!(table.covariate_names, ["hard", "dirt"]);
    assert_eq!((table.edges_found(), table.runs_used()), (4, 8));
    assert!(table.unused_columns.is_empty());
    let last = &table.edges[3];
    assert_eq!(
        (last.level, last.seen),
        (Some(1), EdgeSeen::Exact { dull_run: 2 })
    );
    assert_eq!(last.runs[0].hours.get(), 3.0);
    assert_eq!(last.runs[1].covariates, [-0.2, 1.0]);
    assert!(table.edges[0].struck && !last.struck);
}

#[test]
fn without_a_group_its_column_is_told_as_unused() {
    let table = read(EDGES, RUNS, None).expect("two good tables");
    assert_eq!(table.unused_columns, ["machine"]);
    assert!(table.levels.is_empty() && table.edges.iter().all(|edge| edge.level.is_none()));
}

#[test]
fn only_four_columns_of_the_edges_are_needed() {
    let edges = "Edge_ID,Kind,sharp_run,dull_run\nA,left,,1\nB,RIGHT,1,\n";
    let table = read(edges, "edge_id,run,hours\nA,1,3\nB,1,2\n", None).expect("good tables");
    assert_eq!(table.edges_found(), 2);
    assert!(table.covariate_names.is_empty());
}

#[test]
fn a_group_that_is_not_there_is_told_with_those_that_are() {
    for name in ["crew", "kind"] {
        let error = read(EDGES, RUNS, Some(name))
            .expect_err("no such group")
            .to_string();
        assert!(
            error.contains(name) && error.ends_with("there are machine, regime"),
            "{error}"
        );
    }
}

#[test]
fn an_edge_without_hours_is_set_aside_and_counted() {
    let runs = with(RUNS, "2,1,2.25", "2,1,0");
    let edges = with(EDGES, "0,1,2.25", "0,1,0");
    let table = read(&edges, &runs, None).expect("good tables");
    assert_eq!((table.edges.len(), table.edges_found()), (3, 4));
    assert_eq!(table.set_aside[0].id, "2");
}

#[test]
fn faults_of_both_files_are_told_at_once_in_their_order() {
    let edges = with(
        &with(EDGES, "attended,exact", "attended,exakt"),
        "2,otter",
        ",otter",
    );
    let runs = with(
        &with(RUNS, "10,1,3.0", "10,1,-3"),
        "1,2,2.0,0.3",
        "1,2,2.0,hard",
    );
    let found = faults(&edges, &runs);
    let starts = [
        "edges 2 kind: exakt; exact, interval, left or right",
        "edges 4 edge_id: ; a name or number",
        "runs 3 hours: -3; hours, zero or more",
        // The runs of the edge whose id is blank belong to nobody.
        "runs 7 edge_id: 2; the edge_id of an edge that stands in",
        "runs 9 hard: hard; a number",
    ];
    assert_eq!(found.len(), starts.len(), "{found:#?}");
    for (found, start) in found.iter().zip(starts) {
        assert!(found.starts_with(start), "{found} does not start {start}");
    }
}

#[test]
fn missing_doubled_and_nameless_columns_are_named() {
    let found = faults(
        &with(EDGES, "kind,struck,", "struck,struck,"),
        "edge_id,,hours\n1,1,2\n",
    );
    let starts = [
        "edges 1 kind: ; a header line with the columns edge_id, kind",
        "edges 1 struck: struck; a name that no other column has",
        "runs 1 run: ; a header line with the columns edge_id, run, hours",
        "runs 1 number 2: ; a name for this column",
    ];
    assert_eq!(found.len(), starts.len(), "{found:#?}");
    for (found, start) in found.iter().zip(starts) {
        assert!(found.starts_with(start), "{found} does not start {start}");
    }
}

#[test]
fn edges_and_runs_that_do_not_belong_together_are_named() {
    let more = |text: &str, row: &str| format!("{text}{row}\n");
    one_fault(
        &more(EDGES, "11,wren,attended,right,0,1,0,,2"),
        RUNS,
        "edges 6 edge_id: 11; an edge that has runs in",
    );
    one_fault(
        EDGES,
        &more(RUNS, "12,1,2,0,0"),
        "runs 10 edge_id: 12; the edge_id of an edge",
    );
    one_fault(
        &more(EDGES, "9,wren,inspected,interval,0,3,1,3,6.0"),
        RUNS,
        "edges 6 edge_id: 9; a name or number that no other edge has",
    );
}

#[test]
fn run_numbers_go_from_one_up_each_once() {
    one_fault(
        EDGES,
        &with(RUNS, "9,2,0", "9,3,0"),
        "runs 5 run: 3; 2: the runs of an edge",
    );
    one_fault(
        EDGES,
        &with(RUNS, "2,1,2.25", "2,0,2.25"),
        "runs 7 run: 0; a whole number",
    );
    one_fault(
        EDGES,
        &with(RUNS, "2,1,2.25", "2,2,2.25"),
        "runs 7 run: 2; 1: the runs of an edge",
    );
    one_fault(
        EDGES,
        &with(RUNS, "2,1,2.25", "2,1.5,2.25"),
        "runs 7 run: 1.5; a whole number",
    );
}

#[test]
fn looks_that_contradict_their_kind_are_named() {
    let edge = |from: &str, to: &str, starts: &str| one_fault(&with(EDGES, from, to), RUNS, starts);
    edge(
        "0,2,1,2,4.5",
        "0,2,2,2,4.5",
        "edges 2 sharp_run: 2; a run before dull_run, which is 2",
    );
    edge(
        "0,2,1,2,4.5",
        "0,2,1,,4.5",
        "edges 2 dull_run: ; the run at whose end",
    );
    edge(
        "0,2,1,2,4.5",
        "0,2,1,3,4.5",
        "edges 2 dull_run: 3; a run of this edge, not above 2",
    );
    edge(
        "0,3,1,3,6.0",
        "0,3,0,3,6.0",
        "edges 3 sharp_run: 0; 1 or more",
    );
    edge(
        "0,3,1,3,6.0",
        "0,3,1,2,6.0",
        "edges 3 dull_run: 2; a run by whose end it had run",
    );
    edge(
        "0,1,0,1,2.25",
        "0,1,1,1,2.25",
        "edges 4 sharp_run: 1; 0 or nothing",
    );
    edge(
        "1,2,0,,3.0",
        "1,2,0,2,3.0",
        "edges 5 dull_run: 2; nothing: kind right",
    );
    edge(
        "1,2,0,,3.0",
        "1,2,3,,3.0",
        "edges 5 sharp_run: 3; a run of this edge",
    );
    edge(
        "1,2,0,,3.0",
        "1,2,-1,,3.0",
        "edges 5 sharp_run: -1; the last run after which",
    );
    edge(
        "1,2,0,,3.0",
        "2,2,0,,3.0",
        "edges 5 struck: 2; 1 where a strike",
    );
    edge("exact,0", "exact,1", "edges 2 struck: 1; 0, or kind right");
    edge(
        "10,wren",
        "10,",
        "edges 2 machine: ; what the edge belongs to",
    );
}

#[test]
fn what_is_told_twice_must_agree() {
    let edge = |from: &str, to: &str, starts: &str| one_fault(&with(EDGES, from, to), RUNS, starts);
    edge(
        "0,3,1,3,6.0",
        "0,4,1,3,6.0",
        "edges 3 n_runs: 4; 3, the number of its runs",
    );
    edge(
        "0,3,1,3,6.0",
        "0,3,1,3,6.5",
        "edges 3 hours_total: 6.5; 6.0, the sum of the hours",
    );
    edge(
        "0,3,1,3,6.0",
        "0,3,1,3,-6",
        "edges 3 hours_total: -6; hours, zero or more",
    );
    edge(
        "0,3,1,3,6.0",
        "0,x,1,3,6.0",
        "edges 3 n_runs: x; the number of its runs",
    );
}

#[test]
fn a_total_may_differ_by_what_rounding_takes() {
    let tables = |total: &str, hours: [&str; 2]| {
        let edges = format!("edge_id,kind,sharp_run,dull_run,hours_total\n1,right,2,,{total}\n");
        let runs = format!("edge_id,run,hours\n1,1,{}\n1,2,{}\n", hours[0], hours[1]);
        read(&edges, &runs, None).is_ok()
    };
    assert!(tables("6.67", ["3.3333", "3.3333"]));
    assert!(!tables("6.68", ["3.3333", "3.3333"]));
    assert!(tables("8", ["3.4", "4.4"]));
    assert!(tables("7", ["3", "4"]) && !tables("8", ["3", "4"]));
    assert!(tables("", ["3", "4"]));
}

#[test]
fn numbers_that_are_none_and_cells_beyond_the_header_are_named() {
    for found in ["nan", "inf", "1e999", "three", ""] {
        let runs = with(RUNS, "2,1,2.25", &format!("2,1,{found}"));
        one_fault(
            EDGES,
            &runs,
            &format!("runs 7 hours: {found}; hours, zero or more"),
        );
    }
    one_fault(
        EDGES,
        &with(RUNS, "2.25,0.1,0", "2.25,0.1"),
        "runs 7 dirt: ; a number",
    );
    one_fault(
        EDGES,
        &with(RUNS, "2.25,0.1,0", "2.25,0.1,0,5"),
        "runs 7 after the last: 5; no more cells",
    );
}

#[test]
fn tables_without_rows_and_files_that_are_not_there_are_told() {
    let head = "edge_id,kind,sharp_run,dull_run,machine\n";
    let found = faults(head, "edge_id,run,hours\n");
    assert_eq!(found.len(), 2, "{found:#?}");
    assert!(found[0].starts_with("edges 2 edge_id: ; rows below the header"));
    let missing = read_edge_runs(Path::new("no-such-file.csv"), Path::new("nor-this"), None);
    assert!(
        missing
            .expect_err("no file")
            .to_string()
            .contains("no-such-file.csv")
    );
}

#[test]
fn every_fault_is_a_sentence_with_file_line_column_found_and_wanted() {
    let problem = EdgeRunsProblem {
        file: "runs.csv".into(),
        rows: RowNames::Lines,
        line: 7,
        column: "hours".into(),
        found: String::new(),
        wanted: "hours, zero or more, such as 3.5".into(),
    };
    let error = EdgeRunsReadError::Faults {
        problems: vec![problem],
    };
    assert_eq!(
        error.to_string(),
        "runs.csv: line 7, column \"hours\": found nothing; write hours, zero or more, such as 3.5"
    );
}

/// tests/reference/changing_exposure: 120 invented edges on three machines; its README has the counts.
#[test]
fn the_reference_tables_of_changing_exposure_are_read_whole() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/changing_exposure");
    let table = read_edge_runs(
        &folder.join("edges.csv"),
        &folder.join("runs.csv"),
        Some("machine"),
    )
    .expect("good tables");
    assert_eq!((table.edges.len(), table.edges_found()), (120, 120));
    assert_eq!(table.runs_used(), 484);
    assert_eq!(table.levels, ["1", "2", "3"]);
    assert_eq!(table.covariate_names, ["hard", "dirt", "frozen"]);
    for level in 0..3 {
        let here = table.edges.iter().filter(|edge| edge.level == Some(level));
        assert_eq!(here.count(), 40);
    }
    let of_kind =
        |kind: fn(&EdgeSeen) -> bool| table.edges.iter().filter(|e| kind(&e.seen)).count();
    // Counted in the file itself: cut -d, -f4 edges.csv | sort | uniq -c
    assert_eq!(of_kind(|seen| matches!(seen, EdgeSeen::Exact { .. })), 32);
    assert_eq!(
        of_kind(|seen| matches!(seen, EdgeSeen::Interval { .. })),
        42
    );
    assert_eq!(of_kind(|seen| matches!(seen, EdgeSeen::Left { .. })), 14);
    assert_eq!(of_kind(|seen| matches!(seen, EdgeSeen::Right { .. })), 32);
    assert_eq!(table.edges.iter().filter(|edge| edge.struck).count(), 11);
}
