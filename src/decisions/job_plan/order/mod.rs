//! The order of least expected cost.

mod exact;
mod heuristic;

use super::operators::Operators;

/// Beyond so many jobs the order is found by trying.
pub const EXACT_TO: usize = 9;

/// The best order known, and whether it is the best there is.
pub fn best_order(operators: &Operators) -> (Vec<usize>, bool) {
    if operators.count() <= EXACT_TO {
        (exact::order(operators), true)
    } else {
        (heuristic::order(operators), false)
    }
}

#[cfg(test)]
mod tests;
