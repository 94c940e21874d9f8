//! The decision process over a knife set against solutions that do not come from it.

use crate::replacement::{costs as cycle_costs, law};
use keenspan::decisions::{
    AgeReplacement, Cheapest, EdgeNow, KnifeCosts, KnifeProcess, SetNow, SolvedProcess,
};
use keenspan::quantities::{Money, WearFraction, WearHours};
use keenspan::wear::{AgedDraw, Family, LifeDistribution, LifeLaw};

fn knife_costs(amounts: [f64; 8]) -> KnifeCosts {
    let [
        change,
        touch_up,
        grind,
        new_set,
        forced,
        strike,
        running,
        call_at,
    ] = amounts;
    let money = |amount| Money::new(amount).unwrap();
    KnifeCosts {
        change: money(change),
        touch_up: money(touch_up),
        grind: money(grind),
        new_set: money(new_set),
        forced_extra: money(forced),
        strike_extra: money(strike),
        running_at_dull: money(running),
        call_at: WearFraction::new(call_at).unwrap(),
    }
}

fn process(costs: [f64; 8], edges: u32, regrinds: u32, touch_ups: u32, step: f64) -> KnifeProcess {
    KnifeProcess {
        new: law(Family::Weibull, 0.25, 50f64.ln()),
        reground: law(Family::Weibull, 0.35, 40f64.ln()),
        strikes_per_hour: 0.004,
        touch_up_share: 0.37,
        costs: knife_costs(costs),
        edges,
        regrinds,
        touch_ups,
        step: WearHours::new(step).unwrap(),
    }
}

fn rate(solved: &SolvedProcess) -> f64 {
    solved.cost_per_hour().unwrap().get()
}

/// A semi-Markov decision process, written out state by state.
#[derive(Default)]
struct Chain {
    /// For each state its choices: cost, hours, where to with which chance.
    choices: Vec<Vec<Choice>>,
}

#[derive(Clone)]
struct Choice {
    cost: f64,
    hours: f64,
    to: Vec<(usize, f64)>,
}

impl Chain {
    /// Cost rate and relative values (zero at state 0) of one stationary policy, by linear equations:
    /// `h(s) + g hours(s) - sum of P h = cost(s)`.
    fn evaluate(&self, policy: &[usize]) -> Option<(f64, Vec<f64>)> {
        let size = self.choices.len();
        let mut rows = Vec::with_capacity(size);
        for (state, pick) in policy.iter().enumerate() {
            let choice = &self.choices[state][*pick];
            // Unknowns: g in place of h(0).
            let mut row = vec![0.0; size + 1];
            let mut add = |of: usize, amount: f64| {
                if of > 0 {
                    row[of] += amount;
                }
            };
            add(state, 1.0);
            for (to, chance) in &choice.to {
                add(*to, -chance);
            }
            row[0] = choice.hours;
            row[size] = choice.cost;
            rows.push(row);
        }
        let solution = gauss(rows)?;
        let mut values = solution.clone();
        values[0] = 0.0;
        Some((solution[0], values))
    }

    /// The least cost rate of all stationary policies, each tried, and the least values at it: those of
    /// states that the best policy never meets are the best of them too.
    fn enumerate(&self) -> (f64, Vec<f64>) {
        let mut policy = vec![0; self.choices.len()];
        let mut best: Option<(f64, Vec<f64>)> = None;
        loop {
            if let Some(found) = self.evaluate(&policy)
                && best.as_ref().is_none_or(|best| better(&found, best))
            {
                best = Some(found);
            }
            let Some(turn) = (0..policy.len()).find(|s| policy[*s] + 1 < self.choices[*s].len())
            else {
                return best.expect("a policy");
            };
            policy[turn] += 1;
            policy[..turn].fill(0);
        }
    }
}

