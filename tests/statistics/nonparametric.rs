//! The nonparametric estimate, probability plots and normal scores, against answers from outside.
//!
//! Source: tests/reference/nonparametric.json, made by models/reference/make_nonparametric_cases.py
//! (lifelines 0.30.3, surpyval 0.25, scikit-gof 0.1.3, scipy 1.17.1, mpmath 1.4.1; its head says what
//! each answers).

use crate::reference::{json, number, numbers};
use approx::assert_relative_eq;
use keenspan::quantities::Level;
use keenspan::wear::{
    AdequacyError, Coverage, Family, LifeDistribution, Lifetime, NonParametric, PlottedLine,
    ProbabilityPlot, ScoreTest, Step, SurvivalSpan, combined_p_value, equal_precision_value,
    normal_scores, seeded, test_scores,
};
use rand::Rng;
use rand_distr::{Distribution, Open01, StandardUniform};
use serde_json::Value;

const NOT_SEEN: f64 = f64::INFINITY;

fn reference(part: &str) -> Value {
    json("tests/reference/nonparametric.json")[part].clone()
}

fn cases(part: &str) -> Vec<(String, Value, Vec<Lifetime>)> {
    let cases = reference(part).as_array().expect("cases").clone();
    let named = cases.into_iter().map(|case| {
        let name = case["name"].as_str().expect("a name").to_string();
        let lives = case["rows"].as_array().expect("rows").iter().map(life);
        (name, case.clone(), lives.collect())
    });
    named.collect()
}

fn life(row: &Value) -> Lifetime {
    Lifetime {
        lower: number(&row[0]),
        upper: row[1].as_f64().unwrap_or(NOT_SEEN),
        weight: number(&row[2]),
        entry: number(&row[3]),
    }
}

/// Slope of the log-likelihood in the mass of a piece of the line, as a share of all lives, worked out
/// from the lives and the steps alone: none above zero, none below zero where there is mass.
fn worst_slope(lives: &[Lifetime], estimate: &NonParametric) -> f64 {
    let within = |step: &Step, life: &Lifetime| {
        let exact = life.lower == life.upper;
        if exact {
            step.from == life.lower && step.to == life.lower
        } else if step.from == step.to {
            life.lower.max(life.entry) < step.from && step.from <= life.upper
        } else {
            life.lower.max(life.entry) <= step.from && step.to <= life.upper
        }
    };
    let in_view = |step: &Step, life: &Lifetime| {
        life.entry == 0.0
            || step.from > life.entry
            || (step.from == life.entry && step.to > step.from)
    };
    let told: Vec<&Lifetime> = lives
        .iter()
        .filter(|l| l.weight > 0.0 && (l.upper < NOT_SEEN || l.lower > l.entry))
        .collect();
    let total: f64 = told.iter().map(|life| life.weight).sum();
    let sum = |keep: &dyn Fn(&Step) -> bool| -> f64 {
        let steps = estimate.steps().iter().filter(|step| keep(step));
        steps.map(|step| step.mass).sum()
    };
    let shares: Vec<(f64, f64)> = told
        .iter()
        .map(|life| (sum(&|s| within(s, life)), sum(&|s| in_view(s, life))))
        .collect();
    let slope = |piece: &Step| -> f64 {
        let terms = told.iter().zip(&shares).map(|(life, (ended, view))| {
            let seen = if within(piece, life) {
                1.0 / ended
            } else {
                0.0
            };
            let truncated = if in_view(piece, life) {
                1.0 / view
            } else {
                0.0
            };
            life.weight * (seen - truncated)
        });
        terms.sum::<f64>() / total
    };
    let pieces = pieces(&told);
    let rising = pieces.iter().map(&slope).fold(0.0, f64::max);
    let used = estimate.steps().iter().map(|step| slope(step).abs());
    used.fold(rising, f64::max)
}

/// Every single age named in the lives, and every gap between two of them.
fn pieces(lives: &[&Lifetime]) -> Vec<Step> {
    let named = lives.iter().flat_map(|l| [l.lower, l.upper, l.entry]);
    let mut ages: Vec<f64> = named.collect();
    ages.push(0.0);
    ages.push(NOT_SEEN);
    ages.sort_by(f64::total_cmp);
    ages.dedup();
    let step = |from, to| Step {
        from,
        to,
        mass: 0.0,
    };
    ages.windows(2)
        .flat_map(|pair| [step(pair[0], pair[0]), step(pair[0], pair[1])])
        .collect()
}

