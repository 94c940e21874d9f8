//! What must hold of every knife set, whatever its costs.

use keenspan::decisions::{
    EdgeAtHand, Evidence, KnifeAction, KnifeAnswer, KnifeCosts, KnifeDraws, KnifeQuestion,
    MachineKnives, MustNot, SetAtHand,
};
use keenspan::quantities::{Level, Money, WearFraction, Width};
use keenspan::wear::{AgedDraw, DrawUnderConditions, Family, LifeDistribution, LifeLaw};
use proptest::prelude::*;

/// Three draws that differ.
const MEDIANS: [f64; 3] = [3.4, 3.9, 4.2];

fn law(log_median: f64, sigma: f64) -> LifeLaw {
    LifeLaw {
        family: Family::Weibull,
        log_median,
        sigma,
    }
}

fn costs() -> impl Strategy<Value = KnifeCosts> {
    let money = || 0.0..1000.0f64;
    let amounts = (money(), money(), money(), 1.0..2000.0f64, money(), money());
    (amounts, 0.0..50.0f64, 0.8..2.0f64).prop_map(|(amounts, running, call_at)| {
        let (change, touch_up, grind, new_set, forced_extra, strike_extra) = amounts;
        let money = |amount| Money::new(amount).unwrap();
        KnifeCosts {
            change: money(change),
            touch_up: money(touch_up),
            grind: money(grind),
            new_set: money(new_set),
            forced_extra: money(forced_extra),
            strike_extra: money(strike_extra),
            running_at_dull: money(running),
            call_at: WearFraction::new(call_at).unwrap(),
        }
    })
}

fn knives(costs: KnifeCosts, sigma: f64) -> MachineKnives {
    let under = |shift: f64| {
        MEDIANS.map(|median| DrawUnderConditions {
            law: law(median + shift, sigma),
            strikes_per_hour: 0.0,
        })
    };
    let question = KnifeQuestion {
        costs,
        edges: 2,
        regrinds: 8,
        level: Level::NINETY,
        evidence: Evidence {
            edges_finished: 10,
            edges_graded: 10,
            prior_variance: 0.2,
            posterior_variance: 0.05,
        },
    };
    let draws = KnifeDraws {
        new: &under(0.1),
        reground: &under(0.0),
        wear_rates: &[1.0, 1.3, 1.6],
        strike_rates: &[0.002, 0.004, 0.02],
        touch_up_shares: &[0.1, 0.3, 0.6],
    };
    MachineKnives::new(&draws, &question).unwrap()
}

/// Each draw's law cut into equal chances, worn for so many hours.
fn worn(wear: f64, sigma: f64) -> EdgeAtHand {
    let aged = |median: f64| {
        let law = law(median, sigma);
        let life = |k: usize| {
            let w = law.family.quantile((k as f64 + 0.5) / 200.0);
            ((law.location() + law.sigma * w).exp(), 1.0 / 200.0)
        };
        AgedDraw {
            wear,
            lives: (0..200).map(life).collect(),
        }
    };
    EdgeAtHand::Worked(MEDIANS.map(aged).to_vec())
}

fn width(millimetres: f64) -> Option<Width> {
    Width::new(millimetres).ok()
}

/// A sound set with three millimetres of steel left.
fn sound() -> SetAtHand {
    SetAtHand {
        on_bench: false,
        edge: worn(20.0, 0.33),
        fresh_edges: 1,
        regrinds: 2,
        touched_up: 0,
        called_dull: false,
        width: width(105.0),
        width_at_most: width(105.0),
        discard_width: width(102.0),
        stock_per_grind: width(0.6),
        nick: None,
        struck: false,
        ground_since: false,
        inspected: false,
        doubted: false,
        cracked: false,
        unmatched: false,
        incomplete: false,
    }
}

fn actions(answer: &KnifeAnswer) -> Vec<KnifeAction> {
    answer.actions.iter().map(|ranked| ranked.action).collect()
}