/// Less cost, or the same within rounding and less to come.
fn better(one: &(f64, Vec<f64>), other: &(f64, Vec<f64>)) -> bool {
    let sum = |values: &[f64]| values.iter().sum::<f64>();
    match one.0 - other.0 {
        gap if gap.abs() > 1e-11 => gap < 0.0,
        _ => sum(&one.1) < sum(&other.1),
    }
}

/// Gaussian elimination with the largest pivot; `None` where the equations have no single solution.
fn gauss(mut rows: Vec<Vec<f64>>) -> Option<Vec<f64>> {
    let size = rows.len();
    for column in 0..size {
        let pivot = (column..size)
            .max_by(|a, b| rows[*a][column].abs().total_cmp(&rows[*b][column].abs()))?;
        rows.swap(column, pivot);
        if rows[column][column].abs() < 1e-12 {
            return None;
        }
        let top = rows[column].clone();
        for (at, row) in rows.iter_mut().enumerate().filter(|(at, _)| *at != column) {
            let _ = at;
            let factor = row[column] / top[column];
            for (cell, above) in row.iter_mut().zip(&top) {
                *cell -= factor * above;
            }
        }
    }
    Some(
        rows.iter()
            .enumerate()
            .map(|(i, row)| row[size] / row[i])
            .collect(),
    )
}

/// A step from age `i`, from the closed form of the Weibull survival alone.
fn step_from(process: &KnifeProcess, law: &LifeLaw, i: usize, bins: usize) -> (f64, f64, f64) {
    let d = process.step.get();
    let costs = &process.costs;
    let call_at = costs.call_at.get();
    let shape = 1.0 / law.sigma;
    let scale = law.log_median.exp() / std::f64::consts::LN_2.powf(law.sigma);
    let uncalled = |i: usize| {
        if i >= bins {
            0.0
        } else {
            (-(i as f64 * d / call_at / scale).powf(shape)).exp()
        }
    };
    let mean_rate = |from: usize| -> f64 {
        (from..bins)
            .map(|k| (uncalled(k) - uncalled(k + 1)) * call_at / ((k as f64 + 0.5) * d))
            .sum()
    };
    let called = 1.0 - uncalled(i + 1) / uncalled(i);
    let struck = 1.0 - (-process.strikes_per_hour * d).exp();
    let worn = (i as f64 + 0.5) * d * (mean_rate(i) + mean_rate(i + 1)) / 2.0 / uncalled(i);
    let cost = costs.forced_extra.get() * called * (1.0 - struck / 2.0)
        + costs.strike_extra.get() * struck * (1.0 - called / 2.0)
        + costs.running_at_dull.get() * worn * d * (1.0 - struck / 2.0);
    let hours = d * (1.0 - called / 2.0) * (1.0 - struck / 2.0);
    ((1.0 - called) * (1.0 - struck), cost, hours)
}

/// Steps until fewer than one edge in two thousand is uncalled.
fn bins(process: &KnifeProcess, law: &LifeLaw) -> usize {
    let scale = law.log_median.exp() / std::f64::consts::LN_2.powf(law.sigma);
    let last = scale * (2000f64.ln()).powf(law.sigma);
    (process.costs.call_at.get() * last / process.step.get()).ceil() as usize
}

/// Numbers the states of a set as it goes: (grinds done, fresh edges beside, kind of state).
struct Numbering(Vec<(u32, u32, Kind)>);

#[derive(Clone, Copy, PartialEq, Debug)]
enum Kind {
    /// A fresh edge goes to work.
    Fresh,
    /// Age and touch-ups left.
    Aged(usize, u32),
    /// Its work has ended.
    Ended,
}

impl Numbering {
    fn of(&self, state: (u32, u32, Kind)) -> usize {
        let place = self.0.iter().position(|other| *other == state);
        place.unwrap_or_else(|| panic!("no state {state:?}"))
    }
}