#[test]
fn kaplan_meier_and_the_product_limit_with_late_entry_agree_to_1e_10() {
    for (name, case, lives) in cases("kaplan_meier") {
        let estimate = NonParametric::new(&lives).expect("an estimate");
        let errors = case["standard_errors"].as_array().expect("errors");
        let answers = numbers(&case["ages"])
            .into_iter()
            .zip(numbers(&case["survival"]));
        for ((age, survival), error) in answers.zip(errors) {
            let (low, high) = estimate.survival(age);
            assert_eq!(low, high, "{name} at {age}");
            assert_relative_eq!(low, survival, epsilon = 1e-10);
            match (estimate.standard_error(age), error.as_f64()) {
                (Some(ours), Some(theirs)) => assert_relative_eq!(ours, theirs, epsilon = 1e-10),
                (None, None) => {}
                other => panic!("{name} at {age}: {other:?}"),
            }
        }
        assert!(estimate.off_maximum() < 1e-12);
        assert!(worst_slope(&lives, &estimate) < 1e-8, "{name}");
    }
}

#[test]
fn survival_agrees_wherever_it_is_defined() {
    for (name, case, lives) in cases("turnbull") {
        let estimate = NonParametric::new(&lives).expect("an estimate");
        let answers = case["survival"].as_array().expect("survival");
        assert!(answers.len() > 5, "{name}");
        for answer in answers {
            let (age, theirs) = (number(&answer[0]), number(&answer[1]));
            let (low, high) = estimate.survival(age);
            // Self-consistency, which made the reference, creeps towards masses of zero.
            assert!(
                (low - theirs).abs() < 1e-6 && (high - theirs).abs() < 1e-6,
                "{name}: survival at {age} is {low} to {high}, not {theirs}"
            );
        }
        let log_likelihood = number(&case["log_likelihood"]);
        assert_relative_eq!(
            estimate.log_likelihood(),
            log_likelihood,
            max_relative = 1e-9
        );
        assert!(estimate.log_likelihood() >= log_likelihood - 1e-9);
    }
}

#[test]
fn the_kuhn_tucker_conditions_hold_to_1e_8() {
    for (name, _, lives) in cases("turnbull") {
        let estimate = NonParametric::new(&lives).expect("an estimate");
        let worst = worst_slope(&lives, &estimate);
        assert!(worst < 1e-8, "{name}: {worst:e}");
        let masses: f64 = estimate.steps().iter().map(|step| step.mass).sum();
        assert_relative_eq!(masses, 1.0, epsilon = 1e-12);
        assert!(estimate.off_maximum() < 1e-8);
    }
}

#[test]
fn breast_cosmesis_gives_the_printed_masses() {
    let mut printed = 0;
    for (name, case, lives) in cases("turnbull") {
        let Some(steps) = case["published"]["steps"].as_array() else {
            continue;
        };
        printed += 1;
        let estimate = NonParametric::new(&lives).expect("an estimate");
        assert_eq!(estimate.steps().len(), steps.len(), "{name}");
        for (ours, theirs) in estimate.steps().iter().zip(steps) {
            assert_eq!(ours.from, number(&theirs[0]), "{name}");
            assert_eq!(ours.to, theirs[1].as_f64().unwrap_or(NOT_SEEN), "{name}");
            // Printed to four decimals.
            assert_relative_eq!(ours.mass, number(&theirs[2]), epsilon = 5.1e-5);
        }
    }
    assert_eq!(printed, 2);
}

#[test]
fn bands_are_those_worked_out_from_another_programs_standard_errors() {
    let level = Level::new(0.9).expect("a level");
    for (name, case, lives) in cases("kaplan_meier") {
        let estimate = NonParametric::new(&lives).expect("an estimate");
        for family in Family::ALL {
            let plot = ProbabilityPlot::new(&estimate, family, Coverage::Pointwise, level)
                .expect("a plot");
            let bands = case["bands_90"].as_array().expect("bands");
            assert_eq!(plot.points.len(), bands.len(), "{name}");
            for (point, theirs) in plot.points.iter().zip(bands) {
                let Some((low, high)) = point.band else {
                    assert!(theirs.is_null(), "{name}");
                    continue;
                };
                assert_relative_eq!(
                    low,
                    family.quantile(number(&theirs[0])),
                    max_relative = 1e-8
                );
                assert_relative_eq!(
                    high,
                    family.quantile(number(&theirs[1])),
                    max_relative = 1e-8
                );
            }
        }
    }
}

