use super::*;
use crate::lives::{EdgeCondition, Record, SetPlace, SetState};

fn width(millimetres: f64) -> Option<Width> {
    Width::new(millimetres).ok()
}

/// Set A, 90 mm wide when listed, one hour's work on edge 1 and two on edge 2.
fn worked() -> Book {
    let mut book = Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 101.0)
        .event(2, EventKind::Flipped, 101.0, "")
        .graded(Grade::Working)
        .run(3, 101.0, 103.0);
    book.0.sets[0].width = width(90.0);
    book.0.sets[0].regrinds = 2;
    book.0.machines[0].discard_width = width(80.0);
    book
}

fn set(book: &Book, name: &str) -> SetState {
    let sets = book.lives().sets;
    sets.into_iter().find(|set| set.set == name).expect("a set")
}

fn conditions(set: &SetState) -> Vec<EdgeCondition> {
    set.edges.iter().map(|edge| edge.condition).collect()
}

#[test]
fn a_set_at_work_knows_its_edges_and_its_steel() {
    let book = worked();
    let lives = book.lives();
    let a = set(&book, "A");
    let place = SetPlace::In {
        machine: "Otter".into(),
        edge: 2,
    };
    assert_eq!(a.place, place);
    let worked = [0, 1].map(|life| EdgeCondition::Worked { life: Some(life) });
    assert_eq!(conditions(&a), worked);
    for (life, edge) in [(0, 1), (1, 2)] {
        assert_eq!(lives.lives[life].edge, edge);
    }
    assert_eq!(a.edges[0].grade, Some(Grade::Working));
    assert_eq!(a.edges[1].hours, hours(2.0));
    assert_eq!(a.edge_at_hand().map(|edge| edge.edge), Some(2));
    assert_eq!(
        (a.regrinds, a.width, a.discard_width),
        (2, width(90.0), width(80.0))
    );
    assert_eq!(a.fresh_beside(2), 0);
    let b = set(&book, "B");
    assert_eq!((b.place.clone(), b.fresh_beside(1)), (SetPlace::Bench, 1));
    assert_eq!(b.machine.as_deref(), Some("Otter"));
}

#[test]
fn a_grind_takes_stock_and_makes_every_edge_fresh() {
    let ground = worked()
        .event(4, EventKind::Pulled, 103.0, "A")
        .with(|event| event.nick = width(0.7))
        .bench(5, EventKind::Reground, "A")
        .with(|event| event.stock_removed = width(0.9));
    let a = set(&ground, "A");
    assert_eq!(conditions(&a), [EdgeCondition::Fresh; 2]);
    assert_eq!((a.regrinds, a.nick, a.edges[0].grade), (3, None, None));
    assert_eq!((a.width, a.stock_per_grind), (width(89.1), width(0.9)));
    // The other set has no grind of its own: the crew's stands in.
    assert_eq!(set(&ground, "B").stock_per_grind, width(0.9));
    let again = ground.bench(6, EventKind::Reground, "A");
    let a = set(&again, "A");
    assert_eq!(
        (a.regrinds, a.width, a.width_at_most),
        (4, None, width(89.1))
    );
}

#[test]
fn the_deepest_nick_since_the_last_grind_counts_wherever_it_was_noted() {
    let nicked = worked()
        .event(4, EventKind::Checked, 103.0, "A")
        .with(|event| event.nick = width(1.1))
        .event(4, EventKind::Pulled, 103.0, "A")
        .with(|event| event.nick = width(0.4))
        .event(5, EventKind::Fitted, 103.0, "B")
        // Looked at on the bench, while B is in.
        .event(6, EventKind::Checked, 103.0, "A")
        .with(|event| event.nick = width(1.6));
    assert_eq!(set(&nicked, "A").nick, width(1.6));
    assert_eq!(set(&nicked, "B").nick, None);
}

#[test]
fn a_struck_edge_is_one_until_the_grind() {
    let struck = worked().event(4, EventKind::Struck, 103.0, "A");
    let a = set(&struck, "A");
    assert_eq!(conditions(&a)[1], EdgeCondition::Struck);
    assert!(a.is_struck());
    let ground = struck
        .event(5, EventKind::Pulled, 103.0, "A")
        .bench(6, EventKind::Reground, "A");
    let a = set(&ground, "A");
    assert!(!a.has_struck_edge());
    // The grind mends no crack: somebody has to look all the same.
    assert!(a.is_struck() && !a.inspected);
}

#[test]
fn a_crack_stays_through_a_grind_and_with_the_name_of_the_set() {
    let cracked = worked()
        .event(4, EventKind::Pulled, 103.0, "A")
        .with(|event| event.note = "hairline crack at the bolt".into())
        .bench(5, EventKind::Reground, "A");
    let row = cracked.0.events[2].line;
    assert_eq!(set(&cracked, "A").crack, Some(Record::Event(row)));
    let discarded = cracked.bench(6, EventKind::Discarded, "A");
    assert!(set(&discarded, "A").discarded);
    let new = discarded.event(7, EventKind::Fitted, 103.0, "A");
    let a = set(&new, "A");
    // New knives under an old name, or the cracked ones come back: nobody can tell, nor their width.
    assert_eq!(
        (a.crack, a.discarded, a.width, a.regrinds),
        (Some(Record::Event(row)), false, None, 0)
    );
}

#[test]
fn the_edge_to_fit_from_the_bench_is_the_least_worked() {
    let book = worked().event(4, EventKind::Pulled, 103.0, "A");
    let a = set(&book, "A");
    assert_eq!(a.edge_at_hand().map(|edge| edge.edge), Some(1));
}

#[test]
fn another_number_of_knives_than_the_machine_carries_is_seen() {
    let mut book = worked();
    book.0.sets[0].knives = 3;
    assert!(set(&book, "A").incomplete);
    assert!(!set(&book, "B").incomplete);
}

#[test]
fn the_days_of_lives_and_the_grinds_of_a_set_are_kept() {
    let book = worked()
        .event(4, EventKind::Pulled, 103.0, "A")
        .bench(5, EventKind::Reground, "A")
        .with(|event| event.by = "van".into())
        .event(6, EventKind::Fitted, 103.0, "A")
        .run(7, 103.0, 104.0);
    let lives = book.lives();
    let days = |place: usize| {
        (
            lives.went_in[place].map(|day| day.day()),
            lives.lives[place].came_out.map(|out| out.date.day()),
        )
    };
    assert_eq!(lives.went_in.len(), lives.lives.len());
    assert_eq!(
        [0, 1, 2].map(days),
        [(Some(1), Some(2)), (Some(2), Some(4)), (Some(6), None)]
    );
    let a = set(&book, "A");
    assert_eq!(a.width_listed, width(90.0));
    let grinds = a.grinds.iter();
    let grinds: Vec<_> = grinds
        .map(|it| (it.on.day(), it.by.as_str(), it.removed))
        .collect();
    assert_eq!(grinds, [(5, "van", None)]);
}
