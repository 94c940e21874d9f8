//! Names in an order that does not depend on where they stand in a file.

use std::cmp::Ordering;

/// Numbers by size, then words by letters.
pub(super) fn natural_order(one: &str, other: &str) -> Ordering {
    let by_text = || one.cmp(other);
    match (number(one), number(other)) {
        (Some(x), Some(y)) => x.total_cmp(&y).then_with(by_text),
        (Some(_), None) => Ordering::Less,
        (None, Some(_)) => Ordering::Greater,
        (None, None) => by_text(),
    }
}

fn number(text: &str) -> Option<f64> {
    text.parse().ok().filter(|value: &f64| value.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_go_by_size_and_before_words() {
        let mut labels = ["wren", "10", "9", "-1.5", "otter", "nan"];
        labels.sort_by(|one, other| natural_order(one, other));
        assert_eq!(labels, ["-1.5", "9", "10", "nan", "otter", "wren"]);
    }
}
