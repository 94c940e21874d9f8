//! From a crew's logbook to edge lives.

use super::edge_life::{CameOut, EdgeFeatures, EdgeLife, Ending};
use super::gather::{Gathered, gather};
use super::hearsay::hear;
use super::looks::observation;
use super::meter_line::MachineLog;
use super::note::{Matter, Note};
use super::open_life::OpenLife;
use super::open_notes::open_notes;
use super::order::in_order_of_time;
use super::pace::hours_per_year;
use super::placement::{Placed, place};
use super::present::{MachineState, state};
use super::set_state::{SetState, set_states};
use super::shop::{Shop, Stand};
use super::stays::{Stay, stays};
use super::strikes::StrikeCounts;
use super::tally::{AsideReason, ConditionHours, MachineHours, SetAside, Tally};
use super::timeline::Timeline;
use super::unfit::unfit;
use super::usual_mix::UsualMix;
use super::{Exposure, Observation, SAME_PLACE, Segment, Sight, TouchUp, hours, tidy};
use crate::logbook::{Logbook, OwnConditions, Run};
use crate::wood::Blend;
use jiff::civil::Date;
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Everything that a log tells of its edges.
#[derive(Debug, Clone, PartialEq)]
pub struct Lives {
    /// The lives that the fit stands on, in order of the day on which the edge last came out; those
    /// still at work stand last.
    pub lives: Vec<EdgeLife>,
    /// What became of everything else.
    pub tally: Tally,
    /// What the machines usually chip.
    pub usual_mix: UsualMix,
    /// Strikes and the hours in which they could have come.
    pub strikes: StrikeCounts,
    /// The day on which each life first went to work, in the order of `lives`.
    pub went_in: Vec<Option<Date>>,
    /// Which edge sat where between which readings, life by life.
    pub stays: Vec<Stay>,
    /// How each machine stands when the log ends, in order of name.
    pub machines: Vec<MachineState>,
    /// How each knife set stands when the log ends, in order of name.
    pub sets: Vec<SetState>,
    /// The crew's own conditions: names of what stands in each covariate row behind
    /// [`Covariates::NAMES`](crate::wood::Covariates::NAMES).
    pub conditions: Vec<String>,
}

impl Lives {
    /// The life of the edge at work in a machine; `None` where none is known or it was set aside.
    pub fn at_work(&self, machine: &str) -> Option<&EdgeLife> {
        let state = self
            .machines
            .iter()
            .find(|state| state.machine == machine)?;
        self.lives.get(state.at_work.as_ref()?.life?)
    }
}

impl Lives {
    /// How a machine stands; `None` where the log does not list it.
    pub fn machine(&self, name: &str) -> Option<&MachineState> {
        self.machines.iter().find(|state| state.machine == name)
    }

    fn set_pace(&mut self, machines: &[MachineLog<'_>]) {
        for log in machines {
            let name = &log.machine.name;
            let total = account_of(&mut self.tally.hours, name).map(|account| account.total);
            if let Some(state) = state_of(&mut self.machines, name) {
                let runs = log.runs.iter().copied();
                state.hours_per_year = total.and_then(|total| hours_per_year(runs, total));
            }
        }
    }
}

/// Puts together each edge's life so far. Never fails: what cannot be used is set aside or noted in
/// the [`Tally`].
///
/// The order of rows in their files counts only between rows of one day that give no readings.
pub fn edge_lives(log: &Logbook) -> Lives {
    let mut notes = Vec::new();
    let own = log.own_conditions();
    let Gathered { machines, bench } = gather(log, &own, &mut notes);
    let mut stands = BTreeMap::new();
    let mut placed = Vec::new();
    let read: Vec<_> = machines.par_iter().map(read_machine).collect();
    for (machine_log, (timeline, events, mut noted)) in machines.iter().zip(read) {
        notes.append(&mut noted);
        placed.push(events);
        let machine = machine_log.machine;
        stands.insert(machine.name.as_str(), Stand { machine, timeline });
    }
    let mut shop = Shop::new(&stands, &log.sets, log.costs.flat_when_dull);
    for event in in_order_of_time(placed, bench) {
        shop.apply(&event);
    }
    shop.close();
    hear(log, &mut shop);
    notes.append(&mut shop.notes);
    notes.append(&mut unfit(log));
    notes.append(&mut open_notes(&shop));
    let sets = set_states(log, &shop);
    let mut lives = assemble(&stands, shop, (notes, sets));
    lives.set_pace(&machines);
    lives.tally.conditions = condition_hours(log, &own, &stands);
    lives.conditions = own.names;
    lives
}

/// The hours of a machine, its events placed among them, and what was noted on the way.
fn read_machine<'l>(log: &'l MachineLog<'_>) -> (Timeline, Vec<Placed<'l>>, Vec<Note>) {
    let mut notes = Vec::new();
    let timeline = Timeline::read(log, &mut notes);
    let placed = place(log, &timeline, &mut notes);
    (timeline, placed, notes)
}

