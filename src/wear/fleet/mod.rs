//! The hierarchical model on fleets of millions of edges.
//!
//! The same model and priors as [`super::WholeFit`], for tables of which the hours of each edge by row of covariates are
//! known ([`crate::lives::FleetHours`]). One pass over the edges gives value, slopes and second slopes in the form of an
//! arrow: shared parameters in the corner, the effect of each group behind. All of it are sums over groups, so that
//! passes are done in pieces, by as many threads as there are, and added up in one order: the answer is the same to the
//! last bit.
//!
//! ```text
//! shape        which sum stands where
//! rates        wear of segments under a set of coefficients
//! edge         what one edge adds
//! columns      all edges, and one pass over them
//! density      the log posterior given the spread of effects
//! integrated   the effects integrated out, each by itself
//! expansion    the normal law of all parameters given any spread
//! spread       the law of the spread
//! ```
//!
//! Nothing is drawn: given the spread the parameters are normal round the top of the density that integration leaves
//! (their curvature is that of the joint density, right to about one part in the edges of a group), and the spread
//! lies on a line of points. [`FleetFit::fall`] says how far the normal law holds.

mod columns;
mod density;
mod edge;
mod expansion;
mod integrated;
mod rates;
mod shape;
mod spread;
mod summed;

use super::group_priors::WholePriors;
use super::prior::{HalfNormal, NormalPrior};
use super::strike_law::StrikeLaw;
use super::{StrikesMet, WearError};
use crate::lives::FleetHours;
use crate::quantities::{Estimate, Level, MeterHours};
use columns::FleetColumns;
use density::FleetDensity;
use expansion::Expansion;
use nalgebra::DVector;
use spread::SpreadLaw;
use summed::Summed;

/// Tables of fewer edges are better drawn from: [`super::WholeFit`] weighs what this leaves out.
pub const FLEET_FROM: usize = 10_000;
/// Passes over the edges that a fit takes, roughly: for whoever shows how far it is.
pub const FLEET_PASSES: usize = 60;
/// Times that the fit is made anew round the spread that it found, and what is near enough, in standard deviations.
const ROUNDS: usize = 6;
const NEAR: f64 = 0.3;
/// How far from its middle the law is looked at, in standard deviations.
const LOOKED_AT: f64 = 2.0;
/// What the log density may fall by there, as a share of what that of a normal law falls by.
const FALLS: std::ops::Range<f64> = 0.75..1.25;
/// Half the width of 90 % of a normal law.
const NINETY: f64 = super::prior::NINETY_PERCENT_HALF_WIDTH;

/// The posterior of one parameter.
#[derive(Debug, Clone, PartialEq)]
pub struct FleetRow {
    /// Its name, as [`super::WholeFit::rows`] has it.
    pub name: String,
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
    /// The 5 %, 50 % and 95 % quantiles.
    pub quantiles: [f64; 3],
}

/// What is known of one group, such as a machine.
#[derive(Debug, Clone, PartialEq)]
pub struct GroupLife {
    /// What it is called.
    pub name: String,
    /// Its edges.
    pub edges: usize,
    /// What it adds to the log of life.
    pub effect: Estimate<f64>,
    /// The hours by which half of its edges are dull in reference conditions.
    pub median: Estimate<f64>,
}

/// The posterior of the whole model on a fleet.
#[derive(Debug, Clone, PartialEq)]
pub struct FleetFit {
    rows: Vec<FleetRow>,
    groups: Vec<GroupLife>,
    fall: [f64; 2],
}

impl FleetFit {
    /// Fits; `told` hears of each pass over the edges, of which there are about [`FLEET_PASSES`].
    ///
    /// # Errors
    ///
    /// [`WearError::Shape`] where there is not one prior for each covariate, [`WearError::NotSettled`] where the search
    /// finds no top.
    pub fn new(
        fleet: FleetHours,
        priors: &WholePriors,
        told: &(dyn Fn() + Sync),
    ) -> Result<Self, WearError> {
        let covariates = fleet.edges.covariate_names.len();
        if priors.beta.len() != covariates {
            return Err(WearError::Priors {
                wanted: covariates,
                found: priors.beta.len(),
            });
        }
        let coefficients = priors.beta.iter().map(|(_, prior)| *prior);
        let shared = std::iter::once(priors.log_eta)
            .chain(coefficients)
            .chain([priors.log_kappa]);
        let density = FleetDensity::new(FleetColumns::new(fleet), shared.collect(), told);
        let law = HalfNormal::new(priors.sigma_b)?;
        let (expansion, spreads) = expanded(&density, law)?;
        let summed = Summed::over(&density, &expansion, &spreads)?;
        Ok(Self {
            fall: fall(&density, &expansion)?,
            rows: rows(&density, &summed, &spreads, priors.log_lambda),
            groups: groups(&density, &summed),
        })
    }

    /// Every parameter by name, as [`super::WholeFit::rows`] has them.
    pub fn rows(&self) -> &[FleetRow] {
        &self.rows
    }

    /// What is known of each group.
    pub fn groups(&self) -> &[GroupLife] {
        &self.groups
    }

