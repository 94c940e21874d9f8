//! Sums over the rows of a block, in a fixed order whatever the number of threads.

use super::block::LifeBlock;
use super::tile::{Column, Outcome, Place, TILE, Tile};
use crate::numerics::lanes::multiply_add;

/// Eight sums side by side, one for each lane of a vector or two.
const LANES: usize = 8;
type Lanes = [f64; LANES];

/// Sums that stand before those by covariate: value, spread, bend of spread, then for the intercept first, mixed and bend.
pub const BEFORE: usize = 6;

/// How many sums there are: three for each covariate, and one for each pair and each square.
pub fn count(covariates: usize) -> usize {
    BEFORE + 3 * covariates + covariates * (covariates + 1) / 2
}

/// One block at one place.
pub struct BlockAt<'a> {
    pub block: &'a LifeBlock,
    pub place: Place<'a>,
}

impl pulp::WithSimd for BlockAt<'_> {
    type Output = Vec<f64>;

    /// Compiled once for each kind of processor: all that is called from here is inlined.
    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> Vec<f64> {
        if S::IS_SCALAR {
            self.sums::<false>()
        } else {
            self.sums::<true>()
        }
    }
}

impl BlockAt<'_> {
    /// The sums, in the order: [`BEFORE`]; then for each covariate first, mixed and bend, and bend by this and each
    /// covariate up to this one.
    #[inline(always)]
    fn sums<const FUSED: bool>(&self) -> Vec<f64> {
        let covariates = self.place.coefficients.len().saturating_sub(1);
        let mut sums = vec![[0.0; LANES]; count(covariates)];
        let mut tile = Tile::new(covariates);
        let mut bent = [0.0; TILE];
        for section in &self.block.sections {
            for first in (0..section.len()).step_by(TILE) {
                let rows = first..section.len().min(first + TILE);
                tile.fill::<FUSED>(&self.place, section, rows);
                add::<FUSED>(&mut sums, &tile, &mut bent);
            }
        }
        sums.iter().map(together).collect()
    }
}

fn together(lanes: &Lanes) -> f64 {
    let [a, b, c, d, e, f, g, h] = lanes;
    ((a + e) + (b + f)) + ((c + g) + (d + h))
}

/// Adds a tile. `bent` has no meaning from call to call.
#[inline(always)]
fn add<const FUSED: bool>(sums: &mut [Lanes], tile: &Tile, bent: &mut Column) {
    let outcome = &tile.outcome;
    let before = [
        &outcome.value,
        &outcome.spread,
        &outcome.spread_bend,
        &outcome.first,
        &outcome.mixed,
        &outcome.bend,
    ];
    for (sum, column) in sums.iter_mut().zip(before) {
        add_column(sum, column);
    }
    let mut next = BEFORE;
    for (j, x) in tile.covariates.iter().enumerate() {
        if let Some(three) = sums[next..].first_chunk_mut() {
            by_covariate::<FUSED>(three, x, outcome, bent);
        }
        next += 3;
        let mut left = &tile.covariates[..=j];
        while let [one, other, rest @ ..] = left {
            if let Some(two) = sums[next..].first_chunk_mut() {
                products::<FUSED, 2>(two, bent, [one, other]);
            }
            next += 2;
            left = rest;
        }
        if let [one] = left {
            if let Some(only) = sums[next..].first_chunk_mut() {
                products::<FUSED, 1>(only, bent, [one]);
            }
            next += 1;
        }
    }
}

#[inline(always)]
fn add_column(sum: &mut Lanes, column: &Column) {
    let mut lanes = *sum;
    for piece in column.as_chunks::<LANES>().0 {
        for (lane, value) in lanes.iter_mut().zip(piece) {
            *lane += value;
        }
    }
    *sum = lanes;
}

/// First, mixed and bend by one covariate; `bent` takes bend times it.
#[inline(always)]
fn by_covariate<const FUSED: bool>(
    sums: &mut [Lanes; 3],
    x: &Column,
    outcome: &Outcome,
    bent: &mut Column,
) {
    let [mut first, mut mixed, mut bend] = *sums;
    for start in (0..TILE).step_by(LANES) {
        for lane in 0..LANES {
            let i = start + lane;
            first[lane] = multiply_add::<FUSED>(outcome.first[i], x[i], first[lane]);
            mixed[lane] = multiply_add::<FUSED>(outcome.mixed[i], x[i], mixed[lane]);
            bent[i] = outcome.bend[i] * x[i];
            bend[lane] += bent[i];
        }
    }
    *sums = [first, mixed, bend];
}

#[inline(always)]
fn products<const FUSED: bool, const N: usize>(
    sums: &mut [Lanes; N],
    bent: &Column,
    by: [&Column; N],
) {
    let mut lanes = *sums;
    for start in (0..TILE).step_by(LANES) {
        for (lanes, by) in lanes.iter_mut().zip(by) {
            for lane in 0..LANES {
                lanes[lane] =
                    multiply_add::<FUSED>(bent[start + lane], by[start + lane], lanes[lane]);
            }
        }
    }
    *sums = lanes;
}
