//! Lives whose conditions change from run to run: everything around the fit of the whole model.

use super::fleet::fitted_edges;
use crate::answer::{ANSWERED, Answer, NO_ANSWER};
use crate::commands::snippet;
use crate::failure::Failure;
use crate::progress::Progress;
use crate::settings::Settings;
use crate::words::PosteriorWord;
use clap::Args;
use keenspan::lives::{EdgeHours, Observation, run_lives};
use keenspan::logbook::{EdgeRuns, EdgeRunsProblem, EdgeRunsReadError, read_edge_runs};
use keenspan::quantities::MeterHours;
use keenspan::views::{FittedEdges, PosteriorRow, PosteriorSummary, PosteriorTable, View};
use keenspan::wear::{EdgeRecords, SampleSettings, StrikesMet, Summary, WholeFit, WholePriors};
use std::path::{Path, PathBuf};

/// What is typed for lives whose conditions change.
#[derive(Debug, Args)]
pub struct Segments {
    /// Runs of the edges in FILE: edge_id, run, hours, and covariates of the wear rate. FILE then has
    /// edge_id, kind (exact, interval, left, right), sharp_run, dull_run and if need be struck; the answer
    /// is the posterior of a Weibull life with a rate that changes from run to run
    #[arg(
        long = "segments",
        value_name = "RUNS",
        requires = "priors",
        conflicts_with_all = ["covariates", "at", "bounds", "level", "distribution"]
    )]
    pub(super) runs: Option<PathBuf>,
    /// Column of FILE that says what edges share, such as the machine
    #[arg(long, value_name = "COLUMN", requires = "runs")]
    pub(super) group: Option<String>,
    /// Table to write: one line for each machine (or what --group names) with its edges, what it adds to the log of
    /// life, and its median life in hours in reference conditions, each with bounds; Parquet where FILE ends so, else
    /// CSV
    #[arg(long, value_name = "FILE", requires = "group")]
    pub(super) by_group: Option<PathBuf>,
    /// Priors of the model that --segments fits
    #[arg(long, value_name = "FILE", requires = "runs")]
    pub(super) priors: Option<PathBuf>,
    /// How the posterior is found
    #[arg(long, value_name = "METHOD", default_value = "auto", requires = "runs")]
    pub(super) posterior: PosteriorWord,
}

/// Everything that the fit needs, and what is said of it beside.
#[derive(Debug)]
pub struct WholeQuestion {
    /// The edges.
    pub records: EdgeRecords,
    /// What was seen of each.
    pub observations: Vec<Observation>,
    /// Edges that a strike ended.
    pub strikes: usize,
    /// Hours in which strikes could have come.
    pub hours: MeterHours,
    /// The priors, coefficients in the order of the covariates.
    pub priors: WholePriors,
    /// How the posterior is to be found.
    pub method: PosteriorWord,
    edges: FittedEdges,
    /// Where each group is to be told, and name and number of edges of each.
    by_group: Option<(PathBuf, Vec<(String, usize)>)>,
}

impl Segments {
    /// The question, where one was asked; `edges` is FILE.
    pub fn question(&self, edges: &Path) -> Result<Option<WholeQuestion>, Failure> {
        let (Some(runs), Some(priors)) = (&self.runs, &self.priors) else {
            return Ok(None);
        };
        let table = read_edge_runs(edges, runs, self.group.as_deref())?;
        let priors = read_priors(priors, &table.covariate_names)?;
        if table.edges.is_empty() {
            let reason = "no edge has run any hours: there is nothing to fit";
            return Err(Failure::NoTrustworthyAnswer(reason.to_string()));
        }
        let lives = run_lives(&table);
        let (records, observations) = EdgeRecords::from_run_lives(&lives);
        Ok(Some(WholeQuestion {
            records,
            observations,
            strikes: lives.strikes,
            hours: lives.hours,
            priors,
            method: self.posterior,
            edges: fitted_edges(&EdgeHours::of(&table)),
            by_group: self.by_group.clone().map(|file| (file, groups(&table))),
        }))
    }
}

