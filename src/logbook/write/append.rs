//! One more row at the end of a file, everything before it kept byte for byte.

use super::WriteError;
use super::atomic::LogFolder;
use super::text;
use crate::logbook::read::{LogTexts, LogbookError, Reading, load, read_texts};
use crate::logbook::sheet::Sheet;
use crate::logbook::{Column, DayFault, ImpossibleDay, Line, LogFile, Problem, impossible_days};
use jiff::civil::Date;
use std::path::Path;

/// Columns in which a number gets a decimal comma in a file whose cells are parted by semicolons, as
/// the spreadsheet that wrote it does; with a point it would take 3.5 for the third of May.
const NUMBERS: [&str; 6] = [
    "hours",
    "meter",
    "meter start",
    "meter end",
    "loads",
    "new meter",
];

/// A row that was not added. The file stands as it was.
#[derive(Debug, thiserror::Error)]
pub enum AppendError {
    /// The log could not be read.
    #[error(transparent)]
    Log(#[from] LogbookError),
    /// The log could not be written.
    #[error(transparent)]
    Write(#[from] WriteError),
    /// The row would not read back. With no problem of its own, an earlier fault in the file (an
    /// unclosed quote) would swallow it.
    #[error("the row was not added to {file}")]
    Refused {
        /// The file.
        file: LogFile,
        /// What is wrong with the row, or else with its file.
        problems: Vec<Problem>,
    },
    /// The file has no such column for what was given.
    #[error("{file} has no column \"{column}\" for \"{given}\"; nothing was written")]
    NoColumn {
        /// The file.
        file: LogFile,
        /// The column.
        column: String,
        /// What was to stand there.
        given: String,
    },
}

/// Adds one row, given as the text of its cells by column, and returns its line. The row is read back
/// with the whole log before anything is written: a row with a problem is refused, and so is one about a day
/// after `today`, or one that puts more than a week's hours on one of a machine's days. A file that does not
/// exist is made, with its header.
///
/// # Errors
///
/// [`AppendError`]; nothing is written then.
///
/// # Examples
///
/// ```
/// use jiff::civil::date;
/// use keenspan::logbook::LogFile;
/// use keenspan::logbook::read::read_logbook;
/// use keenspan::logbook::write::{AppendError, append_row, write_new_logbook};
///
/// let folder = tempfile::tempdir()?;
/// let demo = read_logbook("datasets/demo-riverbank".as_ref())?.logbook;
/// write_new_logbook(folder.path(), &demo)?;
/// let today = date(2026, 11, 20);
/// let run = |dirt: &str| {
///     let cells = [("date", "2026-11-20"), ("machine", "Heron"), ("hours", "4"), ("wood", "oak"), ("dirt", dirt)];
///     let cells = cells.map(|(column, text)| (column, text.to_string()));
///     append_row(folder.path(), LogFile::Runs, &cells, today)
/// };
/// run("dusty")?;
/// assert_eq!(read_logbook(folder.path())?.logbook.runs.len(), demo.runs.len() + 1);
///
/// // A row that would not read back is refused, with what would be right.
/// let Err(AppendError::Refused { problems, .. }) = run("filthy") else {
///     return Err("it was written".into());
/// };
/// assert_eq!(problems[0].column, "dirt");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn append_row(
    folder: &Path,
    file: LogFile,
    cells: &[(&str, String)],
    today: Date,
) -> Result<Line, AppendError> {
    // Looked at before the lock, which would make the folder.
    load(folder)?;
    let locked = LogFolder::lock(folder)?;
    let (mut texts, after, line) = with_row_read(folder, file, cells)?;
    let days = impossible_days(&after.logbook, today);
    let own = |day: &&ImpossibleDay| day.file == file && day.line == line && is_refused(day);
    if let Some(day) = days.iter().find(own) {
        let problems = vec![of_day(day, &texts)];
        return Err(AppendError::Refused { file, problems });
    }
    let bytes = texts.remove(&file).unwrap_or_default();
    locked.replace(file.name(), &bytes)?;
    Ok(line)
}

/// The log as it would read with one more row, and the line of that row; nothing is written.
///
/// # Errors
///
/// Those of [`append_row`] but for what goes wrong in writing.
pub fn read_with_row(
    folder: &Path,
    file: LogFile,
    cells: &[(&str, String)],
) -> Result<(Reading, Line), AppendError> {
    let (_, after, line) = with_row_read(folder, file, cells)?;
    Ok((after, line))
}

/// The texts of the log with one more row, how they read, and the line of that row.
fn with_row_read(
    folder: &Path,
    file: LogFile,
    cells: &[(&str, String)],
) -> Result<(LogTexts, Reading, Line), AppendError> {
    let mut texts = load(folder)?;
    let before = read_texts(&texts);
    let (bytes, line) = with_row(file, &texts, cells)?;
    texts.insert(file, bytes);
    let after = read_texts(&texts);
    accept(file, line, &before, &after)?;
    Ok((texts, after, line))
}

/// The file's bytes with the row behind them, and the line that the row starts in.
fn with_row(
    file: LogFile,
    texts: &LogTexts,
    cells: &[(&str, String)],
) -> Result<(Vec<u8>, Line), AppendError> {
    let mut bytes = texts.get(&file).cloned().unwrap_or_default();
    if scan(file, &bytes).rows.is_empty() {
        bytes.extend_from_slice(text::empty(file).as_bytes());
    }
    let ending = line_ending(&bytes);
    if !bytes.ends_with(b"\n") && !bytes.ends_with(b"\r") {
        bytes.extend_from_slice(ending.as_bytes());
    }
    let row = row_text(file, &scan(file, &bytes), cells)?;
    let line = lines_in(&bytes) + 1;
    bytes.extend_from_slice(row.trim_end_matches('\n').as_bytes());
    bytes.extend_from_slice(ending.as_bytes());
    Ok((bytes, Line(line)))
}

fn scan(file: LogFile, bytes: &[u8]) -> Sheet<'_> {
    Sheet::scan(bytes, |header| file.is_one_line(header))
}

