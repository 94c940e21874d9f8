//! Whether a fitted law of life is adequate: the nonparametric estimate to hold it against, the plot
//! that shows both, and residuals with a test of them. Nothing here knows the posterior.

mod cells;
mod equal_precision;
mod error;
mod hazards;
mod non_parametric;
mod normal_scores;
mod probability_plot;
mod quadratic;

pub use equal_precision::equal_precision_value;
pub use error::AdequacyError;
pub use non_parametric::{NonParametric, Step};
pub use normal_scores::{ScoreTest, SurvivalSpan, combined_p_value, normal_scores, test_scores};
pub use probability_plot::{Coverage, PlottedLine, PlottedPoint, ProbabilityPlot};
