//! What holds whatever the data are.

mod demo;
mod lives;
mod logbook;
