//! A fitted life table, or why there is none.

use super::View;
use super::format::{four_digits, per_cent};
use crate::quantities::{Estimate, Level};
use crate::wear::{Bounds, Censoring, FlatDirection, LifeColumns, LifeTableFit};
use serde_json::{Map, Value, json};

/// A quantile of life.
#[derive(Debug, Clone, PartialEq)]
pub struct QuantileRow {
    /// Share ended by then.
    pub p: f64,
    /// The age.
    pub age: Estimate<Option<f64>>,
}

/// What `lifedata` answers.
///
/// # Examples
///
/// A table in which nothing ended has no maximum, and the answer says why.
///
/// ```
/// use keenspan::quantities::Level;
/// use keenspan::views::{LifeTableAnswer, LifeTableQuestion, View};
/// use keenspan::wear::{
///     Bounds, Distribution, Family, LifeColumns, LifeTable, LifeTableError, LifeTableFit, Lifetime,
/// };
///
/// let going = Lifetime { lower: 40.0, upper: f64::INFINITY, weight: 1.0, entry: 0.0 };
/// let table =
///     LifeTable { covariate_names: vec![], covariates: vec![vec![]], lives: vec![going] };
/// let weibull = Distribution { family: Family::Weibull, fixed_sigma: None };
/// let outcome = match LifeTableFit::new(&table, weibull) {
///     Ok(fit) => Ok(fit),
///     Err(LifeTableError::NoMaximum(direction)) => Err(direction),
///     Err(other) => return Err(other.into()),
/// };
/// let question = LifeTableQuestion {
///     distribution: "weibull",
///     bounds: Bounds::Wald,
///     level: Level::NINETY_FIVE,
///     at: vec![],
///     warnings: vec![],
/// };
/// let answer = LifeTableAnswer::new(&LifeColumns::of(&table)?, question, outcome);
/// assert!(!answer.is_answered() && !answer.text().is_empty());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct LifeTableAnswer {
    distribution: &'static str,
    rows: usize,
    weight_total: f64,
    kinds: Vec<(Censoring, f64)>,
    bounds: Bounds,
    level: Level,
    at: Vec<(String, f64)>,
    outcome: Result<Fitted, FlatDirection>,
    names: Vec<String>,
    warnings: Vec<String>,
}

#[derive(Debug, Clone)]
struct Fitted {
    log_likelihood: f64,
    estimates: Vec<f64>,
    standard_errors: Vec<f64>,
    covariance: Vec<Vec<f64>>,
    shape: Estimate<Option<f64>>,
    shape_is_fixed: bool,
    scale: Estimate<Option<f64>>,
    quantiles: Vec<QuantileRow>,
}

/// The quantiles that are shown.
const SHARES: [f64; 5] = [0.01, 0.05, 0.1, 0.5, 0.9];

/// What was asked of a life table.
#[derive(Debug, Clone, PartialEq)]
pub struct LifeTableQuestion {
    /// Name of the distribution, as asked for.
    pub distribution: &'static str,
    /// How bounds are found.
    pub bounds: Bounds,
    /// At which level.
    pub level: Level,
    /// Covariates at which quantiles are wanted, in the table's order.
    pub at: Vec<f64>,
    /// What the reader of the file noticed.
    pub warnings: Vec<String>,
}

impl LifeTableAnswer {
    /// Gathers what is shown of a fit, or of the reason that there is none.
    pub fn new(
        table: &LifeColumns,
        question: LifeTableQuestion,
        outcome: Result<LifeTableFit, FlatDirection>,
    ) -> Self {
        let mut names = vec!["intercept".to_string()];
        names.extend(table.names().iter().cloned());
        names.extend((question.distribution != "exponential").then(|| "log_sigma".to_string()));
        let LifeTableQuestion {
            distribution,
            bounds,
            level,
            at,
            mut warnings,
        } = question;
        let outcome = outcome.map(|fit| Fitted::new(&fit, bounds, level, &at));
        match &outcome {
            Err(flat) => warnings.push(flat.to_string()),
            Ok(fitted) if fitted.has_open_bound() => warnings.push(
                "Some bounds are missing: the likelihood does not fall far enough on that side to close them.".to_string(),
            ),
            Ok(_) => {}
        }
        Self {
            distribution,
            rows: table.rows(),
            weight_total: table.weight_total(),
            kinds: kinds(table),
            bounds,
            level,
            at: table.names().iter().cloned().zip(at).collect(),
            outcome,
            names,
            warnings,
        }
    }

