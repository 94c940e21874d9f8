//! The program as a crew meets it: what it writes, what it says, how it ends.

mod add;
mod broke_it;
mod faults;
mod killed;
mod new;
mod problems;
mod support;
mod verify;
