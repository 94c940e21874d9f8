//! Which sets out of the machine are ready for a job, by the log.

use super::Planning;
use crate::failure::Failure;
use crate::unfit;
use keenspan::decisions::Sets;
use keenspan::lives::{EdgeCondition, SetPlace, SetState};
use keenspan::quantities::Units;
use keenspan::views::{SetPartlyFresh, SetsReady};

impl Planning<'_> {
    /// The sets of this machine that are in none now, by what the log has of them, beside what the plan needs.
    pub(super) fn sets_ready(&self, plan: &Sets, units: Units) -> Result<SetsReady, Failure> {
        let owned = self.fitted.lives.sets_of(self.log, self.machine);
        let sets = self.fitted.lives.sets.iter();
        let out = sets
            .filter(|set| owned.has(&set.set) && set.place == SetPlace::Bench && !set.discarded);
        let mut found = SetsReady {
            needed: plan.take + plan.fit_first,
            ..SetsReady::default()
        };
        for set in out {
            let edges = set.edges.len();
            match (
                unfit::in_machine(self.fitted, set, self.machine, units)?,
                fresh_edges(set),
            ) {
                (Some(unfit), _) => found.unfit.push(unfit),
                (None, fresh) if fresh > 0 && set.wants_a_look() => {
                    found.to_look_at.push(set.set.clone());
                }
                (None, fresh) if fresh == edges => found.ready.push(set.set.clone()),
                (None, 0) => found.worn.push(set.set.clone()),
                (None, fresh) => found.partly.push(SetPartlyFresh {
                    set: set.set.clone(),
                    fresh,
                    edges,
                }),
            }
        }
        let ready = u32::try_from(found.ready.len()).unwrap_or(u32::MAX);
        found.short = found.needed.saturating_sub(ready);
        Ok(found)
    }
}

fn fresh_edges(set: &SetState) -> usize {
    let edges = set.edges.iter();
    edges
        .filter(|edge| edge.condition == EdgeCondition::Fresh)
        .count()
}
