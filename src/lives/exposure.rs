//! What an edge went through, hour by hour.

use crate::quantities::MeterHours;
use crate::wood::Blend;
use std::sync::Arc;

/// A stretch of an edge's life in one blend of conditions: the half-open interval `(start, stop]`,
/// in machine meter hours since the edge went to work.
#[derive(Debug, Clone, PartialEq)]
pub struct Segment {
    /// Hours of this edge's life when the stretch began.
    pub start: MeterHours,
    /// Hours of this edge's life when it ended; not before `start`.
    pub stop: MeterHours,
    /// What went through.
    pub blend: Arc<Blend>,
}

/// A touch-up in place: takes back a share of the wear so far. A look at the same hour saw the edge
/// before it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TouchUp {
    /// Hours of this edge's life at the time.
    pub at: MeterHours,
}

/// The whole exposure of one edge: segments in order, without gaps, starting at zero.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Exposure {
    /// In order; each starts where the one before stopped.
    pub segments: Vec<Segment>,
    /// In order.
    pub touch_ups: Vec<TouchUp>,
}

impl Exposure {
    /// Meter hours in all.
    pub fn total(&self) -> MeterHours {
        self.segments
            .last()
            .map_or(MeterHours::ZERO, |segment| segment.stop)
    }

    /// What went through on the whole, by hours; `None` without any.
    pub fn blend(&self) -> Option<Blend> {
        let segments = self.segments.iter();
        Blend::average(segments.map(|it| (it.stop.get() - it.start.get(), it.blend.as_ref())))
    }
}
