//! Whether a life table has a maximum-likelihood answer at all.
//!
//! In `(intercept/sigma, b/sigma, 1/sigma)` the log-likelihood of a censored life table is concave for
//! all three families and no left truncation (Burridge, Journal of the Royal Statistical Society B 43, 1981). A concave
//! function lacks a maximum exactly when some direction never falls and somewhere rises. Along such a
//! direction every standardised log age moves only as its row allows: right-censored ones down,
//! left-censored ones up, interval ends apart, exact ones not at all. That is a linear programme, the
//! analogue for lives of the separation of points in logistic regression (Albert and Anderson,
//! Biometrika 71, 1984). The programme does not see a rise towards `1/sigma = 0`, the edge of the domain:
//! the search looks for that by the slope of the profile there. With left truncation the likelihood need
//! not be concave, and a fit is doubted by its curvature as well.

use super::life_columns::{ColumnDensity, Design, Kind, LifeColumns};
use super::life_table::Distribution;
use super::standardise::Standardisation;
use microlp::{ComparisonOp, OptimizationDirection, Problem, SolveOutcome, Variable};

/// Tables up to this many rows are always examined; larger ones only where the search fails.
const ALWAYS_EXAMINED: usize = 1000;
/// Movement in the linear programme below this is rounding.
const ROUNDING: f64 = 1e-7;

/// In what way the likelihood is flat or rises without end.
#[derive(Debug, Clone, PartialEq)]
pub enum Flat {
    /// Every row is right-censored: nothing was ever seen to go dull.
    NothingDull,
    /// Every row is left-censored: everything was already dull when first seen.
    EverythingDull,
    /// These covariates add up to a constant or to one another.
    Collinear(Vec<String>),
    /// These covariates part the lives that ended from those that did not: their coefficients grow
    /// without end. `true` where the coefficient grows upwards.
    Separated(Vec<(String, bool)>),
    /// One single life fits every row: the spread shrinks to nothing.
    SpreadVanishes,
    /// Early rows outlast late ones: the spread grows without end.
    SpreadEndless,
    /// The likelihood hardly changes along these parameters, though nothing proves that it has no top.
    TooFlat(Vec<String>),
    /// No row says anything: none is left with a weight above zero.
    NothingCounts,
}

/// A life table without a maximum, and what would give it one.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{}", self.sentence())]
pub struct FlatDirection {
    /// In what way.
    pub flat: Flat,
}

impl FlatDirection {
    /// Names of the parameters that run away.
    pub fn parameters(&self) -> Vec<String> {
        match &self.flat {
            Flat::NothingDull | Flat::EverythingDull => vec!["intercept".to_string()],
            Flat::Collinear(names) | Flat::TooFlat(names) => names.clone(),
            Flat::NothingCounts => Vec::new(),
            Flat::Separated(names) => names.iter().map(|(name, _)| name.clone()).collect(),
            Flat::SpreadVanishes | Flat::SpreadEndless => vec!["log_sigma".to_string()],
        }
    }

