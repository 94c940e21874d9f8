use super::*;
use crate::lives::{AsideReason, Record};

fn fitted_and_run() -> Book {
    Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 110.0)
        .run(2, 110.0, 120.0)
}

#[test]
fn an_edge_still_at_work_today_runs_on() {
    let book = fitted_and_run();
    let life = book.only();
    assert_eq!(life.ending, Ending::Running);
    assert_eq!(seen(&life), (vec![(20.0, Sight::NotCalled)], None));
    let lives = book.lives();
    assert_eq!(lives.at_work("Otter"), Some(&life));
    let at_work = lives.machines[0].at_work.clone().expect("A is in");
    assert_eq!((at_work.set.as_str(), at_work.edge), ("A", 1));
    assert_eq!(at_work.meter_then, Some(hours(100.0)));
    assert_eq!(at_work.hours_since, hours(20.0));
    assert_eq!(lives.machines[0].meter, Some(hours(120.0)));
}

#[test]
fn a_flip_ends_one_edge_and_starts_the_other() {
    let lives = fitted_and_run()
        .event(1, EventKind::Flipped, 112.0, "")
        .graded(Grade::Dull)
        .with(|event| event.date = day(2))
        .lives();
    let edges: Vec<_> = lives
        .lives
        .iter()
        .map(|life| (life.edge, total(life), life.ending))
        .collect();
    let expected = [
        (1, 12.0, Ending::PulledOnSchedule),
        (2, 8.0, Ending::Running),
    ];
    assert_eq!(edges, expected);
}

#[test]
fn flipping_back_goes_on_with_the_first_edge() {
    let lives = fitted_and_run()
        .event(2, EventKind::Flipped, 112.0, "A")
        .event(2, EventKind::Flipped, 117.0, "A")
        .with(|event| event.edge = Some(2))
        .lives();
    let edges: Vec<_> = lives
        .lives
        .iter()
        .map(|life| (life.edge, total(life)))
        .collect();
    assert_eq!(edges, [(2, 5.0), (1, 15.0)]);
}

#[test]
fn a_flip_that_names_the_new_edge_turns_to_it() {
    let lives = fitted_and_run()
        .event(2, EventKind::Flipped, 112.0, "A")
        .with(|event| event.edge = Some(2))
        .lives();
    assert_eq!(lives.lives[1].edge, 2);
}

#[test]
fn a_single_edge_that_is_flipped_is_noted() {
    let mut book = fitted_and_run().event(2, EventKind::Flipped, 112.0, "A");
    book.0.machines[0].edges_per_knife = 1;
    book.0.sets[0].edges_per_knife = 1;
    let lives = book.lives();
    assert_eq!(
        notes(&lives),
        [&Matter::FlippedSingleEdge { set: "A".into() }]
    );
    assert_eq!(lives.lives.len(), 2);
}

#[test]
fn a_strike_ends_what_is_known_of_wear() {
    let lives = fitted_and_run()
        .event(2, EventKind::Checked, 108.0, "A")
        .with(|event| event.date = day(1))
        .graded(Grade::Working)
        .event(2, EventKind::Struck, 113.0, "")
        .event(2, EventKind::Pulled, 118.0, "A")
        .graded(Grade::Overrun)
        .lives();
    let life = &lives.lives[0];
    assert_eq!((life.ending, total(life)), (Ending::Struck, 13.0));
    let looks = vec![
        (8.0, Sight::Graded(Grade::Working)),
        (13.0, Sight::NotCalled),
    ];
    assert_eq!(seen(life), (looks, None));
    assert_eq!(lives.tally.hours[0].after_strike, hours(5.0));
    let told = notes(&lives);
    assert!(matches!(told[0], Matter::RanOnAfterStrike { hours: on, .. } if *on == hours(5.0)));
    assert!(matches!(told[1], Matter::LookAfterStrike { .. }));
}

#[test]
fn strikes_are_counted_by_the_dirt_they_came_in() {
    let lives = fitted_and_run()
        .run(3, 120.0, 124.0)
        .but(|run| run.contamination = Some(Contamination::Gritty))
        .run(4, 126.0, 127.0)
        .event(3, EventKind::Struck, 124.0, "")
        .event(4, EventKind::Struck, 125.0, "")
        .lives();
    let gritty = lives.strikes.class(Contamination::Gritty);
    assert_eq!((gritty.hours, gritty.strikes), (hours(4.0), 1));
    let clean = lives.strikes.class(Contamination::Clean);
    assert_eq!((clean.hours, clean.strikes), (hours(21.0), 0));
    assert_eq!(
        (lives.strikes.hours_unknown, lives.strikes.strikes_unknown),
        (hours(2.0), 1)
    );
}

#[test]
fn an_edge_pulled_before_anything_says_it_went_in_is_set_aside() {
    let lives = Book::otter()
        .run(1, 100.0, 110.0)
        .event(2, EventKind::Pulled, 112.0, "A")
        .graded(Grade::Dull)
        .event(2, EventKind::Fitted, 112.0, "B")
        .run(2, 112.0, 115.0)
        .lives();
    assert_eq!(lives.tally.edges_found, 2);
    let aside = &lives.tally.set_aside[0];
    let first_seen = Record::Event(Line(2));
    assert_eq!(aside.reason, AsideReason::UnknownPast { first_seen });
    assert!(
        aside
            .to_string()
            .contains("meter reading at which it went in")
    );
    assert_eq!(lives.tally.hours[0].set_aside, hours(12.0));
}

