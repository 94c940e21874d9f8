#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic, dead_code)]
mod changing_exposure;
mod hierarchy;
mod reference;
