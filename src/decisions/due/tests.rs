use super::present::{Course, Hours, Present};
use super::turns::hours_ahead;
use super::*;
use crate::decisions::AgeReplacement;
use crate::decisions::mean_curve::MeanCurve;
use crate::quantities::Money;
use crate::wear::{Family, LifeLaw};

/// A spread of laws, as a posterior would have it.
fn laws() -> Vec<DrawUnderConditions> {
    let draw = |place: u32| {
        let score = (f64::from(place) - 19.5) / 10.0;
        DrawUnderConditions {
            law: LifeLaw {
                family: Family::Weibull,
                log_median: 60.0_f64.ln() + 0.12 * score,
                sigma: 0.33 * (0.1 * (score * 1.7).sin()).exp(),
            },
            strikes_per_hour: 0.002,
        }
    };
    (0..40).map(draw).collect()
}

fn costs() -> CycleCosts {
    CycleCosts {
        planned: Money::new(60.0).unwrap(),
        forced_extra: Money::new(120.0).unwrap(),
        strike_extra: Money::new(300.0).unwrap(),
        running_at_dull: Money::new(6.0).unwrap(),
        call_at: Some(WearFraction::new(1.3).unwrap()),
    }
}

const EVIDENCE: Evidence = Evidence {
    edges_finished: 30,
    edges_graded: 30,
    prior_variance: 1.0,
    posterior_variance: 0.1,
};

/// The answer for an edge with so many wear hours on it, in wood that wears at `rate`.
fn answer(hours: f64, rate: f64, meter: Option<f64>) -> DueAnswer {
    let worked = MeterHours::new(hours).unwrap();
    let edge: Vec<AgedDraw> = laws()
        .iter()
        .map(|draw| AgedDraw::fresh(&draw.law).after(worked, 1.0))
        .collect();
    let mut ahead = laws();
    for draw in &mut ahead {
        draw.law.log_median -= f64::ln(rate);
    }
    let at_work = AtWorkIn {
        edge: &edge,
        laws: &ahead,
        rates: &vec![rate; ahead.len()],
        meter: meter.map(|meter| MeterHours::new(meter).unwrap()),
        lately: &vec![1.0; ahead.len()],
    };
    due(at_work, &costs(), Level::NINETY, &EVIDENCE).unwrap()
}

#[test]
fn a_fresh_edge_in_the_usual_wood_is_due_after_the_interval() {
    let curve = MeanCurve::new(&laws(), &costs()).unwrap();
    let interval = curve.best().log_hours.exp();
    let fresh = answer(0.0, 1.0, None);
    let left = fresh.hours_left.point.get();
    assert!((left / interval - 1.0).abs() < 0.01, "{left} {interval}");
    // Each draw's own best, too.
    let mut own = curve.own.ages.clone();
    own.sort_unstable_by(f64::total_cmp);
    let low = super::super::spread::quantile(&own, 0.05).unwrap();
    let found = fresh.hours_left.lower.get();
    assert!((found / low - 1.0).abs() < 0.03, "{found} {low}");
    assert!(fresh.overdue.is_none() && fresh.mark.is_none());
}

/// Draws that disagree on life tenfold, as the defaults do of gritty palm: those that last long must not carry the
/// mark away. Against the exact costs of whole cycles, each hour of them held against what its own draw pays at least.
#[test]
fn what_may_last_long_does_not_carry_the_mark_away() {
    let wide: Vec<DrawUnderConditions> = laws()
        .into_iter()
        .enumerate()
        .map(|(place, mut draw)| {
            draw.law.log_median = 9.0_f64.ln() + 0.06 * (place as f64 - 19.5);
            draw
        })
        .collect();
    let edge: Vec<AgedDraw> = wide.iter().map(|it| AgedDraw::fresh(&it.law)).collect();
    let at_work = AtWorkIn {
        edge: &edge,
        laws: &wide,
        rates: &vec![1.0; wide.len()],
        meter: None,
        lately: &[1.0; 40],
    };
    let left = due(at_work, &costs(), Level::NINETY, &EVIDENCE).unwrap();
    let left = left.hours_left.point.get();
    let expected = least_regret(&wide, &costs());
    assert!((left / expected - 1.0).abs() < 0.02, "{left} {expected}");
    let curve = MeanCurve::new(&wide, &costs()).unwrap();
    let interval = curve.best().log_hours.exp();
    assert!((0.7..1.4).contains(&(left / interval)), "{left} {interval}");
}

/// The age at which a fresh edge has cost least beyond the long run of its own draw, by the sums of whole cycles.
fn least_regret(laws: &[DrawUnderConditions], costs: &CycleCosts) -> f64 {
    let ages = || (1..2000).map(|step| f64::from(step) * 0.05);
    let mut regret = vec![0.0; ages().count()];
    for law in laws {
        let replacement = AgeReplacement::new(&law.law, law.strikes_per_hour, costs).unwrap();
        let cycles: Vec<_> = ages().map(|age| replacement.cycle(age)).collect();
        let least = ages().map(|age| replacement.rate(age));
        let least = least.fold(f64::INFINITY, f64::min);
        for (sum, cycle) in regret.iter_mut().zip(&cycles) {
            *sum += cycle.cost - least * cycle.length;
        }
    }
    let least = ages().zip(&regret).min_by(|a, b| a.1.total_cmp(b.1));
    least.unwrap().0
}

