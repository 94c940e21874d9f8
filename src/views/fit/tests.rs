use super::*;
use crate::lives::Rotor;
use crate::quantities::{Estimate, Level, Probability};
use crate::wear::{Doubt, Habit, HabitRange};

fn estimate(point: f64, lower: f64, upper: f64) -> Estimate<f64> {
    Estimate {
        point,
        lower,
        upper,
        level: Level::NINETY,
    }
}

fn learned(quantity: Quantity, share: f64) -> Learned {
    Learned {
        quantity,
        before: estimate(4.0, 1.8, 8.9),
        after: estimate(2.1, 1.6, 2.8),
        share_from_defaults: Probability::new(share).expect("a share"),
    }
}

fn set(name: &str) -> Quantity {
    Quantity::GroupEffect {
        grouping: "set".into(),
        level: name.into(),
    }
}

fn health() -> Health {
    Health {
        method: "laplace",
        k_hat: Some(0.31),
        effective: 2071.4,
        r_hat: None,
        divergences: None,
        switched: None,
        doubts: Vec::new(),
    }
}

fn report() -> FitReport {
    let ranges = HabitRanges {
        changes: 12,
        now: 2.4,
        after: vec![
            HabitRange {
                habit: Habit::Graded,
                range: 1.5,
            },
            HabitRange {
                habit: Habit::NothingWritten,
                range: 1.9,
            },
        ],
    };
    FitReport {
        learned: vec![
            learned(Quantity::MedianLife(Rotor::Drum), 0.2),
            learned(Quantity::Condition("dirty".into()), 0.2),
            learned(Quantity::Condition("frozen".into()), 0.95),
            learned(Quantity::EyeError, 0.5),
            learned(set("Red"), 0.5),
            learned(set("Blue"), 0.5),
        ],
        strikes: vec![StrikeRate {
            dirt: "gritty",
            before: estimate(6.0, 0.7, 16.0),
            after: estimate(3.1, 0.96, 6.2),
            share_from_defaults: Probability::new(0.22).expect("a share"),
        }],
        family: Family::Weibull,
        health: health(),
        adequacy: None,
        chains: 4,
        habits: vec![MachineHabits {
            machine: "Heron".into(),
            conditions: "in the wood it usually chips".into(),
            interval: MeterHours::new(50.0).expect("hours"),
            ranges: Some(ranges),
        }],
        tally: Tally::default(),
        rows_set_aside: Vec::new(),
        seed: 1,
        cautions: crate::decisions::handling_knives(),
    }
}

/// The words of a text, whatever the line breaks.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn what_was_learned_is_told_in_sentences_with_what_held_before() {
    let text = flat(&report().text());
    for sentence in [
        "Half of all new edges on an average drum machine are dull after 2.1 meter hours of clean, green hardwood (1.6 to 2.8); before your log: 4.0 (1.8 to 8.9).",
        "Dirty wood wears your edges 2.1 times as fast as clean (1.6 to 2.8); before your log: 4.0 (1.8 to 8.9).",
        "The eye that grades is off by about 2.1 % either way (1.6 to 2.8)",
        "last as those of the average set: Red 2.10 (1.60 to 2.80), Blue 2.10 (1.60 to 2.80); before your log: 1.80 to 8.90.",
    ] {
        assert!(text.contains(sentence), "{sentence}\n{text}");
    }
}

#[test]
fn what_the_log_says_nothing_of_is_not_told_as_learned() {
    let text = flat(&report().text());
    assert!(text.contains("- still the default: frozen wood "), "{text}");
    assert!(!text.contains("Frozen wood wears"), "{text}");
    let mut empty = report();
    empty.learned.retain(Learned::is_still_the_default);
    assert!(flat(&empty.text()).contains("taught next to nothing yet"));
}

