//! An invented crew from stated true parameters: the demo log, and data for tests.