fn condition_hours(
    log: &Logbook,
    own: &OwnConditions,
    stands: &BTreeMap<&str, Stand<'_>>,
) -> Vec<ConditionHours> {
    let held = |run: &Run, at: usize| own.of_run(run.line).get(at) == Some(&true);
    let of = |(at, name): (usize, &String)| ConditionHours {
        name: name.clone(),
        runs: log.runs.iter().filter(|run| held(run, at)).count(),
        hours: hours(tidy(
            stands.values().map(|s| s.timeline.hours_of_own(at)).sum(),
        )),
    };
    own.names.iter().enumerate().map(of).collect()
}

fn assemble(
    stands: &BTreeMap<&str, Stand<'_>>,
    mut shop: Shop<'_>,
    (notes, mut sets): (Vec<Note>, BTreeMap<String, SetState>),
) -> Lives {
    let usual_mix = UsualMix::of(stands);
    let mut finished = std::mem::take(&mut shop.finished);
    finished.sort_by_cached_key(|life| (life.last_day(), life.name.clone(), life.began));
    let mut report = Report::begin(stands, notes);
    let mut machines: Vec<_> = stands
        .iter()
        .map(|(name, stand)| state(name, stand, &shop))
        .collect();
    let (mut lives, mut went_in, mut line) = (Vec::new(), Vec::new(), Vec::new());
    let build = |life: &OpenLife| {
        let mut notes = Vec::new();
        let building = Building {
            life,
            stands,
            usual_mix: &usual_mix,
        };
        (building.build(&mut notes), notes)
    };
    let built: Vec<_> = finished.par_iter().map(build).collect();
    for (life, (built, mut noted)) in finished.iter().zip(built) {
        report.tally.notes.append(&mut noted);
        let used = built.is_ok();
        report.count_hours(life, used);
        let place = used.then_some(lives.len());
        mark_at_work(&mut machines, life, place);
        line.extend(stays(life, stands, place));
        if let Some(set) = sets.get_mut(&life.name.set).filter(|_| life.at_end) {
            set.mark(life, place);
        }
        match built {
            Ok(built) => {
                report.count_ending(life, &built);
                went_in.push(life.first_day());
                lives.push(built);
            }
            // That it has not worked yet is no fault of the log.
            Err(_) if is_just_fitted(life) => report.tally.just_fitted += 1,
            Err(aside) => report.tally.set_aside.push(aside),
        }
    }
    let found = finished.len() - report.tally.just_fitted;
    Lives {
        tally: report.end(found, lives.len()),
        lives,
        strikes: StrikeCounts::of(stands, &shop.strikes),
        went_in,
        stays: line,
        machines,
        sets: sets.into_values().collect(),
        usual_mix,
        conditions: Vec::new(),
    }
}

/// At work, sound, and with no hours on it yet.
fn is_just_fitted(life: &OpenLife) -> bool {
    life.running && life.struck.is_none() && life.aside.is_none() && life.observed() <= SAME_PLACE
}

fn mark_at_work(machines: &mut [MachineState], life: &OpenLife, index: Option<usize>) {
    let Some(stay) = life.stays.last().filter(|_| life.running) else {
        return;
    };
    let here = state_of(machines, &stay.machine);
    if let Some(at_work) = here.and_then(|state| state.at_work.as_mut()) {
        at_work.life = index;
        at_work.struck = life.struck.is_some();
    }
}

