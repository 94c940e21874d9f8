//! The program as a crew meets it: what it writes, what it says, how it ends.

mod add;
mod faults;
mod killed;
mod lifedata;
mod new;
mod support;
mod verify;