/// The row in the order of the file's own header.
fn row_text(
    file: LogFile,
    sheet: &Sheet<'_>,
    cells: &[(&str, String)],
) -> Result<String, AppendError> {
    let header = sheet.rows.first().map_or(&[][..], |row| &row.cells);
    let names: Vec<String> = header
        .iter()
        .map(|cell| String::from_utf8_lossy(&cell.bytes).trim().to_owned())
        .collect();
    let mut row = vec![String::new(); names.len()];
    for (column, given) in cells.iter().filter(|(_, given)| !given.is_empty()) {
        let place = place_of(file, column, &names).and_then(|at| row.get_mut(at));
        let Some(cell) = place else {
            return Err(AppendError::NoColumn {
                file,
                column: (*column).to_owned(),
                given: given.clone(),
            });
        };
        *cell = in_the_way_of(sheet, column, given);
    }
    Ok(text::line(&row, sheet.separator))
}

fn place_of(file: LogFile, column: &str, names: &[String]) -> Option<usize> {
    let known: &Column = file.columns().iter().find(|known| known.name == column)?;
    names.iter().position(|name| known.is_called(name))
}

fn in_the_way_of(sheet: &Sheet<'_>, column: &str, given: &str) -> String {
    let plain = given.chars().all(|it| it.is_ascii_digit() || it == '.');
    if sheet.separator == b';' && plain && NUMBERS.contains(&column) {
        given.replace('.', ",")
    } else {
        given.to_owned()
    }
}

fn line_ending(bytes: &[u8]) -> &'static str {
    if bytes.windows(2).any(|pair| pair == b"\r\n") {
        "\r\n"
    } else {
        "\n"
    }
}

/// Line endings, each of CR, LF and CR LF counting once.
fn lines_in(bytes: &[u8]) -> u64 {
    let ends =
        |at: usize, byte: u8| byte == b'\n' || (byte == b'\r' && bytes.get(at + 1) != Some(&b'\n'));
    let count = bytes
        .iter()
        .enumerate()
        .filter(|(at, byte)| ends(*at, **byte))
        .count();
    count as u64
}

/// The row must be one more row used, without a problem of its own.
fn accept(file: LogFile, line: Line, before: &Reading, after: &Reading) -> Result<(), AppendError> {
    let own = |problem: &&Problem| problem.file == file && problem.line == line;
    let mut problems: Vec<Problem> = after.problems.iter().filter(own).cloned().collect();
    if problems.is_empty() && used(after, file) == used(before, file) + 1 {
        return Ok(());
    }
    if problems.is_empty() {
        let of_file = |problem: &&Problem| problem.file == file;
        problems = after.problems.iter().filter(of_file).cloned().collect();
    }
    Err(AppendError::Refused { file, problems })
}

/// A job of some days, or a week, may stand in one row under its last day: [`impossible_days`] notes it and it
/// counts. What is longer is a slip.
const HOURS_OF_A_WEEK: f64 = 168.0;

fn is_refused(day: &ImpossibleDay) -> bool {
    match &day.fault {
        DayFault::ToCome { .. } => true,
        DayFault::TooLong { hours, .. } => hours.get() > HOURS_OF_A_WEEK,
    }
}

/// A day that cannot be, as a problem in its row.
fn of_day(day: &ImpossibleDay, texts: &LogTexts) -> Problem {
    let (columns, wanted): (&[&str], String) = match &day.fault {
        DayFault::ToCome { today } => (
            &["date"],
            format!("a day up to today, {today}: the log holds what has been done"),
        ),
        DayFault::TooLong { .. } => (
            &["hours", "meter end"],
            format!(
                "at most a week's 168 hours under one day: {day}; give each day a row of its own"
            ),
        ),
    };
    let file = day.file;
    let bytes = texts.get(&file).cloned().unwrap_or_default();
    let sheet = scan(file, &bytes);
    let names: Vec<String> = sheet.rows.first().map_or(Vec::new(), |header| {
        let cells = header.cells.iter();
        cells
            .map(|cell| String::from_utf8_lossy(&cell.bytes).trim().to_owned())
            .collect()
    });
    let row = sheet.rows.iter().find(|row| Line(row.line) == day.line);
    let cell = |column: &&&str| {
        let cell = row?.cells.get(place_of(file, column, &names)?)?;
        let found = String::from_utf8_lossy(&cell.bytes).trim().to_owned();
        (!found.is_empty()).then(|| (found, sheet.shown(&cell.place)))
    };
    let (column, (found, (row, mark))) = columns
        .iter()
        .find_map(|column| Some((*column, cell(&column)?)))
        .unwrap_or_default();
    Problem {
        file,
        line: day.line,
        column: column.to_owned(),
        found,
        wanted,
        row,
        mark,
    }
}

fn used(reading: &Reading, file: LogFile) -> usize {
    reading
        .files
        .iter()
        .filter(|count| count.file == file)
        .map(|count| count.rows - count.set_aside)
        .sum()
}