impl WholeQuestion {
    /// The posterior, shown.
    pub fn answer(self, settings: &Settings) -> Result<Answer, Failure> {
        let sampling = SampleSettings {
            method: self.method.into(),
            seed: settings.seed,
            ..SampleSettings::default()
        };
        let met = StrikesMet {
            strikes: self.strikes,
            hours: self.hours,
        };
        let progress = Progress::of(sampling.chains.total());
        let fit = WholeFit::new(
            &self.records,
            &self.observations,
            met,
            &self.priors,
            sampling,
            &|draws| progress.done(draws),
        )?;
        if let (Some((file, groups)), Some((name, _))) = (&self.by_group, &self.edges.group)
            && fit.health().is_trustworthy()
        {
            super::fleet::write_groups(file, name, &fit.groups(groups))?;
        }
        let table = PosteriorTable {
            edges: self.edges,
            summary: summary(&fit),
        };
        Ok(Answer {
            command: "lifedata",
            words: table.text(),
            fields: table.json(),
            warnings: table.warnings(),
            units: settings.units.unwrap_or_default(),
            // What a weighted answer cannot be trusted for is no answer.
            status: if fit.health().is_trustworthy() {
                ANSWERED
            } else {
                NO_ANSWER
            },
        })
    }
}

fn summary(fit: &WholeFit) -> PosteriorSummary {
    let health = fit.health();
    let switched = health
        .switched
        .map(|doubt| format!("Sampled by chains instead of the quick way: {doubt}."));
    let doubts = health.doubts.iter().map(ToString::to_string);
    let row = |(name, summary): (String, Summary)| PosteriorRow {
        name,
        mean: summary.mean,
        sd: summary.spread,
        q05: summary.quantiles[0],
        q50: summary.quantiles[1],
        q95: summary.quantiles[2],
        rhat: summary.r_hat,
        ess: Some(summary.effective),
    };
    PosteriorSummary {
        method: health.method.to_string(),
        k_hat: health.k_hat,
        divergences: health.divergences,
        checked: None,
        warnings: switched.into_iter().chain(doubts).collect(),
        rows: fit.rows().into_iter().map(row).collect(),
    }
}

/// Name and number of edges of each level.
fn groups(table: &EdgeRuns) -> Vec<(String, usize)> {
    let edges = |level: usize| {
        table
            .edges
            .iter()
            .filter(|it| it.level == Some(level))
            .count()
    };
    let levels = table.levels.iter().enumerate();
    levels
        .map(|(level, name)| (name.clone(), edges(level)))
        .collect()
}

pub(super) fn read_priors(file: &Path, covariates: &[String]) -> Result<WholePriors, Failure> {
    let unusable = |error: String| Failure::Usage(format!("{}: {error}", file.display()));
    let text = std::fs::read_to_string(file).map_err(|error| unusable(error.to_string()))?;
    WholePriors::parse(&text)
        .and_then(|priors| priors.in_order_of(covariates))
        .map_err(|error| unusable(error.to_string()))
}

/// A column that is wrong from top to bottom has a million faults, nearly all of them alike.
const FAULTS_TOLD: usize = 20;

impl From<EdgeRunsReadError> for Failure {
    fn from(error: EdgeRunsReadError) -> Self {
        match error {
            EdgeRunsReadError::Group { .. } => Self::Usage(error.to_string()),
            EdgeRunsReadError::Faults { problems } => {
                let with_row = |it: &EdgeRunsProblem| {
                    format!("{it}{}", snippet::of_table(&it.file, it.line, &it.column))
                };
                let told = problems.iter().take(FAULTS_TOLD);
                let mut lines: Vec<String> = told.map(with_row).collect();
                if let Some(more) = problems.len().checked_sub(FAULTS_TOLD).filter(|it| *it > 0) {
                    lines.push(format!(
                        "... and {more} more cells that are wrong; mend these first"
                    ));
                }
                Self::Log(lines.join("\n"))
            }
            other => Self::Log(other.to_string()),
        }
    }
}

#[cfg(test)]
#[allow(clippy::expect_used, clippy::panic)] // a test may stop
mod tests {
    use super::*;
    use crate::commands::lifedata::Lifedata;
    use clap::Parser;

    #[derive(Debug, Parser)]
    struct Typed {
        #[command(flatten)]
        lifedata: Lifedata,
    }

    const PRIORS: &str = r#"
log_eta    = { mean = 2.70805, sd = 0.6 }
log_kappa  = { mean = 0.69315, sd = 0.3 }
beta       = [ { name = "frozen", mean = 0.2, sd = 0.3 }, { name = "hard", mean = 0.3, sd = 0.2 },
               { name = "dirt", mean = 0.7, sd = 0.4 } ]
sigma_b    = { half_normal = 0.3 }
log_lambda = { mean = -4.60517, sd = 1.0 }
"#;

    const HOURS: f64 = 1044.382267;

