//! What rows say for and against running a set: strikes, cracks, other damage, knives that do not match.
//!
//! The last word of each kind counts, whatever order the rows come in. A row on the same day as another counts
//! as later only where it stands below it in one file.

use super::note::Record;
use super::note_words::NoteWords;
use crate::logbook::{EdgeEvent, EventKind};
use crate::quantities::Width;
use jiff::civil::Date;
use std::collections::BTreeMap;
use std::fmt;

/// A row and its day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Told {
    pub(super) day: Date,
    pub(super) record: Record,
}

impl Told {
    fn by(event: &EdgeEvent) -> Self {
        Self {
            day: event.date,
            record: Record::Event(event.line),
        }
    }

    /// Whether it surely came after another.
    fn is_after(&self, other: &Self) -> bool {
        let one_file = matches!(
            (self.record, other.record),
            (Record::Event(_), Record::Event(_))
        );
        self.day > other.day || (one_file && self > other)
    }
}

/// A row for which a set has to be looked at before it runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Doubt {
    /// The row.
    pub record: Record,
    /// It could be read; else it was set aside, and this is all that is known of it.
    pub was_read: bool,
}

impl fmt::Display for Doubt {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.was_read {
            true => write!(to, "{} speaks of damage", self.record),
            false => write!(
                to,
                "{}, a row that could not be read, speaks of a strike or of damage",
                self.record
            ),
        }
    }
}

/// What is known of a set's soundness.
#[derive(Debug, Clone, Default)]
pub(super) struct Damage {
    /// Nicks as they were measured, and grinds with what each took off where its row says.
    nicks: Vec<(Told, Width)>,
    grinds: Vec<(Told, Option<Width>)>,
    /// The first row that speaks of a crack; nothing mends one.
    pub(super) crack: Option<Record>,
    strike: Option<Told>,
    doubt: Option<(Told, bool)>,
    unmatched: Option<Told>,
    matched: Option<Told>,
    sound: Option<Told>,
    /// Looks at it whose notes keenspan does not understand.
    not_understood: BTreeMap<Told, String>,
}

impl Damage {
    /// Of a set by its own row.
    pub(super) fn listed(note: &str, record: Record) -> Self {
        let mut damage = Self::default();
        let day = Date::MIN;
        damage.hear(&NoteWords::of(note), Told { day, record });
        damage
    }

    /// What an event says of the set that it is about.
    pub(super) fn remember(&mut self, event: &EdgeEvent) {
        self.remember_nick(event);
        self.remember_words(event);
    }

    /// What an event says against the set that it may be about.
    pub(super) fn suspect(&mut self, event: &EdgeEvent) {
        let note = NoteWords::of(&event.note);
        self.remember_nick(event);
        self.remember_open(event, &note);
        self.remember_ill(event, &note);
    }

    /// What its words and its kind say, which does not hang on the order of rows and grinds.
    pub(super) fn remember_words(&mut self, event: &EdgeEvent) {
        let told = Some(Told::by(event));
        let note = NoteWords::of(&event.note);
        let looked_over = matches!(event.kind, EventKind::Checked | EventKind::Reground);
        if looked_over && note.says_sound() {
            self.sound = self.sound.max(told);
        }
        // Knives of one set are ground together.
        if event.kind == EventKind::Reground || note.says_matched() {
            self.matched = self.matched.max(told);
        }
        self.remember_open(event, &note);
        self.remember_ill(event, &note);
    }

    fn remember_open(&mut self, event: &EdgeEvent, note: &NoteWords<'_>) {
        if event.kind == EventKind::Checked && !note.is_understood() {
            self.not_understood
                .insert(Told::by(event), event.note.clone());
        }
    }

    /// The rows with notes that are not understood, while nobody has found the set sound since. None where it must not
    /// run for another reason, which it takes the same word to end.
    pub(super) fn open_notes(&self) -> impl Iterator<Item = (Record, &str)> {
        let held = self.crack.is_some() || self.is_struck() || self.to_be_looked_at().is_some();
        let notes = self.not_understood.iter();
        notes
            .filter(move |(told, _)| !held && !self.is_answered(**told))
            .map(|(told, words)| (told.record, words.as_str()))
    }

