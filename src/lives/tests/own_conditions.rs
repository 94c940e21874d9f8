use super::*;
use crate::wood::{Blend, Covariates};

/// Own conditions of each part, with its share, of the blend at this segment.
fn own(life: &EdgeLife, segment: usize) -> Vec<(Vec<f64>, f64)> {
    let parts = life.exposure.segments[segment].blend.parts();
    let own = parts.iter().map(|part| {
        (
            part.covariates.row()[Covariates::COUNT..].to_vec(),
            part.share,
        )
    });
    own.collect()
}

fn worked() -> Book {
    Book::otter()
        .event(1, EventKind::Fitted, 100.0, "A")
        .run(1, 100.0, 103.0)
        .run(2, 103.0, 104.0)
}

#[test]
fn a_run_carries_what_its_own_columns_say() {
    let book = worked()
        .column("vines", &["yes", ""])
        .column("ticket", &["17", "18"])
        .column("creosoted", &["", "x"]);
    let life = book.only();
    assert_eq!(life.exposure.segments.len(), 2);
    assert_eq!(own(&life, 0), [(vec![1.0, 0.0], 1.0)]);
    assert_eq!(own(&life, 1), [(vec![0.0, 1.0], 1.0)]);
    let lives = book.lives();
    assert_eq!(lives.conditions, ["vines", "creosoted"]);
    let told = lives.tally.conditions.iter();
    let told: Vec<_> = told
        .map(|it| (it.name.as_str(), it.runs, it.hours))
        .collect();
    assert_eq!(
        told,
        [("vines", 1, hours(3.0)), ("creosoted", 1, hours(1.0))]
    );
}

#[test]
fn hours_in_no_run_hold_a_condition_as_often_as_the_logged_ones() {
    // 3 of 4 logged hours had vines; the two hours to the next reading are in no run.
    let life = worked()
        .column("vines", &["y", "n"])
        .event(3, EventKind::Pulled, 106.0, "")
        .only();
    assert_eq!(own(&life, 2), [(vec![1.0], 0.75), (vec![0.0], 0.25)]);
}

#[test]
fn a_run_without_wood_is_the_usual_mix_under_its_own_answer() {
    let life = worked()
        .run(3, 104.0, 106.0)
        .but(|run| run.wood = None)
        .column("vines", &["y", "n", "y"])
        .only();
    assert_eq!(own(&life, 2), [(vec![1.0], 1.0)]);
    let oak = WoodMix::parse("oak").expect("a wood");
    let oak = Blend::of(&oak, Contamination::Clean, WoodState::Green);
    assert_eq!(
        *life.exposure.segments[2].blend,
        oak.with_own_conditions(&[true])
    );
}

#[test]
fn a_column_that_is_no_condition_changes_nothing() {
    let plain = worked().lives();
    assert_eq!(worked().column("ticket", &["17", "18"]).lives(), plain);
    assert!(plain.conditions.is_empty());
}