    /// What the log density of the shared parameters falls by two standard deviations to either side of its middle, in a
    /// direction that mixes all of them. That of a normal law falls by 2.
    pub fn fall(&self) -> [f64; 2] {
        self.fall
    }

    /// Whether [`FleetFit::fall`] is that of a law near enough to a normal one.
    pub fn is_trustworthy(&self) -> bool {
        let normal = 0.5 * LOOKED_AT * LOOKED_AT;
        self.fall
            .iter()
            .all(|fall| FALLS.contains(&(fall / normal)))
    }
}

/// The expansion at a typical spread, with the law of the spread.
fn expanded(
    density: &FleetDensity,
    prior: HalfNormal,
) -> Result<(Expansion, SpreadLaw), WearError> {
    let mut spread = prior.quantile(0.5);
    let mut point = density.centres();
    if density.groups() == 0 {
        let near = Expansion::rough(density, spread, point)?.point;
        let expansion = Expansion::settled(density, spread, near)?;
        let certain = SpreadLaw {
            logs: vec![spread.ln()],
            weights: vec![1.0],
        };
        return Ok((expansion, certain));
    }
    for round in 0.. {
        // Twice quickly, then with care until the spread stays where it is.
        let quick = round < 2;
        let expansion = match quick {
            true => Expansion::rough(density, spread, point)?,
            false => Expansion::settled(density, spread, point)?,
        };
        let law = SpreadLaw::of(density, &expansion, prior)?;
        let (mean, deviation) = law.moments();
        let away = (mean - expansion.spread.ln()).abs() / deviation;
        if !quick && (away <= NEAR || round >= ROUNDS) {
            return Ok((expansion, law));
        }
        spread = mean.exp();
        point = expansion.point;
    }
    Err(WearError::NotSettled { iterations: ROUNDS })
}

/// See [`FleetFit::fall`].
fn fall(density: &FleetDensity, expansion: &Expansion) -> Result<[f64; 2], WearError> {
    let law = expansion.conditional(density, expansion.spread);
    let law = law.ok_or(WearError::NotSettled { iterations: 0 })?;
    let corner = density.corner();
    let each = LOOKED_AT / (corner as f64).sqrt();
    let scores = DVector::from_fn(
        expansion.point.len(),
        |i, _| if i < corner { each } else { 0.0 },
    );
    // Where the parameters move the effects' own places move along.
    let step = law.factor.spread_out(&scores);
    let value = |sign: f64| {
        let point = &expansion.point + sign * &step;
        density
            .integrated(point.as_slice(), &expansion.widths, expansion.spread)
            .value
    };
    Ok([-1.0, 1.0].map(|sign| expansion.value - value(sign)))
}

fn rows(
    density: &FleetDensity,
    summed: &Summed,
    spreads: &SpreadLaw,
    log_lambda: NormalPrior,
) -> Vec<FleetRow> {
    let edges = &density.columns.fleet.edges;
    let normal = |name: String, (mean, sd): (f64, f64)| FleetRow {
        name,
        mean,
        sd,
        quantiles: [-NINETY, 0.0, NINETY].map(|score| mean + score * sd),
    };
    let shape = density.columns.shape.log_shape();
    let mut rows = vec![
        normal("log_eta".to_string(), summed.shared[0]),
        normal("log_kappa".to_string(), summed.shared[shape]),
    ];
    for (name, known) in edges
        .covariate_names
        .iter()
        .zip(summed.shared.iter().skip(1))
    {
        rows.push(normal(format!("beta_{name}"), *known));
    }
    for (number, known) in (1..).zip(&summed.effects) {
        rows.push(normal(format!("b_{number}"), *known));
    }
    if density.groups() > 0 {
        let (mean, sd) = spreads.of_spread(f64::exp);
        rows.push(FleetRow {
            name: "sigma_b".to_string(),
            mean,
            sd,
            quantiles: [0.05, 0.5, 0.95].map(|share| spreads.quantile(share)),
        });
    }
    let met = StrikesMet {
        strikes: edges.strikes,
        hours: MeterHours::new(edges.hours).unwrap_or(MeterHours::ZERO),
    };
    let strikes = StrikeLaw::new(met, log_lambda);
    let (mean, sd) = strikes.moments();
    rows.push(FleetRow {
        name: "log_lambda".to_string(),
        mean,
        sd,
        quantiles: [0.05, 0.5, 0.95].map(|share| strikes.quantile(share)),
    });
    rows
}

fn groups(density: &FleetDensity, summed: &Summed) -> Vec<GroupLife> {
    let fleet = &density.columns.fleet;
    let estimate = |(mean, sd): (f64, f64)| Estimate {
        point: mean,
        lower: mean - NINETY * sd,
        upper: mean + NINETY * sd,
        level: Level::NINETY,
    };
    let known = summed.effects.iter().zip(&summed.log_medians);
    let named = fleet.edges.levels.iter().zip(&fleet.groups).zip(known);
    named
        .map(|((name, edges), (effect, log_median))| GroupLife {
            name: name.clone(),
            edges: edges.len(),
            effect: estimate(*effect),
            median: estimate(*log_median).map(f64::exp),
        })
        .collect()
}

#[cfg(test)]
mod tests;
