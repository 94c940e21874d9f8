use super::*;
use crate::lives::Record;
use crate::wood::Blend;

fn blend(wood: &str, dirt: Contamination) -> Blend {
    Blend::of(
        &WoodMix::parse(wood).expect("a wood"),
        dirt,
        WoodState::Green,
    )
}

#[test]
fn an_edge_carries_the_hours_of_its_runs_with_what_went_through() {
    let life = Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 104.0)
        .run(2, 104.0, 110.5)
        .but(|run| run.contamination = Some(Contamination::Gritty))
        .only();
    let stops: Vec<f64> = life
        .exposure
        .segments
        .iter()
        .map(|s| s.stop.get())
        .collect();
    assert_eq!(stops, [4.0, 10.5]);
    assert_eq!(
        *life.exposure.segments[1].blend,
        blend("oak", Contamination::Gritty)
    );
}

#[test]
fn hours_between_runs_count_as_the_usual_mix_and_are_reported() {
    let book = Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 106.0)
        .run(3, 108.0, 110.0)
        .but(|run| run.contamination = Some(Contamination::Dirty));
    let life = book.only();
    let parts = life.exposure.segments[1].blend.parts().to_vec();
    let shares: Vec<f64> = parts.iter().map(|part| part.share).collect();
    // Logged: 6 h clean and 2 h dirty.
    assert_eq!(shares, [0.75, 0.25]);
    assert_eq!(life.exposure.segments[1].stop, hours(8.0));
    assert_eq!(book.lives().tally.hours[0].unlogged, hours(2.0));
}

#[test]
fn a_run_with_wood_left_blank_counts_as_the_usual_mix() {
    let book = Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 106.0)
        .run(2, 106.0, 110.0)
        .but(|run| run.wood = None);
    assert_eq!(book.only().exposure.segments.len(), 1);
    assert_eq!(book.lives().tally.hours[0].blank, hours(4.0));
}

#[test]
fn without_any_run_the_usual_mix_is_the_reference() {
    let life = Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .event(9, EventKind::Pulled, 130.0, "A")
        .only();
    assert_eq!(total(&life), 30.0);
    assert_eq!(*life.exposure.segments[0].blend, Blend::reference());
}

#[test]
fn hours_alone_follow_the_run_before() {
    let life = Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 104.0)
        .hours_only(2, 3.0)
        .but(|run| run.contamination = Some(Contamination::Dirty))
        .run(3, 109.0, 110.0)
        .only();
    let stops: Vec<f64> = life
        .exposure
        .segments
        .iter()
        .map(|s| s.stop.get())
        .collect();
    assert_eq!(stops, [4.0, 7.0, 9.0, 10.0]);
    assert_eq!(
        *life.exposure.segments[1].blend,
        blend("oak", Contamination::Dirty)
    );
}

#[test]
fn a_crew_without_a_meter_is_placed_by_date_and_hours() {
    let book = Book::otter()
        .event(1, EventKind::Fitted, 0.0, "A")
        .undated_meter()
        .hours_only(1, 4.0)
        .hours_only(2, 5.0)
        .event(2, EventKind::Pulled, 0.0, "A")
        .undated_meter()
        .event(3, EventKind::Fitted, 0.0, "B")
        .undated_meter()
        .hours_only(3, 2.5);
    let lives = book.lives();
    let totals: Vec<f64> = lives.lives.iter().map(total).collect();
    assert_eq!(totals, [9.0, 2.5]);
    assert_eq!(lives.machines[0].meter, None);
    assert_eq!(notes(&lives).len(), 3);
}

#[test]
fn hours_before_the_first_reading_lie_right_before_it() {
    let life = Book::otter()
        .event(1, EventKind::Fitted, 0.0, "A")
        .undated_meter()
        .hours_only(1, 4.0)
        .run(2, 100.0, 106.0)
        .only();
    assert_eq!(total(&life), 10.0);
}

#[test]
fn more_hours_than_the_meter_leaves_room_for_are_cut_and_noted() {
    let book = Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 104.0)
        .hours_only(2, 5.0)
        .run(3, 106.0, 110.0);
    assert_eq!(total(&book.only()), 10.0);
    let lives = book.lives();
    let expected = Matter::MoreThanMeter {
        written: hours(5.0),
        counted: hours(2.0),
    };
    assert_eq!(notes(&lives), [&expected]);
}

#[test]
fn overlapping_runs_count_once_and_the_later_is_trimmed() {
    let book = Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 108.0)
        .run(2, 106.0, 112.0)
        .but(|run| run.contamination = Some(Contamination::Dirty));
    let life = book.only();
    let stops: Vec<f64> = life
        .exposure
        .segments
        .iter()
        .map(|s| s.stop.get())
        .collect();
    assert_eq!(stops, [8.0, 12.0]);
    let lives = book.lives();
    assert_eq!(notes(&lives), [&Matter::Overlap { hours: hours(2.0) }]);
    assert_eq!(lives.tally.notes[0].record, Record::Run(Line(3)));
}

#[test]
fn a_run_entered_twice_counts_once() {
    let book = Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 108.0)
        .run(1, 100.0, 108.0);
    assert_eq!(total(&book.only()), 8.0);
    assert_eq!(
        notes(&book.lives()),
        [&Matter::Overlap { hours: hours(8.0) }]
    );
}

