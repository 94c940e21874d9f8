//! Saved models: taken up again they answer to the last bit as before, and nothing else is taken up.

use crate::learned_pack::{Crew, crew};
use keenspan::decisions::{Evidence, KnifeLayout, Question, ShopCosts, recommend};
use keenspan::lives::{Look, Observation, Rotor, Sight, edge_lives};
use keenspan::logbook::read::{read_logbook, read_text_file};
use keenspan::logbook::write::write_text_file;
use keenspan::quantities::{Grade, Level, MeterHours, WearFraction};
use keenspan::wear::{
    Among, Asked, EdgeRecords, Family, FutureChange, Habit, Method, PriorPack, SavedModel,
    SavedModelError, WearModel, WearPosterior, seeded,
};
use keenspan::wood::{Blend, Contamination, WoodMix, WoodState};
use linfa::ParamGuard;
use proptest::prelude::*;
use std::path::{Path, PathBuf};

/// Conditions to ask about: what is usual, what is rare, groups seen and never seen.
fn asked() -> Vec<Asked> {
    let dirty = |wood: &str| {
        let mix = WoodMix::parse(wood).expect("a wood");
        Blend::of(&mix, Contamination::Dirty, WoodState::Frozen)
    };
    let among = |grouping: &str, name: &str| Among {
        grouping: grouping.to_string(),
        shares: vec![(name.to_string(), 0.7)],
    };
    vec![
        Asked {
            blend: Blend::reference(),
            rotor: Rotor::Drum,
            reground: true,
            among: vec![among("machine", "Heron"), among("set", "never seen")],
        },
        Asked {
            blend: dirty("oak 60 %, willow 40 %"),
            rotor: Rotor::Disc,
            reground: false,
            among: Vec::new(),
        },
    ]
}

fn taken_up(posterior: &WearPosterior) -> WearPosterior {
    let text = posterior.save("a log").to_text().expect("text");
    let saved = SavedModel::from_text(&text).expect("a model");
    assert_eq!(saved.fingerprint(), "a log");
    let restored = saved.restore().expect("a posterior");
    assert_eq!(restored.save("a log").to_text().expect("text"), text);
    restored
}

/// Every answer of one is every answer of the other, to the last bit.
fn assert_same(crew: &Crew, one: &WearPosterior, other: &WearPosterior) {
    assert_eq!(one.health(), other.health());
    assert_eq!(one.edges(), other.edges());
    assert_eq!(one.groupings(), other.groupings());
    assert_eq!(one.shared_at_mode(), other.shared_at_mode());
    let draws = |posterior: &WearPosterior| posterior.draws(&crew.strikes, 500, &mut seeded(9));
    let (draws_of_one, draws_of_other) = (draws(one), draws(other));
    for place in 0..one.layout().dimension() {
        let summary = |posterior: &WearPosterior| posterior.sample().summary(|it| it.shared[place]);
        // As text, which has every digit: a held parameter's R-hat is no number, and equals nothing.
        assert_eq!(
            format!("{:?}", summary(one)),
            format!("{:?}", summary(other))
        );
    }
    for asked in asked() {
        assert_eq!(draws_of_one.under(&asked), draws_of_other.under(&asked));
        assert_eq!(
            one.log_life_variances(&asked),
            other.log_life_variances(&asked)
        );
        assert_eq!(one.law_at_mode(&asked), other.law_at_mode(&asked));
        let future = FutureChange {
            asked,
            interval: MeterHours::new(40.0).expect("hours"),
            habit: Habit::Graded,
        };
        assert_eq!(
            one.further_changes(&future, 1.3),
            other.further_changes(&future, 1.3)
        );
    }
}

#[test]
fn a_restored_model_answers_to_the_last_bit_as_the_fresh_one() {
    for family in Family::ALL {
        let crew = crew(usize::MAX);
        let posterior = crew.fit(|it| it.family(family).method(Method::Laplace).draws(300));
        assert_same(&crew, &posterior, &taken_up(&posterior));
    }
}

