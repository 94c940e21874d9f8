//! What the crew has ready, beside what the job needs.

use crate::views::UnfitSet;
use serde_json::{Value, json};

/// The sets of a machine that are in none, by what the log has of them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SetsReady {
    /// Sharp on every edge, matched, and waiting for no look.
    pub ready: Vec<String>,
    /// Sharp on some edge, with a note that keenspan does not understand, or a nick.
    pub to_look_at: Vec<String>,
    /// Fresh on some edges only.
    pub partly: Vec<SetPartlyFresh>,
    /// Worked or struck on every edge since the last grind.
    pub worn: Vec<String>,
    /// Not to be run.
    pub unfit: Vec<UnfitSet>,
    /// Sets that the plan needs: those to take and the one to fit first.
    pub needed: u32,
    /// Of these, how many are not ready.
    pub short: u32,
}

/// A set on which some edges are fresh.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SetPartlyFresh {
    /// Knife set, by name.
    pub set: String,
    /// Edges on each knife that have not worked since the last grind.
    pub fresh: usize,
    /// Edges on each knife.
    pub edges: usize,
}

fn sets(count: usize) -> String {
    match count {
        1 => "1 set".to_string(),
        many => format!("{many} sets"),
    }
}

impl SetsReady {
    /// What is said at the head of the plan, where the sets are not there.
    pub(super) fn alarm(&self) -> Option<String> {
        let ready = match self.ready.len() {
            0 => "none is".to_string(),
            1 => "1 is".to_string(),
            few => format!("{few} are"),
        };
        let needed = match self.needed {
            1 => "1 set is".to_string(),
            many => format!("{many} sets are"),
        };
        (self.short > 0).then(|| format!("{needed} needed, and by the log {ready} ready."))
    }

    /// Which are ready, how that compares with what the job needs, and what of the others.
    pub(super) fn sentence(&self) -> String {
        let sharp = self.ready.len() + self.to_look_at.len();
        let out = sharp + self.partly.len() + self.worn.len() + self.unfit.len();
        let have = match (self.ready.len(), out) {
            (_, 0) => "the log has no set of this machine that is out of it".to_string(),
            (0, out) => format!("none of the {} out of the machine", sets(out)),
            (ready, out) => format!(
                "{ready} of the {} out of the machine: {}",
                sets(out),
                self.ready.join(", ")
            ),
        };
        let compared = match (self.needed, self.short) {
            (0, _) => "none needed".to_string(),
            (needed, 0) => format!("enough for the {needed} needed"),
            (needed, short) => format!("{needed} needed, {short} short"),
        };
        let mut sentence = format!("{have}; {compared}");
        if !self.to_look_at.is_empty() {
            let names = self.to_look_at.join(", ");
            sentence += &format!(
                ". To be looked at before it runs (a note or a nick: see keenspan knives): {names}"
            );
        }
        for partly in &self.partly {
            let SetPartlyFresh { set, fresh, edges } = partly;
            sentence += &format!(". {set} has {fresh} of {edges} edges fresh");
        }
        if !self.worn.is_empty() {
            let names = self.worn.join(", ");
            sentence += &format!(". Worked or struck since the last grind: {names}");
        }
        if !self.unfit.is_empty() {
            let why: Vec<String> = self.unfit.iter().map(UnfitSet::why).collect();
            sentence += &format!(". Not to be run: {}", why.join("; "));
        }
        sentence + ". Ready: by the log sharp on every edge, matched, waiting for no look"
    }

    pub(super) fn json(&self) -> Value {
        let partly = self.partly.iter();
        let partly =
            partly.map(|it| json!({ "set": it.set, "fresh_edges": it.fresh, "edges": it.edges }));
        let unfit = self.unfit.iter();
        let unfit = unfit.map(|it| json!({ "set": it.set, "why": it.why() }));
        json!({
            "sets": self.ready,
            "to_look_at": self.to_look_at,
            "needed": self.needed,
            "short": self.short,
            "partly_fresh": partly.collect::<Vec<_>>(),
            "worn": self.worn,
            "not_to_be_run": unfit.collect::<Vec<_>>(),
        })
    }
}
