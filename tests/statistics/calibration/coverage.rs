//! The share of central bounds that hold the truth.

use super::ranks::Ranks;

/// Levels of central bounds that tables show.
pub const LEVELS: [f64; 3] = [0.5, 0.8, 0.9];

/// Share of crews whose central bounds of this level hold the truth. The bounds leave out the same number
/// of ranks at both ends; the level must leave out a whole number of them.
pub fn held(ranks: &Ranks, level: f64) -> f64 {
    let cells = (ranks.draws + 1) as f64;
    let out = 0.5 * (1.0 - level) * cells;
    assert!(
        (out - out.round()).abs() < 1e-6,
        "{cells} ranks have no bounds of {level}"
    );
    let out = out.round() as usize;
    let inside = |rank: &&usize| (out..=ranks.draws - out).contains(rank);
    ranks.ranks.iter().filter(inside).count() as f64 / ranks.ranks.len() as f64
}

/// Four standard errors of a share among so many crews.
pub fn four_errors(share: f64, crews: u64) -> f64 {
    4.0 * (share * (1.0 - share) / crews as f64).sqrt()
}
