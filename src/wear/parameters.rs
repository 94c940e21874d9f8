//! Which parameter stands where. The only place that knows indices.

use super::records::{EdgeRecords, Grouping};
use std::ops::Range;

/// The order of the parameters that every edge shares:
///
/// | place | parameter |
/// | --- | --- |
/// | first | location, the log of typical life |
/// | then | coefficients of the covariates of life |
/// | then | coefficients of the wear rate |
/// | then | the logit of the share that a touch-up takes back |
/// | then | the log of the spread `sigma` |
/// | last | the log of the grader's error |
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Layout {
    features: usize,
    rates: usize,
}

impl Layout {
    /// For so many covariates of life and of the wear rate.
    pub fn new(features: usize, rates: usize) -> Self {
        Self { features, rates }
    }

    /// For the covariates of these records.
    pub fn of(records: &EdgeRecords) -> Self {
        Self::new(records.feature_names.len(), records.rate_names.len())
    }

    /// Number of parameters.
    pub fn dimension(&self) -> usize {
        4 + self.features + self.rates
    }

    /// The log of typical life in reference conditions.
    pub fn location(&self) -> usize {
        0
    }

    /// Coefficients of the covariates of log life; positive lasts longer.
    pub fn features(&self) -> Range<usize> {
        1..1 + self.features
    }

    /// Coefficients of the log wear rate; positive wears faster.
    pub fn rates(&self) -> Range<usize> {
        1 + self.features..1 + self.features + self.rates
    }

    /// The logit of the share of wear that a touch-up takes back.
    pub fn touch_up(&self) -> usize {
        1 + self.features + self.rates
    }

    /// The log of the spread `sigma`.
    pub fn log_sigma(&self) -> usize {
        2 + self.features + self.rates
    }

    /// The log of the grader's error on the log of wear fraction.
    pub fn log_eye(&self) -> usize {
        3 + self.features + self.rates
    }

    /// The parameters' names, in order.
    pub fn names(&self, records: &EdgeRecords) -> Vec<String> {
        let word = |word: &str| word.to_string();
        std::iter::once(word("location"))
            .chain(records.feature_names.iter().cloned())
            .chain(records.rate_names.iter().cloned())
            .chain([word("touch_up"), word("log_sigma"), word("log_eye")])
            .collect()
    }
}

/// Where group effects stand. Effects are numbered through all groupings in turn; the grouping with
/// the most levels makes the leaves of the arrow, the others stand with the parameters that all share.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Effects {
    /// Where each grouping's effects begin; one more at the end.
    starts: Vec<usize>,
    /// The grouping with the most levels.
    largest: Option<usize>,
}

impl Effects {
    /// Of these groupings.
    pub fn of(groupings: &[Grouping]) -> Self {
        let mut starts = vec![0];
        for grouping in groupings {
            starts.push(starts[starts.len() - 1] + grouping.levels.len());
        }
        let largest = (0..groupings.len()).max_by_key(|&g| groupings[g].levels.len());
        Self { starts, largest }
    }

    /// How many effects there are.
    pub fn count(&self) -> usize {
        self.starts.last().copied().unwrap_or(0)
    }

    /// The effects of one grouping.
    pub fn of_grouping(&self, grouping: usize) -> Range<usize> {
        self.starts[grouping]..self.starts[grouping + 1]
    }

    /// The effects that are leaves of the arrow.
    pub fn leaves(&self) -> Range<usize> {
        self.largest
            .map_or(0..0, |largest| self.of_grouping(largest))
    }

    /// The place of an effect in a vector that begins with `dense` shared parameters, then holds the
    /// effects that are no leaves, then the leaves.
    pub fn place(&self, effect: usize, dense: usize) -> usize {
        let leaves = self.leaves();
        if leaves.contains(&effect) {
            dense + self.count() - leaves.len() + effect - leaves.start
        } else if effect < leaves.start {
            dense + effect
        } else {
            dense + effect - leaves.len()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_effect_has_a_place_of_its_own_with_the_leaves_last() {
        let grouping = |levels: usize| Grouping {
            name: String::new(),
            levels: vec![String::new(); levels],
        };
        let effects = Effects::of(&[grouping(2), grouping(5), grouping(3)]);
        let mut places: Vec<usize> = (0..effects.count()).map(|e| effects.place(e, 4)).collect();
        assert_eq!(
            effects
                .leaves()
                .map(|e| effects.place(e, 4))
                .collect::<Vec<_>>(),
            [9, 10, 11, 12, 13]
        );
        places.sort_unstable();
        assert_eq!(places, (4..14).collect::<Vec<_>>());
    }
}
