//! Whether a fitted law of life is adequate.
//!
//! ```text
//! non_parametric, probability_plot, normal_scores   know no posterior: lives and laws in, numbers out
//! leave_one_out    how well each edge is foretold by the others
//! edge_scores      what was last seen of each edge as a normal score, and tests of the scores
//! life_scores      each edge's life as a normal score, ahead and together: for drift
//! curve            the fitted law against the nonparametric estimate
//! counts           what the model would count again
//! examine          all of it from one function; verdict says what to make of it
//! ```

mod cells;
mod counts;
mod curve;
mod edge_scores;
mod equal_precision;
mod error;
mod examine;
mod hazards;
mod leave_one_out;
mod life_scores;
mod non_parametric;
mod normal_scores;
mod predicted;
mod probability_plot;
mod quadratic;
mod verdict;

pub use counts::{Count, Counts, GradeCount};
pub use curve::{CurvePoint, FittedCurve, Gap};
pub use edge_scores::{EdgeScore, ScoresTest};
pub use equal_precision::equal_precision_value;
pub use error::AdequacyError;
pub use examine::{Adequacy, FamilyFit};
pub use leave_one_out::{LeaveOneOut, LeftOut};
pub use life_scores::{LifeScore, ScoreBounds};
pub use non_parametric::{NonParametric, Step};
pub use normal_scores::{ScoreTest, SurvivalSpan, combined_p_value, normal_scores, test_scores};
pub use probability_plot::{Coverage, PlottedLine, PlottedPoint, ProbabilityPlot};
pub use verdict::Verdict;
