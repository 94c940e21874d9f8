use super::*;
use crate::quantities::WearFraction;

fn at_work() -> Book {
    Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 110.0)
        .run(2, 110.0, 120.0)
}

fn pulled(grade: Option<Grade>) -> Book {
    at_work()
        .event(2, EventKind::Pulled, 120.0, "A")
        .with(|event| event.grade = grade)
}

#[test]
fn the_grade_of_a_pull_stands_alone_at_its_hour() {
    let life = pulled(Some(Grade::Working)).only();
    assert_eq!(
        seen(&life),
        (vec![(20.0, Sight::Graded(Grade::Working))], None)
    );
    assert_eq!(life.ending, Ending::PulledOnSchedule);
}

#[test]
fn a_pull_without_a_grade_was_not_called() {
    let life = pulled(None).only();
    assert_eq!(seen(&life), (vec![(20.0, Sight::NotCalled)], None));
}

#[test]
fn noticed_dull_outweighs_the_grade_at_the_same_hour() {
    let life = pulled(Some(Grade::Dull))
        .event(2, EventKind::NoticedDull, 120.0, "A")
        .only();
    assert_eq!(seen(&life), (vec![], Some(20.0)));
    assert_eq!(life.ending, Ending::NoticedDull);
}

#[test]
fn noticed_dull_and_graded_overrun_is_noticed_late() {
    let life = pulled(Some(Grade::Overrun))
        .event(2, EventKind::NoticedDull, 120.0, "A")
        .only();
    let late = Some(crate::lives::Noticed {
        at: hours(20.0),
        late: true,
    });
    assert_eq!(
        life.observation,
        Observation::Graded {
            looks: vec![],
            noticed: late
        }
    );
    assert_eq!(life.ending, Ending::NoticedDull);
}

#[test]
fn nobody_says_not_called_of_an_edge_noticed_dull_earlier() {
    let book = pulled(None).event(2, EventKind::NoticedDull, 116.0, "A");
    assert_eq!(seen(&book.only()), (vec![], Some(16.0)));
    assert_eq!(book.lives().tally.graded_endings, 1);
}

#[test]
fn after_a_touch_up_an_edge_noticed_dull_runs_on_not_called() {
    let life = at_work()
        .event(1, EventKind::NoticedDull, 110.0, "A")
        .event(1, EventKind::TouchedUp, 110.0, "A")
        .only();
    assert_eq!(seen(&life), (vec![(20.0, Sight::NotCalled)], Some(10.0)));
    assert_eq!(life.exposure.touch_ups.len(), 1);
    assert_eq!(life.exposure.touch_ups[0].at, hours(10.0));
    assert_eq!(life.ending, Ending::Running);
}

#[test]
fn felt_dull_again_it_counts_as_a_grade() {
    let life = pulled(None)
        .event(1, EventKind::NoticedDull, 110.0, "A")
        .event(1, EventKind::TouchedUp, 110.0, "A")
        .event(2, EventKind::NoticedDull, 118.0, "A")
        .only();
    let looks = vec![(18.0, Sight::Graded(Grade::Dull))];
    assert_eq!(seen(&life), (looks, Some(10.0)));
}

#[test]
fn a_measured_flat_is_a_fraction_of_the_flat_when_dull() {
    let book = pulled(Some(Grade::Working))
        .with(|event| event.flat = Width::from_millimetres(0.3).ok())
        .flat_when_dull(0.5);
    let fraction = WearFraction::new(0.6).expect("a fraction");
    let looks = seen(&book.only()).0;
    assert_eq!(looks, [(20.0, Sight::Measured(fraction))]);
}

#[test]
fn a_flat_without_the_flat_when_dull_is_noted_and_the_grade_stands() {
    let book =
        pulled(Some(Grade::Working)).with(|event| event.flat = Width::from_millimetres(0.3).ok());
    let looks = seen(&book.only()).0;
    assert_eq!(looks, [(20.0, Sight::Graded(Grade::Working))]);
    assert_eq!(notes(&book.lives()), [&Matter::FlatUnused]);
}

#[test]
fn a_look_at_an_edge_that_has_not_worked_says_nothing() {
    let book = pulled(Some(Grade::Dull))
        .event(1, EventKind::Checked, 100.0, "A")
        .graded(Grade::Working);
    assert_eq!(seen(&book.only()).0, [(20.0, Sight::Graded(Grade::Dull))]);
    assert!(matches!(
        notes(&book.lives())[0],
        Matter::LookWhenFresh { .. }
    ));
}

