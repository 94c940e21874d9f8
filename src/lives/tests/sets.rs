use super::*;
use crate::lives::{AsideReason, CameOut, Record};

#[test]
fn a_set_fitted_again_without_a_grind_goes_on_with_its_life() {
    let life = Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 110.0)
        .event(2, EventKind::Pulled, 110.0, "A")
        .graded(Grade::Working)
        .run(3, 110.0, 120.0)
        .event(4, EventKind::Fitted, 120.0, "A")
        .run(4, 120.0, 125.0)
        .only();
    assert_eq!(total(&life), 15.0);
    let looks = vec![
        (10.0, Sight::Graded(Grade::Working)),
        (15.0, Sight::NotCalled),
    ];
    assert_eq!(seen(&life), (looks, None));
}

#[test]
fn a_grind_makes_a_new_edge_and_is_counted() {
    let mut book = Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 110.0)
        .event(1, EventKind::Pulled, 110.0, "A")
        .bench(1, EventKind::Reground, "A")
        .with(|event| event.by = "shop wheel".into())
        .event(1, EventKind::Fitted, 110.0, "A")
        .run(2, 110.0, 113.0);
    book.0.sets[0].regrinds = 3;
    let lives = book.lives();
    let features: Vec<_> = lives
        .lives
        .iter()
        .map(|life| {
            (
                total(life),
                life.features.regrinds,
                life.features.ground_by.as_str(),
            )
        })
        .collect();
    assert_eq!(features, [(10.0, 3, ""), (3.0, 4, "shop wheel")]);
    assert!(notes(&lives).is_empty());
}

#[test]
fn an_edge_tells_when_it_last_came_out_and_one_at_work_does_not() {
    let lives = Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 110.0)
        .event(2, EventKind::Pulled, 110.0, "A")
        .event(2, EventKind::Fitted, 110.0, "B")
        .run(3, 110.0, 113.0)
        .lives();
    let came_out: Vec<_> = lives.lives.iter().map(|life| life.came_out).collect();
    let out = CameOut {
        date: day(2),
        meter: Some(hours(110.0)),
    };
    assert_eq!(came_out, [Some(out), None]);
}

#[test]
fn a_set_fitted_over_another_takes_the_other_out_ungraded() {
    let lives = Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 110.0)
        .event(2, EventKind::Fitted, 110.0, "B")
        .run(2, 110.0, 113.0)
        .lives();
    assert_eq!(seen(&lives.lives[0]).0, [(10.0, Sight::NotCalled)]);
    assert!(matches!(notes(&lives)[0], Matter::TakenAsPulled { edge } if edge.set == "A"));
    assert_eq!(lives.tally.ungraded_endings, 1);
}

#[test]
fn a_set_that_moves_to_a_machine_of_the_same_kind_goes_on() {
    let book = Book::otter()
        .machine("Heron", Rotor::Drum)
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 110.0)
        .event_on("Heron", 2, EventKind::Fitted, 50.0, "A")
        .run_on("Heron", 2, 50.0, 54.0);
    let life = book.only();
    assert_eq!((life.machine.as_str(), total(&life)), ("Otter", 14.0));
    let lives = book.lives();
    let told = notes(&lives);
    assert!(matches!(told[0], Matter::StillFitted { .. }));
    assert!(matches!(told[1], Matter::MovedMachine { to, .. } if to == "Heron"));
    assert_eq!(lives.machines[1].at_work, None);
    assert_eq!(lives.at_work("Heron"), Some(&life));
}

#[test]
fn a_set_that_moves_to_another_kind_of_rotor_is_used_up_to_there() {
    let lives = Book::otter()
        .machine("Wren", Rotor::Disc)
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 110.0)
        .event(1, EventKind::Pulled, 110.0, "A")
        .event_on("Wren", 2, EventKind::Fitted, 50.0, "A")
        .run_on("Wren", 2, 50.0, 54.0)
        .lives();
    assert_eq!(lives.lives.len(), 1);
    assert_eq!(total(&lives.lives[0]), 10.0);
    let fitted = Record::Event(Line(4));
    assert_eq!(
        lives.tally.set_aside[0].reason,
        AsideReason::OtherRotor { fitted }
    );
    assert_eq!(lives.tally.set_aside[0].edge.machine, "Wren");
}

