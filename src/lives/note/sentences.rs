//! What each note says.

use super::Matter;
use crate::quantities::Width;
use std::fmt;

impl fmt::Display for Matter {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Matter::PlacedByDate { .. }
            | Matter::ReadingOutOfLine { .. }
            | Matter::Jump { .. }
            | Matter::ImpossibleDay(_)
            | Matter::Overlap { .. }
            | Matter::MoreThanMeter { .. } => self.about_the_meter(to),
            Matter::UnknownMachine { .. }
            | Matter::NoMachine { .. }
            | Matter::NoSet { .. }
            | Matter::OtherSetIn { .. }
            | Matter::OtherEdgeIn { .. }
            | Matter::NothingFitted { .. } => self.about_who_is_meant(to),
            Matter::TakenAsPulled { .. }
            | Matter::StillFitted { .. }
            | Matter::AlreadyFitted { .. }
            | Matter::MovedMachine { .. }
            | Matter::FittedAfterDiscard { .. }
            | Matter::FlippedSingleEdge { .. } => self.about_fitting(to),
            Matter::NotUnderstood { set, words } => write!(
                to,
                "keenspan does not understand the note \"{words}\" on set {set}: see to what it means before the set runs. If the set must not run, add a row \"checked\" with the note \"do not run\"; once somebody qualified has looked it over, one with \"inspected, sound\""
            ),
            Matter::RanOnAfterStrike { .. }
            | Matter::LookAfterStrike { .. }
            | Matter::LookWhenFresh { .. }
            | Matter::FlatUnused
            | Matter::UnderWidth { .. }
            | Matter::KnivesDiffer { .. }
            | Matter::WorkedBeforeLog { .. } => self.about_what_was_left_out(to),
        }
    }
}

