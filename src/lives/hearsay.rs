//! What rows say of a set's soundness that tell nothing of wear: rows that the shop has no use for, notes on a
//! day's work, and rows that could not be read.

use super::damage::Told;
use super::note::Record;
use super::note_words::NoteWords;
use super::shop::{Shop, Stays};
use crate::logbook::{LogFile, Logbook, Run, UnreadRow};
use jiff::civil::Date;
use std::cell::LazyCell;
use std::collections::BTreeSet;

/// Adds it to what the shop, closed, knows of its sets.
pub(super) fn hear(log: &Logbook, shop: &mut Shop<'_>) {
    // Whatever became of a row otherwise, a set that it names is the one that it speaks of.
    for event in &log.events {
        if let Some(set) = &event.set {
            shop.damage_of(set).remember_words(event);
        }
    }
    for (set, told, was_read) in doubts(log, shop) {
        shop.damage_of(&set).doubt(told, was_read);
    }
}

/// The sets that runs and unread rows speak against, and whether the row could be read.
fn doubts(log: &Logbook, shop: &Shop<'_>) -> Vec<(String, Told, bool)> {
    // Most logs have no such row.
    let stays = LazyCell::new(|| shop.stays());
    let mut doubts = Vec::new();
    let ill = |run: &&Run| NoteWords::of(&run.note).speaks_of_knife_damage();
    for run in log.runs.iter().filter(ill) {
        let (day, record) = (run.date, Record::Run(run.line));
        let sets = stays.sets_in(&run.machine, day);
        doubts.extend(sets.map(|set| (set.to_owned(), Told { day, record }, true)));
    }
    for row in log.unread.iter().filter(|row| speaks_ill(row)) {
        // Without its day nothing can be said to come after it: the row has to be put right.
        let (day, record) = (row.date.unwrap_or(Date::MAX), record_of(row));
        let sets = sets_meant(log, &stays, row).into_iter();
        doubts.extend(sets.map(|set| (set, Told { day, record }, false)));
    }
    doubts
}

fn speaks_ill(row: &UnreadRow) -> bool {
    let words = NoteWords::of(&row.words);
    let of_knives = match row.file {
        LogFile::Runs => words.speaks_of_knife_damage(),
        _ => words.speaks_of_damage() || words.says_unmatched(),
    };
    of_knives || words.speaks_of_strike()
}

fn record_of(row: &UnreadRow) -> Record {
    match row.file {
        LogFile::Sets => Record::Set(row.line),
        LogFile::Runs => Record::Run(row.line),
        _ => Record::Event(row.line),
    }
}

/// The sets that it names, and those in the machines that it names; where it names nothing, those in the only
/// machine there is.
fn sets_meant(log: &Logbook, stays: &Stays<'_>, row: &UnreadRow) -> BTreeSet<String> {
    let mut sets: BTreeSet<String> = row.sets.iter().cloned().collect();
    let mut machines: Vec<&str> = row.machines.iter().map(String::as_str).collect();
    if let ([only], true, true) = (&log.machines[..], sets.is_empty(), machines.is_empty()) {
        machines.push(&only.name);
    }
    let day = row.date.unwrap_or(Date::MAX);
    let here = machines
        .iter()
        .flat_map(|machine| stays.sets_in(machine, day));
    sets.extend(here.map(str::to_owned));
    sets
}
