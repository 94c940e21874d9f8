//! Checks of the numerics against answers that do not come from this program.

mod changing_exposure;
mod left_truncation;
mod life_tables;
mod likelihood;
mod reference;
mod worked_examples;
