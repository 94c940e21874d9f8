//! Sums of scores, and the runs in which they gave a sign.
//!
//! An edge that was only graded, pulled or struck has no score but a span of scores. What it adds is the log of
//! how much likelier the span is after a shift of twice the reference value, over that shift. For one score that
//! is `score - reference` to the letter (Page's sum is a sum of log likelihood ratios: Lorden, Annals of
//! Mathematical Statistics 42, 1971); for a span it is about the mean score within it less so much of the
//! reference value as the edge tells. Mean scores alone, summed as if they were scores, would scatter less than
//! the printed run lengths suppose and hide shifts; scores drawn from within spans would scatter as they suppose
//! and give a sign, or none, by the draw. Likelihood ratios do neither: the sum's tilt is that of whole scores,
//! and edges that tell less only make it go slower, so that the time to a false sign is the printed one at the
//! least.

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

/// Edges over which lives ran shorter or longer than they should, by their place in order of time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Run {
    /// Which way.
    pub side: Side,
    /// The first edge: the sum was last zero before it.
    pub first: usize,
    /// The edge with which the sum exceeded the decision interval.
    pub signalled: usize,
    /// The last edge; `None` where the run goes on.
    pub last: Option<usize>,
}

/// One side of the scheme.
struct OneSide {
    side: Side,
    sum: f64,
    first: usize,
    /// The largest sum and its place.
    top: (f64, usize),
    signalled: Option<usize>,
}

impl OneSide {
    fn new(side: Side) -> Self {
        Self {
            side,
            sum: 0.0,
            first: 0,
            top: (0.0, 0),
            signalled: None,
        }
    }

    /// Takes in the next edge; gives a run that ended.
    ///
    /// A run that gave a sign ends at the top of its sum, once that has fallen to zero or by as much as a sign
    /// takes: so much speaks for the end. The sum then starts anew.
    fn push(&mut self, place: usize, span: ScoreSpan, scheme: Scheme) -> Option<Run> {
        if self.sum == 0.0 {
            self.first = place;
            self.top = (0.0, place);
        }
        let shift = 2.0 * scheme.reference();
        let step = span.log_ratio(self.side.sign() * shift) / shift;
        self.sum = (self.sum + step).max(0.0);
        if self.sum > self.top.0 {
            self.top = (self.sum, place);
        }
        if self.sum > scheme.decision() {
            self.signalled.get_or_insert(place);
        }
        let over = self.sum == 0.0 || self.top.0 - self.sum >= scheme.decision();
        let run = self.run(Some(self.top.1)).filter(|_| over);
        if run.is_some() {
            *self = Self::new(self.side);
        }
        run
    }

    fn run(&self, last: Option<usize>) -> Option<Run> {
        Some(Run {
            side: self.side,
            first: self.first,
            signalled: self.signalled?,
            last,
        })
    }
}

/// Both sides of a scheme, edge after edge.
pub struct Cusum {
    scheme: Scheme,
    sides: [OneSide; 2],
    edges: usize,
    over: Vec<Run>,
}

impl Cusum {
    /// Before the first edge.
    pub fn new(scheme: Scheme) -> Self {
        Self {
            scheme,
            sides: [Side::Longer, Side::Shorter].map(OneSide::new),
            edges: 0,
            over: Vec::new(),
        }
    }

    /// Takes in the next edge: the sums with it.
    pub fn push(&mut self, span: ScoreSpan) -> Sums {
        for side in &mut self.sides {
            self.over.extend(side.push(self.edges, span, self.scheme));
        }
        self.edges += 1;
        let [longer, shorter] = &self.sides;
        Sums {
            longer: longer.sum,
            shorter: shorter.sum,
        }
    }

    /// The runs that gave a sign, in the order of their signs.
    pub fn runs(&self) -> Vec<Run> {
        let open = self.sides.iter().filter_map(|side| side.run(None));
        let mut runs: Vec<Run> = self.over.iter().copied().chain(open).collect();
        runs.sort_by_key(|run| run.signalled);
        runs
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(scores: &[f64]) -> (Vec<Sums>, Vec<Run>) {
        let spans: Vec<ScoreSpan> = scores.iter().copied().map(ScoreSpan::at).collect();
        let mut cusum = Cusum::new(Scheme::new(0.5, 4.0).unwrap());
        let chart = spans.into_iter().map(|span| cusum.push(span)).collect();
        (chart, cusum.runs())
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
    fn a_run_starts_behind_the_last_zero_and_goes_on_until_much_speaks_for_its_end() {
        let short = [0.2, -0.8, 0.9, -2.0, -2.0, -2.0, -1.0, -0.4];
        let (_, runs) = of(&short);
        let run = Run {
            side: Side::Shorter,
            first: 3,
            signalled: 5,
            last: None,
        };
        assert_eq!(runs, [run]);
        // Down from 5.0 at place 6 by 4.1 and more.
        let over: Vec<f64> = short.into_iter().chain([1.0, 1.5, 0.3, 0.2]).collect();
        let (_, runs) = of(&over);
        assert_eq!(
            runs[0],
            Run {
                last: Some(6),
                ..run
            }
        );
    }
}
