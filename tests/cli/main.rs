//! The program as a crew meets it: what it writes, what it says, how it ends.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)] // a test may stop
#![allow(clippy::disallowed_methods, clippy::disallowed_macros)]

mod add;
mod broke_it;
mod card;
mod damage;
mod drift;
mod due;
mod faults;
mod fit;
mod interval;
mod job;
mod killed;
mod knives;
mod lifedata;
mod lifedata_parquet;
mod looks;
mod model;
mod new;
mod notebooks;
mod pictures;
mod problems;
mod replacement;
mod report;
mod schema;
mod sets;
mod support;
mod terminal;
mod tried;
mod typed_next;
mod unfit;
mod verify;