/// States stand in order of name.
fn state_of<'m>(machines: &'m mut [MachineState], name: &str) -> Option<&'m mut MachineState> {
    let place = machines.binary_search_by(|state| state.machine.as_str().cmp(name));
    machines.get_mut(place.ok()?)
}

/// Accounts stand in order of name.
fn account_of<'h>(hours: &'h mut [MachineHours], name: &str) -> Option<&'h mut MachineHours> {
    let place = hours.binary_search_by(|account| account.machine.as_str().cmp(name));
    hours.get_mut(place.ok()?)
}

/// One life on its way from the shop to the fit.
struct Building<'b> {
    life: &'b OpenLife,
    stands: &'b BTreeMap<&'b str, Stand<'b>>,
    usual_mix: &'b UsualMix,
}

impl Building<'_> {
    fn build(&self, notes: &mut Vec<Note>) -> Result<EdgeLife, SetAside> {
        let life = self.life;
        let fitted = life.began;
        if let Some(reason) = &life.aside {
            return Err(self.aside(reason.clone()));
        }
        if life.observed() <= SAME_PLACE {
            return Err(self.aside(AsideReason::NoHours { fitted }));
        }
        let observation = observation(life, notes);
        let entry = self.entry(notes);
        if entry.is_some_and(|entry| nothing_seen_after(&observation, entry)) {
            return Err(self.aside(AsideReason::NothingSeen { fitted }));
        }
        Ok(EdgeLife {
            machine: life.name.machine.clone(),
            set: life.name.set.clone(),
            edge: life.name.edge,
            features: EdgeFeatures {
                rotor: life.rotor,
                regrinds: life.regrinds,
                ground_by: life.ground_by.clone(),
            },
            exposure: self.exposure(),
            observation,
            entry: entry.map(hours),
            ending: ending(life),
            came_out: self.came_out(),
        })
    }

    fn came_out(&self) -> Option<CameOut> {
        let stay = self.life.stays.last().filter(|_| !self.life.running)?;
        let (at, date) = stay.out?;
        let stand = self.stands.get(stay.machine.as_str())?;
        Some(CameOut {
            date,
            meter: stand.timeline.meter.reading_at(at).map(hours),
        })
    }

    fn aside(&self, reason: AsideReason) -> SetAside {
        SetAside {
            edge: self.life.name.clone(),
            reason,
        }
    }

    /// Hours of this life at the log's first record, for an edge at work by then: the machine's first
    /// reading or run, or the first look at the edge.
    fn entry(&self, notes: &mut Vec<Note>) -> Option<f64> {
        let stay = self.life.stays.first()?;
        let start = self
            .stands
            .get(stay.machine.as_str())?
            .timeline
            .log_start()?;
        let before = tidy(start - stay.from);
        if before <= SAME_PLACE {
            return None;
        }
        let edge = self.life.name.clone();
        notes.push(Note {
            record: self.life.began,
            matter: Matter::WorkedBeforeLog {
                edge,
                hours: hours(before),
            },
        });
        let looks = self.life.seen.iter().map(|sighting| sighting.at);
        let first_look = looks.filter(|at| *at > SAME_PLACE).min_by(f64::total_cmp);
        let entry = first_look.map_or(before, |look| look.min(before));
        Some(entry.min(self.life.observed()))
    }

    fn exposure(&self) -> Exposure {
        let observed = self.life.observed();
        let mut exposure = Exposure::default();
        let mut begun = 0.0;
        for stay in &self.life.stays {
            let Some((to, _)) = stay.out else { continue };
            let (Some(stand), usual) = (
                self.stands.get(stay.machine.as_str()),
                self.usual_mix.machine(&stay.machine),
            ) else {
                continue;
            };
            for (stop, blend) in stand.timeline.stretch(stay.from, to, usual) {
                let stop = tidy(begun + stop - stay.from).min(observed);
                lengthen(&mut exposure, stop, blend);
            }
            begun += to - stay.from;
        }
        let touched = self.life.touch_ups.iter().filter(|at| **at <= observed);
        exposure.touch_ups = touched.map(|at| TouchUp { at: hours(*at) }).collect();
        exposure
    }
}

