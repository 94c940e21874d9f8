//! What was last seen of each edge, as a normal score under what the other edges foretold for it.

use super::predicted::Span;
use super::{AdequacyError, ScoreTest, SurvivalSpan, combined_p_value, normal_scores, test_scores};
use crate::wear::likelihood::{LastLook, LastSeen};
use rand::Rng;
use serde::Serialize;
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// Times that spans are drawn from, so that a test does not hang on one draw. Basis: chosen; with odd
/// numbers the median is one of them.
const RANDOMISATIONS: usize = 21;

/// One edge's score.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct EdgeScore {
    /// Its place among the records.
    pub edge: usize,
    /// What was last seen of it.
    pub seen: LastSeen,
    /// The chance, as the other edges foretell it, that an edge would have looked no more worn than the least
    /// worn that fits what was seen. Small where it lasted longer than predicted.
    pub low: f64,
    /// The same for the most worn that fits.
    pub high: f64,
    /// A normal score drawn from within that span: positive for an edge that lasted longer than predicted,
    /// standard normal if edges wear as the model says.
    pub score: f64,
}

impl EdgeScore {
    /// How often an edge that obeys the model is as far out as this one at the least, on either side.
    pub fn tail(&self) -> f64 {
        (2.0 * self.high.min(1.0 - self.low)).min(1.0)
    }

    fn span(&self) -> SurvivalSpan {
        SurvivalSpan {
            low: self.low,
            high: self.high,
            entry: 1.0,
        }
    }
}

/// Whether the scores together are what the model says.
///
/// Both p-values take scores for independent. Those of one fit are not: location and spread were learned from
/// the same edges, which draws the scores towards what the law says and makes p-values too high. What counts
/// as odd is therefore set by simulation, in the verdict.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ScoresTest {
    /// How often a model that holds gives scores as odd or odder (Anderson and Darling; twice the median
    /// over randomisations).
    pub p_value: f64,
    /// Root of the mean square of the scores; 1 where edges scatter as the model says.
    pub spread: f64,
    /// How often a model that holds gives a spread as far from 1, on either side (chi-square law of the sum
    /// of squares; the median over randomisations).
    pub spread_p_value: f64,
}

/// The score of each edge from the span of its last look; the generator chooses within spans.
pub(super) fn edge_scores(
    looks: &[LastLook],
    spans: &[Span],
    random: &mut impl Rng,
) -> Result<Vec<EdgeScore>, AdequacyError> {
    let pairs = looks.iter().zip(spans).enumerate();
    let mut edges: Vec<EdgeScore> = pairs
        .map(|(edge, (look, span))| EdgeScore {
            edge,
            seen: look.seen,
            low: span.low,
            high: span.high,
            score: 0.0,
        })
        .collect();
    let scores = redrawn(&edges, random)?;
    for (edge, score) in edges.iter_mut().zip(scores) {
        edge.score = score;
    }
    Ok(edges)
}

/// The scores drawn once more from their spans.
pub(super) fn redrawn(
    edges: &[EdgeScore],
    random: &mut impl Rng,
) -> Result<Vec<f64>, AdequacyError> {
    let spans: Vec<SurvivalSpan> = edges.iter().map(EdgeScore::span).collect();
    normal_scores(&spans, random)
}

/// Tests all scores, drawing them anew several times.
pub(super) fn test_edges(
    edges: &[EdgeScore],
    random: &mut impl Rng,
) -> Result<ScoresTest, AdequacyError> {
    let mut tests: Vec<ScoreTest> = Vec::new();
    let mut squares = Vec::new();
    for _ in 0..RANDOMISATIONS {
        let scores = redrawn(edges, random)?;
        tests.push(test_scores(&scores)?);
        squares.push(scores.iter().map(|score| score * score).sum::<f64>());
    }
    squares.sort_by(f64::total_cmp);
    let sum = squares[squares.len() / 2];
    let count = edges.len() as f64;
    let law = ChiSquared::new(count).map_err(|_| AdequacyError::Scores)?;
    Ok(ScoresTest {
        p_value: combined_p_value(&tests).unwrap_or(1.0),
        spread: (sum / count).sqrt(),
        spread_p_value: (2.0 * law.cdf(sum).min(law.sf(sum))).min(1.0),
    })
}
