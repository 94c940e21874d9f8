//! Plain numerics: no hours, no edges, no files, no randomness.