/// The whole process state by state, from its description and not from its code.
fn written_out(process: &KnifeProcess) -> (Chain, Numbering) {
    let mut states = Vec::new();
    for ground in 0..=process.regrinds {
        let law = if ground == 0 {
            &process.new
        } else {
            &process.reground
        };
        for fresh in (0..process.edges).rev() {
            states.push((ground, fresh, Kind::Fresh));
            for left in 0..=process.touch_ups {
                let first = usize::from(left == process.touch_ups);
                let ages = first..bins(process, law);
                states.extend(ages.map(|age| (ground, fresh, Kind::Aged(age, left))));
            }
            states.push((ground, fresh, Kind::Ended));
        }
    }
    let numbering = Numbering(states);
    let choices = numbering
        .0
        .iter()
        .map(|state| choices(process, &numbering, *state));
    (
        Chain {
            choices: choices.collect(),
        },
        numbering,
    )
}

fn choices(
    process: &KnifeProcess,
    of: &Numbering,
    (ground, fresh, kind): (u32, u32, Kind),
) -> Vec<Choice> {
    let law = if ground == 0 {
        &process.new
    } else {
        &process.reground
    };
    let last = bins(process, law);
    let run = |age: usize, left: u32| {
        let (on, cost, hours) = step_from(process, law, age, last);
        let mut to = vec![(of.of((ground, fresh, Kind::Ended)), 1.0 - on)];
        if age + 1 < last {
            to.push((of.of((ground, fresh, Kind::Aged(age + 1, left))), on));
        }
        Choice { cost, hours, to }
    };
    let costs = &process.costs;
    let at_once = |cost: f64, state| Choice {
        cost,
        hours: 0.0,
        to: vec![(of.of(state), 1.0)],
    };
    match kind {
        Kind::Fresh => vec![run(0, process.touch_ups)],
        Kind::Aged(age, left) => {
            let mut all = vec![run(age, left), at_once(0.0, (ground, fresh, Kind::Ended))];
            if left > 0 {
                let back = (1.0 - process.touch_up_share) * age as f64;
                let low = back.floor() as usize;
                let share = back - back.floor();
                let mut to = vec![(
                    of.of((ground, fresh, Kind::Aged(low, left - 1))),
                    1.0 - share,
                )];
                if share > 0.0 {
                    to.push((of.of((ground, fresh, Kind::Aged(low + 1, left - 1))), share));
                }
                all.push(Choice {
                    cost: costs.touch_up.get(),
                    hours: 0.0,
                    to,
                });
            }
            all
        }
        Kind::Ended => {
            let change = costs.change.get();
            let first = process.edges - 1;
            let mut all = vec![at_once(
                costs.new_set.get() + change,
                (0, first, Kind::Fresh),
            )];
            if fresh > 0 {
                all.push(at_once(change, (ground, fresh - 1, Kind::Fresh)));
            }
            if ground < process.regrinds {
                all.push(at_once(
                    costs.grind.get() + change,
                    (ground + 1, first, Kind::Fresh),
                ));
            }
            all
        }
    }
}

/// Small processes: costs, edges, regrinds, touch-ups, step.
const SMALL: [([f64; 8], u32, u32, u32, f64); 6] = [
    // Touch-ups pay; one grind.
    (
        [60.0, 6.0, 20.0, 90.0, 80.0, 150.0, 6.0, 1.3],
        1,
        1,
        1,
        45.0,
    ),
    // They do not.
    (
        [60.0, 59.0, 20.0, 90.0, 80.0, 150.0, 6.0, 1.3],
        1,
        1,
        1,
        45.0,
    ),
    // Two edges, no grind.
    (
        [30.0, 10.0, 20.0, 90.0, 200.0, 250.0, 2.0, 1.1],
        2,
        0,
        1,
        34.0,
    ),
    // Grinding dearer than new knives.
    (
        [30.0, 10.0, 150.0, 90.0, 60.0, 90.0, 5.0, 1.3],
        1,
        2,
        0,
        30.0,
    ),
    // Two edges and a grind; running costs nothing.
    (
        [40.0, 10.0, 25.0, 120.0, 300.0, 400.0, 0.0, 1.0],
        2,
        1,
        0,
        28.0,
    ),
    // Changes next to free: every edge comes out at the first chance.
    ([0.5, 0.2, 0.5, 2.0, 300.0, 400.0, 20.0, 1.3], 1, 1, 1, 45.0),
];

