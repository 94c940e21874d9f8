//! A fleet's edges in columns, and one pass over them.

use super::edge::{Kernel, Segments};
use super::rates::Rates;
use super::shape::Shape;
use crate::lives::FleetHours;
use rayon::prelude::*;
use std::ops::Range;

/// Edges that one thread takes at a time; a larger group is several pieces.
const PIECE: usize = 2048;

/// A fleet's edges, cut into pieces of one group each.
#[derive(Debug, Clone)]
pub(super) struct FleetColumns {
    pub fleet: FleetHours,
    pub shape: Shape,
    pieces: Vec<Piece>,
    /// The pieces of each group.
    of_group: Vec<Range<usize>>,
}

#[derive(Debug, Clone)]
struct Piece {
    edges: Range<usize>,
    group: Option<usize>,
}

/// Where the likelihood is looked at.
#[derive(Clone, Copy)]
pub(super) struct Place<'p> {
    /// In the order of [`Shape`].
    pub shared: &'p [f64],
    /// One for each group.
    pub effects: &'p [f64],
}

/// The sums of each group, one after the other; of all edges where there are no groups.
pub(super) struct GroupSums {
    width: usize,
    sums: Vec<f64>,
}

impl GroupSums {
    pub fn groups(&self) -> impl Iterator<Item = &[f64]> {
        self.sums.chunks_exact(self.width)
    }

    /// The sums of all, added up in the order of the groups.
    pub fn total(&self) -> Vec<f64> {
        let mut total = vec![0.0; self.width];
        self.groups().for_each(|sums| add(&mut total, sums));
        total
    }
}

fn add(to: &mut [f64], sums: &[f64]) {
    to.iter_mut().zip(sums).for_each(|(to, sum)| *to += sum);
}

impl FleetColumns {
    pub(super) fn new(fleet: FleetHours) -> Self {
        let shape = Shape {
            covariates: fleet.edges.covariate_names.len(),
        };
        let whole = 0..fleet.edges.edges();
        let groups: Vec<(Option<usize>, Range<usize>)> = match fleet.groups.as_slice() {
            [] => vec![(None, whole)],
            groups => groups
                .iter()
                .cloned()
                .enumerate()
                .map(|(g, it)| (Some(g), it))
                .collect(),
        };
        let (mut pieces, mut of_group) = (Vec::new(), Vec::new());
        for (group, edges) in groups {
            let first = pieces.len();
            for start in edges.clone().step_by(PIECE) {
                let edges = start..edges.end.min(start + PIECE);
                pieces.push(Piece { edges, group });
            }
            of_group.push(first..pieces.len());
        }
        Self {
            fleet,
            shape,
            pieces,
            of_group,
        }
    }

    /// How many groups there are; none where nothing is shared.
    pub(super) fn groups(&self) -> usize {
        self.fleet.groups.len()
    }

    /// Value and slopes of the log-likelihood by group, and second slopes if `bends`. Pieces are done by as many threads
    /// as there are; they are added up in one order.
    pub(super) fn pass(&self, place: Place, bends: bool) -> GroupSums {
        let width = self.shape.sums(bends);
        let coefficients = place
            .shared
            .get(1..=self.shape.covariates)
            .unwrap_or_default();
        let rates = Rates::new(&self.fleet.edges.rows, coefficients, bends);
        let mut by_piece = vec![0.0; width * self.pieces.len()];
        let into = by_piece.par_chunks_exact_mut(width).zip(&self.pieces);
        into.for_each(|(sums, piece)| self.piece(piece, &rates, place, bends, sums));
        let mut sums = vec![0.0; width * self.of_group.len()];
        for (sums, pieces) in sums.chunks_exact_mut(width).zip(&self.of_group) {
            let pieces = by_piece.get(pieces.start * width..pieces.end * width);
            let pieces = pieces.unwrap_or_default().chunks_exact(width);
            pieces.for_each(|piece| add(sums, piece));
        }
        GroupSums { width, sums }
    }

    fn piece(&self, piece: &Piece, rates: &Rates, place: Place, bends: bool, sums: &mut [f64]) {
        let effect = piece.group.and_then(|group| place.effects.get(group));
        let location = place.shared[0] + effect.copied().unwrap_or(0.0);
        let log_shape = place.shared[self.shape.log_shape()];
        let mut kernel = Kernel::new(rates, self.shape, location, log_shape, bends);
        let edges = &self.fleet.edges;
        let before = piece.edges.start.checked_sub(1);
        let mut start = before.map_or(0, |before| edges.ends[before]);
        for edge in piece.edges.clone() {
            let end = edges.ends[edge];
            let segments = Segments {
                rows: &edges.segment_rows[start..end],
                hours: &edges.segment_hours[start..end],
                sharp: edges.sharp[edge] as usize,
            };
            kernel.add(edges.dulling[edge], segments, edges.moment[edge], sums);
            start = end;
        }
    }
}
