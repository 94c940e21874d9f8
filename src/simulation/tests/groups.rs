//! What machines, knife sets and grinders do.

use super::*;

#[test]
fn each_machine_set_and_grinder_moves_the_median_of_its_lives_by_its_effect() {
    let mut plan = CrewPlan {
        machines: vec![Rotor::Drum, Rotor::Disc, Rotor::Drum],
        sets_per_machine: 2,
        grinders: vec!["van".to_owned(), "own wheel".to_owned()],
        ..plain(12_000)
    };
    plan.truth.spreads = GroupSpreads {
        machine: 0.4,
        set: 0.3,
        grinder: 0.2,
    };
    let crew = invented_crew(21, &plan);
    assert_eq!(crew.effects.sets.len(), 6);
    // Each edge against the median of its kind: half of every group's lives must be longer.
    let longer = |group: &dyn Fn(&EdgeLife) -> bool| {
        let members = crew
            .lives
            .iter()
            .zip(&crew.hidden)
            .filter(|(life, _)| group(life));
        let longer: Vec<bool> = members
            .map(|(life, hidden)| {
                let features = &life.features;
                let effect = crew.effects.machines[&life.machine]
                    + crew.effects.sets[&life.set]
                    + crew
                        .effects
                        .grinders
                        .get(&features.ground_by)
                        .unwrap_or(&0.0);
                let median = plan.truth.median_of(features.rotor, features.regrinds);
                hidden.get() > median.get() * effect.exp()
            })
            .collect();
        let share = longer.iter().filter(|longer| **longer).count() as f64 / longer.len() as f64;
        assert_abs_diff_eq!(share, 0.5, epsilon = four_errors(0.5, longer.len()));
    };
    for machine in crew.effects.machines.keys() {
        longer(&|life| life.machine == *machine);
    }
    for set in crew.effects.sets.keys() {
        longer(&|life| life.set == *set);
    }
    for grinder in crew.effects.grinders.keys() {
        longer(&|life| life.features.ground_by == *grinder);
    }
}

/// The variance of a variance among `n` normal values is `2 / (n - 1)` of its square.
#[test]
fn effects_spread_as_stated() {
    let mut plan = CrewPlan {
        machines: vec![Rotor::Drum; 40],
        sets_per_machine: 2,
        grinders: (0..30).map(|name| name.to_string()).collect(),
        ..plain(0)
    };
    plan.truth.spreads = GroupSpreads {
        machine: 0.4,
        set: 0.3,
        grinder: 0.2,
    };
    let crews: Vec<_> = (0..50)
        .map(|seed| invented_crew(seed, &plan).effects)
        .collect();
    let check = |effects: Vec<f64>, spread: f64| {
        let (count, variance) = (effects.len() as f64, spread * spread);
        let (mean, found) = mean_and_variance(&effects);
        assert_abs_diff_eq!(mean, 0.0, epsilon = 4.0 * spread / count.sqrt());
        let error = variance * (2.0 / (count - 1.0)).sqrt();
        assert_abs_diff_eq!(found, variance, epsilon = 4.0 * error);
    };
    check(
        crews
            .iter()
            .flat_map(|c| c.machines.values().copied())
            .collect(),
        0.4,
    );
    check(
        crews
            .iter()
            .flat_map(|c| c.sets.values().copied())
            .collect(),
        0.3,
    );
    check(
        crews
            .iter()
            .flat_map(|c| c.grinders.values().copied())
            .collect(),
        0.2,
    );
}

/// A fault leaves the random numbers alone, so that each edge it befalls has the same life, shorter.
#[test]
fn a_fault_shortens_the_lives_that_it_befalls_from_its_first_edge_on_and_no_others() {
    let sound = CrewPlan {
        grinders: vec!["van".to_owned(), "own wheel".to_owned()],
        ..plain(40)
    };
    let faulty = CrewPlan {
        faults: vec![Fault {
            from: 15,
            at: Some("van".to_owned()),
            times: 0.5,
        }],
        ..sound.clone()
    };
    let befallen =
        |(number, life): (usize, &EdgeLife)| number >= 15 && life.features.ground_by == "van";
    // Only the first edge that a fault befalls is sure to come out as it did; draws follow how long edges work.
    let (before, after) = (invented_crew(3, &sound), invented_crew(3, &faulty));
    let first = after.lives.iter().enumerate().position(befallen);
    let first = first.expect("an edge of the van");
    assert_eq!(before.hidden[..first], after.hidden[..first]);
    let ratio = after.hidden[first].get() / before.hidden[first].get();
    assert_abs_diff_eq!(ratio, 0.5, epsilon = 1e-12);
}