#[test]
fn rows_out_of_order_are_put_in_order() {
    let book = Book::otter()
        .run(3, 110.0, 115.0)
        .run(1, 100.0, 104.0)
        .run(2, 104.0, 110.0)
        .event(3, EventKind::Pulled, 115.0, "A")
        .event(1, EventKind::Fitted, 100.0, "A");
    assert_eq!(total(&book.only()), 15.0);
    assert!(notes(&book.lives()).is_empty());
}

#[test]
fn a_wrong_digit_costs_its_row_and_not_the_log() {
    let book = Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 104.0)
        .run(2, 104.0, 109.0)
        .run(3, 1009.0, 1014.0)
        .run(4, 114.0, 120.0);
    assert_eq!(total(&book.only()), 20.0);
    let lives = book.lives();
    assert_eq!(lives.tally.hours[0].unlogged, MeterHours::ZERO);
    let expected = Matter::ReadingOutOfLine {
        machine: "Otter".into(),
        reading: hours(1014.0),
    };
    assert_eq!(notes(&lives), [&expected]);
    assert_eq!(lives.tally.notes[0].record, Record::Run(Line(4)));
}

#[test]
fn a_meter_that_falls_without_a_word_gives_no_negative_hours() {
    let book = Book::otter()
        .event(1, EventKind::Fitted, 1000.0, "A")
        .run(1, 1000.0, 1004.0)
        .run(2, 1004.0, 1010.0)
        .run(3, 0.0, 3.0)
        .event(3, EventKind::Pulled, 3.0, "A");
    assert_eq!(total(&book.only()), 13.0);
    assert_eq!(notes(&book.lives()).len(), 2);
}

#[test]
fn a_replaced_meter_goes_on_counting() {
    let book = Book::otter()
        .event(1, EventKind::Fitted, 1000.0, "A")
        .run(1, 1000.0, 1010.0)
        .event(3, EventKind::MeterReplaced, 1012.0, "")
        .with(|event| event.new_meter = Some(hours(0.5)))
        .run(3, 0.5, 4.0)
        .run(4, 4.0, 9.0);
    assert_eq!(total(&book.only()), 20.5);
    let lives = book.lives();
    assert_eq!(lives.tally.hours[0].unlogged, hours(2.0));
    assert_eq!(lives.machines[0].meter, Some(hours(9.0)));
    assert_eq!(
        lives.machines[0].at_work.as_ref().expect("A").meter_then,
        None
    );
    assert!(notes(&lives).is_empty());
}

#[test]
fn hours_written_while_the_meter_was_broken_count() {
    let life = Book::otter()
        .event(1, EventKind::Fitted, 1000.0, "A")
        .run(1, 1000.0, 1010.0)
        .hours_only(2, 4.0)
        .hours_only(3, 3.0)
        .event(5, EventKind::MeterReplaced, 0.0, "")
        .undated_meter()
        .with(|event| event.new_meter = Some(hours(0.0)))
        .run(5, 0.0, 2.0)
        .only();
    assert_eq!(total(&life), 19.0);
}

#[test]
fn more_hours_than_the_days_hold_are_noted() {
    let book = Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 104.0)
        .run(2, 190.0, 194.0);
    let lives = book.lives();
    let expected = Matter::Jump {
        machine: "Otter".into(),
        from: Record::Run(Line(2)),
        hours: hours(86.0),
        days: 2,
    };
    assert_eq!(notes(&lives), [&expected]);
}

#[test]
fn an_edge_fitted_before_the_log_is_left_truncated_at_its_first_record() {
    // Written under the day of the log: the reading tells that it was earlier.
    let book = Book::otter()
        .run(1, 100.0, 104.0)
        .run(2, 104.0, 110.0)
        .event(2, EventKind::Fitted, 80.0, "A")
        .event(3, EventKind::Pulled, 110.0, "A");
    let life = book.only();
    assert_eq!(total(&life), 30.0);
    assert_eq!(life.entry, Some(hours(20.0)));
    let lives = book.lives();
    assert_eq!(lives.tally.hours[0].before_log, hours(20.0));
    assert_eq!(lives.tally.hours[0].unlogged, MeterHours::ZERO);
    assert!(
        matches!(notes(&lives)[0], Matter::WorkedBeforeLog { hours: before, .. } if *before == hours(20.0))
    );
}

#[test]
fn an_edge_fitted_when_the_log_starts_is_not_truncated() {
    let mut book = Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(2, 102.0, 106.0);
    book.0.machines[0].meter = Some(hours(100.0));
    assert_eq!(book.only().entry, None);
    assert_eq!(total(&book.only()), 6.0);
}

#[test]
fn a_look_before_the_first_run_is_the_first_record() {
    let life = Book::otter()
        .event(1, EventKind::Fitted, 80.0, "A")
        .event(1, EventKind::Checked, 95.0, "A")
        .graded(Grade::Keen)
        .run(1, 100.0, 104.0)
        .only();
    assert_eq!(life.entry, Some(hours(15.0)));
}
