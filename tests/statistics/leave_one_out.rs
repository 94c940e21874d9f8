//! Leave-one-out against ArviZ, given the same log-likelihoods.
//!
//! `tests/reference/loo.json` is made by `models/reference/make_loo_cases.py`.

use crate::reference::{json, number, numbers};
use approx::assert_relative_eq;
use keenspan::wear::LeaveOneOut;
use serde_json::Value;

/// Rounding alone: both sides do the same sums in doubles, in another order.
const ROUNDING: f64 = 1e-9;

#[test]
fn edges_left_out_as_arviz_leaves_them_out() {
    let all = json("tests/reference/loo.json");
    let cases = all["cases"].as_array().expect("cases");
    assert!(cases.len() >= 4);
    for case in cases {
        let rows = case["log_likelihood"].as_array().expect("rows");
        let by_edge: Vec<Vec<f64>> = rows.iter().map(numbers).collect();
        let ours = LeaveOneOut::new(&numbers(&case["log_weights"]), &by_edge);
        let near = |ours: f64, theirs: &Value| {
            assert_relative_eq!(
                ours,
                number(theirs),
                max_relative = ROUNDING,
                epsilon = ROUNDING
            );
        };
        near(ours.log_density, &case["elpd"]);
        near(ours.standard_error, &case["se"]);
        let (elpd, k) = (numbers(&case["elpd_i"]), numbers(&case["k_hat"]));
        assert_eq!(ours.edges.len(), elpd.len());
        for (i, edge) in ours.edges.iter().enumerate() {
            assert_relative_eq!(edge.log_density, elpd[i], max_relative = ROUNDING);
            assert_relative_eq!(edge.k_hat, k[i], max_relative = ROUNDING);
        }
        let high = k.iter().filter(|k| **k > ours.trusted).count();
        assert_eq!(ours.doubtful().len(), high);
    }
    // The cases must hold edges of either kind.
    let heavy = |case: &Value| numbers(&case["k_hat"]).iter().any(|k| *k > 0.7);
    assert!(cases.iter().any(heavy) && !cases.iter().all(heavy));
}

#[test]
fn the_difference_of_two_laws_as_arviz_has_it() {
    let all = json("tests/reference/loo.json");
    let pair = &all["difference"];
    let of = |i: usize| {
        let case = &all["cases"][i];
        let rows = case["log_likelihood"].as_array().expect("rows");
        let by_edge: Vec<Vec<f64>> = rows.iter().map(numbers).collect();
        LeaveOneOut::new(&numbers(&case["log_weights"]), &by_edge)
    };
    let (better_by, error) = of(0).better_than(&of(1));
    assert_relative_eq!(
        better_by,
        number(&pair["elpd_diff"]),
        max_relative = ROUNDING
    );
    assert_relative_eq!(error, number(&pair["dse"]), max_relative = ROUNDING);
}
