//! How it is shown.
