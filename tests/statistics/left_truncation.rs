//! Lives that came into view late.
//!
//! Source: tests/reference/left_truncation.json (lifelines' fits with `entry`, polished to 17 digits by a
//! Newton iteration in mpmath on the score; the file names the call).

use crate::reference::{family, json, number, numbers};
use approx::assert_relative_eq;
use keenspan::wear::{Distribution, LifeTable, LifeTableFit, Lifetime};
use serde_json::Value;

#[test]
fn fits_with_left_truncation_agree_to_1e_9() {
    let reference = json("tests/reference/left_truncation.json");
    let mut table = LifeTable::default();
    for row in reference["rows"].as_array().expect("rows") {
        let row = numbers(row);
        let upper = if row[1] == 1.0 { row[0] } else { f64::INFINITY };
        table.lives.push(Lifetime {
            lower: row[0],
            upper,
            weight: 1.0,
            entry: row[2],
        });
        table.covariates.push(Vec::new());
    }
    let fits = reference["fits"].as_object().expect("fits");
    assert_eq!(fits.len(), 3);
    for (word, answer) in fits {
        let distribution = Distribution {
            family: family(&Value::from(word.as_str())),
            fixed_sigma: None,
        };
        let fit = LifeTableFit::new(&table, distribution).expect("a fit");
        assert_relative_eq!(
            fit.estimates()[0],
            number(&answer["intercept"]),
            max_relative = 1e-9
        );
        assert_relative_eq!(
            fit.estimates()[1],
            number(&answer["log_sigma"]),
            max_relative = 1e-9
        );
        assert_relative_eq!(
            fit.log_likelihood(),
            number(&answer["log_likelihood"]),
            max_relative = 1e-12
        );
        for (i, error) in numbers(&answer["standard_errors"]).into_iter().enumerate() {
            assert_relative_eq!(fit.standard_error(i), error, max_relative = 1e-9);
        }
    }
}
