//! Fits any censored life table, so that anybody can check the numerics.

mod fleet;
mod segments;

use crate::answer::{ANSWERED, Answer, NO_ANSWER};
use crate::commands::snippet;
use crate::failure::Failure;
use crate::settings::Settings;
use clap::{Args, ValueEnum};
use keenspan::logbook::{LifeTableBlock, LifeTableFile, LifeTableReadError, read_life_table};
use keenspan::quantities::Level;
use keenspan::views::{LifeTableAnswer, LifeTableQuestion, View};
use keenspan::wear::{
    Bounds, Distribution, Family, LifeBlock, LifeColumns, LifeRows, LifeTableError, LifeTableFit,
};
use std::path::PathBuf;
use std::sync::Arc;

/// Fit a censored life table by maximum likelihood, or lives whose conditions change from run to run
///
/// FILE is a CSV or Parquet table with the columns lower and upper (a life ended within lower to upper: upper blank
/// or inf where it was not seen to end, lower blank or 0 where nothing is known before upper, both equal
/// where it is known exactly), and if need be weight (how many such lives) and entry (age at which it
/// came into view). Log-time convention: ln T = intercept + covariates x coefficients + sigma W, so that a
/// positive coefficient lasts longer. Exit status 3 where the table has no maximum-likelihood answer.
///
/// With --segments, FILE holds edges and RUNS what each of them went through; the answer is the posterior of
/// the whole hierarchical model under the priors of --priors. There a positive coefficient wears faster. Tables
/// of 10,000 edges and more are read as a stream and fitted without draws, unless --posterior nuts.
#[derive(Debug, Args)]
pub struct Lifedata {
    /// The table
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Law of life
    #[arg(long, value_name = "NAME", default_value = "weibull")]
    distribution: DistributionWord,
    /// Columns that life depends on, with commas between
    #[arg(long, value_name = "NAMES", value_delimiter = ',')]
    covariates: Vec<String>,
    /// Share of cases that bounds are meant to hold
    #[arg(long, value_name = "SHARE", default_value_t = 0.95, value_parser = level)]
    level: f64,
    /// Covariates at which ages are wanted, such as a=1,b=2; zero where not given
    #[arg(long, value_name = "VALUES", value_delimiter = ',', value_parser = assignment)]
    at: Vec<(String, f64)>,
    /// How bounds are found
    #[arg(long, value_name = "KIND", default_value = "wald")]
    bounds: BoundsWord,
    #[command(flatten)]
    segments: segments::Segments,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum DistributionWord {
    Weibull,
    Lognormal,
    Loglogistic,
    Exponential,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum BoundsWord {
    /// Estimate and standard error on the log
    Wald,
    /// Where the likelihood has fallen by the chi-squared quantile
    LikelihoodRatio,
}

impl DistributionWord {
    fn meaning(self) -> (&'static str, Distribution) {
        let free = |family: Family| {
            (
                family.word(),
                Distribution {
                    family,
                    fixed_sigma: None,
                },
            )
        };
        match self {
            Self::Weibull => free(Family::Weibull),
            Self::Lognormal => free(Family::Lognormal),
            Self::Loglogistic => free(Family::Loglogistic),
            Self::Exponential => (
                "exponential",
                Distribution {
                    family: Family::Weibull,
                    fixed_sigma: Some(1.0),
                },
            ),
        }
    }
}

impl From<BoundsWord> for Bounds {
    fn from(word: BoundsWord) -> Self {
        match word {
            BoundsWord::Wald => Bounds::Wald,
            BoundsWord::LikelihoodRatio => Bounds::LikelihoodRatio,
        }
    }
}

fn level(text: &str) -> Result<f64, String> {
    let wanted = || "write a share between 0 and 1, such as 0.95".to_string();
    let share: f64 = text.parse().map_err(|_| wanted())?;
    Level::new(share).map(Level::get).map_err(|_| wanted())
}

fn assignment(text: &str) -> Result<(String, f64), String> {
    let parsed = text.split_once('=').and_then(|(name, value)| {
        let value: f64 = value.trim().parse().ok()?;
        value.is_finite().then(|| (name.trim().to_string(), value))
    });
    parsed.ok_or_else(|| "write name=number, such as voltage=250".to_string())
}

impl Lifedata {
    pub fn execute(&self, settings: &Settings) -> Result<Answer, Failure> {
        if let Some(answer) = self.segments.fleet(&self.file, settings)? {
            return Ok(answer);
        }
        if let Some(question) = self.segments.question(&self.file)? {
            return question.answer(settings);
        }
        self.check_covariates()?;
        let file = read_life_table(&self.file, &self.covariates, sorted)?;
        let (name, distribution) = self.distribution.meaning();
        let question = LifeTableQuestion {
            distribution: name,
            bounds: self.bounds.into(),
            level: Level::new(self.level).map_err(|error| Failure::Usage(error.to_string()))?,
            at: self.point()?,
            warnings: unused(&file),
        };
        let table = Arc::new(table(file)?);
        let outcome = match LifeTableFit::of_columns(&table, distribution) {
            Ok(fit) => Ok(fit),
            Err(LifeTableError::NoMaximum(flat)) => Err(flat),
            Err(error) => return Err(Failure::NoTrustworthyAnswer(error.to_string())),
        };
        let answer = LifeTableAnswer::new(&table, question, outcome);
        Ok(Answer {
            command: "lifedata",
            words: answer.text(),
            fields: answer.json(),
            warnings: answer.warnings(),
            units: settings.units.unwrap_or_default(),
            status: if answer.is_answered() {
                ANSWERED
            } else {
                NO_ANSWER
            },
        })
    }

    fn check_covariates(&self) -> Result<(), Failure> {
        let outcome = ["lower", "upper", "weight", "entry"];
        if let Some(name) = self
            .covariates
            .iter()
            .find(|name| outcome.contains(&name.as_str()))
        {
            return Err(Failure::Usage(format!(
                "\"{name}\" says when lives ended; it cannot be a covariate of them"
            )));
        }
        let twice =
            |name: &&String| self.covariates.iter().filter(|other| other == name).count() > 1;
        match self.covariates.iter().find(twice) {
            Some(name) => Err(Failure::Usage(format!(
                "--covariates names \"{name}\" twice"
            ))),
            None => Ok(()),
        }
    }

    /// The covariates of `--at`, in the order of `--covariates`.
    fn point(&self) -> Result<Vec<f64>, Failure> {
        if let Some((name, _)) = self
            .at
            .iter()
            .find(|(name, _)| !self.covariates.contains(name))
        {
            return Err(Failure::Usage(format!(
                "--at names \"{name}\", which is not among --covariates {}",
                self.covariates.join(",")
            )));
        }
        let value = |name: &String| {
            self.at
                .iter()
                .find(|(given, _)| given == name)
                .map_or(0.0, |(_, value)| *value)
        };
        Ok(self.covariates.iter().map(value).collect())
    }
}

/// A piece of the file as a piece of the table.
fn sorted(block: LifeTableBlock) -> Result<LifeBlock, usize> {
    LifeBlock::sorted(&LifeRows {
        lower: &block.lower,
        upper: &block.upper,
        weight: block.weight.as_deref(),
        entry: block.entry.as_deref(),
        covariates: &block.covariates,
    })
}

/// The whole table.
fn table(file: LifeTableFile<Result<LifeBlock, usize>>) -> Result<LifeColumns, Failure> {
    let blocks: Result<Vec<LifeBlock>, usize> = file.blocks.into_iter().collect();
    let blocks = blocks.map_err(|_| Failure::Log("a row cannot be a life".to_string()))?;
    Ok(LifeColumns::new(file.covariate_names, blocks))
}

fn unused<T>(file: &LifeTableFile<T>) -> Vec<String> {
    if file.unused.is_empty() {
        return Vec::new();
    }
    let names = file.unused.join(",");
    vec![format!(
        "Columns not used: {names}. Name those that life depends on: --covariates {names}"
    )]
}

impl From<LifeTableReadError> for Failure {
    fn from(error: LifeTableReadError) -> Self {
        match error {
            LifeTableReadError::Rows { file, problems } => {
                let lines: Vec<String> = problems
                    .iter()
                    .map(|problem| {
                        let row = snippet::of_table(&file, problem.line, &problem.column);
                        format!("{}: {problem}{row}", file.display())
                    })
                    .collect();
                Self::Log(lines.join("\n"))
            }
            LifeTableReadError::UnknownCovariate { .. } => Self::Usage(error.to_string()),
            other => Self::Log(other.to_string()),
        }
    }
}
