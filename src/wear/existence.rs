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

use super::life_table::{Censoring, Distribution, LifeTable, Lifetime};
use microlp::{ComparisonOp, OptimizationDirection, Problem, SolveOutcome, Variable};
use nalgebra::DMatrix;

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

/// Says so where `table` has no maximum.
pub fn check(table: &LifeTable, distribution: Distribution) -> Result<(), FlatDirection> {
    let fail = |flat| Err(FlatDirection { flat });
    let counted = counted(table);
    if counted.is_empty() {
        return fail(Flat::NothingCounts);
    }
    if counted
        .iter()
        .all(|(life, _)| life.censoring() == Censoring::Right)
    {
        return fail(Flat::NothingDull);
    }
    if counted
        .iter()
        .all(|(life, _)| life.censoring() == Censoring::Left && life.entry <= 0.0)
    {
        return fail(Flat::EverythingDull);
    }
    if let Some(names) = collinear(table, &counted) {
        return fail(Flat::Collinear(names));
    }
    if counted.len() <= ALWAYS_EXAMINED {
        return recession(table, &counted, distribution);
    }
    Ok(())
}

/// Looks again, whatever the size of the table, where a search failed or arrived at a suspiciously flat
/// place.
pub fn doubt(table: &LifeTable, distribution: Distribution) -> Result<(), FlatDirection> {
    recession(table, &counted(table), distribution)
}

type Row<'a> = (&'a Lifetime, &'a [f64]);

/// The rows that say something, with their covariates.
fn counted(table: &LifeTable) -> Vec<Row<'_>> {
    table
        .lives
        .iter()
        .zip(table.covariates.iter().map(Vec::as_slice))
        .filter(|(life, _)| life.weight > 0.0 && life.says_something())
        .collect()
}

/// Covariates, centred and scaled to unit root mean square; a constant column is all zeros.
fn standardised(rows: &[Row], columns: usize) -> DMatrix<f64> {
    let mut matrix = DMatrix::from_fn(rows.len(), columns, |i, j| rows[i].1[j]);
    for mut column in matrix.column_iter_mut() {
        let largest = column.amax();
        let mean = column.mean();
        column.add_scalar_mut(-mean);
        let scale = (column.norm_squared() / rows.len() as f64).sqrt();
        let factor = if scale > 1e-12 * largest {
            1.0 / scale
        } else {
            0.0
        };
        column *= factor;
    }
    matrix
}

/// Names of covariates in a null direction of the centred design, if there is one.
fn collinear(table: &LifeTable, rows: &[Row]) -> Option<Vec<String>> {
    let columns = table.covariate_names.len();
    if columns == 0 {
        return None;
    }
    let design = standardised(rows, columns);
    let gram = design.transpose() * &design / rows.len() as f64;
    let decomposed = gram.symmetric_eigen();
    let (at, smallest) = decomposed.eigenvalues.argmin();
    // The eigenvalue is a squared singular value: 1e-12 of the largest is rounding.
    if smallest > 1e-12 * columns as f64 {
        return None;
    }
    let direction = decomposed.eigenvectors.column(at);
    let names = table.covariate_names.iter().zip(direction.iter());
    Some(
        names
            .filter(|(_, part)| part.abs() > 1e-3)
            .map(|(name, _)| name.clone())
            .collect(),
    )
}

/// Looks for a direction of endless rise by linear programming.
fn recession(
    table: &LifeTable,
    rows: &[Row],
    distribution: Distribution,
) -> Result<(), FlatDirection> {
    let columns = table.covariate_names.len();
    let pulls = pulls(rows, &standardised(rows, columns));
    let mut programme = Problem::new(OptimizationDirection::Maximize);
    let gains = gains(&pulls, columns);
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
    let parted: Vec<(String, bool)> = table
        .covariate_names
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
fn pulls(rows: &[Row], design: &DMatrix<f64>) -> Vec<(Movement<f64>, Pull)> {
    let logs: Vec<f64> = rows.iter().map(|(life, _)| life.typical_log()).collect();
    let centre = logs.iter().sum::<f64>() / logs.len() as f64;
    let spread =
        (logs.iter().map(|log| (log - centre).powi(2)).sum::<f64>() / logs.len() as f64).sqrt();
    // Lives that differ by a millionth differ: their spread sets the scale, not the size of their logs.
    let scale = if spread > 0.0 { spread } else { 1.0 };
    let mut pulls = Vec::with_capacity(2 * rows.len());
    for (i, (life, _)) in rows.iter().enumerate() {
        let mut pull = |age: f64, pull| {
            let slopes = design.row(i).iter().map(|x| -x).collect();
            pulls.push((
                Movement {
                    location: -1.0,
                    slopes,
                    sharpness: (age.ln() - centre) / scale,
                },
                pull,
            ));
        };
        match life.censoring() {
            Censoring::Exact => pull(life.lower, Pull::Still),
            // Not ended at age zero says nothing.
            Censoring::Right if life.lower > 0.0 => pull(life.lower, Pull::Down),
            Censoring::Right => {}
            Censoring::Left => pull(life.upper, Pull::Up),
            Censoring::Interval => {
                pull(life.lower, Pull::Down);
                pull(life.upper, Pull::Up);
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
