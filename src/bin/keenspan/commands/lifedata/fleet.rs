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
    FittedEdges, GroupTable, PosteriorRow, PosteriorSummary, PosteriorTable, View,
};
use keenspan::wear::{FLEET_FROM, FLEET_PASSES, FleetFit, FleetRow, GroupLife};
use std::path::Path;

impl Segments {
    /// The answer for a large table; nothing for one that draws can be made for, or where chains are asked for.
    pub fn fleet(&self, edges: &Path, settings: &Settings) -> Result<Option<Answer>, Failure> {
        let (Some(runs), Some(priors)) = (&self.runs, &self.priors) else {
            return Ok(None);
        };
        if matches!(self.posterior, PosteriorWord::Nuts) || !has_lines(edges, FLEET_FROM) {
            return Ok(None);
        }
        let size = |file: &Path| std::fs::metadata(file).map_or(0, |it| it.len());
        let reading = Progress::in_doing("reading", size(edges) + size(runs));
        let read = |bytes: u64| reading.more(bytes);
        let table = read_edge_hours(edges, runs, self.group.as_deref(), &read)?;
        drop(reading);
        let priors = read_priors(priors, &table.covariate_names)?;
        let fitted = fitted_edges(&table);
        let fitting = Progress::in_doing("fitting", FLEET_PASSES as u64);
        let fit = FleetFit::new(fleet_hours(table), &priors, &|| fitting.more(1))?;
        drop(fitting);
        if let (Some(file), Some((name, _))) = (&self.by_group, &fitted.group) {
            write_groups(file, name, fit.groups())?;
        }
        let table = PosteriorTable {
            edges: fitted,
            summary: summary(&fit),
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

/// Writes what is known of each group.
pub(super) fn write_groups(file: &Path, group: &str, groups: &[GroupLife]) -> Result<(), Failure> {
    let table = GroupTable { group, groups };
    let written = write::write_text_file(file, &table.csv());
    written.map_err(|error| Failure::Usage(error.to_string()))
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

fn fitted_edges(table: &EdgeHours) -> FittedEdges {
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
