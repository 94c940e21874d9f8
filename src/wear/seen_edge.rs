//! An edge of which nothing is known but how it looks.

use super::posterior::{Asked, WearPosterior};
use super::records::{EdgeRecord, Stretch, features_of};
use super::{AgedEdge, WearError};
use crate::lives::{Look, Observation, Sight};
use crate::quantities::{Grade, MeterHours};
use crate::wood::Blend;

impl WearPosterior {
    /// An edge of which only a look is known. Its hours are taken as those by which an edge of typical life
    /// looks like that; how far off that is, is what the draws then say of its life.
    ///
    /// # Errors
    ///
    /// [`WearError::NoWear`] where it looks as if it had not worked.
    pub fn aged_by_look(&self, asked: &Asked, sight: Sight) -> Result<AgedEdge, WearError> {
        let reference = Asked {
            blend: Blend::reference(),
            ..asked.clone()
        };
        let typical = self.law_at_mode(&reference).log_median.exp();
        let hours = typical * self.typical_fraction(sight);
        let row = vec![0.0; self.layout().rates().len()];
        let record = EdgeRecord {
            features: features_of(asked.rotor, asked.reground).to_vec(),
            stretches: vec![Stretch {
                start: 0.0,
                stop: hours,
                parts: vec![(1.0, row)],
            }],
            groups: self.most_likely_levels(&reference),
            weight: 1.0,
            ..EdgeRecord::default()
        };
        let at = MeterHours::new(hours).map_err(|_| WearError::NoWear { edge: 0 })?;
        let seen = Observation::Graded {
            looks: vec![Look { at, sight }],
            noticed: None,
        };
        self.aged(&record, &seen)
    }

    /// The middle of a grade's band; overrun at the wear fraction at which crews call.
    fn typical_fraction(&self, sight: Sight) -> f64 {
        let settings = self.density().settings();
        match sight {
            Sight::NotCalled => 0.5,
            Sight::Measured(fraction) => fraction.get().powf(1.0 / settings.flat_exponent),
            Sight::Graded(Grade::Overrun) => settings.called_at.max(Grade::CUTS[2]),
            Sight::Graded(grade) => {
                let (low, high) = grade.band();
                0.5 * (low.unwrap_or(0.0) + high.unwrap_or(0.0))
            }
        }
    }
}
