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

pub use crate::numerics::chains::Chains;
pub use crate::numerics::ecdf_bands::{Bands, uniform_bands};
pub use crate::numerics::pareto::{Smoothed, effective_draws, largest_trusted_shape, smooth};
pub use crate::numerics::resampling::systematic;
pub use crate::numerics::weighted::WeightedDraws;