    fn remember_ill(&mut self, event: &EdgeEvent, note: &NoteWords<'_>) {
        let told = Told::by(event);
        if event.kind == EventKind::Struck {
            self.strike = self.strike.max(Some(told));
        }
        if event.kind == EventKind::Checked && note.says_hit() {
            self.doubt(told, true);
        }
        self.hear(note, told);
    }

    fn remember_nick(&mut self, event: &EdgeEvent) {
        self.nicks
            .extend(event.nick.map(|nick| (Told::by(event), nick)));
    }

    fn hear(&mut self, note: &NoteWords<'_>, told: Told) {
        if note.speaks_of_crack() {
            self.crack.get_or_insert(told.record);
        } else if note.speaks_of_damage() {
            self.doubt(told, true);
        }
        if note.says_unmatched() {
            self.unmatched = self.unmatched.max(Some(told));
        }
    }

    pub(super) fn doubt(&mut self, told: Told, was_read: bool) {
        self.doubt = self.doubt.max(Some((told, was_read)));
    }

    /// A grind mends neither a crack nor what a strike did.
    pub(super) fn grind(&mut self, event: &EdgeEvent) {
        self.grinds.push((Told::by(event), event.stock_removed));
    }

    /// The deepest nick that no grind has taken out, as far as rows say, and whether it was ground since it was measured.
    pub(super) fn nick(&self) -> Option<(Width, bool)> {
        let left = self.nicks.iter().filter_map(|nick| self.left_of(nick));
        left.max_by(|a, b| a.0.millimetres().total_cmp(&b.0.millimetres()))
    }

    /// A grind takes off a nick what it took off the knives. Where its row does not say how much that was, the nick counts
    /// as gone: to take it out is what a grinder is there for. One that may have come before the nick took nothing off it.
    fn left_of(&self, (seen, nick): &(Told, Width)) -> Option<(Width, bool)> {
        let after = |grind: &&(Told, _)| grind.0.is_after(seen) || grind.0 == *seen;
        let mut grinds = self.grinds.iter().filter(after).peekable();
        let was_ground = grinds.peek().is_some();
        let left = grinds.try_fold(*nick, |nick, (_, took)| Some(nick.saturating_sub((*took)?)))?;
        (left > Width::ZERO).then_some((left, was_ground))
    }

    /// Other knives go by the name from this row on, or the old ones come back: nobody can tell. A crack, a
    /// strike and a doubt stay; nicks and the match of the knives are theirs.
    pub(super) fn renewed(&self, event: &EdgeEvent) -> Self {
        Self {
            nicks: Vec::new(),
            grinds: Vec::new(),
            matched: Some(Told::by(event)),
            ..self.clone()
        }
    }

    /// Takes over what was told of a set before it had its name.
    pub(super) fn join(&mut self, other: &Self) {
        self.nicks.extend(&other.nicks);
        self.grinds.extend(&other.grinds);
        self.crack = self.crack.or(other.crack);
        self.strike = self.strike.max(other.strike);
        self.doubt = self.doubt.max(other.doubt);
        self.unmatched = self.unmatched.max(other.unmatched);
        self.matched = self.matched.max(other.matched);
        self.sound = self.sound.max(other.sound);
        self.not_understood.extend(other.not_understood.clone());
    }

    /// Found sound after this.
    fn is_answered(&self, told: Told) -> bool {
        self.sound.is_some_and(|sound| sound.is_after(&told))
    }

    /// Found sound by somebody qualified since it was last struck.
    pub(super) fn inspected(&self) -> bool {
        let answered = self.strike.is_none_or(|strike| self.is_answered(strike));
        self.sound.is_some() && answered
    }

    /// Struck, and not found sound since.
    pub(super) fn is_struck(&self) -> bool {
        self.strike.is_some_and(|strike| !self.is_answered(strike))
    }

    /// The last row for which somebody has to look, where nobody has since.
    pub(super) fn to_be_looked_at(&self) -> Option<Doubt> {
        let (told, was_read) = self.doubt.filter(|(told, _)| !self.is_answered(*told))?;
        let record = told.record;
        Some(Doubt { record, was_read })
    }

    /// The last row that says that the knives do not match, where none says otherwise since.
    pub(super) fn unmatched(&self) -> Option<Record> {
        let mended = |odd: &Told| self.matched.is_some_and(|even| even.is_after(odd));
        let odd = self.unmatched.filter(|odd| !mended(odd))?;
        Some(odd.record)
    }
}
