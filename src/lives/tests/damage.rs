//! What rows say for and against running a set.

use super::*;
use crate::lives::{Doubt, Record, SetState};
use crate::logbook::UnreadRow;

/// Set A worked from day 1 and came out on day 2; B went in.
fn changed() -> Book {
    Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 101.0)
        .event(2, EventKind::Pulled, 101.0, "A")
        .event(3, EventKind::Fitted, 101.0, "B")
        .run(4, 101.0, 103.0)
}

impl Book {
    fn noted(self, note: &str) -> Self {
        self.with(|event| event.note = note.into())
    }

    fn unread(mut self, row: UnreadRow) -> Self {
        self.0.unread.push(row);
        self
    }

    fn state(&self, name: &str) -> SetState {
        let sets = self.lives().sets;
        sets.into_iter().find(|set| set.set == name).expect("a set")
    }

    fn waits(&self) -> Vec<String> {
        let sets = self.lives().sets.into_iter();
        let waiting = sets.filter(|set| set.is_struck() && !set.inspected);
        waiting.map(|set| set.set).collect()
    }
}

fn unread(file: LogFile, date: Option<Date>, sets: &[&str], words: &str) -> UnreadRow {
    UnreadRow {
        file,
        line: Line(9),
        date,
        machines: vec!["Otter".into()],
        sets: sets.iter().map(|set| (*set).to_owned()).collect(),
        words: words.into(),
    }
}

#[test]
fn a_strike_counts_for_the_set_that_it_names_and_for_the_one_that_is_in() {
    let struck = changed().event(5, EventKind::Struck, 103.0, "A");
    assert_eq!(struck.waits(), ["A", "B"]);
    // Neither grind nor change ends it; a set found sound may run.
    let ground = struck.bench(6, EventKind::Reground, "A");
    assert_eq!(ground.waits(), ["A", "B"]);
    let sound = ground
        .bench(7, EventKind::Checked, "A")
        .noted("inspected, sound");
    assert_eq!(sound.waits(), ["B"]);
    assert!(!sound.state("A").is_struck());
}

#[test]
fn a_strike_written_after_the_set_came_out_counts() {
    for named in ["A", ""] {
        let struck = Book::otter()
            .event(1, EventKind::Fitted, 100.0, "A")
            .run(1, 100.0, 106.0)
            .event(1, EventKind::Pulled, 106.0, "")
            .event(2, EventKind::Struck, 106.0, named)
            .undated_meter()
            .event(3, EventKind::Fitted, 106.0, "A");
        assert_eq!(struck.waits(), ["A"], "named: {named}");
    }
}

#[test]
fn an_inspection_counts_for_what_stands_before_it_only() {
    let struck = changed()
        .event(5, EventKind::Checked, 103.0, "B")
        .noted("inspected, sound")
        .event(5, EventKind::Struck, 102.0, "B");
    assert_eq!(struck.waits(), ["B"]);
    let sound = struck
        .event(5, EventKind::Checked, 102.0, "B")
        .noted("inspected, sound");
    assert!(sound.waits().is_empty());
    assert_eq!(sound.event(6, EventKind::Struck, 103.0, "").waits(), ["B"]);
}

#[test]
fn a_grind_leaves_what_it_does_not_take_off_a_nick() {
    let nick_after = |removed: Option<f64>| {
        let ground = changed()
            .bench(5, EventKind::Checked, "A")
            .with(|event| event.nick = Width::new(4.0).ok())
            .bench(6, EventKind::Reground, "A")
            .with(|event| event.stock_removed = removed.and_then(|it| Width::new(it).ok()));
        let a = ground.state("A");
        assert_eq!(a.nick.is_some(), a.nick_was_ground);
        a.nick.map(Width::millimetres)
    };
    assert_eq!(nick_after(Some(0.5)), Some(3.5));
    assert_eq!(nick_after(Some(4.0)), None);
    assert_eq!(nick_after(None), None);
}

#[test]
fn a_nick_measured_after_a_grind_of_the_same_day_stands() {
    let nick = |event: &mut EdgeEvent| event.nick = Width::new(5.0).ok();
    let took = |event: &mut EdgeEvent| event.stock_removed = Width::new(0.6).ok();
    let ground = || changed().bench(5, EventKind::Reground, "A");
    for ground in [ground(), ground().with(took)] {
        let measured = ground.bench(5, EventKind::Checked, "A").with(nick);
        let a = measured.state("A");
        assert_eq!((a.nick, a.nick_was_ground), (Width::new(5.0).ok(), false));
        // A deeper one that was ground out before does not hide it.
        let before = changed().bench(4, EventKind::Checked, "A").with(nick);
        let after = before
            .bench(5, EventKind::Reground, "A")
            .bench(5, EventKind::Checked, "A")
            .with(|event| event.nick = Width::new(1.0).ok());
        assert_eq!(after.state("A").nick, Width::new(1.0).ok());
    }
}

#[test]
fn a_note_that_knives_do_not_match_holds_until_they_do() {
    let odd = changed()
        .bench(5, EventKind::Checked, "A")
        .noted("knife 2 is new, not matched");
    let row = odd.0.events.last().map(|event| Record::Event(event.line));
    assert_eq!(odd.state("A").unmatched, row);
    assert_eq!(odd.state("B").unmatched, None);
    let ground = changed()
        .bench(5, EventKind::Checked, "A")
        .noted("mismatched")
        .bench(6, EventKind::Reground, "A");
    assert_eq!(ground.state("A").unmatched, None);
    assert!(
        ground
            .noted("still do not match")
            .state("A")
            .unmatched
            .is_some()
    );
    let matched = odd.bench(6, EventKind::Checked, "A").noted("matched");
    assert_eq!(matched.state("A").unmatched, None);
}

