//! What a machine usually chips: stands in for hours of which nobody wrote what went through.

use super::shop::Stand;
use crate::wood::Blend;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Whose wood a usual mix is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MixOrigin {
    /// The machine's own runs tell.
    Own,
    /// Only other machines' runs tell.
    Crew,
    /// No run tells of wood and dirt: the reference conditions.
    Reference,
}

/// The usual mix of each machine and of the whole crew, by logged hours.
#[derive(Debug, Clone, PartialEq)]
pub struct UsualMix {
    /// Over all machines; the reference conditions where no run tells of wood and dirt.
    pub crew: Arc<Blend>,
    by_machine: BTreeMap<String, Arc<Blend>>,
    crew_is_known: bool,
}

impl UsualMix {
    pub(super) fn of(stands: &BTreeMap<&str, Stand<'_>>) -> Self {
        let known = |stand: &Stand<'_>| Blend::average(known_hours(stand));
        let crew = Blend::average(stands.values().flat_map(known_hours));
        let machines = stands
            .iter()
            .filter_map(|(name, stand)| Some(((*name).to_owned(), Arc::new(known(stand)?))));
        Self {
            crew_is_known: crew.is_some(),
            crew: Arc::new(crew.unwrap_or_else(Blend::reference)),
            by_machine: machines.collect(),
        }
    }

    /// Whose wood the usual mix of a machine is.
    pub fn origin(&self, name: &str) -> MixOrigin {
        match (self.by_machine.contains_key(name), self.crew_is_known) {
            (true, _) => MixOrigin::Own,
            (false, true) => MixOrigin::Crew,
            (false, false) => MixOrigin::Reference,
        }
    }

    /// The usual mix of one machine; the crew's where its own runs tell nothing.
    pub fn machine(&self, name: &str) -> &Arc<Blend> {
        self.by_machine.get(name).unwrap_or(&self.crew)
    }
}

fn known_hours<'s>(stand: &'s Stand<'_>) -> impl Iterator<Item = (f64, &'s Blend)> {
    let logged = stand.timeline.logged();
    logged.filter_map(|(hours, blend)| Some((hours, blend?)))
}