#[test]
fn a_set_ground_while_still_in_is_taken_as_pulled() {
    let lives = Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 110.0)
        .bench(2, EventKind::Reground, "A")
        .run(3, 110.0, 112.0)
        .lives();
    assert_eq!(total(&lives.lives[0]), 10.0);
    assert!(matches!(notes(&lives)[0], Matter::StillFitted { .. }));
    assert_eq!(lives.tally.hours[0].no_edge, hours(2.0));
}

#[test]
fn a_discarded_set_that_comes_back_is_new_steel() {
    let mut book = Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 110.0)
        .event(1, EventKind::Pulled, 110.0, "A")
        .bench(1, EventKind::Discarded, "A")
        .event(2, EventKind::Fitted, 110.0, "A")
        .run(2, 110.0, 113.0);
    book.0.sets[0].regrinds = 7;
    let lives = book.lives();
    assert_eq!(lives.lives[1].features.regrinds, 0);
    assert!(matches!(
        notes(&lives)[0],
        Matter::FittedAfterDiscard { .. }
    ));
}

#[test]
fn a_set_fitted_where_it_is_already_changes_nothing() {
    let book = Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 110.0)
        .event(2, EventKind::Fitted, 110.0, "A")
        .run(2, 110.0, 113.0);
    assert_eq!(total(&book.only()), 13.0);
    assert!(matches!(
        notes(&book.lives())[0],
        Matter::AlreadyFitted { .. }
    ));
}

#[test]
fn a_fitting_without_a_set_name_ends_the_edge_before_and_starts_none() {
    let lives = Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 110.0)
        .event(2, EventKind::Fitted, 110.0, "")
        .run(2, 110.0, 113.0)
        .event(2, EventKind::Pulled, 113.0, "")
        .lives();
    assert_eq!(lives.lives.len(), 1);
    assert!(matches!(
        lives.tally.set_aside[0].reason,
        AsideReason::UnknownPast { .. }
    ));
    assert!(
        lives
            .tally
            .notes
            .iter()
            .any(|note| matches!(note.matter, Matter::NoSet { .. }))
    );
}

#[test]
fn a_grade_given_on_the_bench_is_a_look_at_the_edge_that_worked() {
    let lives = Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 110.0)
        .event(1, EventKind::Pulled, 110.0, "A")
        .bench(2, EventKind::Reground, "A")
        .graded(Grade::Dull)
        .lives();
    assert_eq!(
        seen(&lives.lives[0]).0,
        [(10.0, Sight::Graded(Grade::Dull))]
    );
    assert_eq!(lives.tally.graded_endings, 1);
}

#[test]
fn a_row_without_a_machine_belongs_to_where_its_set_was_fitted() {
    let life = Book::otter()
        .machine("Heron", Rotor::Drum)
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 110.0)
        .event(1, EventKind::NoticedDull, 108.0, "A")
        .with(|event| event.machine = None)
        .only();
    assert_eq!(seen(&life).1, Some(8.0));
}

#[test]
fn a_set_pulled_ground_and_fitted_elsewhere_within_a_day_is_followed() {
    // Aster comes before Otter in every order by name.
    let lives = Book::otter()
        .machine("Aster", Rotor::Drum)
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 110.0)
        .event_on("Aster", 1, EventKind::Fitted, 20.0, "A")
        .run_on("Aster", 2, 20.0, 24.0)
        .bench(1, EventKind::Reground, "A")
        .event(1, EventKind::Pulled, 110.0, "A")
        .lives();
    let totals: Vec<_> = lives
        .lives
        .iter()
        .map(|l| (l.machine.as_str(), total(l)))
        .collect();
    assert_eq!(totals, [("Otter", 10.0), ("Aster", 4.0)]);
    assert!(notes(&lives).is_empty());
}
