//! Plain numerics: no hours, no edges, no files, no randomness.

pub mod elementary;
pub mod legendre;
pub mod newton;
pub mod normal;
pub mod roots;
