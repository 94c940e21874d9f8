//! The least that a pass can cost: a loop that reads the same bytes and does as much arithmetic, with nothing else around it.

use keenspan::logbook::LifeTableBlock;
use rayon::prelude::*;
use std::hint::black_box;
use std::time::Instant;

/// Rows that share vectors.
const LANES: usize = 8;
/// Operations on each row beside the two exponentials and the sum of products: 2 x 48.
const STEPS: usize = 48;

/// 57 bytes a row: two ages, five covariates, one byte for the kind.
struct Piece {
    columns: Vec<Vec<f64>>,
    kinds: Vec<u8>,
}

/// Least seconds of several passes over a copy of the table.
pub fn seconds(blocks: &[LifeTableBlock]) -> f64 {
    let pieces: Vec<Piece> = blocks.iter().map(Piece::of).collect();
    let processor = pulp::Arch::new();
    let pass = || {
        let sums: Vec<f64> = pieces
            .par_iter()
            .map(|piece| processor.dispatch(piece))
            .collect();
        sums.iter().sum::<f64>()
    };
    (0..7)
        .map(|_| {
            let start = Instant::now();
            black_box(pass());
            start.elapsed().as_secs_f64()
        })
        .fold(f64::INFINITY, f64::min)
}

impl Piece {
    fn of(block: &LifeTableBlock) -> Self {
        let log = |column: &Vec<f64>| column.iter().map(|age| age.min(1e6).ln()).collect();
        let ages = [log(&block.lower), log(&block.upper)];
        Self {
            columns: ages
                .into_iter()
                .chain(block.covariates.iter().cloned())
                .collect(),
            kinds: block
                .upper
                .iter()
                .map(|upper| u8::from(upper.is_finite()))
                .collect(),
        }
    }
}

impl pulp::WithSimd for &Piece {
    type Output = f64;

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> f64 {
        if S::IS_SCALAR {
            run::<false>(self)
        } else {
            run::<true>(self)
        }
    }
}

#[inline(always)]
fn multiply_add<const FUSED: bool>(a: f64, b: f64, c: f64) -> f64 {
    if FUSED { a.mul_add(b, c) } else { a * b + c }
}

#[inline(always)]
fn run<const FUSED: bool>(piece: &Piece) -> f64 {
    let [low, high, a, b, c, d, e] = piece.columns.as_slice() else {
        return f64::NAN;
    };
    let mut sums = [[0.0; LANES]; 4];
    let count = piece.kinds.len() / LANES * LANES;
    for first in (0..count).step_by(LANES) {
        let rows = first..first + LANES;
        let of = |column: &[f64]| {
            <[f64; LANES]>::try_from(&column[rows.clone()]).unwrap_or([0.0; LANES])
        };
        let (low, high, x) = (of(low), of(high), [of(a), of(b), of(c), of(d), of(e)]);
        let kinds = <[u8; LANES]>::try_from(&piece.kinds[rows.clone()]).unwrap_or([0; LANES]);
        for lane in 0..LANES {
            let mut location = 3.0;
            for x in &x {
                location = multiply_add::<FUSED>(x[lane], 0.1, location);
            }
            let early = exponential::<FUSED>(2.0 * (low[lane] - location));
            let late = exponential::<FUSED>(2.0 * (high[lane] - location)).min(1e9);
            let (one, two) = (early * f64::from(kinds[lane]), late);
            for sum in &mut sums {
                let mut value = sum[lane];
                for step in 0..STEPS / 4 {
                    value = multiply_add::<FUSED>(
                        x[step % 5][lane],
                        if step % 2 == 0 { one } else { two },
                        value,
                    );
                }
                sum[lane] = value;
            }
        }
    }
    sums.iter().flatten().sum()
}

/// Thirteen terms of Taylor's series after the powers of two are taken out.
#[inline(always)]
fn exponential<const FUSED: bool>(x: f64) -> f64 {
    const ROUNDER: f64 = 6_755_399_441_055_744.0;
    const TERMS: [f64; 12] = {
        let mut terms = [1.0; 12];
        let (mut n, mut factorial) = (1, 1.0);
        while n < 12 {
            factorial *= (n + 1) as f64;
            terms[n] = 1.0 / factorial;
            n += 1;
        }
        terms
    };
    let shifted = multiply_add::<FUSED>(x, std::f64::consts::LOG2_E, ROUNDER);
    let r = multiply_add::<FUSED>(shifted - ROUNDER, -std::f64::consts::LN_2, x);
    let mut sum = TERMS[11];
    for term in TERMS[..11].iter().rev() {
        sum = multiply_add::<FUSED>(sum, r, *term);
    }
    let power = f64::from_bits(shifted.to_bits().wrapping_add(1023) << 52);
    multiply_add::<FUSED>(power * r, sum, power)
}
