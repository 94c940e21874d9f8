//! Checks of the numerics against answers that do not come from this program.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)] // a test may stop
#![allow(clippy::disallowed_methods, clippy::disallowed_macros)]

mod calibration;
mod changing_exposure;
mod common_practice;
mod demo;
mod diagnostics;
mod drift;
mod fleet;
mod hierarchy;
mod interval;
mod job_plan;
mod knife_action;
mod leave_one_out;
mod left_truncation;
mod life_tables;
mod likelihood;
mod nonparametric;
mod reference;
mod refit;
mod replacement;
mod replacement_simulated;
mod rotation;
mod seasons;
mod shared_frailty;
mod tried;
mod virtual_age;
mod worked_examples;
mod year;