impl Matter {
    fn about_the_meter(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Matter::PlacedByDate { kind, date } => write!(
                to,
                "\"{}\" has no meter reading; it was placed by its date, {date}",
                kind.words()
            ),
            Matter::ReadingOutOfLine { machine, reading } => write!(
                to,
                "the reading {:.1} on {machine} does not fit the readings before and after it; the row was placed by its date. If the meter was replaced, a row \"meter replaced\" says so",
                reading.get()
            ),
            Matter::Jump {
                machine,
                from,
                hours,
                days,
            } => write!(
                to,
                "the meter of {machine} went up {:.1} h within {days} calendar {} (since {from}); look for a wrong reading or date",
                hours.get(),
                if *days == 1 { "day" } else { "days" }
            ),
            Matter::ImpossibleDay(day) => {
                write!(
                    to,
                    "{day}; it counts as it stands: look for a wrong date or wrong hours"
                )
            }
            Matter::Overlap { hours } => write!(
                to,
                "{:.1} h of this run stand in another run as well; they count once",
                hours.get()
            ),
            Matter::MoreThanMeter { written, counted } => write!(
                to,
                "this run says {:.1} h, but the meter readings around it leave {:.1} h; the meter counts",
                written.get(),
                counted.get()
            ),
            _ => Ok(()),
        }
    }

    fn about_who_is_meant(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Matter::UnknownMachine { machine } => write!(
                to,
                "machine \"{machine}\" is not in machines.csv; the row was not used"
            ),
            Matter::NoMachine { kind } => write!(
                to,
                "\"{}\" does not say on which machine; the row was not used",
                kind.words()
            ),
            Matter::NoSet { kind } => write!(
                to,
                "\"{}\" does not say which set; the row was not used",
                kind.words()
            ),
            Matter::OtherSetIn {
                kind,
                machine,
                named,
                fitted,
            } => write!(
                to,
                "\"{}\" names set {named}, but by the rows before it set {fitted} is in {machine}; the row was not used for any edge",
                kind.words()
            ),
            Matter::OtherEdgeIn { edge, named } => write!(
                to,
                "the row names edge {named}, but by the rows before it {edge} is at work; taken as that one"
            ),
            Matter::NothingFitted { kind, machine } => write!(
                to,
                "\"{}\", but by the rows before it no set is in {machine}; the row was not used",
                kind.words()
            ),
            _ => Ok(()),
        }
    }

    fn about_fitting(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Matter::TakenAsPulled { edge } => write!(
                to,
                "a set was fitted while another was in; {edge} is taken as pulled at that moment, without a grade"
            ),
            Matter::StillFitted { edge, kind } => write!(
                to,
                "\"{}\" while the set was still in a machine; {edge} is taken as pulled by then",
                kind.words()
            ),
            Matter::AlreadyFitted { edge } => write!(
                to,
                "\"fitted\", but {edge} is in already; taken as still at work"
            ),
            Matter::MovedMachine { edge, to: machine } => write!(
                to,
                "{edge} went on in {machine} without a regrind; its life goes on there"
            ),
            Matter::FittedAfterDiscard { set } => write!(
                to,
                "set {set} was discarded earlier; taken as new knives under the old name"
            ),
            Matter::FlippedSingleEdge { set } => write!(
                to,
                "set {set} was flipped, but its knives are listed with one cutting edge; taken as a second edge"
            ),
            _ => Ok(()),
        }
    }

    fn about_what_was_left_out(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Matter::RanOnAfterStrike { edge, hours } => write!(
                to,
                "{edge} ran on {:.1} h after this strike; those hours say nothing of wear and are left out until the next grind",
                hours.get()
            ),
            Matter::LookAfterStrike { edge } => write!(
                to,
                "{edge} had been struck by then; what it looked like says nothing of wear and is left out"
            ),
            Matter::LookWhenFresh { edge } => write!(
                to,
                "{edge} had not worked an hour yet; what it looked like says nothing of wear and is left out"
            ),
            Matter::FlatUnused => write!(
                to,
                "a flat was measured, but shop.csv does not say at which width this crew calls an edge dull (flat_when_dull); the flat is not used"
            ),
            Matter::UnderWidth {
                set,
                width,
                discard,
            } => {
                let (width, discard) = told_apart(*width, *discard);
                write!(
                    to,
                    "by the log, set {set} is {width} wide, below the discard width of {discard} given for the machine: measure it, and do not run it below that width"
                )
            }
            Matter::KnivesDiffer {
                set,
                knives,
                wanted,
            } => write!(
                to,
                "set {set} has {knives} knives and the machine carries {wanted}: do not run an incomplete or unmatched set"
            ),
            Matter::WorkedBeforeLog { edge, hours } => write!(
                to,
                "{edge} had worked {:.1} h before the log starts; they count as the usual mix",
                hours.get()
            ),
            _ => Ok(()),
        }
    }
}

/// Decimals beyond the usual ones, where two widths have to be told apart.
const MORE_DECIMALS: usize = 6;

/// Two widths in millimetres and inches, to as many decimals as tell them apart in both.
fn told_apart(one: Width, other: Width) -> (String, String) {
    let millimetres = |width: Width, more| format!("{:.1$}", width.millimetres(), 1 + more);
    let inches = |width: Width, more| format!("{:.1$}", width.inches(), 3 + more);
    let same = |more: &usize| {
        millimetres(one, *more) == millimetres(other, *more)
            || inches(one, *more) == inches(other, *more)
    };
    let more = (0..MORE_DECIMALS).find(|more| !same(more)).unwrap_or(0);
    let words = |width| {
        format!(
            "{} mm ({} in)",
            millimetres(width, more),
            inches(width, more)
        )
    };
    (words(one), words(other))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_width_below_another_is_never_shown_as_the_same() {
        let width = |inches| Width::from_inches(inches).unwrap();
        let (now, discard) = told_apart(width(3.4997), width(3.5));
        assert_eq!(now, "88.89 mm (3.4997 in)");
        assert_eq!(discard, "88.90 mm (3.5000 in)");
        let (now, _) = told_apart(width(3.45), width(3.5));
        assert_eq!(now, "87.6 mm (3.450 in)");
    }
}
