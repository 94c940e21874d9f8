//! Plain numerics: no hours, no edges, no files, no randomness.

pub mod anderson_darling;
mod arrow;
pub mod chains;
pub mod ecdf_bands;
pub mod elementary;
pub mod lanes;
pub mod newton;
pub mod normal;
pub mod pareto;
mod quadrature;
pub mod quick_normal;
pub mod resampling;
mod roots;
pub mod run_length;
pub mod weighted;

pub(crate) use arrow::{Arrow, ArrowFactor, Block, Blocks};
pub(crate) use quadrature::GaussLegendre;
pub(crate) use roots::brent_root;