#[test]
fn damage_in_any_row_makes_the_set_wait_for_a_look() {
    let record = Record::Run(Line(3));
    let run = changed().but(|run| run.note = "knife 2 craked".into());
    let was_read = true;
    assert_eq!(run.state("B").doubt, Some(Doubt { record, was_read }));
    // A was out by then.
    assert_eq!(run.state("A").doubt, None);
    let sound = run
        .event(5, EventKind::Checked, 103.0, "B")
        .noted("inspected, sound");
    assert_eq!(sound.state("B").doubt, None);
    let bent = changed()
        .event(5, EventKind::BedKnifeReset, 103.0, "B")
        .noted("bolt bent");
    assert!(bent.state("B").doubt.is_some());
    let cracked = changed()
        .event(5, EventKind::BedKnifeReset, 103.0, "B")
        .noted("cracked");
    assert!(cracked.state("B").crack.is_some());
    // On no machine that is known, and of one that none has fitted.
    let lost = changed()
        .event_on("Heron", 5, EventKind::Checked, 103.0, "A")
        .noted("cracked");
    assert!(lost.state("A").crack.is_some());
}

#[test]
fn a_row_that_could_not_be_read_makes_the_set_wait_for_a_look() {
    let struck =
        |date, sets: &[&str]| changed().unread(unread(LogFile::Events, date, sets, "struck. "));
    let doubted = |book: &Book| {
        let sets = book.lives().sets.into_iter();
        let sets = sets.filter(|set| set.doubt.is_some_and(|doubt| !doubt.was_read));
        sets.map(|set| set.set).collect::<Vec<_>>()
    };
    assert_eq!(doubted(&struck(Some(day(1)), &[])), ["A"]);
    assert_eq!(doubted(&struck(Some(day(5)), &[])), ["B"]);
    assert_eq!(doubted(&struck(Some(day(5)), &["A"])), ["A", "B"]);
    let sound = |book: Book| {
        book.event(6, EventKind::Checked, 103.0, "B")
            .noted("inspected, sound")
    };
    assert!(doubted(&sound(struck(Some(day(5)), &[]))).is_empty());
    // Whether the look came after it nobody can say.
    assert_eq!(doubted(&sound(struck(None, &[]))), ["B"]);
    let harmless = changed().unread(unread(LogFile::Runs, Some(day(5)), &[], "split oak"));
    assert!(doubted(&harmless).is_empty());
}

/// The rows whose notes are not understood; every one is an alarm.
fn not_understood(book: &Book) -> Vec<Record> {
    let notes = book.lives().tally.notes.into_iter();
    let open = notes.filter(|note| matches!(note.matter, Matter::NotUnderstood { .. }));
    open.inspect(|note| assert!(note.matter.is_alarm()))
        .map(|note| note.record)
        .collect()
}

/// Set B, at work, looked at.
fn looked_at(note: &str) -> Book {
    changed()
        .event(5, EventKind::Checked, 103.0, "B")
        .noted(note)
}

#[test]
fn a_note_that_is_not_understood_stands_until_the_set_is_found_sound() {
    let rattles = || looked_at("holder rattles");
    let [first] = not_understood(&rattles())[..] else {
        panic!("{:?}", not_understood(&rattles()));
    };
    for (kind, note) in [
        (EventKind::Flipped, ""),
        (EventKind::Reground, ""),
        (EventKind::Checked, "knives keen"),
        (EventKind::Checked, "matched"),
    ] {
        let later = rattles().bench(7, kind, "B").noted(note);
        assert_eq!(not_understood(&later), [first], "{kind:?} {note}");
    }
    // Another that is not understood says nothing of it.
    for note in ["knife rattles", "Schraube locker", "bolts not tight"] {
        let again = rattles().bench(7, EventKind::Checked, "B").noted(note);
        assert!(matches!(not_understood(&again)[..], [one, _] if one == first));
    }
    let sound = rattles()
        .bench(7, EventKind::Checked, "B")
        .noted("inspected, sound");
    assert_eq!(not_understood(&sound), []);
    let gone =
        rattles()
            .event(7, EventKind::Pulled, 103.0, "B")
            .bench(8, EventKind::Discarded, "B");
    assert_eq!(not_understood(&gone), []);
}

#[test]
fn what_holds_a_set_needs_no_other_word_and_what_is_read_is_no_matter() {
    let held = looked_at("holder rattles")
        .bench(7, EventKind::Checked, "B")
        .noted("do not run");
    assert_eq!(not_understood(&held), []);
    assert!(held.state("B").doubt.is_some());
    for note in ["", "knives keen", "cracked at a bolt hole", "do not run"] {
        assert_eq!(not_understood(&looked_at(note)), [], "{note}");
    }
    // Knives that match again are not what else the same note told of.
    let matched = looked_at("unmatched, Schraube locker")
        .bench(7, EventKind::Checked, "B")
        .noted("matched");
    assert_eq!(not_understood(&matched).len(), 1);
    // Nor is a look lost at what has just come out.
    let out = changed()
        .event(5, EventKind::Pulled, 103.0, "B")
        .event(5, EventKind::Checked, 103.0, "")
        .noted("holder rattles");
    assert_eq!(not_understood(&out).len(), 1);
    // A look at a set is for its soundness; other rows are full of words.
    let ground = changed()
        .bench(5, EventKind::Reground, "A")
        .noted("two bolts new");
    assert_eq!(not_understood(&ground), []);
}

#[test]
fn something_hit_is_a_doubt_where_a_look_says_so() {
    assert!(looked_at("hit a nail").state("B").doubt.is_some());
    let stuck = looked_at("branch stuck, no nail hit").state("B");
    assert!(stuck.doubt.is_none());
}
