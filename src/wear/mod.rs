//! What wear looks like: life distributions, the likelihood of what was seen, priors, the posterior.
pub mod life_distribution;
mod life_distribution_for_now;
pub mod life_law;
pub use life_distribution::{Family, LifeDistribution};
pub use life_law::{DrawUnderConditions, LifeLaw};