#[test]
fn worse_wood_brings_the_mark_nearer_and_the_meter_carries_it() {
    let (clean, gritty) = (
        answer(10.0, 1.0, Some(1200.0)),
        answer(10.0, 4.0, Some(1200.0)),
    );
    let hours = |answer: &DueAnswer| answer.hours_left.point.get();
    // Running dull costs by the hour, so that dear wear is used for longer than a quarter of the hours.
    let ratio = hours(&clean) / hours(&gritty);
    assert!((2.0..4.0).contains(&ratio), "{ratio}");
    let mark = clean.mark.unwrap();
    assert!((mark.point.get() - 1200.0 - hours(&clean)).abs() < 1e-9);
    assert!(mark.lower < mark.point && mark.point < mark.upper);
}

/// Under one law age replacement plans the same age however much of it has gone by (Barlow and Proschan, Mathematical
/// Theory of Reliability, 1965); so does the mean over laws, each by the chance that its edge is still uncalled.
#[test]
fn hours_worked_as_planned_leave_the_mark_where_it_was() {
    let mark = |hours: f64| {
        let answer = answer(hours, 1.0, Some(1200.0 + hours));
        (answer.mark.unwrap(), answer.overdue.is_some())
    };
    let planned = mark(0.0).0;
    for hours in (1..60).map(f64::from) {
        let (now, overdue) = mark(hours);
        let expected = planned.point.get().max(1200.0 + hours);
        let found = now.point.get();
        assert!(
            (found - expected).abs() < 0.15,
            "{hours}: {found} {expected}"
        );
        let passed = 1200.0 + hours - planned.point.get();
        assert!(overdue == (passed > 0.0) || passed.abs() < 0.15, "{hours}");
        // Some draws put it off, others have let it pass; the draws that would have been called count less.
        let earliest = planned.lower.get().max(1200.0 + hours);
        assert!((now.lower.get() - earliest).abs() < 1.5, "{hours}: {now:?}");
    }
}

/// Bounds of what is left and of what is past are of the same draws: none has both.
#[test]
fn what_is_surely_past_leaves_nothing() {
    for hours in (1..120).map(f64::from) {
        let answer = answer(hours, 1.0, None);
        let surely_past = answer.overdue.is_some_and(|by| by.lower.get() > 0.0);
        let left = answer.hours_left.upper.get();
        assert!(!surely_past || left == 0.0, "{hours}: {answer:?}");
    }
}

/// Hours that went by are told as they went by: four times as many of them wear as much as those to come.
#[test]
fn what_is_past_is_told_in_hours_of_the_work_done() {
    let planned = answer(0.0, 4.0, None).hours_left.point.get();
    for hours in [70.0, 90.0, 120.0] {
        let by = answer(hours, 4.0, None).overdue.unwrap().point.get();
        let expected = hours - 4.0 * planned;
        assert!((by - expected).abs() < 0.5, "{hours}: {by} {expected}");
    }
}

#[test]
fn an_edge_that_somebody_must_have_called_is_due_now() {
    let edge = vec![
        AgedDraw {
            wear: 200.0,
            lives: vec![(40.0, 0.5), (60.0, 0.5)].into()
        };
        40
    ];
    let ahead = laws();
    let at_work = AtWorkIn {
        edge: &edge,
        laws: &ahead,
        rates: &[1.0; 40],
        meter: None,
        lately: &[1.0; 40],
    };
    let answer = due(at_work, &costs(), Level::NINETY, &EVIDENCE).unwrap();
    assert_eq!(answer.hours_left.upper.get(), 0.0);
    let by = answer.overdue.unwrap().point.get();
    assert!((100.0..180.0).contains(&by), "{by}");
    assert!(answer.caveats.contains(&Caveat::WornBeyondCalling));
}

#[test]
fn an_edge_far_past_its_mark_is_overdue_by_what_is_beyond_it() {
    let planned = answer(0.0, 1.0, None).hours_left.point.get();
    for hours in [60.0, 75.0, 90.0] {
        let late = answer(hours, 1.0, Some(1200.0));
        assert_eq!(late.hours_left.point.get(), 0.0);
        let by = late.overdue.unwrap();
        let overdue = by.point.get();
        assert!(
            (overdue - (hours - planned)).abs() < 0.15,
            "{overdue} {planned}"
        );
        assert!(by.lower < by.point && by.point < by.upper, "{by:?}");
    }
    let late = answer(90.0, 1.0, Some(1200.0));
    assert!(late.past_dull.get() > 0.8 && late.wear.point.get() > 1.2);
}

#[test]
fn what_the_next_hours_cost_adds_up_to_the_cost_of_a_cycle() {
    // From fresh to an hour, in the steps that are taken for a best age of 40 hours, against the exact sums of a cycle.
    // They widen: 2.8 hours at the best age, 5 at the last, where chances go in straight lines between them.
    let (law, costs) = (laws()[7], costs());
    let cycle = AgeReplacement::new(&law.law, 0.002, &costs).unwrap();
    let grid: Hours = std::array::from_fn(|step| hours_ahead(step, 40.0));
    let edge = AgedDraw::fresh(&law.law);
    let present = Present {
        wear: edge.wear,
        lives: &edge.lives,
        rate: 1.0,
        worth: 1.0,
        strikes: 0.002,
    };
    let mut course = Course::new(&grid);
    let spent = course.spend(&present, &costs.check().unwrap());
    for place in [8, 20, 28, 36, 48] {
        let whole = cycle.cycle(grid[place]);
        assert!(
            (spent.hours[place] / whole.length - 1.0).abs() < 5e-4,
            "{place} {} {}",
            spent.hours[place],
            whole.length
        );
        assert!(
            (spent.cost[place] / whole.cost - 1.0).abs() < 2e-3,
            "{place} {} {}",
            spent.cost[place],
            whole.cost
        );
    }
}