    /// Whether there is an answer.
    pub fn is_answered(&self) -> bool {
        self.outcome.is_ok()
    }

    fn heading(&self) -> String {
        let kinds: Vec<String> = self
            .kinds
            .iter()
            .map(|(kind, weight)| {
                let word = match kind {
                    Censoring::Exact => "exact",
                    Censoring::Right => "right-censored",
                    Censoring::Left => "left-censored",
                    Censoring::Interval => "interval-censored",
                };
                format!("{weight} {word}")
            })
            .collect();
        format!(
            "{}: {} rows, {} lives ({})",
            self.distribution,
            self.rows,
            self.weight_total,
            kinds.join(", ")
        )
    }

    fn bounds_words(&self) -> String {
        let how = match self.bounds {
            Bounds::Wald => "Wald on the log",
            Bounds::LikelihoodRatio => "likelihood ratio",
        };
        format!("{} bounds, {how}", per_cent(self.level.get()))
    }
}

fn kinds(table: &LifeColumns) -> Vec<(Censoring, f64)> {
    [
        Censoring::Exact,
        Censoring::Right,
        Censoring::Left,
        Censoring::Interval,
    ]
    .into_iter()
    .map(|kind| (kind, table.weight_of(kind)))
    .filter(|(_, weight)| *weight > 0.0)
    .collect()
}

impl Fitted {
    fn new(fit: &LifeTableFit, bounds: Bounds, level: Level, at: &[f64]) -> Self {
        let covariance = fit.covariance();
        Self {
            log_likelihood: fit.log_likelihood(),
            estimates: fit.estimates().to_vec(),
            standard_errors: (0..fit.estimates().len())
                .map(|i| fit.standard_error(i))
                .collect(),
            covariance: covariance
                .row_iter()
                .map(|row| row.iter().copied().collect())
                .collect(),
            shape: fit.shape(level, bounds),
            shape_is_fixed: fit.shape_is_fixed(),
            scale: fit.scale(level, bounds),
            quantiles: SHARES
                .map(|p| QuantileRow {
                    p,
                    age: fit.quantile(p, at, level, bounds),
                })
                .to_vec(),
        }
    }

    fn has_open_bound(&self) -> bool {
        let open =
            |estimate: &Estimate<Option<f64>>| estimate.lower.is_none() || estimate.upper.is_none();
        open(&self.shape) || open(&self.scale) || self.quantiles.iter().any(|row| open(&row.age))
    }
}

fn bound(value: Option<f64>) -> String {
    value.map_or("open".to_string(), four_digits)
}

fn row(name: &str, estimate: &Estimate<Option<f64>>) -> String {
    format!(
        "{name:<14}{:>12}   {} to {}\n",
        bound(estimate.point),
        bound(estimate.lower),
        bound(estimate.upper)
    )
}

