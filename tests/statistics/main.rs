//! Numbers checked against published answers, exact solutions and second implementations.

mod replacement;
mod replacement_simulated;