#[test]
fn chains_and_a_held_eye_come_back_as_well() {
    let crew = crew(6);
    let posterior = crew.fit(|it| it.method(Method::Nuts).eye_error(0.2));
    assert_eq!(posterior.health().method, "nuts");
    assert_same(&crew, &posterior, &taken_up(&posterior));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn a_restored_model_gives_the_same_interval(edges in 0usize..40, seed in 0u64..1000) {
        let crew = crew(edges);
        let posterior = crew.fit(|it| it.method(Method::Laplace).draws(200).seed(seed));
        let restored = taken_up(&posterior);
        let costs = ShopCosts::common_practice().expect("costs");
        let layout = KnifeLayout { knives: 4, edges_per_knife: 2 };
        let costs = costs.cycle(layout).expect("costs of a cycle");
        let asked = asked().swap_remove(0);
        let answer = |posterior: &WearPosterior| {
            let known = posterior.log_life_variances(&asked);
            let evidence = Evidence {
                edges_finished: edges,
                edges_graded: edges,
                prior_variance: known.before,
                posterior_variance: known.after,
            };
            let question = Question {
                rule: MeterHours::new(50.0).ok(),
                service_every: None,
                hours_per_year: None,
                level: Level::NINETY,
                evidence,
            };
            let draws = posterior.draws(&crew.strikes, 200, &mut seeded(seed)).under(&asked);
            recommend(&draws, &costs, &question)
        };
        prop_assert_eq!(format!("{:?}", answer(&posterior)), format!("{:?}", answer(&restored)));
    }
}

fn small_text() -> String {
    let posterior = crew(10).fit(|it| it.method(Method::Laplace).draws(100));
    posterior.save("a log").to_text().expect("text")
}

fn refused(text: &str) -> SavedModelError {
    match SavedModel::from_text(text).map(SavedModel::restore) {
        Err(error) | Ok(Err(error)) => error,
        Ok(Ok(_)) => panic!("taken up"),
    }
}

#[test]
fn a_later_format_is_refused_and_the_sentence_says_what_to_do() {
    let text = small_text().replace("\"keenspan_model\": 2", "\"keenspan_model\": 3");
    let text = text.replace(
        &format!("\"made_by\": \"{}\"", env!("CARGO_PKG_VERSION")),
        "\"made_by\": \"7.0.0\"",
    );
    assert_eq!(
        refused(&text).to_string(),
        "the saved model has format 3 (written by keenspan 7.0.0), and this keenspan reads format 2: install \
         a keenspan at least as new, or save the fit anew with this one"
    );
}

#[test]
fn a_model_cut_off_anywhere_is_refused() {
    let text = small_text();
    for cut in (0..text.trim_end().len()).step_by(97) {
        let error = refused(&text[..cut]);
        let named = matches!(
            error,
            SavedModelError::CutOff { .. } | SavedModelError::NotAModel { .. }
        );
        assert!(named, "cut at {cut}: {error}");
        if cut > 20 {
            assert!(matches!(error, SavedModelError::CutOff { .. }), "{error}");
        }
    }
}

#[test]
fn what_is_no_model_is_refused() {
    for text in [
        "",
        "date,machine\n",
        "[1, 2]",
        "{}",
        "{\"keenspan_model\": 0}",
    ] {
        let error = refused(text);
        assert!(
            matches!(error, SavedModelError::NotAModel { .. }),
            "{error}"
        );
    }
}

/// A model with one field changed.
fn changed(change: impl Fn(&mut serde_json::Map<String, serde_json::Value>)) -> String {
    let mut whole: serde_json::Value = serde_json::from_str(&small_text()).expect("JSON");
    change(whole.as_object_mut().expect("an object"));
    whole.to_string()
}

#[test]
fn a_missing_field_is_named() {
    let whole: serde_json::Value = serde_json::from_str(&small_text()).expect("JSON");
    let names = whole.as_object().expect("an object").keys();
    let mut count = 0;
    for name in names.filter(|name| *name != "keenspan_model") {
        let error = refused(&changed(|fields| {
            fields.remove(name);
        }));
        assert!(
            matches!(error, SavedModelError::Missing { field } if field == name),
            "{error}"
        );
        count += 1;
    }
    assert_eq!(count, 15);
}

