//! What to do about it.
