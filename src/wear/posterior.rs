//! What is known of a crew's edges once its log has been read.

use super::among::Among;
use super::density::WearDensity;
use super::draw_columns::DrawColumns;
use super::draws::{Draws, WholeDraw, log_rate, places};
use super::importance::is_crowded;
use super::life_law::LifeLaw;
use super::nested::Nested;
use super::parameters::Layout;
use super::prior::Prior;
use super::records::{EdgeRecord, Grouping, features_of};
use super::sample::{Draw, Health, Sample};
use super::strikes::StrikePosterior;
use super::{AgedEdge, Family, LogPosterior, WearError};
use crate::lives::{Observation, Rotor};
use crate::wood::Blend;
use rand::Rng;
use rand_distr::{Distribution, StandardNormal};
use std::collections::BTreeSet;
use std::sync::OnceLock;

/// The fitted wear model.
#[derive(Debug, Clone)]
pub struct WearPosterior {
    density: WearDensity,
    groupings: Vec<Grouping>,
    edges: usize,
    nested: Nested,
    sample: Sample,
    /// The most probable shared parameters.
    mode: Vec<f64>,
    /// The draws by parameter, once somebody asks.
    columns: OnceLock<DrawColumns>,
}

/// Conditions that somebody asks about.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// What goes through.
    pub blend: Blend,
    /// Drum or disc.
    pub rotor: Rotor,
    /// Whether the edge has been reground; new steel otherwise.
    pub reground: bool,
    /// Whose edges: the machine, the sets that it runs, who grinds them.
    pub among: Vec<Among>,
}

/// A variance before and after the log was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Variances {
    /// Under the prior alone.
    pub before: f64,
    /// With the log.
    pub after: f64,
}

impl WearPosterior {
    pub(super) fn new(
        density: WearDensity,
        groupings: Vec<Grouping>,
        edges: usize,
        nested: Nested,
        sample: Sample,
    ) -> Self {
        Self {
            // Every question asks for them, and all effects of a fleet stand beside them.
            mode: density.parameters(nested.mode()).shared,
            density,
            groupings,
            edges,
            nested,
            sample,
            columns: OnceLock::new(),
        }
    }

    /// Edges that it stands on.
    pub fn edges(&self) -> usize {
        self.edges
    }

    /// The draws behind it.
    pub fn sample(&self) -> &Sample {
        &self.sample
    }

    /// How the draws were made, and how far they can be trusted.
    pub fn health(&self) -> &Health {
        self.sample.health()
    }

    /// Newton steps that the search for the top took; each looks at every edge once.
    pub fn steps(&self) -> usize {
        self.nested.iterations()
    }

    /// Whether there are so many groups that each draw has laws of its own for them, and is as much work as four.
    pub fn is_of_fleet(&self) -> bool {
        is_crowded(&self.density)
    }

    /// The density that was fitted.
    pub fn density(&self) -> &WearDensity {
        &self.density
    }

    /// What the edges share.
    pub fn groupings(&self) -> &[Grouping] {
        &self.groupings
    }

    pub(super) fn nested(&self) -> &Nested {
        &self.nested
    }

    /// Which parameter stands where.
    pub fn layout(&self) -> &Layout {
        self.density.layout()
    }

    /// Family of life distributions.
    pub fn family(&self) -> Family {
        self.density.family()
    }

    /// Variance of the log of median life under asked conditions, before and after the log was read.
    pub fn log_life_variances(&self, asked: &Asked) -> Variances {
        let row = self.mean_row(asked);
        let direction = self.direction(asked, &row);
        let shared: f64 = direction
            .iter()
            .zip(&self.density.priors().shared)
            .map(|(d, prior)| match prior {
                Prior::Normal(prior) => (d * prior.spread()).powi(2),
                _ => 0.0,
            })
            .sum();
        let mut groups = 0.0;
        for (grouping, prior) in self.groupings.iter().zip(&self.density.priors().spreads) {
            if asked
                .among
                .iter()
                .any(|among| among.grouping == grouping.name)
            {
                // The mean square of the spread is the square of the half-normal's scale.
                groups += prior.scale().powi(2);
            }
        }
        let before = shared + groups;
        Variances {
            before,
            // Without edges the draws are the prior, but for their noise.
            after: if self.edges == 0 {
                before
            } else {
                self.log_life_variance(asked)
            },
        }
    }

    fn log_life_variance(&self, asked: &Asked) -> f64 {
        let places = places(&self.groupings, asked);
        let columns = self
            .columns
            .get_or_init(|| DrawColumns::of(self.sample.draws()));
        let rates = columns.wear_rates(self.layout(), &asked.blend);
        let shifts = columns.group_shifts(&places, &[]);
        let logs = columns.log_medians(self.layout(), asked, &shifts, &rates);
        let weights = || self.sample.weighted_draws().map(|(_, weight)| weight);
        let unseen = columns.unseen_variances(&places).into_iter();
        let unseen: f64 = unseen.zip(weights()).map(|(of, weight)| weight * of).sum();
        let weighted = || logs.iter().zip(weights());
        let mean: f64 = weighted().map(|(log, weight)| log * weight).sum();
        let squares = weighted().map(|(log, weight)| weight * (log - mean).powi(2));
        squares.sum::<f64>() + unseen
    }