#[test]
fn numbers_that_are_none_or_do_not_fit_are_named() {
    let null = refused(&changed(|it| {
        it["draws"]["rows"][3][2] = serde_json::Value::Null
    }));
    assert_eq!(null, SavedModelError::NotFinite { field: "draws" });
    let fields = ["mode", "spreads", "pull"];
    for name in fields {
        let error = refused(&changed(|it| {
            it[name].as_array_mut().expect("a list").pop();
        }));
        let named = matches!(error, SavedModelError::Misfit { field, wanted, found }
            if field == name && wanted == found + 1);
        assert!(named, "{error}");
    }
    let row = refused(&changed(|it| {
        it["draws"]["rows"][7].as_array_mut().expect("a row").pop();
    }));
    assert!(
        matches!(row, SavedModelError::Misfit { field: "draws", .. }),
        "{row}"
    );
    let weight = refused(&changed(|it| it["draws"]["weights"][0] = 5.0.into()));
    assert!(
        matches!(weight, SavedModelError::OutOfRange { .. }),
        "{weight}"
    );
    let level = refused(&changed(|it| {
        it["groupings"][1]["levels"]
            .as_array_mut()
            .expect("levels")
            .pop();
    }));
    assert!(matches!(level, SavedModelError::Misfit { .. }), "{level}");
    let prior = refused(&changed(|it| it["priors"]["spreads"][0] = (-1.0).into()));
    assert!(matches!(prior, SavedModelError::Unusable(_)), "{prior}");
    let family = refused(&changed(|it| it["family"] = "gamma".into()));
    assert!(
        matches!(family, SavedModelError::Malformed { .. }),
        "{family}"
    );
}

fn fingerprint(model: &WearModel, records: &EdgeRecords, seen: &[Observation]) -> String {
    model.fingerprint(records, seen).expect("a fingerprint")
}

#[test]
fn a_fingerprint_holds_whatever_the_order_of_rows_and_edges() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("datasets/demo-riverbank");
    let mut log = read_logbook(&folder).expect("the demo log").logbook;
    let crew = crew(usize::MAX);
    let model = crew.model(|it| it);
    let of_log = fingerprint(&model, &crew.records, &crew.seen);
    assert_eq!(of_log.len(), 64);
    log.runs.reverse();
    log.events.rotate_left(17);
    log.sets.reverse();
    log.machines.reverse();
    let (records, seen) = EdgeRecords::from_lives(&edge_lives(&log));
    assert_eq!(fingerprint(&model, &records, &seen), of_log);
    // Edges in any order, too, with the levels of what they share numbered another way round.
    let mut records = crew.records.clone();
    records.edges.reverse();
    for (number, grouping) in records.groupings.iter_mut().enumerate() {
        grouping.levels.reverse();
        let last = grouping.levels.len().saturating_sub(1);
        for edge in &mut records.edges {
            edge.groups[number] = edge.groups[number].map(|level| last - level);
        }
    }
    let seen: Vec<Observation> = crew.seen.iter().rev().cloned().collect();
    assert_eq!(fingerprint(&model, &records, &seen), of_log);
    // How draws are made is not what is learned.
    let seeded = crew.model(|it| it.seed(7).draws(900).method(Method::Nuts));
    assert_eq!(fingerprint(&seeded, &crew.records, &crew.seen), of_log);
}

