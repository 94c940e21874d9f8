//! Hours told in another unit give the same posterior: only the log of life moves, by the log of the factor.

use approx::assert_relative_eq;
use keenspan::lives::{Look, Noticed, Observation, edge_lives};
use keenspan::logbook::read::read_logbook;
use keenspan::quantities::MeterHours;
use keenspan::wear::{
    Anchor, DensitySettings, EdgeRecords, Family, LogPosterior, NormalPrior, Prior, PriorPack,
    WearDensity,
};

/// Minutes in an hour.
const FACTOR: f64 = 60.0;

fn times(hours: MeterHours) -> MeterHours {
    MeterHours::new(FACTOR * hours.get()).expect("hours")
}

fn in_minutes(records: &EdgeRecords, seen: &[Observation]) -> (EdgeRecords, Vec<Observation>) {
    let mut records = records.clone();
    for edge in &mut records.edges {
        for stretch in &mut edge.stretches {
            stretch.start *= FACTOR;
            stretch.stop *= FACTOR;
        }
        edge.touch_ups.iter_mut().for_each(|at| *at *= FACTOR);
        edge.entry = edge.entry.map(|entry| FACTOR * entry);
    }
    let seen = seen.iter().map(|seen| match seen {
        Observation::Graded { looks, noticed } => Observation::Graded {
            looks: looks
                .iter()
                .map(|look| Look {
                    at: times(look.at),
                    sight: look.sight,
                })
                .collect(),
            noticed: noticed.map(|it| Noticed {
                at: times(it.at),
                late: it.late,
            }),
        },
        other => panic!("a crew's log holds looks only: {other:?}"),
    });
    (records, seen.collect())
}

fn density(records: &EdgeRecords, seen: &[Observation], shift: f64) -> WearDensity {
    let pack = PriorPack::common_practice().expect("the pack");
    let mut priors = pack.priors_for(records).expect("priors");
    if let Prior::Normal(life) = priors.shared[0] {
        let moved = NormalPrior::new(life.mean() + shift, life.spread()).expect("a prior");
        priors.shared[0] = Prior::Normal(moved);
    }
    let settings = DensitySettings {
        family: Family::Weibull,
        anchor: Anchor::Median,
        called_at: 1.3,
        flat_error: pack.flat_error(),
        flat_exponent: pack.flat_exponent(),
    };
    WearDensity::new(records, seen, settings, priors).expect("a density")
}

#[test]
fn the_posterior_of_the_demo_is_the_same_in_hours_and_in_minutes() {
    let log = concat!(env!("CARGO_MANIFEST_DIR"), "/datasets/demo-riverbank");
    let log = read_logbook(log.as_ref()).expect("the demo").logbook;
    let (records, seen) = EdgeRecords::from_lives(&edge_lives(&log));
    let (minutes, seen_in_minutes) = in_minutes(&records, &seen);
    let hourly = density(&records, &seen, 0.0);
    let by_minute = density(&minutes, &seen_in_minutes, FACTOR.ln());
    let centre = hourly.centre();
    let mut constant = None;
    for step in [-0.3, 0.0, 0.2, 0.7] {
        // Away from the centre in every direction, by turns up and down.
        let at: Vec<f64> = centre
            .iter()
            .enumerate()
            .map(|(i, x)| x + step * if i % 2 == 0 { 0.2 } else { -0.3 })
            .collect();
        let mut moved = at.clone();
        moved[0] += FACTOR.ln();
        let (ours, theirs) = (hourly.evaluate(&at), by_minute.evaluate(&moved));
        // A density by the minute is a sixtieth of one by the hour, at every point alike.
        let apart = ours.value - theirs.value;
        assert_relative_eq!(*constant.get_or_insert(apart), apart, epsilon = 1e-9);
        assert_relative_eq!(
            ours.gradient,
            theirs.gradient,
            epsilon = 1e-8,
            max_relative = 1e-9
        );
        assert_relative_eq!(
            ours.hessian,
            theirs.hessian,
            epsilon = 1e-8,
            max_relative = 1e-9
        );
    }
}