#[test]
fn points_stand_half_way_up_each_jump_and_at_the_end_of_each_interval() {
    let exact: Vec<Lifetime> = (1..=5)
        .map(|age| seen(f64::from(age), f64::from(age)))
        .collect();
    let estimate = NonParametric::new(&exact).expect("an estimate");
    let level = Level::new(0.9).expect("a level");
    let plot = ProbabilityPlot::new(&estimate, Family::Weibull, Coverage::Simultaneous, level)
        .expect("a plot");
    // The familiar (i - 1/2)/n on the Weibull scale ln(-ln(1 - p)).
    for (i, point) in plot.points.iter().enumerate() {
        let p = (i as f64 + 0.5) / 5.0;
        assert_relative_eq!(point.quantile, (-(1.0 - p).ln()).ln(), max_relative = 1e-12);
        assert_relative_eq!(point.log_age, ((i + 1) as f64).ln());
        assert_eq!(point.band.is_none(), i == 4);
    }
    let looks = [
        seen(0.0, 2.0),
        seen(0.0, 2.0),
        seen(2.0, 3.0),
        seen(3.0, NOT_SEEN),
    ];
    let estimate = NonParametric::new(&looks).expect("an estimate");
    let plot = ProbabilityPlot::new(&estimate, Family::Loglogistic, Coverage::Pointwise, level)
        .expect("a plot");
    assert_eq!(plot.points.len(), 2);
    assert_relative_eq!(plot.points[0].quantile, 0.0, epsilon = 1e-9);
    assert_relative_eq!(plot.points[1].quantile, 3f64.ln(), epsilon = 1e-9);
    assert_eq!(plot.points[0].log_from, f64::NEG_INFINITY);
    let line = PlottedLine::new(2f64.ln(), 0.5).expect("a line");
    assert_relative_eq!(line.quantile(plot.points[0].log_age), 0.0);
    assert_relative_eq!(line.log_age(1.0), 2f64.ln() + 0.5);
    assert!(PlottedLine::new(0.0, 0.0).is_err());
}

fn seen(lower: f64, upper: f64) -> Lifetime {
    Lifetime {
        lower,
        upper,
        weight: 1.0,
        entry: 0.0,
    }
}

#[test]
fn simultaneous_bands_use_the_critical_value_of_the_standardised_bridge() {
    for case in reference("equal_precision").as_array().expect("cases") {
        let case = numbers(case);
        let growth = case[1] * (1.0 - case[0]) / (case[0] * (1.0 - case[1]));
        let level = Level::new(case[2]).expect("a level");
        let ours = equal_precision_value(level, growth).expect("a value");
        // The approximation of Miller and Siegmund against a numerical answer.
        assert_relative_eq!(ours, case[3], max_relative = 0.02);
    }
    let level = Level::new(0.9).expect("a level");
    assert!(equal_precision_value(level, 0.5).is_err());
    assert!(equal_precision_value(level, f64::NAN).is_err());
}

#[test]
fn simultaneous_bands_hold_the_whole_curve_as_often_as_they_say() {
    let level = Level::new(0.9).expect("a level");
    let mut random = seeded(4);
    let (mut all, mut each, crews) = (0, 0, 400);
    for _ in 0..crews {
        let lives: Vec<Lifetime> = (0..60).map(|_| exponential(&mut random)).collect();
        let estimate = NonParametric::new(&lives).expect("an estimate");
        let held = |coverage| {
            let plot = ProbabilityPlot::new(&estimate, Family::Weibull, coverage, level);
            let points = plot.expect("a plot").points;
            // Ages at which between a tenth and nine tenths have ended.
            points.iter().all(|point| {
                let ended = 1.0 - estimate.survival(point.log_age.exp() * (1.0 + 1e-12)).0;
                let Some((low, high)) = point.band else {
                    return true;
                };
                !(0.1..0.9).contains(&ended) || (low <= point.log_age && point.log_age <= high)
            })
        };
        all += usize::from(held(Coverage::Simultaneous));
        each += usize::from(held(Coverage::Pointwise));
    }
    // The bands reach further than the ages looked at, so they hold more often than 90 in 100.
    let share = all as f64 / f64::from(crews);
    assert!((0.88..0.99).contains(&share), "{share}");
    assert!(each < all, "{each} of {crews}");
}