#[test]
fn a_fingerprint_differs_when_anything_that_is_learned_from_does() {
    let crew = crew(usize::MAX);
    let model = crew.model(|it| it);
    let mut all = vec![fingerprint(&model, &crew.records, &crew.seen)];
    let mut with = |records: &EdgeRecords, seen: &[Observation], model: &WearModel| {
        let other = fingerprint(model, records, seen);
        assert!(!all.contains(&other));
        all.push(other);
    };
    let changed = |change: &dyn Fn(&mut EdgeRecords)| {
        let mut records = crew.records.clone();
        change(&mut records);
        records
    };
    let last = |it: &EdgeRecords| it.edges[4].stretches.len() - 1;
    let hour = changed(&|it| {
        let last = last(it);
        it.edges[4].stretches[last].stop += 0.1;
    });
    with(&hour, &crew.seen, &model);
    let wood = changed(&|it| it.edges[4].stretches[0].parts[0].1[0] += 0.01);
    with(&wood, &crew.seen, &model);
    let reground = changed(&|it| it.edges[4].features[1] = 1.0 - it.edges[4].features[1]);
    with(&reground, &crew.seen, &model);
    with(
        &changed(&|it| it.edges[4].touch_ups.push(3.0)),
        &crew.seen,
        &model,
    );
    with(
        &changed(&|it| it.edges[4].entry = Some(2.0)),
        &crew.seen,
        &model,
    );
    with(
        &changed(&|it| it.edges[4].groups[0] = None),
        &crew.seen,
        &model,
    );
    with(
        &changed(&|it| it.groupings[0].levels[0].push('!')),
        &crew.seen,
        &model,
    );
    let fewer = changed(&|it| {
        it.edges.pop();
    });
    with(&fewer, &crew.seen[..crew.seen.len() - 1], &model);
    for sight in [
        Sight::Graded(Grade::Keen),
        Sight::Graded(Grade::Overrun),
        Sight::NotCalled,
        Sight::Measured(WearFraction::new(0.5).expect("a fraction")),
    ] {
        let mut seen = crew.seen.clone();
        let at = MeterHours::new(12.0).expect("hours");
        seen[4] = Observation::Graded {
            looks: vec![Look { at, sight }],
            noticed: None,
        };
        with(&crew.records, &seen, &model);
    }
    let text = PriorPack::common_practice_text().replace("likely = 0.33,", "likely = 0.34,");
    let pack = PriorPack::parse(&text).expect("a pack");
    let called_at = |x: f64| WearFraction::new(x).expect("a fraction");
    let other = WearModel::params(&pack, called_at(1.3))
        .check()
        .expect("a model");
    with(&crew.records, &crew.seen, &other);
    let other = WearModel::params(&crew.pack, called_at(1.4))
        .check()
        .expect("a model");
    with(&crew.records, &crew.seen, &other);
    with(
        &crew.records,
        &crew.seen,
        &crew.model(|it| it.family(Family::Lognormal)),
    );
    with(
        &crew.records,
        &crew.seen,
        &crew.model(|it| it.eye_error(0.2)),
    );
}

/// The saved fit of the demo log, and whether it is to be written anew.
fn demo_model() -> (PathBuf, bool) {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("models/demo-riverbank.model.json");
    (file, std::env::var_os("WRITE_DEMO").is_some())
}

/// `WRITE_DEMO=1` writes it. Half the draws that answers are made with, to keep the file small.
#[test]
fn the_demo_model_is_of_the_demo_log_as_it_stands() {
    let (file, anew) = demo_model();
    let crew = crew(usize::MAX);
    let model = crew.model(|it| it.draws(500));
    let fingerprint = fingerprint(&model, &crew.records, &crew.seen);
    if anew {
        let fresh = crew.fit(|it| it.draws(500)).save(&fingerprint);
        let text = fresh.to_text().expect("text");
        write_text_file(&file, &text).expect("written");
    }
    let text = read_text_file(&file).expect("the demo's model");
    assert!(text.len() < 300_000, "{} bytes", text.len());
    let saved = SavedModel::from_text(&text).expect("a model");
    assert_eq!(
        saved.fingerprint(),
        fingerprint,
        "write it anew: WRITE_DEMO=1"
    );
    let restored = saved.restore().expect("a posterior");
    assert!(
        restored.health().doubts.is_empty(),
        "{:?}",
        restored.health()
    );
    // Against a fit of its own: the middle of life within a fifth of its doubt.
    let fresh = crew.fit(|it| it);
    let place = restored.layout().location();
    let life = |of: &WearPosterior| of.sample().summary(|draw| draw.shared[place]);
    let (kept, fresh) = (life(&restored), life(&fresh));
    assert!((kept.mean - fresh.mean).abs() < 0.2 * fresh.spread);
}
