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
    let mut first = BEFORE;
    for (j, x) in tile.covariates.iter().enumerate() {
        let sums = &mut sums[first..first + 3 + j + 1];
        first += sums.len();
        // Two of the products go along, so that what bends is read once less.
        match &tile.covariates[..=j] {
            [one, other, others @ ..] => {
                by_covariate::<FUSED, 2>(sums, x, [one, other], outcome, bent);
                add_products::<FUSED>(&mut sums[5..], bent, others);
            }
            _ => by_covariate::<FUSED, 1>(sums, x, [x], outcome, bent),
        }
    }
}

/// What bends by one covariate, by others.
#[inline(always)]
fn add_products<const FUSED: bool>(sums: &mut [Lanes], bent: &Column, others: &[Column]) {
    for (sums, others) in sums.chunks_mut(3).zip(others.chunks(3)) {
        match others {
            [a, b, c] => products::<FUSED, 3>(sums, bent, [a, b, c]),
            [a, b] => products::<FUSED, 2>(sums, bent, [a, b]),
            [a] => products::<FUSED, 1>(sums, bent, [a]),
            _ => {}
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

/// First, mixed and bend by one covariate, and bend by it and each of a few; `bent` takes bend times it.
#[inline(always)]
fn by_covariate<const FUSED: bool, const N: usize>(
    sums: &mut [Lanes],
    x: &Column,
    others: [&Column; N],
    outcome: &Outcome,
    bent: &mut Column,
) {
    let Some((sums, products)) = sums.split_first_chunk_mut() else {
        return;
    };
    let Some(products) = products.first_chunk_mut::<N>() else {
        return;
    };
    let ([mut first, mut mixed, mut bend], mut by_others) = (*sums, *products);
    for start in (0..TILE).step_by(LANES) {
        for lane in 0..LANES {
            let i = start + lane;
            first[lane] = multiply_add::<FUSED>(outcome.first[i], x[i], first[lane]);
            mixed[lane] = multiply_add::<FUSED>(outcome.mixed[i], x[i], mixed[lane]);
            bent[i] = outcome.bend[i] * x[i];
            bend[lane] += bent[i];
            for (sum, other) in by_others.iter_mut().zip(others) {
                sum[lane] = multiply_add::<FUSED>(bent[i], other[i], sum[lane]);
            }
        }
    }
    (*sums, *products) = ([first, mixed, bend], by_others);
}

#[inline(always)]
fn products<const FUSED: bool, const N: usize>(
    sums: &mut [Lanes],
    bent: &Column,
    by: [&Column; N],
) {
    let Some(sums) = sums.first_chunk_mut::<N>() else {
        return;
    };
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
