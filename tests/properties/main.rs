//! What holds whatever the data are.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)] // a test may stop
#![allow(clippy::disallowed_methods, clippy::disallowed_macros)]

mod demo;
mod edge_runs;
mod invariance;
mod knife_action;
mod learned_pack;
mod lives;
mod logbook;
mod replacement;
mod saved;
mod small_logs;
mod units;
