//! What an invented crew writes of one edge.

use crate::lives::{Exposure, Look, Noticed, Segment, Sight, TouchUp};
use crate::quantities::MeterHours;
use crate::wood::Blend;
use std::sync::Arc;

/// What was written of an edge so far, in hours of its life.
#[derive(Default)]
pub(super) struct Written {
    pub(super) exposure: Exposure,
    pub(super) looks: Vec<Look>,
    pub(super) noticed: Option<Noticed>,
}

impl Written {
    /// Work on this until the hour `stop` of its life.
    pub(super) fn lengthen(&mut self, stop: f64, blend: Blend) {
        let start = self.exposure.total();
        let stop = MeterHours::new(stop).unwrap_or(MeterHours::ZERO);
        if stop > start {
            self.exposure.segments.push(Segment {
                start,
                stop,
                blend: Arc::new(blend),
            });
        }
    }

    pub(super) fn look(&mut self, sight: Sight) {
        let at = self.exposure.total();
        self.looks.push(Look { at, sight });
    }

    pub(super) fn notice(&mut self, late: bool) {
        let at = self.exposure.total();
        self.noticed = Some(Noticed { at, late });
    }

    pub(super) fn touch_up(&mut self) {
        let at = self.exposure.total();
        self.exposure.touch_ups.push(TouchUp { at });
    }
}