impl View for LifeTableAnswer {
    fn text(&self) -> String {
        let mut text = format!("{}\n", self.heading());
        let Ok(fitted) = &self.outcome else {
            self.warnings
                .iter()
                .for_each(|warning| text.push_str(&format!("\n{warning}\n")));
            return text;
        };
        text.push_str(&format!("log-likelihood {:.6}\n\n", fitted.log_likelihood));
        text.push_str(&format!(
            "{:<14}{:>12}   {:>14}\n",
            "", "estimate", "standard error"
        ));
        for (i, name) in self.names.iter().enumerate() {
            let (estimate, error) = (
                four_digits(fitted.estimates[i]),
                four_digits(fitted.standard_errors[i]),
            );
            text.push_str(&format!("{name:<14}{estimate:>12}   {error:>14}\n"));
        }
        text.push_str(
            "ln T = intercept + covariates x coefficients + sigma W: positive lasts longer\n\n",
        );
        text.push_str(&format!(
            "{:<14}{:>12}   {}\n",
            "",
            "estimate",
            self.bounds_words()
        ));
        if fitted.shape_is_fixed {
            text.push_str(&format!(
                "{:<14}{:>12}   fixed\n",
                "shape",
                bound(fitted.shape.point)
            ));
        } else {
            text.push_str(&row("shape", &fitted.shape));
        }
        let scale = if self.at.is_empty() {
            "scale"
        } else {
            "scale at 0"
        };
        text.push_str(&row(scale, &fitted.scale));
        for quantile in &fitted.quantiles {
            text.push_str(&row(
                &format!("{} ended", per_cent(quantile.p)),
                &quantile.age,
            ));
        }
        if !self.at.is_empty() {
            let at: Vec<String> = self
                .at
                .iter()
                .map(|(name, value)| format!("{name} = {value}"))
                .collect();
            text.push_str(&format!("ages at {}\n", at.join(", ")));
        }
        self.warnings
            .iter()
            .for_each(|warning| text.push_str(&format!("\n{warning}\n")));
        text
    }

    fn json(&self) -> Map<String, Value> {
        let fitted = self.outcome.as_ref().ok();
        let parameters: Vec<Value> = self
            .names
            .iter()
            .enumerate()
            .map(|(i, name)| {
                json!({
                    "name": name,
                    "estimate": fitted.map(|fitted| fitted.estimates[i]),
                    "standard_error": fitted.map(|fitted| fitted.standard_errors[i]),
                })
            })
            .collect();
        let quantile = |row: &QuantileRow| {
            let Estimate {
                point,
                lower,
                upper,
                level,
            } = row.age;
            json!({ "p": row.p, "estimate": point, "lower": lower, "upper": upper, "level": level })
        };
        let quantiles: Vec<Value> = fitted.map_or(Vec::new(), |fitted| {
            fitted.quantiles.iter().map(quantile).collect()
        });
        let at: Map<String, Value> = self
            .at
            .iter()
            .map(|(name, value)| (name.clone(), json!(value)))
            .collect();
        let flat = self.outcome.as_ref().err().map(FlatDirection::parameters);
        Map::from_iter([
            ("distribution".to_string(), json!(self.distribution)),
            ("rows".to_string(), json!(self.rows)),
            ("weight_total".to_string(), json!(self.weight_total)),
            (
                "log_likelihood".to_string(),
                json!(fitted.map(|fitted| fitted.log_likelihood)),
            ),
            ("converged".to_string(), json!(fitted.is_some())),
            ("parameters".to_string(), json!(parameters)),
            (
                "covariance".to_string(),
                json!(fitted.map(|fitted| &fitted.covariance)),
            ),
            (
                "shape".to_string(),
                json!(fitted.map(|fitted| fitted.shape)),
            ),
            (
                "shape_is_fixed".to_string(),
                json!(fitted.map(|fitted| fitted.shape_is_fixed)),
            ),
            (
                "scale".to_string(),
                json!(fitted.map(|fitted| fitted.scale)),
            ),
            ("quantiles".to_string(), json!(quantiles)),
            ("at".to_string(), json!(at)),
            (
                "bounds".to_string(),
                json!(match self.bounds {
                    Bounds::Wald => "wald",
                    Bounds::LikelihoodRatio => "likelihood-ratio",
                }),
            ),
            ("flat_direction".to_string(), json!(flat)),
        ])
    }

    fn warnings(&self) -> Vec<String> {
        self.warnings.clone()
    }
}
