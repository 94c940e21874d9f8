//! machines.csv.

use super::cells::{Parsed, Ways, count, hours, one_of, torque, width};
use super::known::{Named, NamedRecords, Names};
use super::row::RowReader;
use super::table::{TableReading, read_rows};
use crate::logbook::{LogFile, Machine, Rotor, RowKey};
use crate::quantities::{MeterHours, Sensible};

/// More knives or edges than any chipper has. Basis: from memory; whole-tree machines carry some
/// dozens of small knives.
pub(super) const MOST_KNIVES: u32 = 200;
pub(super) const MOST_EDGES: u32 = 8;

pub(super) fn read(bytes: &[u8], ways: Ways) -> (NamedRecords<Machine>, TableReading) {
    let mut names = Names::default();
    let (records, reading) = read_rows(LogFile::Machines, bytes, ways, |row| {
        machine(row, &mut names).map(|machine| (RowKey::Line(machine.line), machine))
    });
    names.any = reading.unreadable;
    (NamedRecords { records, names }, reading)
}

fn machine(row: &mut RowReader<'_>, names: &mut Names) -> Option<Machine> {
    let ways = row.ways;
    let edges = edges_per_knife(row);
    let name = own_name(
        row,
        names,
        "the name that the crew calls the machine",
        edges,
    );
    let rotor = row.required("rotor", "drum or disc", |text| one_of(text, &rotors()));
    let knives = knives(row);
    let meter = row.optional("meter", |text| hours(text, ways));
    let rule = row.optional("rule", |text| hours_between(text, ways));
    let service_every = row.optional("service every", |text| hours_between(text, ways));
    let bolt_torque = row.optional("bolt torque", |text| torque(text, ways));
    let bed_knife_gap = row.optional("bed knife gap", |text| width(text, ways));
    let discard_width = row.optional("discard width", |text| width(text, ways));
    Some(Machine {
        line: row.line(),
        name: name?,
        rotor: rotor?,
        knives: knives?,
        edges_per_knife: edges?,
        meter,
        rule,
        service_every,
        wrench: row.text("wrench").to_owned(),
        bolt_torque,
        bed_knife_gap,
        discard_width,
        note: row.text("note").to_owned(),
    })
}

/// Hours from one change or service to the next; blank where there is no rule.
fn hours_between(text: &str, ways: Ways) -> Parsed<MeterHours> {
    let range = Sensible::BETWEEN_CHANGES;
    let read = hours(text, ways)?;
    range.holds(read.get()).then_some(read).ok_or_else(|| {
        format!(
            "hours {}, such as 50; blank where there is no such rule",
            range.words
        )
    })
}

/// The record's own name, which no other record of the file may have. It becomes known even where
/// the rest of the row is at fault.
pub(super) fn own_name(
    row: &mut RowReader<'_>,
    names: &mut Names,
    what: &str,
    edges: Option<u32>,
) -> Option<String> {
    let name = row.text("name");
    if name.is_empty() {
        row.fault("name", what.to_owned());
        return None;
    }
    let added = names.add(Named {
        name: name.to_owned(),
        line: row.line().0,
        edges,
    });
    match added {
        Ok(()) => Some(name.to_owned()),
        Err(wanted) => {
            row.fault("name", wanted);
            None
        }
    }
}

pub(super) fn knives(row: &mut RowReader<'_>) -> Option<u32> {
    let what = "how many knives are in a set, such as 2";
    row.required("knives", what, |text| count(text, 1, MOST_KNIVES))
}

/// One where the cell is blank; nothing where it is at fault.
pub(super) fn edges_per_knife(row: &mut RowReader<'_>) -> Option<u32> {
    if row.text("edges").is_empty() {
        return Some(1);
    }
    row.optional("edges", |text| count(text, 1, MOST_EDGES))
}

fn rotors() -> [(&'static str, Rotor); 3] {
    [
        (Rotor::Drum.word(), Rotor::Drum),
        (Rotor::Disc.word(), Rotor::Disc),
        ("disk", Rotor::Disc),
    ]
}
