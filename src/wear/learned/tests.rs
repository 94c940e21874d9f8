use super::*;
use crate::lives::{Look, Noticed, Observation, Sight};
use crate::quantities::{Grade, MeterHours, WearFraction};
use crate::wear::{
    EdgeRecord, EdgeRecords, Family, Grouping, Method, PriorPack, Stretch, WearModel,
};
use approx::assert_relative_eq;
use linfa::traits::Fit;
use linfa::{DatasetBase, ParamGuard};

fn fit(records: EdgeRecords, seen: Vec<Observation>, family: Family) -> WearPosterior {
    let pack = PriorPack::common_practice().expect("the pack");
    let model = WearModel::params(&pack, WearFraction::new(1.3).expect("a fraction"));
    let model = model.family(family).method(Method::Laplace);
    model
        .check()
        .expect("a model")
        .fit(&DatasetBase::new(records, seen))
        .expect("a fit")
}

fn of(learned: &[Learned], quantity: Quantity) -> Learned {
    let found = learned.iter().find(|it| it.quantity == quantity);
    found.expect("the quantity").clone()
}

fn hours(hours: f64) -> MeterHours {
    MeterHours::new(hours).expect("hours")
}

/// Edges noticed dull after `lives` hours, in wood as dirty as `dirty` says, on machine 0.
fn noticed(lives: &[f64], dirty: bool) -> (EdgeRecords, Vec<Observation>) {
    let mut records = EdgeRecords::of_crew();
    records.groupings = vec![Grouping {
        name: "machine".into(),
        levels: vec!["Heron".into(), "Wren".into()],
    }];
    let mut row = vec![0.0; records.rate_names.len()];
    row[2] = f64::from(u8::from(dirty));
    let edge = |&stop: &f64| EdgeRecord {
        features: vec![0.0; 2],
        stretches: vec![Stretch {
            start: 0.0,
            stop,
            parts: vec![(1.0, row.clone())],
        }],
        groups: vec![Some(0)],
        weight: 1.0,
        ..EdgeRecord::default()
    };
    records.edges = lives.iter().map(edge).collect();
    let seen = lives.iter().map(|&life| Observation::Graded {
        looks: vec![Look {
            at: hours(0.5 * life),
            sight: Sight::Graded(Grade::Working),
        }],
        noticed: Some(Noticed {
            at: hours(life),
            late: false,
        }),
    });
    (records, seen.collect())
}

#[test]
fn an_empty_log_leaves_everything_at_the_default() {
    let posterior = fit(EdgeRecords::of_crew(), Vec::new(), Family::Weibull);
    let learned = posterior.learned(&Rotor::ALL);
    assert_eq!(learned.len(), 13);
    for it in &learned {
        assert!(it.is_still_the_default(), "{it:?}");
        let log_width = |e: Estimate<f64>| (e.upper / e.lower).ln();
        let ratio = log_width(it.after) / log_width(it.before);
        assert!((ratio - 1.0).abs() < 0.05, "{it:?}");
    }
}

/// The ranges before the log are those that the pack prints.
#[test]
fn before_the_log_stands_what_the_pack_says() {
    let posterior = fit(EdgeRecords::of_crew(), Vec::new(), Family::Weibull);
    let learned = posterior.learned(&Rotor::ALL);
    let before = |quantity| {
        let Estimate {
            point,
            lower,
            upper,
            ..
        } = of(&learned, quantity).before;
        [point, lower, upper]
    };
    let printed = [
        (Quantity::MedianLife(Rotor::Drum), [55.0, 28.5, 106.0]),
        (Quantity::RegroundLife, [0.95, 0.75, 1.20]),
        (Quantity::Condition("dirty".into()), [4.0, 1.8, 8.9]),
        (Quantity::EyeError, [20.0, 12.2, 32.8]),
        (Quantity::TouchUp, [25.0, 12.0, 45.0]),
        (
            Quantity::TwiceAsHard,
            [0.5_f64, 0.0, 1.0].map(|power| 2_f64.powf(power)),
        ),
    ];
    for (quantity, wanted) in printed {
        for (found, wanted) in before(quantity.clone()).into_iter().zip(wanted) {
            assert_relative_eq!(found, wanted, max_relative = 0.02);
        }
    }
    // A disc's life is the product of two independent factors.
    let disc = before(Quantity::MedianLife(Rotor::Disc));
    assert_relative_eq!(disc[0], 27.5, max_relative = 1e-9);
    let widths = [(106.0_f64 / 28.5).ln(), (0.695_f64 / 0.36).ln()];
    let both = (widths[0].powi(2) + widths[1].powi(2)).sqrt();
    assert_relative_eq!((disc[2] / disc[1]).ln(), both, max_relative = 1e-3);
}

#[test]
fn forty_edges_in_dirty_wood_teach_that_dirt_and_leave_gritty_at_the_default() {
    let lives: Vec<f64> = (0..40).map(|i| 18.0 + f64::from(i % 10)).collect();
    let (mut records, mut seen) = noticed(&lives, true);
    let clean: Vec<f64> = lives.iter().map(|life| 2.0 * life).collect();
    let (more, more_seen) = noticed(&clean, false);
    records.edges.extend(more.edges);
    seen.extend(more_seen);
    let learned = fit(records, seen, Family::Weibull).learned(&[Rotor::Drum]);
    let dirty = of(&learned, Quantity::Condition("dirty".into()));
    assert!(!dirty.is_still_the_default() && dirty.share_from_defaults.get() < 0.1);
    assert!((1.8..2.3).contains(&dirty.after.point), "{dirty:?}");
    assert!(dirty.after.lower < 2.0 && 2.0 < dirty.after.upper);
    assert!(of(&learned, Quantity::Condition("gritty".into())).is_still_the_default());
    assert!(!of(&learned, Quantity::EdgesDiffer).is_still_the_default());
    let wren = of(
        &learned,
        Quantity::GroupEffect {
            grouping: "machine".into(),
            level: "Wren".into(),
        },
    );
    assert!(wren.before.lower < 1.0 && wren.before.upper > 1.0);
}

/// For the Weibull the life that a share `p` does not reach is `eta (-ln(1 - p))^sigma`: the ratio of tenths is
/// `(ln 0.1 / ln 0.9)^sigma`; for the lognormal it is `exp(2 x 1.28155 sigma)`.
#[test]
fn the_best_tenth_over_the_worst_is_that_of_the_family() {
    let ratio = |family| {
        let posterior = fit(EdgeRecords::of_crew(), Vec::new(), family);
        of(&posterior.learned(&[]), Quantity::EdgesDiffer)
            .before
            .point
    };
    let weibull = (0.1_f64.ln() / 0.9_f64.ln()).powf(0.33);
    assert_relative_eq!(ratio(Family::Weibull), weibull, max_relative = 1e-9);
    let lognormal = (2.0 * 1.281_551_565_5 * 0.33_f64).exp();
    assert_relative_eq!(ratio(Family::Lognormal), lognormal, max_relative = 1e-9);
}
