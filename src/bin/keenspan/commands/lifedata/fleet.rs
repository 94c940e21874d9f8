//! Lives whose conditions change, of tables too large to hold every run or to draw from.

use super::segments::{Segments, read_priors};
use crate::answer::{ANSWERED, Answer, NO_ANSWER};
use crate::failure::Failure;
use crate::progress::Progress;
use crate::settings::Settings;
use crate::words::PosteriorWord;
use keenspan::lives::{EdgeHours, fleet_hours};
use keenspan::logbook::{has_lines, read_edge_hours, write};
use keenspan::views::{
    FittedEdges, GroupColumn, GroupTable, PosteriorRow, PosteriorSummary, PosteriorTable, View,
};
use keenspan::wear::{FLEET_FROM, FLEET_PASSES, FleetFit, FleetRow, GroupLife, WearError};
use std::path::Path;

/// Tables of so many edges are not drawn from in any time that somebody waits.
const DRAWN_UP_TO: usize = 50_000;

impl Segments {
    /// The answer for a large table; nothing for one that draws can be made for, or where those are asked for.
    pub fn fleet(&self, edges: &Path, settings: &Settings) -> Result<Option<Answer>, Failure> {
        let (Some(runs), Some(priors)) = (&self.runs, &self.priors) else {
            return Ok(None);
        };
        if !matches!(self.posterior, PosteriorWord::Auto) || !has_lines(edges, FLEET_FROM) {
            return Ok(None);
        }
        let size = |file: &Path| std::fs::metadata(file).map_or(0, |it| it.len());
        let reading = Progress::in_doing("reading", size(edges) + size(runs));
        let read = |bytes: u64| reading.more(bytes);
        let table = read_edge_hours(edges, runs, self.group.as_deref(), &read)?;
        drop(reading);
        // Lines may be blank.
        if table.edges_found() < FLEET_FROM {
            return Ok(None);
        }
        let priors = read_priors(priors, &table.covariate_names)?;
        let fitted = fitted_edges(&table);
        let fitting = Progress::in_doing("fitting", FLEET_PASSES as u64);
        let fit = match FleetFit::new(fleet_hours(table), &priors, &|| fitting.more(1)) {
            // Groups of one edge have no top together with their effects: draws do without.
            Err(WearError::NotSettled { .. }) if fitted.found < DRAWN_UP_TO => return Ok(None),
            fit => fit?,
        };
        drop(fitting);
        let mut summary = summary(&fit);
        if let (Some(file), Some((name, _))) = (&self.by_group, &fitted.group) {
            if fit.is_trustworthy() {
                write_groups(file, name, fit.groups())?;
            } else {
                let unwritten = format!("So nothing is written to {}.", file.display());
                summary.warnings.push(unwritten);
            }
        }
        let table = PosteriorTable {
            edges: fitted,
            summary,
        };
        Ok(Some(Answer {
            command: "lifedata",
            words: table.text(),
            fields: table.json(),
            warnings: table.warnings(),
            units: settings.units.unwrap_or_default(),
            status: if fit.is_trustworthy() {
                ANSWERED
            } else {
                NO_ANSWER
            },
        }))
    }
}

/// Writes what is known of each group of which any edge was used.
pub(super) fn write_groups(file: &Path, group: &str, groups: &[GroupLife]) -> Result<(), Failure> {
    let used: Vec<GroupLife> = groups.iter().filter(|it| it.edges > 0).cloned().collect();
    let table = GroupTable {
        group,
        groups: &used,
    };
    let written = if is_named_parquet(file) {
        let columns = table.columns().into_iter();
        let columns: Vec<_> = columns.map(|(name, it)| (name, values(it))).collect();
        write::write_parquet(file, &columns)
    } else {
        write::write_text_file(file, &table.csv())
    };
    written.map_err(|error| Failure::Usage(error.to_string()))
}

fn is_named_parquet(file: &Path) -> bool {
    file.extension()
        .is_some_and(|it| it.eq_ignore_ascii_case("parquet"))
}

fn values(column: GroupColumn) -> write::ParquetValues {
    match column {
        GroupColumn::Texts(texts) => write::ParquetValues::Texts(texts),
        GroupColumn::Counts(counts) => write::ParquetValues::Counts(counts),
        GroupColumn::Numbers(numbers, _) => write::ParquetValues::Numbers(numbers),
    }
}

fn summary(fit: &FleetFit) -> PosteriorSummary {
    let [below, above] = fit.fall();
    let fell = format!(
        "two standard deviations away the log density falls by {below:.2} and {above:.2}, that of a normal law by 2"
    );
    let trusted = fit.is_trustworthy();
    let doubt = format!(
        "The posterior is far from a normal law, which stands for it here: {fell}. --posterior nuts samples it"
    );
    let row = |row: &FleetRow| PosteriorRow {
        name: row.name.clone(),
        mean: row.mean,
        sd: row.sd,
        q05: row.quantiles[0],
        q50: row.quantiles[1],
        q95: row.quantiles[2],
        rhat: None,
        ess: None,
    };
    PosteriorSummary {
        method: "integrated".to_string(),
        checked: Some(fell),
        warnings: if trusted { Vec::new() } else { vec![doubt] },
        rows: fit.rows().iter().map(row).collect(),
        ..PosteriorSummary::default()
    }
}

/// What the answer says of the table itself.
pub(super) fn fitted_edges(table: &EdgeHours) -> FittedEdges {
    let aside = table.set_aside.iter();
    let levels = table.levels.len();
    FittedEdges {
        found: table.edges_found(),
        set_aside: aside
            .map(|edge| (edge.id.clone(), edge.reason.to_string()))
            .collect(),
        runs: table.runs,
        covariates: table.covariate_names.clone(),
        group: table.group_name.clone().map(|name| (name, levels)),
        unused_columns: table.unused_columns.clone(),
    }
}
