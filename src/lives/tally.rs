//! Edges in, edges used, edges set aside.

/// Why an edge could not be used, or was used with a reservation.
#[derive(Debug, Clone, PartialEq)]
pub struct SetAside {
    /// Which edge, in the crew's words: machine, set, edge.
    pub edge: String,
    /// Why, in a sentence.
    pub reason: String,
}

/// What became of everything in the log.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tally {
    /// Edge lives found in the log.
    pub edges_found: usize,
    /// Edge lives the fit stands on.
    pub edges_used: usize,
    /// The rest, each with its reason: `edges_found == edges_used + set_aside.len()`.
    pub set_aside: Vec<SetAside>,
}