/// Equal conditions make one segment, however many runs they were written in.
fn lengthen(exposure: &mut Exposure, stop: f64, blend: Arc<Blend>) {
    let start = exposure.total();
    let stop = hours(stop);
    if stop <= start {
        return;
    }
    let last = exposure.segments.last_mut();
    match last.filter(|last| Arc::ptr_eq(&last.blend, &blend) || alike(&last.blend, &blend)) {
        Some(last) => last.stop = stop,
        None => exposure.segments.push(Segment { start, stop, blend }),
    }
}

/// Equal but for the rounding of a usual mix, which is a sum of hours in some order.
fn alike(one: &Blend, other: &Blend) -> bool {
    let pairs = || one.parts().iter().zip(other.parts());
    one.parts().len() == other.parts().len()
        && pairs().all(|(a, b)| a.covariates == b.covariates && (a.share - b.share).abs() < 1e-9)
}

/// An edge that only ever was seen at the moment it came into the log says nothing.
fn nothing_seen_after(observation: &Observation, entry: f64) -> bool {
    let Observation::Graded {
        looks,
        noticed: None,
    } = observation
    else {
        return false;
    };
    looks
        .iter()
        .all(|look| look.sight == Sight::NotCalled && look.at.get() <= entry + SAME_PLACE)
}

fn ending(life: &OpenLife) -> Ending {
    if life.struck.is_some() {
        Ending::Struck
    } else if life.running {
        Ending::Running
    } else if life.called_dull() {
        Ending::NoticedDull
    } else {
        Ending::PulledOnSchedule
    }
}

/// The tally in the making.
struct Report {
    tally: Tally,
}

impl Report {
    fn begin(stands: &BTreeMap<&str, Stand<'_>>, notes: Vec<Note>) -> Self {
        Self {
            tally: Tally {
                hours: stands
                    .iter()
                    .map(|(name, stand)| machine_hours(name, &stand.timeline))
                    .collect(),
                notes,
                ..Tally::default()
            },
        }
    }

    fn count_hours(&mut self, life: &OpenLife, used: bool) {
        for (machine, before, after) in life.hours_by_machine() {
            let Some(account) = account_of(&mut self.tally.hours, machine) else {
                continue;
            };
            let kind = if used {
                &mut account.in_lives
            } else {
                &mut account.set_aside
            };
            *kind = *kind + hours(before);
            account.after_strike = account.after_strike + hours(after);
        }
    }

    fn count_ending(&mut self, life: &OpenLife, built: &EdgeLife) {
        let unseen = |look: &super::Look| look.sight == Sight::NotCalled;
        let ungraded = match &built.observation {
            Observation::Graded { looks, .. } => looks.last().is_some_and(unseen),
            _ => false,
        };
        let tally = &mut self.tally;
        let count = match built.ending {
            Ending::Struck => &mut tally.struck,
            Ending::Running => &mut tally.running,
            _ if ungraded && !life.called_dull() => &mut tally.ungraded_endings,
            _ => &mut tally.graded_endings,
        };
        *count += 1;
    }

    fn end(mut self, found: usize, used: usize) -> Tally {
        for account in &mut self.tally.hours {
            for sum in [
                &mut account.in_lives,
                &mut account.set_aside,
                &mut account.after_strike,
            ] {
                *sum = hours(tidy(sum.get()));
            }
            let told = account.in_lives + account.set_aside + account.after_strike;
            account.no_edge = hours(tidy(account.total.saturating_sub(told).get()));
        }
        self.tally.edges_found = found;
        self.tally.edges_used = used;
        self.tally.notes.sort_by_key(|note| note.record);
        self.tally
    }
}

fn machine_hours(name: &str, timeline: &Timeline) -> MachineHours {
    let total = timeline.end - timeline.start;
    let logged: f64 = timeline.logged().map(|(hours, _)| hours).sum();
    let blank = timeline.logged().filter(|(_, blend)| blend.is_none());
    let before_log = timeline
        .log_start()
        .map_or(0.0, |start| start - timeline.start);
    MachineHours {
        machine: name.to_owned(),
        total: hours(tidy(total)),
        unlogged: hours(tidy(total - before_log - logged)),
        before_log: hours(tidy(before_log)),
        blank: hours(tidy(blank.map(|(hours, _)| hours).sum())),
        ..MachineHours::default()
    }
}
