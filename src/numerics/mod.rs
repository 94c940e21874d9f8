//! Plain numerics: no hours, no edges, no files, no randomness.

mod quadrature;
mod roots;

pub(crate) use quadrature::GaussLegendre;
pub(crate) use roots::brent_root;
