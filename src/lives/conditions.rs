//! What the hours of each run went through.

use super::meter_line::MachineLog;
use crate::logbook::Run;
use crate::wood::{Blend, Contamination, WoodState};
use jiff::civil::Date;
use std::collections::HashMap;
use std::sync::Arc;

/// What the hours of one run went through.
#[derive(Debug, Clone)]
pub(super) struct Conditions {
    pub(super) date: Date,
    /// `None` where wood or dirt was left blank.
    pub(super) blend: Option<Arc<Blend>>,
    pub(super) contamination: Option<Contamination>,
    /// The crew's own conditions.
    pub(super) own: Arc<[bool]>,
}

impl Conditions {
    /// What went through. A run of which nobody wrote the wood was the usual mix, under its own
    /// answers to the crew's own conditions.
    pub(super) fn blend_or(&self, usual: &Arc<Blend>) -> Arc<Blend> {
        match &self.blend {
            Some(blend) => blend.clone(),
            None if self.own.is_empty() => usual.clone(),
            None => Arc::new(usual.with_own_conditions(&self.own)),
        }
    }
}

/// The conditions of a machine's runs, in their order.
pub(super) fn conditions_of_runs(log: &MachineLog<'_>) -> Vec<Conditions> {
    let mut blends = Blends::default();
    let runs = log.runs.iter().copied();
    runs.map(|run| {
        let own = log.own.of_run(run.line);
        Conditions {
            date: run.date,
            blend: blends.of(run, own),
            contamination: run.contamination,
            own: own.clone(),
        }
    })
    .collect()
}

/// The blends so far. Runs of which the same was written share one, so that a long log stays small, and
/// what it comes to is worked out once.
#[derive(Default)]
struct Blends<'l> {
    known: HashMap<Written<'l>, Arc<Blend>>,
}

/// Wood, dirt, state and the crew's own conditions.
type Written<'l> = (&'l str, Contamination, WoodState, &'l [bool]);

impl<'l> Blends<'l> {
    /// `None` where wood or dirt was left blank.
    fn of(&mut self, run: &'l Run, own: &'l [bool]) -> Option<Arc<Blend>> {
        let (wood, contamination) = (run.wood.as_ref()?, run.contamination?);
        let written = (wood.written(), contamination, run.state, own);
        let blend = || Blend::of(wood, contamination, run.state).with_own_conditions(own);
        let known = self.known.entry(written);
        Some(known.or_insert_with(|| Arc::new(blend())).clone())
    }
}
