//! A list of jobs to come.

use super::cells::{Ways, hours, loads};
use super::row::RowReader;
use super::runs::{contamination, state};
use super::table::read_rows;
use super::woods::Woods;
use super::{JobListError, LogbookError};
use crate::logbook::{JobLength, JobToCome, LogFile, RowKey, ShopSettings};
use std::path::Path;

/// Reads a list of jobs, written as the shop writes its log. One bad row is an error: a plan with a job
/// missing would be a wrong one.
///
/// # Errors
///
/// [`JobListError::Unreadable`] where the system will not hand the file out, [`JobListError::Rows`] with
/// everything that is wrong in it, [`JobListError::Empty`] where it lists no job.
pub fn read_job_list(path: &Path, shop: &ShopSettings) -> Result<Vec<JobToCome>, JobListError> {
    let bytes = std::fs::read(path).map_err(|source| {
        JobListError::Unreadable(LogbookError::Unreadable {
            path: path.to_owned(),
            source,
        })
    })?;
    let ways = Ways {
        units: shop.units,
        dates: shop.dates,
        comma_decimal: false,
    };
    let woods = Woods::default();
    let (jobs, reading) = read_rows(LogFile::Jobs, &bytes, ways, |row| {
        job(row, &woods).map(|job| (RowKey::Line(job.line), job))
    });
    let path = path.to_owned();
    if !reading.problems.is_empty() {
        return Err(JobListError::Rows {
            path,
            problems: reading.problems,
        });
    }
    if jobs.is_empty() {
        return Err(JobListError::Empty { path });
    }
    Ok(jobs)
}

fn job(row: &mut RowReader<'_>, woods: &Woods) -> Option<JobToCome> {
    let name = row.required("name", "what the job is called", |text| Ok(text.to_owned()));
    let length = length(row);
    let wood = woods.of(row);
    let contamination = contamination(row);
    let state = state(row);
    Some(JobToCome {
        line: row.line(),
        name: name?,
        length: length?,
        wood,
        contamination,
        state,
    })
}

/// Hours, or loads.
fn length(row: &mut RowReader<'_>) -> Option<JobLength> {
    let ways = row.ways;
    let time = row.optional("hours", |text| {
        hours(text, ways).and_then(|hours| {
            let wanted = "hours above zero, such as 3.5".to_owned();
            (hours.get() > 0.0).then_some(hours).ok_or(wanted)
        })
    });
    let carried = row.optional("loads", |text| {
        loads(text, ways).and_then(|loads| {
            let wanted = "loads above zero, such as 2 or 1.5".to_owned();
            (loads > 0.0).then_some(loads).ok_or(wanted)
        })
    });
    match (row.text("hours").is_empty(), row.text("loads").is_empty()) {
        (false, true) => time.map(JobLength::Hours),
        (true, false) => carried.map(JobLength::Loads),
        (true, true) => {
            row.fault("hours", "meter hours, such as 3.5, or loads".into());
            None
        }
        (false, false) => {
            row.fault("loads", "hours or loads, not both".into());
            None
        }
    }
}
