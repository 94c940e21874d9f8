//! Each kind of record as the cells of its row, in the order of its file's columns.

use super::amounts;
use crate::logbook::{
    CostItem, EdgeEvent, KnifeSet, LogFile, Logbook, Machine, MeterSpan, RowKey, Run,
};
use crate::quantities::{Grade, MeterHours, Units, Width};
use crate::wood::{Contamination, WoodMix};

/// A row with the key by which its extra cells are found.
pub(super) type KeyedRow = (RowKey, Vec<String>);

pub(super) fn rows(file: LogFile, logbook: &Logbook) -> Vec<KeyedRow> {
    let units = logbook.shop.units;
    match file {
        LogFile::Shop => shop(logbook),
        LogFile::Costs => costs(logbook),
        LogFile::Machines => keyed(&logbook.machines, |it| (it.line, machine(it, units))),
        LogFile::Sets => keyed(&logbook.sets, |it| (it.line, knife_set(it, units))),
        LogFile::Runs => keyed(&logbook.runs, |it| (it.line, run(it))),
        LogFile::Events => keyed(&logbook.events, |it| (it.line, event(it, units))),
        // Jobs to come are no part of a log.
        LogFile::Jobs => Vec::new(),
    }
}

fn keyed<T>(
    records: &[T],
    row: impl Fn(&T) -> (crate::logbook::Line, Vec<String>),
) -> Vec<KeyedRow> {
    records
        .iter()
        .map(row)
        .map(|(line, cells)| (RowKey::Line(line), cells))
        .collect()
}

fn shop(logbook: &Logbook) -> Vec<KeyedRow> {
    let shop = &logbook.shop;
    let dates = shop.dates.map_or("", |order| order.words());
    let flat = logbook
        .costs
        .flat_when_dull
        .map(|flat| amounts::width(flat, shop.units))
        .unwrap_or_default();
    let rows = [
        ("name", shop.name.as_str(), "what the shop calls itself"),
        (
            "units",
            shop.units.word(),
            "us or metric: what a bare number means",
        ),
        (
            "dates",
            dates,
            "day first, month first or year first: how 5/3/2026 is meant",
        ),
        (
            "currency",
            logbook.costs.currency.as_str(),
            "sign or letters shown with money",
        ),
        (
            "flat_when_dull",
            flat.as_str(),
            "width of the bright flat at which you call an edge dull",
        ),
    ];
    rows.into_iter()
        .map(|(key, value, note)| key_row(LogFile::Shop, logbook, [key, value, "", note]))
        .collect()
}

fn costs(logbook: &Logbook) -> Vec<KeyedRow> {
    let row = |item: CostItem| {
        let value = logbook.costs.items.get(&item).map(f64::to_string);
        let value = value.unwrap_or_default();
        let cells = [item.key(), &value, item.unit(), item.about()];
        key_row(LogFile::Costs, logbook, cells)
    };
    CostItem::ALL.into_iter().map(row).collect()
}

/// Key, value, unit and note; a note of the crew's own stays.
fn key_row(file: LogFile, logbook: &Logbook, [key, value, unit, note]: [&str; 4]) -> KeyedRow {
    let own_note = logbook
        .extras
        .get(&file)
        .and_then(|extras| extras.notes.get(key))
        .filter(|note| !note.is_empty());
    let note = own_note.map_or(note, String::as_str);
    let cells = [key, value, unit, note].map(str::to_owned).to_vec();
    (RowKey::Key(key.to_owned()), cells)
}

fn machine(machine: &Machine, units: Units) -> Vec<String> {
    vec![
        machine.name.clone(),
        machine.rotor.word().to_owned(),
        machine.knives.to_string(),
        machine.edges_per_knife.to_string(),
        hours(machine.meter),
        hours(machine.rule),
        hours(machine.service_every),
        machine.wrench.clone(),
        blank_or(machine.bolt_torque, |it| amounts::torque(it, units)),
        width(machine.bed_knife_gap, units),
        width(machine.discard_width, units),
        machine.note.clone(),
    ]
}

fn knife_set(set: &KnifeSet, units: Units) -> Vec<String> {
    vec![
        set.name.clone(),
        set.knives.to_string(),
        set.edges_per_knife.to_string(),
        width(set.width, units),
        set.regrinds.to_string(),
        set.steel.clone(),
        set.note.clone(),
    ]
}

fn run(run: &Run) -> Vec<String> {
    let (length, start, end) = match run.span {
        MeterSpan::Readings { start, end } => (None, Some(start), Some(end)),
        MeterSpan::Hours(length) => (Some(length), None, None),
    };
    vec![
        run.date.to_string(),
        run.machine.clone(),
        hours(length),
        hours(start),
        hours(end),
        blank_or(run.wood.as_ref(), WoodMix::to_string),
        blank_or(run.contamination, |it| Contamination::word(it).to_owned()),
        run.state.word().to_owned(),
        blank_or(run.loads, |loads| loads.to_string()),
        run.who.clone(),
        run.note.clone(),
    ]
}

fn event(event: &EdgeEvent, units: Units) -> Vec<String> {
    vec![
        event.date.to_string(),
        event.kind.words().to_owned(),
        event.machine.clone().unwrap_or_default(),
        hours(event.meter),
        event.set.clone().unwrap_or_default(),
        blank_or(event.edge, |edge| edge.to_string()),
        blank_or(event.grade, |grade| Grade::word(grade).to_owned()),
        width(event.flat, units),
        width(event.stock_removed, units),
        width(event.nick, units),
        hours(event.new_meter),
        event.by.clone(),
        event.note.clone(),
    ]
}

fn hours(hours: Option<MeterHours>) -> String {
    blank_or(hours, |it| it.get().to_string())
}

fn width(width: Option<Width>, units: Units) -> String {
    blank_or(width, |it| amounts::width(it, units))
}

fn blank_or<T>(value: Option<T>, text: impl Fn(T) -> String) -> String {
    value.map(text).unwrap_or_default()
}