fn set() -> impl Strategy<Value = SetAtHand> {
    let edge = prop_oneof![
        Just(EdgeAtHand::Fresh),
        (0.0..200.0f64).prop_map(|wear| worn(wear, 0.33)),
    ];
    let flags = (any::<bool>(), any::<bool>(), any::<bool>());
    let steel = (
        proptest::option::of(95.0..112.0f64),
        proptest::option::of(0.0..6.0f64),
        proptest::option::of(0.05..1.0f64),
    );
    (edge, 0u32..3, 0u32..12, flags, steel).prop_map(
        |(edge, fresh_edges, regrinds, (on_bench, struck, inspected), (now, nick, stock))| {
            SetAtHand {
                on_bench,
                edge,
                fresh_edges,
                regrinds,
                width: now.and_then(width),
                width_at_most: now.and_then(width),
                stock_per_grind: stock.and_then(width),
                nick: nick.and_then(width),
                struck,
                inspected,
                ..sound()
            }
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn cracked_knives_are_replaced_whatever_it_costs(set in set(), costs in costs()) {
        let answer = knives(costs, 0.33).answer(&SetAtHand { cracked: true, ..set }).unwrap();
        prop_assert_eq!(actions(&answer), [KnifeAction::Replace]);
        prop_assert!(answer.must_not.contains(&MustNot::RunCracked));
    }

    #[test]
    fn knives_below_the_discard_width_are_replaced(set in set(), costs in costs(), below in 0.001..8.0f64) {
        let narrow = SetAtHand { width: width(102.0 - below), ..set };
        let answer = knives(costs, 0.33).answer(&narrow).unwrap();
        prop_assert_eq!(actions(&answer), [KnifeAction::Replace]);
    }

    #[test]
    fn a_nick_deeper_than_the_steel_left_is_the_end(
        set in set(), costs in costs(), left in 0.0..3.0f64, deeper in 0.001..3.0f64,
    ) {
        let nicked = SetAtHand { width: width(102.0 + left), nick: width(left + deeper), ..set };
        let answer = knives(costs, 0.33).answer(&nicked).unwrap();
        prop_assert_eq!(actions(&answer), [KnifeAction::Replace]);
    }

    #[test]
    fn knives_that_do_not_match_are_ground_or_replaced(set in set(), costs in costs()) {
        let answer = knives(costs, 0.33).answer(&SetAtHand { unmatched: true, inspected: true, ..set }).unwrap();
        prop_assert!(actions(&answer).iter().all(|action| !action.runs_as_it_is()));
        prop_assert!(!answer.actions.is_empty());
    }

    #[test]
    fn no_grind_goes_below_the_discard_width(set in set(), costs in costs()) {
        let answer = knives(costs, 0.33).answer(&set).unwrap();
        let stock = &answer.stock;
        if let (Some(after), true) = (stock.width_after, actions(&answer).contains(&KnifeAction::Regrind)) {
            prop_assert!(after.millimetres() >= 102.0 - 1e-6);
        }
        if let (Some(nick), Some(_)) = (set.nick, stock.width) {
            prop_assert!(stock.this_grind >= nick);
        }
    }

    #[test]
    fn a_struck_set_never_runs_on_uninspected(set in set(), costs in costs()) {
        let struck = SetAtHand { struck: true, inspected: false, ..set };
        let answer = knives(costs, 0.33).answer(&struck).unwrap();
        // Nothing is ranked that the look has to come before; a set that is out anyway is replaced.
        prop_assert!(actions(&answer).is_empty() || answer.is_out());
        prop_assert!(answer.must_not.contains(&MustNot::RunUninspected));
    }

    #[test]
    fn actions_are_ranked_by_expected_cost_and_their_chances_share_one(set in set(), costs in costs()) {
        let set = SetAtHand { inspected: true, ..set };
        let answer = knives(costs, 0.33).answer(&set).unwrap();
        let points: Vec<f64> = answer.actions.iter().map(|it| it.cost_per_100_hours.point.get()).collect();
        let rising = |points: &[f64]| points.windows(2).all(|pair| pair[0] <= pair[1] + 1e-9 * pair[1].abs());
        let dull = answer.worn.is_some_and(|worn| worn.point.get() >= 1.0);
        if rising(&points) {
            // Whatever is as good comes before running on with an edge that is likelier dull than not.
            let runs_on = actions(&answer).first() == Some(&KnifeAction::KeepRunning);
            prop_assert!(!dull || !runs_on || answer.as_good().next().is_none());
        } else {
            prop_assert!(dull && rising(&points[1..]) && points[0] <= 1.02 * points[1]);
            prop_assert_eq!(actions(&answer)[1], KnifeAction::KeepRunning);
        }
        let chances: f64 = answer.actions.iter().map(|it| it.chance_best.get()).sum();
        prop_assert!(chances >= 1.0 - 1e-9, "{}", chances);
        prop_assert!(answer.actions.iter().all(|it| it.waste.lower.get() >= -1e-9));
    }

    // Weibull lives of shape above 1: wear out ever faster. A thousandth of the largest cost is left for the
    // steps between lives.
    #[test]
    fn more_wear_never_makes_running_on_look_better(
        costs in costs(), sigma in 0.1..0.7f64, less in 0.0..150.0f64, more in 0.1..60.0f64,
    ) {
        let knives = knives(costs, sigma);
        let waste = |wear: f64| {
            let set = SetAtHand { edge: worn(wear, sigma), ..sound() };
            let answer = knives.answer(&set).unwrap();
            let of = |wanted| {
                let found = answer.actions.iter().find(|it| it.action == wanted);
                found.map_or(f64::NAN, |it| it.waste.point.get())
            };
            // Flipping does not hang on the wear of the edge that it ends.
            of(KnifeAction::KeepRunning) - of(KnifeAction::Flip)
        };
        let (before, after) = (waste(less), waste(less + more));
        prop_assert!(after >= before - 2.0, "{} {}", before, after);
    }
}

fn usual_costs() -> KnifeCosts {
    let money = |amount| Money::new(amount).unwrap();
    KnifeCosts {
        change: money(100.0),
        touch_up: money(40.0),
        grind: money(64.0),
        new_set: money(240.0),
        forced_extra: money(150.0),
        strike_extra: money(350.0),
        running_at_dull: money(3.0),
        call_at: WearFraction::new(1.3).unwrap(),
    }
}

#[test]
fn a_sound_set_may_do_everything_and_one_without_steel_may_not_be_ground() {
    let knives = knives(usual_costs(), 0.33);
    let answer = knives.answer(&sound()).unwrap();
    assert_eq!(answer.actions.len(), 5);
    assert_eq!(answer.stock.regrinds_left, 5);
    assert!(answer.must_not.is_empty() && answer.caveats.is_empty());
    let spent = SetAtHand {
        width: width(102.5),
        ..sound()
    };
    let answer = knives.answer(&spent).unwrap();
    assert_eq!(answer.actions.len(), 4);
    assert!(matches!(
        answer.must_not[..],
        [MustNot::GrindUnderWidth { .. }]
    ));
}

#[test]
fn the_grind_that_a_nick_needs_goes_below_it() {
    let nicked = SetAtHand {
        nick: width(1.5),
        ..sound()
    };
    let stock = knives(usual_costs(), 0.33).answer(&nicked).unwrap().stock;
    // 1.5 and 0.3 below it; 1.2 of 3 are left, two grinds of 0.6.
    assert!((stock.this_grind.millimetres() - 1.8).abs() < 1e-9);
    assert_eq!(stock.regrinds_left, 3);
    let unmeasured = SetAtHand {
        width: None,
        width_at_most: None,
        ..sound()
    };
    let answer = knives(usual_costs(), 0.33).answer(&unmeasured).unwrap();
    assert_eq!(answer.stock.regrinds_left, 6);
    assert!(answer.stock.regrinds_are_default);
    assert!(answer.must_not.contains(&MustNot::GrindUnmeasured));
}
