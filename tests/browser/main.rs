//! The report in a real browser: whether everybody can read it, at every size, and whether it says what the
//! program says. Needs Chromium and axe-core; where they are missing the tests fail and say how to get them.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)] // a test may stop
#![allow(clippy::disallowed_methods, clippy::disallowed_macros)]

mod alone;
mod axe;
mod drifting;
mod layout;
mod names;
mod numbers;
mod page;
mod screen;
mod sections;
mod sideways;
mod weight;
