//! The distinct rows of a table's covariates, numbered.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};

/// Distinct rows of covariates, numbered in the order in which they came.
#[derive(Debug, Clone, Default)]
pub struct CovariateRows {
    width: usize,
    count: usize,
    values: Vec<f64>,
    /// The row with a hash; a row whose hash another has stands at the next free one.
    places: HashMap<u64, u32, BuildHasherDefault<AsIs>>,
}

impl PartialEq for CovariateRows {
    fn eq(&self, other: &Self) -> bool {
        (self.width, self.count, &self.values) == (other.width, other.count, &other.values)
    }
}

impl CovariateRows {
    /// None yet, of so many covariates each.
    pub fn new(width: usize) -> Self {
        Self {
            width,
            ..Self::default()
        }
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.count
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.count == 0
    }

    /// Covariates of a row.
    pub fn width(&self) -> usize {
        self.width
    }

    /// One of them.
    pub fn row(&self, number: u32) -> &[f64] {
        let start = number as usize * self.width;
        self.values
            .get(start..start + self.width)
            .unwrap_or_default()
    }

    /// All of them in order.
    pub fn iter(&self) -> impl Iterator<Item = &[f64]> {
        (0..self.count as u32).map(|number| self.row(number))
    }

    /// The number of a row, a new one where it has not come before. Zero has no sign.
    pub fn number(&mut self, row: &[f64]) -> u32 {
        let mut hash = hash(row);
        loop {
            match self.places.get(&hash) {
                Some(&known) if self.row(known).iter().eq(row.iter()) => return known,
                Some(_) => hash = hash.wrapping_add(1),
                None => {
                    let number = self.count as u32;
                    self.places.insert(hash, number);
                    self.values.extend(row.iter().map(|value| value + 0.0));
                    self.count += 1;
                    return number;
                }
            }
        }
    }
}

/// Bits multiplied and turned, value by value (the multiplier is that of SplitMix64).
fn hash(row: &[f64]) -> u64 {
    row.iter().fold(0, |hash: u64, value| {
        let mixed = (hash ^ (value + 0.0).to_bits()).wrapping_mul(0x9e37_79b9_7f4a_7c15);
        mixed ^ (mixed >> 29)
    })
}

/// For keys that are hashes already.
#[derive(Debug, Clone, Copy, Default)]
struct AsIs(u64);

impl Hasher for AsIs {
    fn finish(&self) -> u64 {
        self.0
    }

    fn write(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.0 = (self.0 << 8) | u64::from(*byte);
        }
    }

    fn write_u64(&mut self, key: u64) {
        self.0 = key;
    }
}
