//! Which coordinates behind the corner of an arrow hang together.

use std::ops::Range;

/// The blocks of an arrow, one after the other. Coordinates are counted from the first block's first.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Blocks {
    /// Where each block begins; one more at the end.
    starts: Vec<usize>,
    /// The block of each coordinate.
    owners: Vec<usize>,
}

impl Blocks {
    /// Blocks of these sizes.
    pub fn of(sizes: impl IntoIterator<Item = usize>) -> Self {
        let mut starts = vec![0];
        let mut owners = Vec::new();
        for (block, size) in sizes.into_iter().enumerate() {
            owners.resize(owners.len() + size, block);
            starts.push(owners.len());
        }
        Self { starts, owners }
    }

    /// Coordinates in all blocks.
    pub fn dimension(&self) -> usize {
        self.owners.len()
    }

    /// How many blocks there are.
    pub fn len(&self) -> usize {
        self.starts.len().saturating_sub(1)
    }

    /// The coordinates of each block.
    pub fn ranges(&self) -> impl Iterator<Item = Range<usize>> + '_ {
        self.starts.windows(2).map(|pair| pair[0]..pair[1])
    }

    /// The block of a coordinate, and its place there.
    pub fn find(&self, coordinate: usize) -> (usize, usize) {
        let block = self.owners[coordinate];
        (block, coordinate - self.starts[block])
    }
}
