//! What wear looks like: life distributions, the likelihood of what was seen, priors, the posterior.
pub mod life_distribution;
pub use life_distribution::{Family, LifeDistribution};
