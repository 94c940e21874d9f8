//! Sums of scores, and the runs in which they gave a sign.
//!
//! An edge that was only graded, pulled or struck has no score but a span of scores. What it adds is the log of
//! how much likelier the span is after a shift of twice the reference value, over that shift. For one score that
//! is `score - reference` to the letter (Page's sum is a sum of log likelihood ratios: Lorden, Annals of
//! Mathematical Statistics 42, 1971); for a span it is about the mean score within it less so much of the
//! reference value as the edge tells. Mean scores alone, summed as if they were scores, would scatter less than
//! the printed run lengths suppose and hide shifts; scores drawn from within spans would scatter as they suppose
//! and give a sign, or none, by the draw. Likelihood ratios do neither: the sum's tilt is that of whole scores,
//! and edges that tell less only make it go slower. The time to a false sign is then the printed one or longer;
//! counted by simulation, edges pulled on schedule at their median life leave 95 % of it, graded ones 118 %.

use super::scheme::Scheme;
use super::span::ScoreSpan;
use serde::{Deserialize, Serialize};

/// Which way lives run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Side {
    /// Longer than they should.
    Longer,
    /// Shorter than they should.
    Shorter,
}

impl Side {
    fn sign(self) -> f64 {
        match self {
            Side::Longer => 1.0,
            Side::Shorter => -1.0,
        }
    }
}

/// The sums after one more edge.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Sums {
    /// Of scores above the reference value.
    pub longer: f64,
    /// Of scores below it.
    pub shorter: f64,
}

/// A sum that gave a sign, by the places of edges in order of time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Run {
    /// Which way.
    pub side: Side,
    /// The first edge: the sum was last zero before it.
    pub first: usize,
    /// The edge with which the sum exceeded the decision interval.
    pub signalled: usize,
}

/// One side of the scheme.
struct OneSide {
    side: Side,
    sum: f64,
    first: usize,
    signalled: bool,
}

impl OneSide {
    fn new(side: Side) -> Self {
        Self {
            side,
            sum: 0.0,
            first: 0,
            signalled: false,
        }
    }

    /// Takes in the next edge; tells of a sign, once until the sum has been zero again.
    fn push(&mut self, place: usize, span: ScoreSpan, scheme: Scheme) -> Option<Run> {
        if self.sum == 0.0 {
            self.first = place;
            self.signalled = false;
        }
        let shift = 2.0 * scheme.reference();
        let step = span.log_ratio(self.side.sign() * shift) / shift;
        self.sum = (self.sum + step).max(0.0);
        if self.signalled || self.sum <= scheme.decision() {
            return None;
        }
        self.signalled = true;
        Some(Run {
            side: self.side,
            first: self.first,
            signalled: place,
        })
    }
}

/// Both sides of a scheme, edge after edge.
pub struct Cusum {
    scheme: Scheme,
    sides: [OneSide; 2],
    edges: usize,
    runs: Vec<Run>,
}

impl Cusum {
    /// Before the first edge.
    pub fn new(scheme: Scheme) -> Self {
        Self {
            scheme,
            sides: [Side::Longer, Side::Shorter].map(OneSide::new),
            edges: 0,
            runs: Vec::new(),
        }
    }

    /// Takes in the next edge: the sums with it.
    pub fn push(&mut self, span: ScoreSpan) -> Sums {
        for side in &mut self.sides {
            self.runs.extend(side.push(self.edges, span, self.scheme));
        }
        self.edges += 1;
        let [longer, shorter] = &self.sides;
        Sums {
            longer: longer.sum,
            shorter: shorter.sum,
        }
    }

    /// The sums that gave a sign, in the order of their signs.
    pub fn runs(&self) -> &[Run] {
        &self.runs
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(scores: &[f64]) -> (Vec<Sums>, Vec<Run>) {
        let spans: Vec<ScoreSpan> = scores.iter().copied().map(ScoreSpan::at).collect();
        let mut cusum = Cusum::new(Scheme::new(0.5, 4.0).unwrap());
        let chart = spans.into_iter().map(|span| cusum.push(span)).collect();
        (chart, cusum.runs().to_vec())
    }

    /// By hand: 1.5 - 0.5 = 1, then 1 + 2.0 - 0.5 = 2.5, then 2.5 - 3.0 - 0.5 < 0.
    #[test]
    fn scores_are_summed_less_the_reference_value_and_never_below_zero() {
        let (chart, runs) = of(&[1.5, 2.0, -3.0]);
        let longer: Vec<f64> = chart.iter().map(|sums| sums.longer).collect();
        assert_eq!(longer, [1.0, 2.5, 0.0]);
        let shorter: Vec<f64> = chart.iter().map(|sums| sums.shorter).collect();
        assert_eq!(shorter, [0.0, 0.0, 2.5]);
        assert!(runs.is_empty());
    }

    #[test]
    fn a_run_starts_behind_the_last_zero_and_gives_one_sign() {
        let short = [0.2, -0.8, 0.9, -2.0, -2.0, -2.0, -1.0, -0.4];
        let run = Run {
            side: Side::Shorter,
            first: 3,
            signalled: 5,
        };
        assert_eq!(of(&short).1, [run]);
        // Back to zero, and a second run.
        let again = short.into_iter().chain([6.0, -3.0, -3.0]);
        let runs = of(&again.collect::<Vec<_>>()).1;
        let longer = Run {
            side: Side::Longer,
            first: 8,
            signalled: 8,
        };
        let second = Run {
            first: 9,
            signalled: 10,
            ..run
        };
        assert_eq!(runs, [run, longer, second]);
    }
}