    fn sentence(&self) -> String {
        match &self.flat {
            Flat::NothingCounts => "There is nothing to fit: no row with a weight above zero says when a life ended or had not."
                .to_string(),
            Flat::TooFlat(names) => format!(
                "There is no trustworthy answer: the likelihood is flat along {}. Rows that came into view late tell little of \
                 short lives; add rows seen from new, or put priors on them.",
                listed(names)
            ),
            Flat::NothingDull => "There is no maximum-likelihood answer: every row is right-censored, so the intercept \
                 (typical life) can rise without end. Add rows whose end was seen, or put a prior on life."
                .to_string(),
            Flat::EverythingDull => "There is no maximum-likelihood answer: every row had ended when it was first seen, so the \
                 intercept (typical life) can fall without end. Add rows seen not yet ended, or put a prior on life."
                .to_string(),
            Flat::Collinear(names) => format!(
                "There is no single maximum-likelihood answer: {} can be traded against one another, or against the \
                 intercept, without changing the fit. Leave one of them out, or put priors on them.",
                listed(names)
            ),
            Flat::Separated(names) => {
                let moves: Vec<String> = names
                    .iter()
                    .map(|(name, up)| format!("the coefficient of {name} {} without end", if *up { "rises" } else { "falls" }))
                    .collect();
                format!(
                    "There is no maximum-likelihood answer: {}, because it parts lives that were seen to end from lives that \
                     were not. Add rows of both kinds on either side, leave the covariate out, or put a prior on it.",
                    listed(&moves)
                )
            }
            Flat::SpreadVanishes => "There is no maximum-likelihood answer: one single life fits every row, so log_sigma (the spread) \
                 falls without end. Add rows that cannot all share one life, or put a prior on the shape."
                .to_string(),
            Flat::SpreadEndless => "There is no maximum-likelihood answer: lives first seen early had ended while lives seen late had not, \
                 so log_sigma (the spread) rises without end. Check that lower and upper are not swapped, or put a prior on \
                 the shape."
                .to_string(),
        }
    }
}

fn listed(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// Says so where the table has no maximum.
pub fn check(
    columns: &LifeColumns,
    design: &Design,
    distribution: Distribution,
) -> Result<(), FlatDirection> {
    let fail = |flat| Err(FlatDirection { flat });
    let counted = columns.counted();
    let only = |kind: Kind| columns.sections().all(|section| section.kind == kind);
    let rows_only = |kind: Kind| {
        let mut rows = columns.sections().filter(|section| section.kind.is_row());
        rows.all(|section| section.kind == kind)
    };
    if counted == 0 {
        return fail(Flat::NothingCounts);
    }
    if rows_only(Kind::Right) {
        return fail(Flat::NothingDull);
    }
    if only(Kind::Left) {
        return fail(Flat::EverythingDull);
    }
    if let Some(direction) = design.collinear() {
        let parts = columns.names().iter().zip(direction.iter());
        let names = parts.filter(|(_, part)| part.abs() > 1e-3);
        return fail(Flat::Collinear(
            names.map(|(name, _)| name.clone()).collect(),
        ));
    }
    if counted <= ALWAYS_EXAMINED {
        return recession(columns, &design.standardisation, distribution);
    }
    Ok(())
}

/// Looks again, whatever the size of the table, where a search failed or arrived at a suspiciously flat
/// place.
pub fn doubt(density: &ColumnDensity, distribution: Distribution) -> Result<(), FlatDirection> {
    recession(&density.columns, &density.standardisation, distribution)
}

/// Looks for a direction of endless rise by linear programming.
fn recession(
    columns: &LifeColumns,
    standardisation: &Standardisation,
    distribution: Distribution,
) -> Result<(), FlatDirection> {
    let pulls = pulls(columns, standardisation);
    let mut programme = Problem::new(OptimizationDirection::Maximize);
    let gains = gains(&pulls, columns.names().len());
    let free_spread = distribution.fixed_sigma.is_none();
    let variables = Movement {
        location: programme.add_var(gains.location, (-1.0, 1.0)),
        slopes: gains
            .slopes
            .iter()
            .map(|gain| programme.add_var(*gain, (-1.0, 1.0)))
            .collect(),
        sharpness: programme.add_var(gains.sharpness, (0.0, if free_spread { 1.0 } else { 0.0 })),
    };
    for (movement, pull) in &pulls {
        programme.add_constraint(variables.terms(movement), pull.comparison(), 0.0);
    }
    // Standing still satisfies every row, so there is always a solution; a solver that fails says nothing.
    let Ok(SolveOutcome::Solution(solution)) = programme.solve() else {
        return Ok(());
    };
    if solution.objective() < ROUNDING {
        return Ok(());
    }
    if solution[variables.sharpness] > ROUNDING {
        return Err(FlatDirection {
            flat: Flat::SpreadVanishes,
        });
    }
    let parted: Vec<(String, bool)> = columns
        .names()
        .iter()
        .zip(&variables.slopes)
        .filter(|(_, slope)| solution[**slope].abs() > ROUNDING)
        .map(|(name, slope)| (name.clone(), solution[*slope] > 0.0))
        .collect();
    let flat = if parted.is_empty() {
        Flat::SpreadEndless
    } else {
        Flat::Separated(parted)
    };
    Err(FlatDirection { flat })
}

/// Which way a row lets its standardised log age move without losing likelihood.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Pull {
    Still,
    Down,
    Up,
}

