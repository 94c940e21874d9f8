//! Points that fill the unit cube more evenly than chance does.
//!
//! Sobol's sequence, scrambled by Owen's nested permutations and so that each point lies anywhere with equal chance
//! (hash-based: Burley, Journal of Computer Graphics Techniques 9(4), 2020; direction numbers: Joe and Kuo, SIAM
//! Journal on Scientific Computing 30, 2008). Each coordinate by itself meets every one of `2^m` even ranges once in
//! `2^m` points, and the first two together every box. High coordinates two by two are no more even than chance in the
//! first hundred points; it is sums that hang on one coordinate at a time that err much less than by chance.

use crate::wear::generator::seeded_stream;
use rand::Rng;

/// Points that the sequence has.
const LENGTH: usize = 1 << 16;
/// Coordinates that it has, four at a time.
const FOURS: usize = sobol_burley::NUM_DIMENSION_SETS_4D as usize;
/// The crate tells coordinates in steps of `2^-23`, rounded down: the middle of the step is meant, and none is 0 or 1.
const HALF_STEP: f64 = 1.0 / (1 << 24) as f64;

/// A sequence of points; other seeds and streams give others, with nothing in common.
pub struct EvenPoints {
    seed: u32,
}

impl EvenPoints {
    pub fn new(seed: u64, stream: u64) -> Self {
        Self {
            seed: seeded_stream(seed, stream).next_u32(),
        }
    }

    /// The coordinates of a point, as many as are taken; each strictly between 0 and 1.
    pub fn coordinates(&self, point: usize) -> impl Iterator<Item = f64> + use<> {
        let seed = self.seed;
        (0..).flat_map(move |four: usize| {
            // Where the sequence ends, in either way, another begins.
            let (pieces, point) = (point / LENGTH, point % LENGTH);
            let (sets, four) = (four / FOURS, four % FOURS);
            let seed = seed.wrapping_add((pieces << 16 | sets) as u32);
            let places = sobol_burley::sample_4d(point as u32, four as u32, seed);
            places.map(|place| f64::from(place) + HALF_STEP)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;
    use std::collections::HashSet;

    fn points(count: usize, width: usize) -> Vec<Vec<f64>> {
        let sequence = EvenPoints::new(7, 3);
        let point = |i| sequence.coordinates(i).take(width).collect();
        (0..count).map(point).collect()
    }

    /// Sobol's points are a (0, 1)-sequence in each coordinate, in any piece of `2^m` that begins at a multiple of it.
    #[test]
    fn each_coordinate_meets_every_range_once() {
        const COUNT: usize = 128;
        let points = points(2 * COUNT, 40);
        for half in points.chunks(COUNT) {
            for coordinate in 0..40 {
                let range = |point: &Vec<f64>| (point[coordinate] * COUNT as f64) as usize;
                let met: HashSet<usize> = half.iter().map(range).collect();
                assert_eq!(met.len(), COUNT, "coordinate {coordinate}");
            }
        }
    }

    /// The first two coordinates are a net: every box of area `1 / 256`, whatever its sides, holds one of 256 points.
    #[test]
    fn two_coordinates_meet_every_box_once() {
        let points = points(256, 2);
        for across in 0..=8 {
            let (columns, rows) = (f64::from(1 << across), f64::from(1 << (8 - across)));
            let met = points.iter().map(|point| {
                let cell = [point[0] * columns, point[1] * rows];
                cell.map(|place| place as u32)
            });
            assert_eq!(met.collect::<HashSet<_>>().len(), 256);
        }
    }

    /// Beyond the sequence's own width and length points are as even, and no copies of earlier ones.
    #[test]
    fn it_goes_on_where_the_sequence_ends() {
        let sequence = EvenPoints::new(7, 3);
        let wide: Vec<Vec<f64>> = (0..512)
            .map(|i| sequence.coordinates(i).take(4 * FOURS + 2).collect())
            .collect();
        let late: Vec<f64> = (LENGTH..LENGTH + 512)
            .filter_map(|i| sequence.coordinates(i).next())
            .collect();
        let first = |coordinate: usize| wide.iter().map(move |point| point[coordinate] - 0.5);
        let late = || late.iter().map(|place| place - 0.5);
        for other in [first(4 * FOURS).collect::<Vec<_>>(), late().collect()] {
            let mean = other.iter().sum::<f64>() / 512.0;
            assert_abs_diff_eq!(mean, 0.0, epsilon = 0.002);
            let along: f64 = first(0).zip(&other).map(|(a, b)| 12.0 * a * b).sum();
            // Six standard errors of what chance leaves: 512 points.
            assert_abs_diff_eq!(along / 512.0, 0.0, epsilon = 6.0 / 512.0_f64.sqrt());
        }
    }

    /// So none is 0 or 1, and all lie even about one half.
    #[test]
    fn each_coordinate_is_the_middle_of_a_step() {
        const STEPS: f64 = (1 << 23) as f64;
        let points = points(1024, 30).concat();
        assert!(points.iter().all(|place| (place * STEPS).fract() == 0.5));
    }
}
