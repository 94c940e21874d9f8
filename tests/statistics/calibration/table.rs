//! Outcomes of a study as a markdown table.

use super::coverage::{LEVELS, held};
use super::ranks::BoundsRule;
use super::study::Outcome;
use std::fmt::Write;

/// Probability with which uniform ranks of one quantity keep within their bounds.
pub const KEPT: f64 = 0.99;

/// One row a quantity: coverage in percent, the widest gap of the rank's distribution function, and
/// whether it keeps within its bounds.
pub fn markdown(title: &str, outcomes: &[Outcome], rule: BoundsRule) -> String {
    let crews = outcomes
        .first()
        .map_or(0, |outcome| outcome.ranks.ranks.len());
    let mut table = format!("### {title}: {crews} crews\n\n| quantity |");
    for level in LEVELS {
        let percent = 100.0 * level;
        let error = (percent * (100.0 - percent) / crews as f64).sqrt();
        let _ = write!(table, " in {percent:.0} % bounds (+/- {error:.1}) |");
    }
    table.push_str(" widest gap of ranks | uniform |\n| --- |");
    table.push_str(&" ---: |".repeat(LEVELS.len()));
    table.push_str(" ---: | --- |\n");
    for outcome in outcomes {
        let _ = write!(table, "| {} |", outcome.quantity);
        for level in LEVELS {
            let _ = write!(table, " {:.1} |", 100.0 * held(&outcome.ranks, level));
        }
        let uniform = if outcome.thinned.uniform(KEPT, rule) {
            "yes"
        } else {
            "no"
        };
        let _ = writeln!(table, " {:+.3} | {uniform} |", outcome.thinned.widest_gap());
    }
    table
}
