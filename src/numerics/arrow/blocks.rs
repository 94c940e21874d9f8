//! Which coordinates behind the corner of an arrow hang together.

use std::ops::Range;

/// The blocks of an arrow, one after the other. Coordinates are counted from the first block's first.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Blocks {
    /// Where each block begins: its first coordinate, and its first entry where blocks are stored whole, one after the
    /// other. One more at the end.
    starts: Vec<(usize, usize)>,
    /// The block of each coordinate.
    owners: Vec<usize>,
}

impl Blocks {
    /// Blocks of these sizes.
    pub fn of(sizes: impl IntoIterator<Item = usize>) -> Self {
        let (mut starts, mut owners, mut entries) = (vec![(0, 0)], Vec::new(), 0);
        for (block, size) in sizes.into_iter().enumerate() {
            owners.resize(owners.len() + size, block);
            entries += size * size;
            starts.push((owners.len(), entries));
        }
        Self { starts, owners }
    }

    /// Coordinates in all blocks.
    pub fn dimension(&self) -> usize {
        self.owners.len()
    }

    /// Entries of all blocks.
    pub fn all_entries(&self) -> usize {
        self.starts.last().map_or(0, |(_, entries)| *entries)
    }

    /// How many blocks there are.
    pub fn len(&self) -> usize {
        self.starts.len().saturating_sub(1)
    }

    /// The coordinates of each block.
    pub fn ranges(&self) -> impl Iterator<Item = Range<usize>> + '_ {
        self.starts.windows(2).map(|pair| pair[0].0..pair[1].0)
    }

    /// The entries of each block, column by column.
    pub fn entries(&self) -> impl Iterator<Item = Range<usize>> + '_ {
        self.starts.windows(2).map(|pair| pair[0].1..pair[1].1)
    }

    /// The coordinates and the entries of one block.
    pub fn range(&self, block: usize) -> (Range<usize>, Range<usize>) {
        let ((start, entries), (stop, last)) = (self.starts[block], self.starts[block + 1]);
        (start..stop, entries..last)
    }

    /// The block of a coordinate.
    pub fn find(&self, coordinate: usize) -> usize {
        self.owners[coordinate]
    }

    /// The first coordinate of a coordinate's block.
    pub fn first(&self, coordinate: usize) -> usize {
        self.starts[self.owners[coordinate]].0
    }

    /// The entry of two coordinates of one block; `None` between two blocks.
    pub fn entry(&self, row: usize, column: usize) -> Option<usize> {
        let block = self.owners[row];
        let ((start, entries), (stop, _)) = (self.starts[block], self.starts[block + 1]);
        let within = block == self.owners[column];
        within.then(|| entries + (row - start) + (column - start) * (stop - start))
    }

    /// The entry of each coordinate with itself.
    pub fn diagonal(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.dimension()).filter_map(|coordinate| self.entry(coordinate, coordinate))
    }
}
