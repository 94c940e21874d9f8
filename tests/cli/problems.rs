//! Problems one by one, with the words they are told in.

use keenspan::logbook::LogFile;
use keenspan::logbook::read::{LogTexts, read_texts};

fn problems(files: &[(LogFile, &str)]) -> Vec<String> {
    let machines = (LogFile::Machines, "name,rotor,knives\nM,drum,2\n");
    let texts: LogTexts = std::iter::once(machines)
        .chain(files.iter().copied())
        .map(|(file, text)| (file, text.as_bytes().to_vec()))
        .collect();
    read_texts(&texts)
        .problems
        .iter()
        .map(ToString::to_string)
        .collect()
}

#[test]
fn a_name_given_twice_is_told_where_it_comes_the_second_time() {
    let twice = problems(&[(LogFile::Sets, "name,knives\nA,2\na,2\n")]);
    assert_eq!(
        twice,
        [
            "sets.csv line 3, column \"name\": found \"a\"; write a name of its own: line 2 has this one already"
        ]
    );
}

#[test]
fn an_edge_that_the_set_does_not_have_is_told() {
    let told = problems(&[
        (LogFile::Sets, "name,knives,edges\nA,2,2\n"),
        (
            LogFile::Events,
            "date,event,machine,set,edge\n2026-03-05,fitted,M,A,3\n",
        ),
    ]);
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(told[0].contains("column \"edge\": found \"3\"; write a whole number from 1 to 2"));
}

#[test]
fn a_machine_that_is_set_aside_is_told_once_and_not_with_every_run() {
    let texts: LogTexts = [
        (
            LogFile::Machines,
            b"name,rotor,knives\nM,drum,many\n".to_vec(),
        ),
        (
            LogFile::Runs,
            b"date,machine,hours\n2026-03-05,M,1\n2026-03-05,M,2\n".to_vec(),
        ),
    ]
    .into();
    let reading = read_texts(&texts);
    assert_eq!(reading.problems.len(), 1);
    assert_eq!(reading.logbook.runs.len(), 2);
}

#[test]
fn a_date_that_could_be_two_days_asks_which() {
    let run = (LogFile::Runs, "date,machine,hours\n5/3/2026,M,1\n");
    let asked = problems(&[run]);
    assert!(
        asked[0].contains("2026-03-05 or 2026-05-03, whichever is meant"),
        "{asked:?}"
    );
    assert_eq!(
        problems(&[run, (LogFile::Shop, "key,value\ndates,month first\n")]),
        [""; 0]
    );
}

#[test]
fn a_share_above_one_and_a_unit_that_does_not_fit_are_told() {
    let told = problems(&[(
        LogFile::Costs,
        "key,value,unit\nwaiting_share,35,\ncrew_per_hour,900,per day\nchange_minutes,1,hour\nnew_knife,80,\nnew_knife,90,\n",
    )]);
    assert_eq!(told.len(), 3, "{told:?}");
    assert!(told[0].contains("line 2, column \"value\"") && told[0].contains("35%"));
    assert!(told[1].contains("line 3, column \"unit\": found \"per day\""));
    assert!(told[2].contains("line 6, column \"key\""));
}

#[test]
fn a_header_without_a_needed_column_or_with_one_twice_sets_the_file_aside() {
    let missing = problems(&[(LogFile::Runs, "day,hours\n2026-03-05,1\n")]);
    assert_eq!(missing.len(), 1);
    assert!(
        missing[0].starts_with("runs.csv line 1, column \"machine\""),
        "{missing:?}"
    );
    let twice = problems(&[(
        LogFile::Runs,
        "date,machine,hours,Hours\n2026-03-05,M,1,2\n",
    )]);
    assert!(twice[0].contains("twice"), "{twice:?}");
}

#[test]
fn a_column_under_another_name_is_shown_where_one_is_missing() {
    let told = problems(&[(
        LogFile::Runs,
        "Datum,machine,hrs\n2026-03-05,M,3\n2026-03-06,M,4\n",
    )]);
    assert_eq!(
        told,
        [
            "runs.csv line 1, column \"date\": found \"Datum, hrs\"; write \"date\" in the header: the file cannot be read without that column"
        ]
    );
}
