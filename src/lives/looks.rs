//! From what was seen of an edge to the observation that the fit stands on.

use super::note::{Matter, Note};
use super::open_life::{OpenLife, Seen};
use super::{Look, Noticed, Observation, SAME_PLACE, Sight, hours};
use crate::quantities::Grade;

/// What a log tells of when this edge went dull. Looks at one hour count once.
pub(super) fn observation(life: &OpenLife, notes: &mut Vec<Note>) -> Observation {
    let end = life.observed();
    let mut settled = Settled::default();
    for sighting in life.seen.iter().filter(|sighting| sighting.at <= end) {
        // Wear is zero at hour zero, whatever somebody wrote: no grade but keen could come of it.
        if sighting.at <= SAME_PLACE {
            notes.push(Note {
                record: sighting.record,
                matter: Matter::LookWhenFresh {
                    edge: life.name.clone(),
                },
            });
        } else {
            // What was seen just after a touch-up stands a hair behind it, so that its age is the new one.
            let at = sighting.at + if sighting.after_touch_up { AFTER } else { 0.0 };
            settled.take(at, sighting.seen);
        }
    }
    settled.weigh_noticed();
    settled.close(life, end);
    settled.into()
}

/// Hours by which a look just after a touch-up stands behind it: beyond the same place, far below what a
/// meter reads.
const AFTER: f64 = 2.0 * SAME_PLACE;

/// A look being settled, in plain hours.
#[derive(Clone, Copy)]
struct Settling {
    at: f64,
    sight: Sight,
}

#[derive(Default)]
struct Settled {
    looks: Vec<Settling>,
    noticed: Option<f64>,
    late: bool,
}

impl Settled {
    fn take(&mut self, at: f64, seen: Seen) {
        match seen {
            Seen::NoticedDull if self.noticed.is_none() => self.noticed = Some(at),
            // An edge goes dull once; felt dull again (after a touch-up, say) it is a grade.
            Seen::NoticedDull => self.add(at, Sight::Graded(Grade::Dull)),
            Seen::Grade(grade) => self.add(at, Sight::Graded(grade)),
            Seen::Flat(fraction) => self.add(at, Sight::Measured(fraction)),
        }
    }

    /// Of two looks at one hour the later one stands, but a measurement stands against a grade.
    fn add(&mut self, at: f64, sight: Sight) {
        let look = Settling { at, sight };
        match self.looks.last_mut().filter(|last| same(last.at, at)) {
            Some(last) => {
                let finer = matches!(last.sight, Sight::Measured(_));
                if !finer || matches!(sight, Sight::Measured(_)) {
                    *last = look;
                }
            }
            None => self.looks.push(look),
        }
    }

    /// Noticed dull in the cut says more than a grade at the same hour; a grade of overrun says that it
    /// was noticed late.
    fn weigh_noticed(&mut self) {
        let Some(noticed) = self.noticed else {
            return;
        };
        let beside = |look: &Settling| same(look.at, noticed);
        self.late = self
            .looks
            .iter()
            .any(|look| beside(look) && overrun(look.sight));
        // A measured flat is another instrument than the cut: it stays beside the moment.
        self.looks
            .retain(|look| !beside(look) || matches!(look.sight, Sight::Measured(_)));
    }

    /// An edge that came out, or runs on, and of which nobody said anything at that hour.
    fn close(&mut self, life: &OpenLife, end: f64) {
        let called = self.noticed.is_some_and(|at| !life.touched_up_since(at))
            || self
                .looks
                .iter()
                .any(|look| called_by(look.sight) && !life.touched_up_since(look.at));
        let seen_at_end = self
            .looks
            .last()
            .is_some_and(|look| look.at >= end - SAME_PLACE)
            || self.noticed.is_some_and(|at| same(at, end));
        if !called && !seen_at_end {
            let sight = Sight::NotCalled;
            self.looks.push(Settling { at: end, sight });
        }
    }
}

impl From<Settled> for Observation {
    fn from(settled: Settled) -> Self {
        let dressed = |look: Settling| Look {
            at: hours(look.at),
            sight: look.sight,
        };
        Observation::Graded {
            looks: settled.looks.into_iter().map(dressed).collect(),
            noticed: settled.noticed.map(|at| Noticed {
                at: hours(at),
                late: settled.late,
            }),
        }
    }
}

fn same(one: f64, other: f64) -> bool {
    (one - other).abs() <= SAME_PLACE
}

/// Somebody said by this that the edge had gone dull.
fn called_by(sight: Sight) -> bool {
    match sight {
        Sight::Graded(grade) => grade >= Grade::Dull,
        Sight::Measured(fraction) => fraction.get() > Grade::CUTS[1],
        Sight::NotCalled => false,
    }
}

fn overrun(sight: Sight) -> bool {
    match sight {
        Sight::Graded(grade) => grade == Grade::Overrun,
        Sight::Measured(fraction) => fraction.get() > Grade::CUTS[2],
        Sight::NotCalled => false,
    }
}
