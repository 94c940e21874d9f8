//! A set that must not be run, and why, in the words of who would run it.

use super::format::width;
use crate::decisions::MustNot;
use crate::lives::Doubt;
use crate::quantities::Units;

/// A set that must not be run as the log leaves it.
#[derive(Debug, Clone, PartialEq)]
pub struct UnfitSet {
    /// Knife set, by name.
    pub set: String,
    /// The machine that it works in.
    pub machine: String,
    /// Where a note speaks of a crack: which row, in words.
    pub crack_noted: Option<String>,
    /// The row for which it has to be looked at.
    pub doubt: Option<Doubt>,
    /// Where a note says that its knives do not match: which row, in words.
    pub mismatch_noted: Option<String>,
    /// Why it must not be run; one reason at least.
    pub must_not: Vec<MustNot>,
    /// Units of widths in the words.
    pub units: Units,
}

impl UnfitSet {
    /// Why, a clause each.
    pub(super) fn reasons(&self) -> Vec<String> {
        self.must_not.iter().map(|it| self.reason(it)).collect()
    }

    /// "not to be run", why, and where to read on.
    pub(super) fn sentence(&self) -> String {
        format!(
            "not to be run: {}; see keenspan knives {}",
            self.why(),
            quoted(&self.set)
        )
    }

    /// The same before an answer that is of something else.
    pub fn alarm(&self) -> String {
        format!("{}: {} is {}.", self.machine, self.set, self.sentence())
    }

    /// Why, in one clause.
    pub fn why(&self) -> String {
        self.reasons().join(", and ")
    }

    /// What is to be done with the set, which is at work.
    pub(super) fn to_do(&self) -> String {
        let cracked = self.must_not.contains(&MustNot::RunCracked);
        let narrow = |it: &MustNot| matches!(it, MustNot::RunUnderWidth { .. });
        if cracked || self.must_not.iter().any(narrow) {
            return format!(
                "stop the machine. Have a qualified person take {} off, which must not be run again, and fit a set that is \
                 sound. Then write down both: keenspan add event discarded --set {}, and {}",
                self.set,
                quoted(&self.set),
                self.other_fitted()
            );
        }
        let mut reasons = self.must_not.iter();
        if reasons.all(MustNot::waits_for_a_look) {
            let look = format!(
                "stop the machine and have the whole set looked at by a qualified person. If it is found sound, write that \
                 down: {}",
                self.to_write("inspected, sound")
            );
            let unread = self.doubt.is_some_and(|doubt| !doubt.was_read);
            let mend = ". Put the row right, too: keenspan verify shows what is wrong in it";
            return look + if unread { mend } else { "" };
        }
        let mut to_do = format!(
            "stop the machine. Have a qualified person take {} off and fit a set that is sound; then write that down: {}",
            self.set,
            self.other_fitted()
        );
        if self.must_not == [MustNot::RunUnmatched] {
            to_do += &format!(
                ". {} may run again once its knives are ground to match, or a qualified person finds that they do and \
                 it is written down: {}",
                self.set,
                self.to_write("matched")
            );
        }
        to_do
    }

    fn other_fitted(&self) -> String {
        format!(
            "keenspan add event fitted --machine {} --set SET --meter READING",
            quoted(&self.machine)
        )
    }

    fn to_write(&self, note: &str) -> String {
        format!(
            "keenspan add event checked --machine {} --set {} --note \"{note}\"",
            quoted(&self.machine),
            quoted(&self.set)
        )
    }

    fn reason(&self, must_not: &MustNot) -> String {
        let width = |of| width(of, self.units);
        let set = &self.set;
        match must_not {
            MustNot::RunCracked => match &self.crack_noted {
                Some(row) => format!("{row} speaks of a crack in {set}"),
                None => format!("{set} is cracked"),
            },
            MustNot::RunUnderWidth {
                width: now,
                discard,
            } => format!(
                "{set} is {} wide, below the discard width of {}",
                width(*now),
                width(*discard)
            ),
            MustNot::RunUnmatched => match &self.mismatch_noted {
                Some(row) => format!("{row} says that the knives of {set} do not match"),
                None => format!("the knives of {set} do not match"),
            },
            MustNot::RunDoubted => match &self.doubt {
                Some(doubt) => {
                    format!("{doubt} in {set}, and nobody qualified has looked it over since")
                }
                None => format!("{set} has to be looked over by somebody qualified"),
            },
            MustNot::RunIncomplete => format!(
                "{set} has another number of knives than {} carries",
                self.machine
            ),
            MustNot::NickDeeperThanStock { nick, stock } => format!(
                "a nick of {} in {set} is deeper than the {} of steel left",
                width(*nick),
                width(*stock)
            ),
            MustNot::NickTooDeep { nick, limit } => format!(
                "a nick of {} in {set} is deeper than the {} that manuals allow",
                width(*nick),
                width(*limit)
            ),
            MustNot::NoSteelForTheGrind { takes } | MustNot::GrindUnderWidth { takes } => format!(
                "{set} needs a grind of about {}, and has not the steel left for it",
                width(*takes)
            ),
            MustNot::RunUninspected => {
                format!("{set} was struck, and nobody qualified has looked it over since")
            }
            MustNot::GrindUnmeasured => format!("{set} has to be measured"),
            MustNot::RunDiscarded => format!("{set} was thrown away"),
        }
    }
}

/// A name as it must be typed.
pub(super) fn quoted(name: &str) -> String {
    if name.contains(' ') {
        format!("\"{name}\"")
    } else {
        name.to_string()
    }
}
