//! What must hold whatever the numbers.

mod replacement;
