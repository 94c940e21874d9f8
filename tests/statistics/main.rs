//! Numbers checked against published answers, exact solutions and second implementations.

mod common_practice;
mod interval;
mod replacement;
mod replacement_simulated;