/// A life of mean 1, right-censored at random.
fn exponential(random: &mut impl Rng) -> Lifetime {
    let mut draw = || -> f64 { -Distribution::<f64>::sample(&Open01, random).ln() };
    let (life, stop) = (draw(), 3.0 * draw());
    if life <= stop {
        seen(life, life)
    } else {
        seen(stop, NOT_SEEN)
    }
}

#[test]
fn the_anderson_darling_statistic_and_its_p_value_agree() {
    let reference = reference("anderson_darling");
    for sample in reference["samples"].as_array().expect("samples") {
        let test = test_scores(&numbers(&sample["scores"])).expect("a test");
        assert_relative_eq!(
            test.statistic,
            number(&sample["statistic"]),
            max_relative = 1e-11
        );
        assert_relative_eq!(test.p_value, number(&sample["p_value"]), epsilon = 1e-11);
    }
    assert_eq!(test_scores(&[]), Err(AdequacyError::Scores));
    assert_eq!(test_scores(&[0.0, f64::NAN]), Err(AdequacyError::Scores));
}

#[test]
fn scores_of_a_law_that_holds_are_standard_normal_and_of_another_are_not() {
    let mut random = seeded(7);
    let rejected = |shift: f64, random: &mut rand_chacha::ChaCha8Rng| {
        let mut rejected = 0;
        for _ in 0..500 {
            let spans: Vec<SurvivalSpan> = (0..40).map(|_| looked_at(shift, random)).collect();
            let scores = normal_scores(&spans, random).expect("scores");
            rejected += usize::from(test_scores(&scores).expect("a test").p_value < 0.05);
        }
        f64::from(u32::try_from(rejected).expect("a count")) / 500.0
    };
    // 0.05 within three standard errors of 500 trials.
    let level = rejected(1.0, &mut random);
    assert!((0.02..0.08).contains(&level), "{level}");
    let power = rejected(3.0, &mut random);
    assert!(power > 0.9, "{power}");
}

/// An exponential life of mean `mean`, in view from age 0.3 on, looked at now and then, as the law of
/// mean 1 sees it.
fn looked_at(mean: f64, random: &mut impl Rng) -> SurvivalSpan {
    let mut uniform = || -> f64 { StandardUniform.sample(random) };
    let life = 0.3 - mean * (1.0 - uniform()).ln();
    let survival = |age: f64| (-age).exp();
    let entry = survival(0.3);
    let look = 0.3 + 1.5 * uniform();
    let (low, high) = if uniform() < 0.3 {
        (life, life)
    } else if life <= look {
        (look, 0.3)
    } else if life <= 2.0 * look {
        (2.0 * look, look)
    } else {
        (f64::INFINITY, 2.0 * look)
    };
    SurvivalSpan {
        low: survival(low),
        high: survival(high),
        entry,
    }
}

#[test]
fn scores_are_the_plain_quantile_of_an_exact_life_and_spread_over_a_span() {
    let span = |low, high, entry| SurvivalSpan { low, high, entry };
    let mut random = seeded(1);
    // Normal quantiles as printed in every table: 0.025 is -1.959964, 0.5 is 0.
    let scores = normal_scores(&[span(0.025, 0.025, 1.0), span(0.4, 0.4, 0.8)], &mut random);
    let scores = scores.expect("scores");
    assert_relative_eq!(scores[0], 1.959_963_984_540_054, max_relative = 1e-12);
    assert_relative_eq!(scores[1], 0.0, epsilon = 1e-12);
    let far = normal_scores(&[span(0.0, 0.0, 1.0), span(1.0, 1.0, 1.0)], &mut random);
    assert!(far.expect("scores").iter().all(|score| score.is_finite()));
    for wrong in [
        span(0.5, 0.4, 1.0),
        span(0.1, 0.9, 0.8),
        span(0.0, 0.0, 0.0),
        span(f64::NAN, 0.5, 1.0),
        span(-0.1, 0.5, 1.0),
    ] {
        let error = normal_scores(&[span(0.1, 0.2, 1.0), wrong], &mut random);
        assert!(matches!(error, Err(AdequacyError::Span { row: 1, .. })));
    }
}

