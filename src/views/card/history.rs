//! The lives of a set's edges as a table.

use super::blocks::{HEADING, Sheet};
use super::page::{Anchor, Shade, Style};
use super::set::SheetLife;
use crate::lives::Ending;
use crate::views::format::hours;

/// Height of a row.
const LINE: f64 = 5.0;
const SMALL: Style = Style::plain(2.9);

/// Lives, as many of the last as there is room for.
pub(super) fn history(sheet: &mut Sheet, lives: &[SheetLife], set_aside: usize) {
    let top = sheet.top;
    sheet.heading("Edges so far, the last first");
    let rows = ((sheet.bottom - sheet.top) / LINE).floor().max(2.0) as usize - 1;
    let columns = columns(&LIVES, sheet.width);
    let shown = table(sheet, &columns, lives.iter().rev().map(life_row).take(rows));
    let mut more = Vec::new();
    let hidden = lives.len() - shown;
    if hidden > 0 {
        more.push(format!("{hidden} earlier not shown"));
    }
    if set_aside > 0 {
        more.push(format!("{set_aside} set aside: keenspan verify"));
    }
    let at = (sheet.right(), top + HEADING.size);
    if !more.is_empty() {
        let style = SMALL.at(Anchor::Right);
        sheet.page.cell(style, at, 90.0, &more.join("; "));
    }
}

/// Name, share of the width, whether its figures stand at the right.
type Column = (&'static str, f64, bool);

const LIVES: [Column; 7] = [
    ("edge", 0.07, false),
    ("from", 0.13, false),
    ("to", 0.13, false),
    ("in", 0.18, false),
    ("hours", 0.08, true),
    ("came out", 0.18, false),
    ("ground before", 0.23, false),
];

/// Columns by name, with where each begins and how wide it is.
fn columns(columns: &[Column], width: f64) -> Vec<(Column, f64, f64)> {
    let mut from = 0.0;
    let place = |column: &Column| {
        let wide = column.1 * width;
        let placed = (*column, from, wide);
        from += wide;
        placed
    };
    columns.iter().map(place).collect()
}

/// A table of lines; returns how many there were.
fn table(
    sheet: &mut Sheet,
    columns: &[(Column, f64, f64)],
    rows: impl Iterator<Item = Vec<String>>,
) -> usize {
    let (left, top, width) = (sheet.left, sheet.top, sheet.width);
    sheet.page.filled((left, top), (width, LINE), Shade::Pale);
    let mut line = |number: usize, cells: &[String], style: Style| {
        let y = top + LINE * number as f64 + 3.5;
        for (cell, ((_, _, right), from, wide)) in cells.iter().zip(columns) {
            let room = wide - 2.4;
            let cut = style.weight.cut(cell, style.size, room);
            if *right {
                let x = left + from + wide - 1.6;
                sheet.page.text(style.at(Anchor::Right), (x, y), &cut);
            } else {
                sheet.page.text(style, (left + from + 1.2, y), &cut);
            }
        }
        let y = top + LINE * (number + 1) as f64;
        sheet
            .page
            .rule((left, y), (left + width, y), 0.2, Shade::Grey);
    };
    let names: Vec<String> = columns.iter().map(|it| it.0.0.to_string()).collect();
    line(0, &names, Style::bold(2.9));
    let mut shown = 0;
    for row in rows {
        shown += 1;
        line(shown, &row, SMALL);
    }
    shown
}

fn life_row(life: &SheetLife) -> Vec<String> {
    let day = |day: &Option<String>| day.clone().unwrap_or_else(|| "?".to_string());
    let to = match life.ending {
        Ending::Running => "at work".to_string(),
        _ => day(&life.to),
    };
    let seen = match (life.grade, life.ending) {
        (Some(grade), Ending::Struck) => format!("{}, struck", grade.word()),
        (None, Ending::Struck) => "struck".to_string(),
        (Some(grade), _) => grade.word().to_string(),
        (None, Ending::NoticedDull) => "noticed dull".to_string(),
        (None, Ending::Running) => String::new(),
        (None, Ending::PulledOnSchedule) => "not graded".to_string(),
    };
    let ground = match (life.regrinds, life.ground_by.as_str()) {
        (0, _) => "new".to_string(),
        (1, "") => "once".to_string(),
        (1, by) => format!("once, {by}"),
        (grinds, "") => format!("{grinds} times"),
        (grinds, by) => format!("{grinds} times, {by}"),
    };
    vec![
        life.edge.to_string(),
        day(&life.from),
        to,
        life.machine.clone(),
        hours(life.hours),
        seen,
        ground,
    ]
}
