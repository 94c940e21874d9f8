//! Can the draws be trusted? Diagnostics of sampled and of weighted posteriors.
//!
//! Plain numbers in, plain numbers out: these know nothing of wear.
//!
//! - Sampled by Markov chains: [`Chains`], one for each quantity.
//! - Drawn from something simpler and weighted: [`smooth`] the weights, compare its `k_hat` with
//!   [`largest_trusted_shape`], then [`WeightedDraws`] for answers with their Monte-Carlo error, or
//!   [`systematic`] for draws of equal weight.
//! - Whether a sampler is right at all, over many invented data sets: [`uniform_bands`] around the ranks
//!   of the truth among the draws.
//!
//! # Examples
//!
//! ```
//! use keenspan::wear::diagnostics::{WeightedDraws, effective_draws, systematic};
//!
//! // Three draws, of which the last weighs as much as the other two together.
//! let (values, weights) = ([1.0, 2.0, 5.0], [0.25, 0.25, 0.5]);
//! let draws = WeightedDraws::new(&values, &weights);
//! assert_eq!(draws.mean(), 3.25);
//! // They are worth fewer than three.
//! let log_weights = weights.map(f64::ln);
//! assert!((effective_draws(&log_weights) - draws.effective_draws()).abs() < 1e-12);
//! assert!(draws.effective_draws() < 3.0);
//! // As four of equal weight.
//! assert_eq!(systematic(&weights, 4, 0.5), [0, 1, 2, 2]);
//! ```

pub use crate::numerics::chains::Chains;
pub use crate::numerics::ecdf_bands::{Bands, uniform_bands};
pub use crate::numerics::pareto::{Smoothed, effective_draws, largest_trusted_shape, smooth};
pub use crate::numerics::resampling::systematic;
pub use crate::numerics::weighted::WeightedDraws;