    fn typed(more: &[&str]) -> Result<Segments, String> {
        let words = [&["lifedata", "edges.csv"], more].concat();
        Typed::try_parse_from(words)
            .map(|typed| typed.lifedata.segments)
            .map_err(|error| error.to_string())
    }

    fn reference(name: &str) -> PathBuf {
        Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("tests/reference/changing_exposure")
            .join(name)
    }

    fn asked(priors: &str, group: &str) -> Result<Option<WholeQuestion>, Failure> {
        let file = tempfile::NamedTempFile::new().expect("a temporary file");
        std::fs::write(file.path(), priors).expect("a writable file");
        Segments {
            runs: Some(reference("runs.csv")),
            group: Some(group.to_string()),
            priors: Some(file.path().to_path_buf()),
            posterior: PosteriorWord::Auto,
            by_group: None,
        }
        .question(&reference("edges.csv"))
    }

    #[test]
    fn runs_need_priors_and_refuse_what_belongs_to_maximum_likelihood() {
        let both = ["--segments", "runs.csv", "--priors", "priors.toml"];
        let fine = typed(&both).expect("enough");
        assert_eq!(fine.posterior, PosteriorWord::Auto);
        assert!(
            typed(&both[..2])
                .expect_err("no priors")
                .contains("--priors")
        );
        let refused = [
            ["--bounds", "wald"],
            ["--at", "hard=1"],
            ["--covariates", "hard"],
            ["--level", "0.9"],
            ["--distribution", "weibull"],
        ];
        for [flag, value] in refused {
            let error = typed(&[&both[..], &[flag, value]].concat()).expect_err(flag);
            assert!(
                error.contains("cannot be used with") && error.contains(flag),
                "{error}"
            );
        }
        for [flag, value] in [
            ["--group", "machine"],
            ["--posterior", "nuts"],
            both_of(&both),
        ] {
            let error = typed(&[flag, value]).expect_err(flag);
            assert!(error.contains("--segments"), "{error}");
        }
        let plain = typed(&["--covariates", "hard", "--bounds", "wald"]).expect("a life table");
        assert!(
            plain
                .question(Path::new("edges.csv"))
                .expect("no question")
                .is_none()
        );
    }

    fn both_of<'a>(both: &[&'a str; 4]) -> [&'a str; 2] {
        [both[2], both[3]]
    }

    #[test]
    fn the_question_holds_every_edge_and_its_priors_in_the_order_of_the_covariates() {
        let question = asked(PRIORS, "machine")
            .expect("good files")
            .expect("a question");
        assert_eq!(question.records.edges.len(), 120);
        assert_eq!(question.observations.len(), 120);
        assert_eq!(question.records.groupings[0].levels, ["1", "2", "3"]);
        assert!(question.records.check().is_ok());
        assert_eq!(question.strikes, 11);
        // Added up in the runs file itself: awk -F, '{ h += $3 } END { print h }' runs.csv
        assert!(
            (question.hours.get() - HOURS).abs() < 1e-6,
            "{:?}",
            question.hours
        );
        assert_eq!(question.method, PosteriorWord::Auto);
        let names: Vec<&String> = question.priors.beta.iter().map(|(name, _)| name).collect();
        assert_eq!(names, ["hard", "dirt", "frozen"]);
        assert_eq!((question.edges.found, question.edges.runs), (120, 484));
    }

    #[test]
    fn what_the_fit_finds_is_answered_with_the_edges_that_it_stands_on() {
        let question = asked(PRIORS, "machine")
            .expect("good files")
            .expect("a question");
        let settings = Settings {
            log: PathBuf::new(),
            json: true,
            units: None,
            seed: 1,
        };
        let answer = question.answer(&settings).expect("an answer");
        assert_eq!(answer.fields["edges"]["used"], 120);
        assert_eq!(
            answer.fields["posterior"].as_array().map(Vec::len),
            Some(10)
        );
        assert!(
            answer.words.contains("for each machine (3)"),
            "{}",
            answer.words
        );
    }

    #[test]
    fn priors_that_do_not_match_and_unknown_groups_are_usage_errors_that_name_them() {
        let usage = |outcome| match outcome {
            Err(Failure::Usage(words)) => words,
            other => panic!("no usage error but {other:?}"),
        };
        let words = usage(asked(&PRIORS.replace("\"dirt\"", "\"soil\""), "machine"));
        assert!(words.contains("dirt") && words.contains("soil"), "{words}");
        let words = usage(asked(PRIORS, "crew"));
        assert!(
            words.contains("crew") && words.contains("machine, regime"),
            "{words}"
        );
    }
}
