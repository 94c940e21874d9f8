//! What an edge went through, hour by hour.

use crate::quantities::MeterHours;
use crate::wood::{Blend, Contamination};
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

    /// The contamination that most of its meter hours were logged with; clean where there are none.
    pub fn main_contamination(&self) -> Contamination {
        let mut hours = [0.0; 4];
        for segment in &self.segments {
            let length = segment.stop.get() - segment.start.get();
            let shares = segment.blend.contamination_shares();
            for (hours, share) in hours.iter_mut().zip(shares) {
                *hours += length * share;
            }
        }
        let mut most = (0.0, Contamination::Clean);
        for (hours, class) in hours.into_iter().zip(Contamination::ALL) {
            if hours > most.0 {
                most = (hours, class);
            }
        }
        most.1
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wood::{WoodMix, WoodState};

    #[test]
    fn the_main_contamination_is_that_of_most_hours() {
        let oak = WoodMix::parse("oak").expect("oak");
        let segment = |from: f64, to: f64, dirt| Segment {
            start: MeterHours::new(from).expect("hours"),
            stop: MeterHours::new(to).expect("hours"),
            blend: Arc::new(Blend::of(&oak, dirt, WoodState::Green)),
        };
        let mut exposure = Exposure::default();
        assert_eq!(exposure.main_contamination(), Contamination::Clean);
        exposure.segments = vec![
            segment(0.0, 4.0, Contamination::Clean),
            segment(4.0, 9.0, Contamination::Dirty),
            segment(9.0, 11.0, Contamination::Clean),
            segment(11.0, 13.0, Contamination::Dirty),
        ];
        assert_eq!(exposure.main_contamination(), Contamination::Dirty);
    }
}
