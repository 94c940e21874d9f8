use super::*;
use crate::lives::Note;

fn alarms(book: &Book) -> Vec<Matter> {
    let notes = book.lives().tally.notes;
    notes
        .into_iter()
        .map(|note: Note| note.matter)
        .filter(Matter::is_alarm)
        .collect()
}

fn fitted(width: f64) -> Book {
    let mut book = Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 110.0);
    book.0.sets[0].width = Width::new(width).ok();
    book.0.machines[0].discard_width = Width::new(90.0).ok();
    book
}

#[test]
fn a_set_below_the_discard_width_raises_an_alarm_when_fitted() {
    assert!(alarms(&fitted(95.0)).is_empty());
    assert!(matches!(
        alarms(&fitted(89.0))[..],
        [Matter::UnderWidth { .. }]
    ));
}

#[test]
fn stock_ground_away_counts_towards_the_discard_width() {
    let book = fitted(91.0)
        .event(2, EventKind::Pulled, 110.0, "A")
        .bench(3, EventKind::Reground, "A")
        .with(|event| event.stock_removed = Width::new(2.0).ok());
    assert!(matches!(alarms(&book)[..], [Matter::UnderWidth { .. }]));
}

#[test]
fn a_set_with_another_number_of_knives_raises_an_alarm() {
    let mut book = fitted(95.0);
    book.0.sets[0].knives = 3;
    assert!(matches!(
        alarms(&book)[..],
        [Matter::KnivesDiffer {
            knives: 3,
            wanted: 2,
            ..
        }]
    ));
}
