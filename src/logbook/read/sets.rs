//! sets.csv.

use super::cells::{Ways, count, width};
use super::known::{NamedRecords, Names};
use super::machines::{edges_per_knife, knives, own_name};
use super::row::RowReader;
use super::table::{TableReading, read_rows};
use crate::logbook::{KnifeSet, LogFile, RowKey};

/// More grinds than any knife lasts. Basis: from memory; a dozen is a long life.
const MOST_REGRINDS: u32 = 1000;

pub(super) fn read(bytes: &[u8], ways: Ways) -> (NamedRecords<KnifeSet>, TableReading) {
    let mut names = Names::default();
    let (records, reading) = read_rows(LogFile::Sets, bytes, ways, |row| {
        knife_set(row, &mut names).map(|set| (RowKey::Line(set.line), set))
    });
    names.any = reading.unreadable;
    (NamedRecords { records, names }, reading)
}

fn knife_set(row: &mut RowReader<'_>, names: &mut Names) -> Option<KnifeSet> {
    let ways = row.ways;
    let edges = edges_per_knife(row);
    let name = own_name(row, names, "the name that the crew calls the set", edges);
    let knives = knives(row);
    let width = row.optional("width", |text| width(text, ways));
    let regrinds = row.optional("regrinds", |text| count(text, 0, MOST_REGRINDS));
    Some(KnifeSet {
        line: row.line(),
        name: name?,
        knives: knives?,
        edges_per_knife: edges?,
        width,
        regrinds: regrinds.unwrap_or(0),
        steel: row.text("steel").to_owned(),
        note: row.text("note").to_owned(),
    })
}