// Source: every stationary policy of the process, written out state by state from its description, its
// cost rate and relative values by linear equations; nothing of it is shared with the library.
#[test]
fn cost_rate_and_values_are_those_of_the_best_of_all_stationary_policies() {
    let mut pays = Vec::new();
    for (costs, edges, regrinds, touch_ups, step) in SMALL {
        let process = process(costs, edges, regrinds, touch_ups, step);
        let (chain, numbering) = written_out(&process);
        let (least, values) = chain.enumerate();
        let solved = process.solve().unwrap();
        assert!(
            (rate(&solved) / least - 1.0).abs() < 1e-9,
            "{costs:?}: {} {least}",
            rate(&solved)
        );
        // What each action costs once an edge has ended, against the relative values; a new set at work
        // is state 0, of value zero.
        for ground in 0..=regrinds {
            let now = SetNow {
                on_bench: false,
                reground: ground > 0,
                fresh_edges: edges - 1,
                grinds_after_next: (regrinds - ground).checked_sub(1),
                touched_up: 0,
                edge: EdgeNow::Fresh,
            };
            let actions = solved.actions(&now);
            let value = |state| values[numbering.of(state)];
            let change = costs[0];
            let near = |found: f64, expected: f64| {
                assert!(
                    (found - expected).abs() < 1e-7 * (1.0 + expected.abs()),
                    "{found} {expected}"
                );
            };
            near(actions.replace.unwrap(), costs[3] + change);
            near(
                actions.keep_running.unwrap(),
                value((ground, edges - 1, Kind::Fresh)),
            );
            if edges > 1 {
                near(
                    actions.flip.unwrap(),
                    change + value((ground, edges - 2, Kind::Fresh)),
                );
            }
            if let Some(regrind) = actions.regrind {
                let then = value((ground + 1, edges - 1, Kind::Fresh));
                near(regrind, costs[2] + change + then);
            }
        }
        if touch_ups == 0 {
            run_on_from_every_age(&process, &solved, (&chain, &numbering, &values, least));
        }
        pays.push(rate(&solved));
    }
    // Cheap touch-ups are used; dear ones are not, and cost nothing by being on offer.
    assert!(pays[0] < pays[1]);
}

/// Running on from an age, known by the lives beyond it, against the chain; lives in 4000 equal chances.
fn run_on_from_every_age(
    process: &KnifeProcess,
    solved: &SolvedProcess,
    (chain, numbering, values, least): (&Chain, &Numbering, &[f64], f64),
) {
    let law = if process.regrinds == 0 {
        process.new
    } else {
        process.reground
    };
    let ground = process.regrinds;
    for age in 1..bins(process, &law) - 1 {
        let worn = age as f64 * process.step.get();
        let aged = AgedDraw {
            wear: worn,
            lives: lives_beyond(&law, 4000, worn / process.costs.call_at.get()).into(),
        };
        let now = SetNow {
            on_bench: false,
            reground: ground > 0,
            fresh_edges: 0,
            grinds_after_next: None,
            touched_up: 0,
            edge: EdgeNow::Worked(&aged),
        };
        let run = &chain.choices[numbering.of((ground, 0, Kind::Aged(age, 0)))][0];
        let then: f64 = run.to.iter().map(|(to, chance)| chance * values[*to]).sum();
        let expected = run.cost - least * run.hours + then;
        let found = solved.actions(&now).keep_running.unwrap();
        assert!(
            (found - expected).abs() < 0.01 * expected.abs(),
            "{age}: {found} {expected}"
        );
    }
}

