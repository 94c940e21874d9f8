//! Randomised residuals: what is seen of each life as a normal score, if the law holds.
//!
//! Sources: Dunn and Smyth, Journal of Computational and Graphical Statistics 5, 1996; Li, Wu and Feng,
//! Model diagnostics for censored regression via randomized survival probabilities, Statistics in
//! Medicine 40, 2021.

use super::AdequacyError;
use crate::numerics::{anderson_darling, normal};
use rand::Rng;
use rand_distr::{Distribution, Open01};

/// What a law says of one life: the survival probabilities between which it ended.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurvivalSpan {
    /// Survival at the last age at which it may have ended; 0 for a life not seen to end.
    pub low: f64,
    /// Survival at the age at which it was known to be going; 1 for a left-censored life, equal to
    /// `low` for an exact one.
    pub high: f64,
    /// Survival at the age at which it came into view; 1 for a life seen from new.
    pub entry: f64,
}

/// A test of scores against the standard normal law.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ScoreTest {
    /// Anderson and Darling's `A^2`.
    pub statistic: f64,
    /// How often a law that holds gives as large a statistic or larger.
    pub p_value: f64,
}

/// One score for each life: its survival probability, drawn uniformly from its span and divided by that
/// at its entry, as a normal score, positive for a life longer than its median. They are independent
/// standard normal where the law holds and its parameters are known. A probability that doubles cannot
/// tell from 0 or 1 counts as the nearest that they can.
///
/// # Errors
///
/// [`AdequacyError::Span`] where the probabilities are out of order.
pub fn normal_scores(
    spans: &[SurvivalSpan],
    random: &mut impl Rng,
) -> Result<Vec<f64>, AdequacyError> {
    let score = |(row, span): (usize, &SurvivalSpan)| {
        let SurvivalSpan { low, high, entry } = *span;
        let ordered = 0.0 <= low && low <= high && high <= entry && entry <= 1.0;
        if !(ordered && entry > 0.0) {
            return Err(AdequacyError::Span {
                row,
                low,
                high,
                entry,
            });
        }
        // Drawn for exact lives also: what is drawn for one life does not hang on what others are.
        let share: f64 = Open01.sample(random);
        let survival = (low + (high - low) * share) / entry;
        let told = survival.clamp(f64::MIN_POSITIVE, 1.0 - 0.5 * f64::EPSILON);
        Ok(-normal::quantile(told))
    };
    spans.iter().enumerate().map(score).collect()
}

/// Whether scores may come from the standard normal law, nothing of it estimated. Where the parameters
/// of the law were fitted to the same lives, scores fit too well and the p-value is too high.
///
/// Source: Anderson and Darling (1954); p-value by Marsaglia and Marsaglia, Journal of Statistical
/// Software 9(2), 2004, good to about the fourth decimal.
///
/// # Errors
///
/// [`AdequacyError::Scores`] for no scores, or one that is not finite.
pub fn test_scores(scores: &[f64]) -> Result<ScoreTest, AdequacyError> {
    if scores.is_empty() || !scores.iter().all(|score| score.is_finite()) {
        return Err(AdequacyError::Scores);
    }
    let statistic = anderson_darling::statistic(scores);
    Ok(ScoreTest {
        statistic,
        p_value: anderson_darling::upper_tail(scores.len(), statistic),
    })
}

/// One p-value from those of several randomisations of the same lives, however they hang together: twice
/// their median, at most 1. `None` where there are none.
///
/// Source: Meinshausen, Meier and Buehlmann, Journal of the American Statistical Association 104, 2009,
/// with quantile one half.
pub fn combined_p_value(tests: &[ScoreTest]) -> Option<f64> {
    let mut values: Vec<f64> = tests.iter().map(|test| test.p_value).collect();
    values.sort_by(f64::total_cmp);
    // The upper of the two middle ones: the cautious side.
    let median = values.get(values.len() / 2)?;
    Some((2.0 * median).min(1.0))
}