#[test]
fn a_sound_answer_says_so_and_a_doubtful_one_says_what_to_do() {
    let text = flat(&report().text());
    assert!(
        text.contains("how far a few draws outweigh the rest: 0.31 (the lower the better; k-hat); worth 2071 independent draws."),
        "{text}"
    );
    assert!(text.contains("The computation holds up."));
    let mut doubtful = report();
    doubtful.health.doubts = vec![Doubt::HeavyWeights {
        k_hat: 0.9,
        trusted: 0.7,
    }];
    let text = flat(&doubtful.text());
    assert!(
        text.contains("! the quick approximation is not good enough"),
        "{text}"
    );
    assert!(
        text.contains(
            "Do not lean on these numbers as they stand. Ask again with --posterior nuts"
        )
    );
    assert_eq!(doubtful.warnings().len(), 1);
}

#[test]
fn a_switch_to_the_sampler_is_told_with_its_reason_and_is_no_warning() {
    let mut switched = report();
    switched.health = Health {
        method: "nuts",
        r_hat: Some(1.0031),
        divergences: Some(0),
        switched: Some(Doubt::NotSettled),
        ..health()
    };
    let text = flat(&switched.text());
    for words in [
        "4 chains of a sampler; chains agree to 1.003 (1 is full agreement; R-hat), worth 2071 independent draws, the path never lost.",
        "went over to the sampler by itself: the search for the most probable values did not settle on these data.",
    ] {
        assert!(text.contains(words), "{words}\n{text}");
    }
    assert_eq!(switched.warnings(), Vec::<String>::new());
}

#[test]
fn the_habit_that_teaches_most_is_told_first_and_handling_knives_brings_cautions() {
    let text = flat(&report().text());
    let sentence = "Heron, changed every 50 hours in the wood it usually chips: the likely range of edge life is now 2.40-fold from bottom to top. Grade every edge when it comes out: after 12 more changes the range should be 1.50-fold, against 1.90-fold with nothing written.";
    assert!(text.contains(sentence), "{text}");
    for caution in crate::decisions::handling_knives() {
        assert!(text.contains(caution), "{caution}");
    }
}

#[test]
fn where_writing_more_gains_nothing_that_shows_no_habit_is_praised() {
    let mut alike = report();
    if let Some(ranges) = &mut alike.habits[0].ranges {
        ranges.after.iter_mut().for_each(|it| it.range = 1.2);
    }
    let text = flat(&alike.text());
    assert!(
        text.contains(
            "After 12 more changes the range should be 1.20-fold, whatever is written of them."
        ),
        "{text}"
    );
}

#[test]
fn no_line_is_wider_than_eighty_letters_and_columns_never_touch() {
    let mut long = report();
    long.learned.push(learned(
        Quantity::OwnCondition("a very long name of a column of the crew's own".into()),
        0.3,
    ));
    long.learned.push(learned(set(&"x".repeat(120)), 0.001));
    long.learned[0].before = estimate(1555.0, 1333.0, 1777.0);
    let text = long.text();
    let table = &text[text.find("In figures").expect("a table")..];
    let table = &table[..table.find("How far").expect("its end")];
    for line in table.lines() {
        assert!(line.chars().count() <= 80, "{line}");
        assert!(
            !line.contains(")1") && !line.contains(")2") && !line.contains(")u"),
            "{line}"
        );
    }
}

#[test]
fn programs_get_every_field() {
    let json = Value::Object(report().json());
    let dirty = &json["learned"][1];
    assert_eq!(dirty["name"], "dirty wood");
    assert_eq!(dirty["unit"], "times");
    assert_eq!(dirty["before"]["upper"], 8.9);
    assert_eq!(dirty["after"]["level"], 0.9);
    assert_eq!(dirty["share_from_defaults"], 0.2);
    assert_eq!(json["learned"].as_array().expect("a list").len(), 4);
    assert_eq!(json["groups"][1]["name"], "Blue");
    assert_eq!(json["groups"][1]["grouping"], "set");
    assert_eq!(json["strikes"][0]["name"], "gritty");
    for key in [
        "method",
        "k_hat",
        "r_hat",
        "effective",
        "divergences",
        "switched",
        "doubts",
    ] {
        assert!(json["health"].get(key).is_some(), "{key}");
    }
    assert_eq!(json["habits"][0]["after"][0]["habit"], "graded");
    assert_eq!(json["edges"]["found"], 0);
}
