//! What a question of further changes is about: of all that the posterior knows, the parameters that all edges share
//! and the effects of the groups in question. All else is integrated out, so that a fleet costs no more than a crew.

use super::super::effects::Effects;
use super::super::posterior::{Asked, WearPosterior};
use super::super::records::Grouping;
use nalgebra::{Cholesky, DMatrix, DVector};

/// A 90 % range is so many standard deviations of the log wide.
const NINETY_PERCENT_WIDTH: f64 = 2.0 * 1.644_853_626_951_472_2;

/// The coordinates in question: free shared parameters, then the effects of the groups in question.
pub(super) struct Subject {
    /// The groupings with those levels alone.
    pub groupings: Vec<Grouping>,
    /// For each of them the level that has the largest share of what is asked about.
    pub levels: Vec<Option<usize>>,
    /// Where the effects of those levels stand.
    pub effects: Effects,
    /// The most probable values.
    pub mode: Vec<f64>,
    /// The precision of what is known of them.
    pub known: DMatrix<f64>,
    /// In which direction more is wanted.
    pub direction: DVector<f64>,
}

impl Subject {
    /// `None` where the posterior has no top to start from.
    pub fn of(posterior: &WearPosterior, asked: &Asked) -> Option<Self> {
        let (density, nested) = (posterior.density(), posterior.nested());
        let seen = posterior.levels_in_question(asked);
        let own = |(grouping, seen): (&Grouping, &Vec<usize>)| Grouping {
            name: grouping.name.clone(),
            levels: seen
                .iter()
                .map(|&level| grouping.levels[level].clone())
                .collect(),
        };
        let groupings: Vec<Grouping> = posterior.groupings().iter().zip(&seen).map(own).collect();
        let effects = Effects::of(&groupings, &[]);

        let shared = density.free().len();
        let mut coordinates: Vec<usize> = (0..shared + effects.count()).collect();
        for (grouping, seen) in seen.iter().enumerate() {
            let whole = density.effects().of_grouping(grouping).start;
            for (own, level) in effects.of_grouping(grouping).zip(seen) {
                let place = density.effects().place(whole + level, shared);
                coordinates[effects.place(own, shared)] = place;
            }
        }
        let levels = posterior.most_likely_levels(asked).into_iter().zip(&seen);
        let levels = levels.map(|(most, seen)| seen.iter().position(|level| Some(*level) == most));
        let direction = posterior.direction_at_points(asked);
        let direction = coordinates.iter().map(|&place| direction[place]);
        Some(Self {
            levels: levels.collect(),
            groupings,
            effects,
            mode: coordinates
                .iter()
                .map(|&place| nested.mode()[place])
                .collect(),
            known: nested.precision_of(density, &coordinates)?,
            direction: DVector::from_iterator(coordinates.len(), direction),
        })
    }

    /// Top over bottom of the 90 % range of median life after `count` changes that teach `lesson` each.
    pub fn range_after(&self, lesson: &DMatrix<f64>, count: usize) -> Option<f64> {
        let factor = Cholesky::new(&self.known + count as f64 * lesson)?;
        let variance = self.direction.dot(&factor.solve(&self.direction));
        Some((NINETY_PERCENT_WIDTH * variance.sqrt()).exp())
    }
}
