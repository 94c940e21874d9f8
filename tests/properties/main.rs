//! What holds whatever the data are.

mod logbook;