#[test]
fn a_set_of_unknown_past_is_usable_from_its_first_grind() {
    let lives = Book::otter()
        .run(1, 100.0, 110.0)
        .event(2, EventKind::Pulled, 110.0, "A")
        .event(3, EventKind::Fitted, 110.0, "A")
        .run(3, 110.0, 115.0)
        .event(3, EventKind::Pulled, 115.0, "A")
        .bench(4, EventKind::Reground, "A")
        .event(5, EventKind::Fitted, 115.0, "A")
        .run(5, 115.0, 119.0)
        .lives();
    assert_eq!(lives.tally.set_aside.len(), 1);
    assert_eq!(lives.tally.hours[0].set_aside, hours(15.0));
    assert_eq!(lives.lives.len(), 1);
    assert_eq!(total(&lives.lives[0]), 4.0);
}

#[test]
fn an_unnamed_edge_takes_the_name_that_its_pull_gives() {
    let lives = Book::otter()
        .run(1, 100.0, 110.0)
        .event(1, EventKind::Checked, 110.0, "")
        .graded(Grade::Keen)
        .event(2, EventKind::Pulled, 112.0, "A")
        .lives();
    assert_eq!(lives.tally.edges_found, 1);
    assert_eq!(lives.tally.set_aside[0].edge.set, "A");
}

#[test]
fn a_pull_written_twice_is_noted_and_makes_no_edge() {
    let lives = fitted_and_run()
        .event(2, EventKind::Pulled, 120.0, "A")
        .event(2, EventKind::Pulled, 120.0, "A")
        .lives();
    assert_eq!(lives.tally.edges_found, 1);
    assert!(matches!(notes(&lives)[0], Matter::NothingFitted { .. }));
}

#[test]
fn a_row_about_another_set_than_the_one_in_is_not_used() {
    let lives = fitted_and_run()
        .event(2, EventKind::Pulled, 115.0, "B")
        .lives();
    assert_eq!(total(&lives.lives[0]), 20.0);
    assert!(matches!(notes(&lives)[0], Matter::OtherSetIn { .. }));
}

#[test]
fn an_edge_that_never_worked_is_set_aside() {
    let lives = fitted_and_run()
        .event(2, EventKind::Pulled, 120.0, "A")
        .event(2, EventKind::Fitted, 120.0, "B")
        .event(2, EventKind::Pulled, 120.0, "B")
        .lives();
    assert_eq!(lives.lives.len(), 1);
    let fitted = Record::Event(Line(4));
    assert_eq!(
        lives.tally.set_aside[0].reason,
        AsideReason::NoHours { fitted }
    );
}

#[test]
fn an_edge_at_work_that_has_no_hours_yet_is_no_fault() {
    let lives = fitted_and_run()
        .event(2, EventKind::Pulled, 120.0, "A")
        .event(2, EventKind::Fitted, 120.0, "B")
        .lives();
    assert_eq!(lives.tally.set_aside, []);
    assert_eq!((lives.tally.just_fitted, lives.tally.edges_found), (1, 1));
    let at_work = lives.machines[0].at_work.clone().expect("B is in");
    assert_eq!((at_work.set.as_str(), at_work.life), ("B", None));
}

#[test]
fn work_on_the_bed_knife_is_kept_and_ends_no_life() {
    let lives = fitted_and_run()
        .event(2, EventKind::BedKnifeReset, 112.0, "")
        .lives();
    let reset = lives.machines[0].bed_knife[0];
    assert_eq!(
        (reset.kind, reset.hours_since),
        (EventKind::BedKnifeReset, hours(8.0))
    );
    assert_eq!(total(&lives.lives[0]), 20.0);
}

#[test]
fn an_event_without_a_reading_is_placed_by_its_date_and_noted() {
    let book = fitted_and_run()
        .event(1, EventKind::NoticedDull, 0.0, "A")
        .undated_meter();
    assert_eq!(seen(&book.only()), (vec![], Some(10.0)));
    let date = day(1);
    let kind = EventKind::NoticedDull;
    assert_eq!(notes(&book.lives()), [&Matter::PlacedByDate { kind, date }]);
}

#[test]
fn dullness_noticed_on_the_day_of_a_change_belongs_to_the_edge_that_came_out() {
    let lives = fitted_and_run()
        .event(2, EventKind::NoticedDull, 0.0, "")
        .undated_meter()
        .event(2, EventKind::Pulled, 114.0, "A")
        .event(2, EventKind::Fitted, 0.0, "B")
        .undated_meter()
        .lives();
    let first = &lives.lives[0];
    assert_eq!((first.set.as_str(), total(first)), ("A", 14.0));
    assert_eq!(seen(first).1, Some(14.0));
    assert_eq!(total(&lives.lives[1]), 6.0);
}

#[test]
fn a_row_about_a_machine_nobody_listed_is_noted() {
    let lives = fitted_and_run().run_on("Heron", 3, 5.0, 6.0).lives();
    let matter = Matter::UnknownMachine {
        machine: "Heron".into(),
    };
    assert_eq!(notes(&lives), [&matter]);
}
