//! Plain numerics: no hours, no edges, no files, no randomness.

pub mod anderson_darling;
pub mod elementary;
pub mod newton;
pub mod normal;
mod quadrature;
mod roots;

pub(crate) use quadrature::GaussLegendre;
pub(crate) use roots::brent_root;