impl Pull {
    fn comparison(self) -> ComparisonOp {
        match self {
            Pull::Still => ComparisonOp::Eq,
            Pull::Down => ComparisonOp::Le,
            Pull::Up => ComparisonOp::Ge,
        }
    }

    fn gain(self) -> f64 {
        match self {
            Pull::Still => 0.0,
            Pull::Down => -1.0,
            Pull::Up => 1.0,
        }
    }
}

/// The ages that rows speak of, each with its pull. Log ages are centred: the location takes that up.
fn pulls(columns: &LifeColumns, standardisation: &Standardisation) -> Vec<(Movement<f64>, Pull)> {
    let rows = || columns.sections().filter(|section| section.kind.is_row());
    let logs = || rows().flat_map(|section| (0..section.len()).map(|i| section.typical_log(i)));
    let count = columns.counted() as f64;
    let centre = logs().sum::<f64>() / count;
    let spread = (logs().map(|log| (log - centre).powi(2)).sum::<f64>() / count).sqrt();
    // Lives that differ by a millionth differ: their spread sets the scale, not the size of their logs.
    let scale = if spread > 0.0 { spread } else { 1.0 };
    let mut pulls = Vec::with_capacity(2 * columns.counted());
    for section in rows() {
        for i in 0..section.len() {
            let x: Vec<f64> = section.covariates.iter().map(|column| column[i]).collect();
            let slopes: Vec<f64> = standardisation.row(&x).iter().map(|x| -x).collect();
            let mut pull = |log_age: f64, pull| {
                let movement = Movement {
                    location: -1.0,
                    slopes: slopes.clone(),
                    sharpness: (log_age - centre) / scale,
                };
                pulls.push((movement, pull));
            };
            let end = || section.start[i] + section.gap[i];
            match section.kind {
                Kind::Exact => pull(section.start[i], Pull::Still),
                Kind::Right => pull(section.start[i], Pull::Down),
                Kind::Left => pull(section.start[i], Pull::Up),
                Kind::LeftInView => pull(end(), Pull::Up),
                Kind::Interval => {
                    pull(section.start[i], Pull::Down);
                    pull(end(), Pull::Up);
                }
                Kind::Entered => {}
            }
        }
    }
    pulls
}

/// What each kind of parameter gains by moving: all slack in the rows' favour, and sharper lives.
fn gains(pulls: &[(Movement<f64>, Pull)], columns: usize) -> Movement<f64> {
    let mut gains = Movement {
        location: 0.0,
        slopes: vec![0.0; columns],
        sharpness: 1.0,
    };
    for (movement, pull) in pulls {
        let gain = pull.gain() / pulls.len() as f64;
        gains.location += gain * movement.location;
        gains.sharpness += gain * movement.sharpness;
        for (sum, slope) in gains.slopes.iter_mut().zip(&movement.slopes) {
            *sum += gain * slope;
        }
    }
    gains
}

/// A standardised log age `(ln t - intercept - x.b) / sigma` is linear in `intercept/sigma`, `b/sigma`
/// and `1/sigma`: a number, or a variable of the programme, for each.
#[derive(Debug, Clone)]
struct Movement<T> {
    location: T,
    slopes: Vec<T>,
    sharpness: T,
}

impl Movement<Variable> {
    fn terms(&self, by: &Movement<f64>) -> Vec<(Variable, f64)> {
        let mut terms = vec![(self.location, by.location), (self.sharpness, by.sharpness)];
        terms.extend(self.slopes.iter().copied().zip(by.slopes.iter().copied()));
        terms
    }
}
