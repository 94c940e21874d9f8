//! Where an earlier fit of nearly the same edges says that the search for the top should begin.

use super::density::{Parameters, WearDensity};
use super::nested::typical;
use super::posterior::WearPosterior;
use super::records::Grouping;
use nalgebra::DVector;

impl WearPosterior {
    /// The point of `density` at which its first top should lie: the top of this fit's expansion given the spreads that
    /// the first top is given, what all edges share by name, effects by name of grouping and level. What this fit does
    /// not know stays at its prior's centre, what `density` has not is dropped. `None` for another law of life, and
    /// where the expansion has no such top.
    pub(super) fn first_top_of(
        &self,
        density: &WearDensity,
        groupings: &[Grouping],
    ) -> Option<DVector<f64>> {
        if self.family() != density.family() {
            return None;
        }
        let typical = typical(&density.priors().spreads);
        let own = self.groupings().iter().zip(self.nested().spreads());
        let spreads: Vec<f64> = own
            .map(|(own, spread)| place_of(&own.name, groupings).map_or(*spread, |i| typical[i]))
            .collect();
        let top = self.nested().top_given(self.density(), &spreads)?;
        let top = self.density().parameters(top.as_slice());
        let mut point = density.prior_centres();
        self.carry_shared(&top, density, &mut point);
        self.carry_effects(&top, density, groupings, &mut point);
        Some(point)
    }

    fn carry_shared(&self, top: &Parameters, density: &WearDensity, point: &mut DVector<f64>) {
        let known = self.density().shared_names();
        for (place, &free) in density.free().iter().enumerate() {
            let name = &density.shared_names()[free];
            let own = known.iter().position(|known| known == name);
            // Held at nothing at all, one of them is infinite.
            if let Some(value) = own.map(|own| top.shared[own]).filter(|x| x.is_finite()) {
                point[place] = value;
            }
        }
    }

    fn carry_effects(
        &self,
        top: &Parameters,
        density: &WearDensity,
        groupings: &[Grouping],
        point: &mut DVector<f64>,
    ) {
        let (effects, behind) = (density.effects(), density.free().len());
        for (number, grouping) in groupings.iter().enumerate() {
            let Some(own) = place_of(&grouping.name, self.groupings()) else {
                continue;
            };
            let first = self.density().effects().of_grouping(own).start;
            for (level, effect) in grouping.levels.iter().zip(effects.of_grouping(number)) {
                if let Some(known) = self.groupings()[own].level(level) {
                    point[effects.place(effect, behind)] = top.effects[first + known];
                }
            }
        }
    }
}

fn place_of(name: &str, groupings: &[Grouping]) -> Option<usize> {
    groupings.iter().position(|grouping| grouping.name == name)
}
