use super::*;
use crate::lives::{Note, Record};

#[test]
fn an_empty_log_has_no_edges_and_the_reference_mix() {
    let lives = Book::default().lives();
    assert!(lives.lives.is_empty());
    assert_eq!(*lives.usual_mix.crew, crate::wood::Blend::reference());
}

#[test]
fn a_machine_that_only_ran_has_no_edges_and_all_its_hours_in_the_account() {
    let lives = Book::otter().run(1, 100.0, 110.0).lives();
    assert_eq!(lives.tally.edges_found, 0);
    assert_eq!(lives.tally.hours[0].no_edge, hours(10.0));
}

#[test]
fn a_machine_without_runs_takes_the_crews_usual_mix() {
    let lives = Book::otter()
        .machine("Heron", Rotor::Drum)
        .run(1, 100.0, 110.0)
        .but(|run| run.contamination = Some(Contamination::Dirty))
        .lives();
    assert_eq!(
        lives.usual_mix.machine("Heron"),
        lives.usual_mix.machine("Otter")
    );
    assert_eq!(*lives.usual_mix.crew, **lives.usual_mix.machine("Otter"));
}

#[test]
fn a_note_names_its_file_and_line() {
    let note = Note {
        record: Record::Run(Line(14)),
        matter: Matter::Overlap { hours: hours(2.0) },
    };
    let words = "runs.csv line 14: 2.0 h of this run stand in another run as well; they count once";
    assert_eq!(note.to_string(), words);
}