#[test]
fn looks_in_the_middle_of_a_life_are_kept_in_order() {
    let life = pulled(Some(Grade::Dull))
        .event(2, EventKind::Checked, 114.0, "A")
        .graded(Grade::Working)
        .event(1, EventKind::Checked, 105.0, "A")
        .graded(Grade::Keen)
        .only();
    let looks = [
        (5.0, Sight::Graded(Grade::Keen)),
        (14.0, Sight::Graded(Grade::Working)),
        (20.0, Sight::Graded(Grade::Dull)),
    ];
    assert_eq!(seen(&life).0, looks);
}

#[test]
fn silence_after_a_grade_of_dull_or_overrun_is_not_taken_for_not_called() {
    for grade in [Grade::Dull, Grade::Overrun] {
        let life = Book::otter()
            .event(1, EventKind::Fitted, 100.0, "A")
            .run(1, 100.0, 120.0)
            .event(1, EventKind::Checked, 115.0, "A")
            .graded(grade)
            .event(2, EventKind::Pulled, 120.0, "A")
            .only();
        assert_eq!(seen(&life), (vec![(15.0, Sight::Graded(grade))], None));
    }
}

#[test]
fn a_check_written_after_a_touch_up_at_the_same_reading_sees_the_new_edge() {
    let life = Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 120.0)
        .event(1, EventKind::Checked, 115.0, "A")
        .graded(Grade::Dull)
        .event(1, EventKind::TouchedUp, 115.0, "A")
        .event(1, EventKind::Checked, 115.0, "A")
        .graded(Grade::Keen)
        .event(2, EventKind::Pulled, 120.0, "A")
        .graded(Grade::Working)
        .only();
    let (looks, _) = seen(&life);
    let sights: Vec<Sight> = looks.iter().map(|look| look.1).collect();
    assert_eq!(
        sights,
        [Grade::Dull, Grade::Keen, Grade::Working].map(Sight::Graded)
    );
    let touch_up = life.exposure.touch_ups[0].at.get();
    assert!(looks[0].0 <= touch_up && looks[1].0 > touch_up && looks[1].0 < touch_up + 0.001);
}

#[test]
fn a_flat_measured_when_dullness_is_noticed_is_kept_beside_it() {
    let book = pulled(None)
        .event(2, EventKind::NoticedDull, 116.0, "A")
        .with(|event| event.flat = Width::new(0.4).ok())
        .flat_when_dull(0.5);
    let fraction = WearFraction::new(0.8).expect("a fraction");
    assert_eq!(
        seen(&book.only()),
        (vec![(16.0, Sight::Measured(fraction))], Some(16.0))
    );
}

#[test]
fn the_last_look_is_the_latest_of_grades_and_of_what_was_noticed() {
    use crate::lives::{LastLook, Saw};
    let looked = |day: i8, at: f64, grade: Grade| {
        move |book: Book| {
            let book = book.event(day, EventKind::Checked, at, "A");
            book.with(|event| event.grade = Some(grade))
        }
    };
    let at = |at: f64, saw: Saw| {
        Some(LastLook {
            at: hours(at),
            saw,
            touched_up_since: false,
        })
    };
    assert_eq!(at_work().only().last_look(), None);
    let working = looked(1, 108.0, Grade::Working)(at_work());
    let last = working.only().last_look();
    assert_eq!(last, at(8.0, Saw::Graded(Grade::Working)));
    let noticed = looked(1, 108.0, Grade::Working)(at_work());
    let noticed = noticed.event(2, EventKind::NoticedDull, 115.0, "A");
    assert_eq!(noticed.only().last_look(), at(15.0, Saw::NoticedDull));
    // A touch-up makes another edge of it.
    let noticed = at_work().event(1, EventKind::NoticedDull, 108.0, "A");
    assert!(
        noticed
            .only()
            .last_look()
            .is_some_and(|it| it.calls_it_dull())
    );
    let noticed = at_work().event(1, EventKind::NoticedDull, 108.0, "A");
    let touched = noticed.event(2, EventKind::TouchedUp, 112.0, "A").only();
    let last = touched.last_look().expect("a look");
    assert!(last.touched_up_since && !last.calls_it_dull());
    // A pull that nobody graded is no look.
    assert_eq!(pulled(None).only().last_look(), None);
}
