//! What holds whatever the data are.

mod lives;
mod logbook;