    /// Derivative of log median life with respect to the shared parameters, at covariate row `x`.
    fn direction(&self, asked: &Asked, x: &[f64]) -> Vec<f64> {
        let layout = self.layout();
        let mut direction = vec![0.0; layout.dimension()];
        direction[layout.location()] = 1.0;
        let features = features_of(asked.rotor, asked.reground);
        direction[layout.features()].copy_from_slice(&features);
        for (slot, x) in direction[layout.rates()].iter_mut().zip(x) {
            *slot = -x;
        }
        direction
    }

    /// Derivative of log median life with respect to the coordinates of the density's points.
    pub(super) fn direction_at_points(&self, asked: &Asked) -> Vec<f64> {
        let shared = self.direction(asked, &self.mean_row(asked));
        let free = self.density.free();
        let mut direction: Vec<f64> = free.iter().map(|&i| shared[i]).collect();
        direction.resize(self.density.dimension(), 0.0);
        let effects = self.density.effects();
        for place in places(&self.groupings, asked) {
            for (level, share) in place.seen {
                let effect = effects.of_grouping(place.grouping).start + level;
                direction[effects.place(effect, free.len())] = share;
            }
        }
        direction
    }

    /// For each grouping the levels that are asked about, by number, each once.
    pub(super) fn levels_in_question(&self, asked: &Asked) -> Vec<Vec<usize>> {
        let mut levels = vec![Vec::new(); self.groupings.len()];
        for place in places(&self.groupings, asked) {
            let seen = place.seen.iter().map(|(level, _)| *level);
            let once: BTreeSet<usize> = seen.collect();
            levels[place.grouping] = once.into_iter().collect();
        }
        levels
    }

    /// For each grouping the level that has the largest share of what is asked about.
    pub(super) fn most_likely_levels(&self, asked: &Asked) -> Vec<Option<usize>> {
        let mut levels = vec![None; self.groupings.len()];
        for place in places(&self.groupings, asked) {
            let most = place.seen.iter().max_by(|a, b| a.1.total_cmp(&b.1));
            levels[place.grouping] = most.map(|(level, _)| *level);
        }
        levels
    }

    /// The covariate row of a blend, averaged by wear at the most probable parameters.
    fn mean_row(&self, asked: &Asked) -> Vec<f64> {
        let shared = self.shared_at_mode();
        let rates = &shared[self.layout().rates()];
        let mut mean = vec![0.0; rates.len()];
        let mut total = 0.0;
        for part in asked.blend.parts() {
            let row = part.covariates.row();
            let wear = part.share * log_rate(row, rates).exp();
            total += wear;
            mean.iter_mut()
                .zip(row)
                .for_each(|(mean, x)| *mean += wear * x);
        }
        mean.iter_mut().for_each(|mean| *mean /= total);
        mean
    }

    /// The most probable shared parameters, those held included.
    pub fn shared_at_mode(&self) -> &[f64] {
        &self.mode
    }

    /// The law of life under asked conditions at the most probable parameters.
    pub fn law_at_mode(&self, asked: &Asked) -> LifeLaw {
        let at = self.density.parameters(self.nested.mode());
        let draw = Draw {
            shared: at.shared,
            effects: at.effects,
            spreads: self.nested.spreads().to_vec(),
        };
        let places = places(&self.groupings, asked);
        let columns = DrawColumns::of(std::iter::once(&draw));
        let rates = columns.wear_rates(self.layout(), &asked.blend);
        let shifts = columns.group_shifts(&places, &[]);
        let medians = columns.log_medians(self.layout(), asked, &shifts, &rates);
        LifeLaw {
            family: self.family(),
            log_median: medians.into_iter().sum(),
            sigma: columns.sigmas(self.layout()).into_iter().sum(),
        }
    }

    pub(super) fn median_hours_at_mode(&self, row: &[f64]) -> f64 {
        let mode = self.shared_at_mode();
        (mode[self.layout().location()] - log_rate(row, &mode[self.layout().rates()])).exp()
    }

    /// An edge that has worked, to be looked at under draws: its record and what was seen of it, its groups
    /// numbered as those of the records that were fitted.
    ///
    /// # Errors
    ///
    /// [`WearError::NoWear`] where it has not worked at all.
    pub fn aged(&self, record: &EdgeRecord, seen: &Observation) -> Result<AgedEdge, WearError> {
        self.density.aged(record, seen)
    }

    /// `count` draws from the posterior, all of one weight, with strike rates from theirs.
    pub fn draws(&self, strikes: &StrikePosterior, count: usize, random: &mut impl Rng) -> Draws {
        let groupings = self.groupings.len();
        let draws = self.sample.even(count).into_iter().map(|wear| WholeDraw {
            wear,
            unseen: StandardNormal
                .sample_iter(&mut *random)
                .take(groupings)
                .collect(),
            strikes: strikes.draw(random),
        });
        Draws::new(
            self.family(),
            self.layout().clone(),
            self.groupings.clone(),
            draws.collect(),
        )
    }
}
