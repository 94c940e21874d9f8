//! What goes wrong on paper.

use super::yard::hours;
use crate::logbook::{EventKind, Line, LogFile, Logbook, MeterSpan};
use crate::quantities::MeterHours;

/// Runs that nobody wrote down, by their place in three seasons of some 550.
const NOT_WRITTEN: [usize; 6] = [31, 87, 160, 244, 305, 390];
/// The run written with hours only, and the one after whose hours have a decimal comma.
const HOURS_ONLY: usize = 57;
const DECIMAL_COMMA: usize = 58;
/// The first run from here on that was all willow is mis-typed.
const MISTYPED_FROM: usize = 120;
/// Runs with the wood, or the dirt, left blank.
const NO_WOOD: usize = 203;
const NO_DIRT: usize = 271;

pub(super) fn leave_out_runs(log: &mut Logbook) {
    let mut place = 0;
    log.runs.retain(|_| {
        place += 1;
        !NOT_WRITTEN.contains(&(place - 1))
    });
    for (line, run) in (2..).zip(&mut log.runs) {
        run.line = Line(line);
    }
}

pub(super) fn blank_some_cells(log: &mut Logbook) {
    for place in [HOURS_ONLY, DECIMAL_COMMA] {
        if let Some(run) = log.runs.get_mut(place)
            && let MeterSpan::Readings { start, end } = run.span
            && let Some(length) = hours(tenths(end.saturating_sub(start)))
        {
            run.span = MeterSpan::Hours(length);
        }
    }
    if let Some(run) = log.runs.get_mut(NO_WOOD) {
        run.wood = None;
    }
    if let Some(run) = log.runs.get_mut(NO_DIRT) {
        run.contamination = None;
    }
    let mut noticed = log
        .events
        .iter_mut()
        .filter(|event| event.kind == EventKind::NoticedDull);
    if let Some(event) = noticed.nth(4) {
        event.meter = None::<MeterHours>;
    }
}

fn tenths(value: MeterHours) -> f64 {
    (value.get() * 10.0).round() / 10.0
}

/// What typed records cannot say.
pub(super) fn spoil(file: LogFile, text: String) -> String {
    if file != LogFile::Runs {
        return text;
    }
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    mistype_a_wood(&mut lines);
    write_a_decimal_comma(&mut lines);
    lines.into_iter().map(|line| line + "\n").collect()
}

fn mistype_a_wood(lines: &mut [String]) {
    let mut later = lines.iter_mut().skip(MISTYPED_FROM);
    if let Some(line) = later.find(|line| line.contains(",willow,")) {
        *line = line.replace(",willow,", ",wilow,");
    }
}

fn write_a_decimal_comma(lines: &mut [String]) {
    if let Some(line) = lines.get_mut(DECIMAL_COMMA + 1) {
        let cells: Vec<String> = line.split(',').map(decimal_comma).collect();
        *line = cells.join(",");
    }
}

/// 3.5 as "3,5", quoted since the comma also parts the cells.
fn decimal_comma(cell: &str) -> String {
    match cell.parse::<f64>() {
        Ok(_) if cell.contains('.') => format!("\"{}\"", cell.replace('.', ",")),
        _ => cell.to_owned(),
    }
}