/// With the average of its knives' price and grinds for a planned change, a set without touch-ups is age
/// replacement.
fn as_age_replacement(process: &KnifeProcess) -> f64 {
    let costs = &process.costs;
    let (edges, regrinds) = (f64::from(process.edges), f64::from(process.regrinds));
    let steel = (costs.new_set.get() + regrinds * costs.grind.get()) / ((regrinds + 1.0) * edges);
    let costs = cycle_costs(
        costs.change.get() + steel,
        costs.forced_extra.get(),
        costs.strike_extra.get(),
        costs.running_at_dull.get(),
        Some(costs.call_at.get()),
    );
    let replacement =
        AgeReplacement::new(&process.reground, process.strikes_per_hour, &costs).unwrap();
    match replacement.cheapest().unwrap() {
        Cheapest::ChangeAt { cost_per_hour, .. } => cost_per_hour.get(),
        Cheapest::RunUntilCalled { cost_per_hour } => cost_per_hour.get(),
    }
}

// Source: AgeReplacement, which is held against printed cases in replacement.rs. The trapezoid rule errs by
// the square of the step: an eighth of the step leaves a 64th of the error, or a 16th where the best age
// falls better between the steps of the coarse grid than of the fine one.
#[test]
fn without_touch_ups_it_is_age_replacement_and_the_error_falls_with_the_square_of_the_step() {
    for (family, sigma) in [
        (Family::Weibull, 0.33),
        (Family::Lognormal, 0.3),
        (Family::Loglogistic, 0.2),
    ] {
        let errors: Vec<f64> = [4.0, 2.0, 1.0, 0.5]
            .map(|step| {
                let costs = [100.0, 40.0, 64.0, 240.0, 150.0, 350.0, 3.0, 1.3];
                let same = law(family, sigma, 50f64.ln());
                let process = KnifeProcess {
                    new: same,
                    reground: same,
                    ..process(costs, 2, 8, 0, step)
                };
                let exact = as_age_replacement(&process);
                (rate(&process.solve().unwrap()) / exact - 1.0).abs()
            })
            .to_vec();
        assert!(errors[0] < 5e-3, "{family:?} {errors:?}");
        assert!(errors[3] < 5e-5, "{family:?} {errors:?}");
        assert!(errors[3] < errors[0] / 16.0, "{family:?} {errors:?}");
    }
}

/// Lives of a law beyond an age, in equal chances.
fn lives_beyond(law: &LifeLaw, count: usize, age: f64) -> Vec<(f64, f64)> {
    let below = law.chance_dull_by(age);
    let at = |k: usize| {
        let share = (k as f64 + 0.5) / count as f64;
        let w = law.family.quantile(below + share * (1.0 - below));
        (law.location() + law.sigma * w).exp()
    };
    (0..count).map(|k| (at(k), 1.0 / count as f64)).collect()
}

// An edge that is known to be fresh, by its possible lives, is worth what a fresh edge of the law is.
#[test]
fn a_worked_edge_with_no_wear_is_a_fresh_one() {
    let costs = [100.0, 40.0, 64.0, 240.0, 150.0, 350.0, 3.0, 1.3];
    let process = process(costs, 2, 8, 2, 1.0);
    let solved = process.solve().unwrap();
    let aged = AgedDraw {
        wear: 0.0,
        lives: lives_beyond(&process.reground, 2000, 0.0).into(),
    };
    let now = |edge| SetNow {
        on_bench: false,
        reground: true,
        fresh_edges: 1,
        grinds_after_next: Some(3),
        touched_up: 0,
        edge,
    };
    let worked = solved.actions(&now(EdgeNow::Worked(&aged)));
    let fresh = solved.actions(&now(EdgeNow::Fresh));
    let gap = worked.keep_running.unwrap() - fresh.keep_running.unwrap();
    assert!(gap.abs() < 0.2, "{gap}");
    assert_eq!(worked.flip, fresh.flip);
}
