#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic, dead_code)]
#![allow(missing_docs)]
mod changing_exposure;
mod common_practice;
mod demo;
mod hierarchy;
mod life_tables;
mod reference;