#[test]
fn several_randomisations_give_one_cautious_p_value() {
    let tests = |values: &[f64]| -> Vec<ScoreTest> {
        let test = |p_value: &f64| ScoreTest {
            statistic: 1.0,
            p_value: *p_value,
        };
        values.iter().map(test).collect()
    };
    assert_eq!(combined_p_value(&tests(&[0.01, 0.3, 0.04])), Some(0.08));
    assert_eq!(combined_p_value(&tests(&[0.7, 0.9])), Some(1.0));
    assert_eq!(combined_p_value(&[]), None);
}

/// Lives of shape 2 and scale 40; how each was seen is drawn too.
fn many(count: usize, exact: f64, late: bool, random: &mut impl Rng) -> Vec<Lifetime> {
    let mut uniform = || -> f64 { StandardUniform.sample(random) };
    let mut lives = Vec::with_capacity(count);
    while lives.len() < count {
        let life = 40.0 * (-(1.0 - uniform()).ln()).sqrt();
        let entry = if late && uniform() < 0.5 {
            20.0 * uniform()
        } else {
            0.0
        };
        let (first, gap, kind) = (entry + 20.0 * uniform(), 5.0 + 20.0 * uniform(), uniform());
        let (lower, upper) = if kind < exact {
            (life, life)
        } else if life <= first {
            (entry, first)
        } else if life <= first + gap {
            (first, first + gap)
        } else {
            (first + gap, NOT_SEEN)
        };
        if life > entry {
            lives.push(Lifetime {
                lower,
                upper,
                weight: 1.0,
                entry,
            });
        }
    }
    lives
}

/// Few lives with whole ages and weights, so that everything ties with everything.
fn few(random: &mut impl Rng) -> Vec<Lifetime> {
    let mut whole = |below: f64| -> f64 {
        let u: f64 = StandardUniform.sample(random);
        (u * below).floor()
    };
    let count = 2.0 + whole(12.0);
    let mut lives = Vec::new();
    while (lives.len() as f64) < count {
        let entry = (whole(8.0) - 3.0).max(0.0);
        let lower = whole(9.0);
        let upper = match whole(4.0) {
            0.0 => lower,
            1.0 => NOT_SEEN,
            _ => lower + 1.0 + whole(4.0),
        };
        if upper > entry {
            lives.push(Lifetime {
                lower,
                upper,
                weight: 1.0 + whole(3.0),
                entry,
            });
        }
    }
    lives
}

#[test]
fn small_tables_full_of_ties_meet_the_conditions_and_weights_are_repeats() {
    let mut random = seeded(12);
    let (mut checked, mut emptied) = (0, 0);
    for _ in 0..5000 {
        let lives = few(&mut random);
        let estimate = match NonParametric::new(&lives) {
            Ok(estimate) => estimate,
            Err(error) => {
                assert_eq!(error, AdequacyError::NothingCounts, "{lives:?}");
                continue;
            }
        };
        let repeats = lives.iter().flat_map(|life| {
            let once = Lifetime {
                weight: 1.0,
                ..*life
            };
            vec![once; life.weight as usize]
        });
        let repeated = NonParametric::new(&repeats.collect::<Vec<_>>()).expect("an estimate");
        let (ours, theirs) = (estimate.log_likelihood(), repeated.log_likelihood());
        assert_relative_eq!(ours, theirs, epsilon = 1e-9);
        if estimate.emptied_at().is_some() {
            emptied += 1;
            continue;
        }
        checked += 1;
        let worst = worst_slope(&lives, &estimate);
        assert!(worst < 1e-8, "{worst:e} of {lives:?}: {estimate:?}");
    }
    assert!(checked > 1000 && emptied > 100, "{checked}, {emptied}");
}

#[test]
fn thousands_of_lives_of_every_mix_settle() {
    let mut random = seeded(3);
    for (exact, late) in [
        (0.0, false),
        (0.5, false),
        (0.95, false),
        (0.0, true),
        (0.3, true),
    ] {
        let lives = many(5000, exact, late, &mut random);
        let clock = std::time::Instant::now();
        let estimate = NonParametric::new(&lives).expect("an estimate");
        println!(
            "exact {exact}, late entry {late}: {:?}, {} steps, off by {:e}",
            clock.elapsed(),
            estimate.steps().len(),
            estimate.off_maximum()
        );
        // Against the law they were drawn from, wide enough for the slow rate of mere looks.
        let (low, high) = estimate.survival(30.0);
        let truth = (-(30.0_f64 / 40.0).powi(2)).exp();
        assert!(low - 0.1 < truth && truth < high + 0.1, "{low} to {high}");
    }
}
