//! The likelihood edge by edge at one point of what all edges share, for as many sets of group effects as are wanted:
//! wear sums hang on none of those.

use super::looked::{self, SeenCurve};
use super::one_look::shared_curve;
use super::{Common, Likelihood, Order, Rates, Term, Workspace, of_terms};
use crate::wear::life_distribution::Curve;
use crate::wear::life_nodes::Precision;

/// Some edges at one point, to the precision that sampling needs.
pub struct AtShared<'a> {
    likelihood: &'a Likelihood,
    common: Common<'a>,
    edges: Vec<usize>,
    /// The log of each edge's typical life but for its groups.
    locations: Vec<f64>,
    /// The logs of all wear sums, edge by edge.
    logs: Vec<f64>,
    /// What edges that are known through one look share, where they are many.
    curve: Option<SeenCurve>,
    /// Whether these are all edges of the likelihood, in their order.
    all: bool,
}

/// One edge under one set of group effects.
struct At<'a> {
    edge: usize,
    /// The logs of its wear sums.
    logs: &'a [f64],
    /// The log of its typical life.
    location: f64,
}

impl Likelihood {
    /// All edges at one point.
    pub fn at_shared<'a>(&'a self, theta: &'a [f64]) -> AtShared<'a> {
        let common = self.common(theta, Order::Value, Precision::Sampling);
        let logs = self.columns.all_logs(&common.rates);
        self.all_at(common, logs)
    }

    /// All edges at each of several points: bit for bit what they are at each alone, for less work.
    pub fn at_each_shared<'a>(&'a self, thetas: &[&'a [f64]]) -> Vec<AtShared<'a>> {
        let common = |theta: &&'a [f64]| self.common(theta, Order::Value, Precision::Sampling);
        let commons: Vec<Common> = thetas.iter().map(common).collect();
        let rates: Vec<&Rates> = commons.iter().map(|common| &common.rates).collect();
        let logs = self.columns.all_logs_at_each(&rates);
        let points = commons.into_iter().zip(logs);
        points
            .map(|(common, logs)| self.all_at(common, logs))
            .collect()
    }

    fn all_at<'a>(&'a self, common: Common<'a>, logs: Vec<f64>) -> AtShared<'a> {
        let edges = (0..self.edges.len()).collect();
        AtShared {
            all: true,
            ..AtShared::of(self, common, edges, logs)
        }
    }
}

impl<'a> AtShared<'a> {
    /// Some edges of a likelihood.
    pub(super) fn new(likelihood: &'a Likelihood, theta: &'a [f64], edges: Vec<usize>) -> Self {
        let common = likelihood.common(theta, Order::Value, Precision::Sampling);
        let logs = likelihood.columns.logs(&edges, &common.rates);
        Self::of(likelihood, common, edges, logs)
    }

    /// With the logs of these edges' wear sums.
    fn of(
        likelihood: &'a Likelihood,
        common: Common<'a>,
        edges: Vec<usize>,
        logs: Vec<f64>,
    ) -> Self {
        let columns = &likelihood.columns;
        let locations = edges
            .iter()
            .map(|&edge| likelihood.shared_location(edge, common.theta));
        let looks = edges
            .iter()
            .filter(|&&edge| columns.look(edge).is_some())
            .count();
        Self {
            locations: locations.collect(),
            logs,
            curve: shared_curve(&common, looks),
            likelihood,
            common,
            edges,
            all: false,
        }
    }

    /// All edges in columns, where they are known so.
    pub(super) fn known(&self, effects: &[f64]) -> Option<Vec<Curve>> {
        let known = self.likelihood.known.as_ref().filter(|_| self.all)?;
        let locations: Vec<f64> = self.each(effects).map(|at| at.location).collect();
        let seen = known.seen(&self.logs, &locations, self.common.scale())?;
        Some(seen.edges)
    }

    fn each<'b>(&'b self, effects: &'b [f64]) -> impl Iterator<Item = At<'b>> {
        let columns = &self.likelihood.columns;
        let mut rest = self.logs.as_slice();
        let edges = self.edges.iter().zip(&self.locations);
        edges.map(move |(&edge, location)| {
            let (logs, others) = rest.split_at(columns.sums(edge));
            rest = others;
            let location = location + columns.shift_of_groups(edge, effects);
            At {
                edge,
                logs,
                location,
            }
        })
    }

    /// Each edge's log-likelihood, groups having these effects.
    pub fn values(&self, effects: &[f64]) -> Vec<f64> {
        if let Some(known) = self.known(effects) {
            return known.iter().map(|curve| curve.value).collect();
        }
        let mut work = Workspace::default();
        let value = |at: At| {
            let value = match self.by_curve(&at) {
                Some(seen) => seen.value,
                None => self.alone(&at, 0.0, Precision::Sampling, &mut work),
            };
            self.likelihood.columns.weight(at.edge) * value
        };
        self.each(effects).map(value).collect()
    }

    /// The same roughly, with slope and bend by the log of typical life: from values `reach` apart where an edge has no
    /// quicker way.
    pub fn curves(&self, effects: &[f64], reach: f64) -> Vec<Curve> {
        if let Some(known) = self.known(effects) {
            return known;
        }
        let mut work = Workspace::default();
        let curve = |at: At| {
            let quick = self.by_curve(&at).or_else(|| self.along(&at, &mut work));
            let curve = quick.unwrap_or_else(|| {
                let value = |by| self.alone(&at, by, Precision::Rough, &mut work);
                let [below, here, above] = [-reach, 0.0, reach].map(value);
                Curve {
                    value: here,
                    first: (above - below) / (2.0 * reach),
                    second: (above + below - 2.0 * here) / reach.powi(2),
                }
            });
            let weight = self.likelihood.columns.weight(at.edge);
            Curve {
                value: weight * curve.value,
                first: weight * curve.first,
                second: weight * curve.second,
            }
        };
        self.each(effects).map(curve).collect()
    }

    fn by_curve(&self, at: &At) -> Option<Curve> {
        let look = self.likelihood.columns.look(at.edge)?;
        look.seen(self.curve.as_ref()?, at.logs, at.location)
    }

    /// One edge by the derivatives of integrals of its own; `None` where it is known otherwise.
    fn along(&self, at: &At, work: &mut Workspace) -> Option<Curve> {
        work.point.set(&self.common, at.logs, at.location);
        let mut sum = Curve {
            value: 0.0,
            first: 0.0,
            second: 0.0,
        };
        for term in &self.likelihood.edges[at.edge].terms {
            match term {
                Term::LookedAt { looks, sign } => {
                    let seen = looked::along(&work.point, self.common.family, looks)?;
                    sum.value += sign * seen.value;
                    sum.first += sign * seen.first;
                    sum.second += sign * seen.second;
                }
                Term::LogSum { sum: own, factor } => sum.value += factor * at.logs[*own],
                _ => return None,
            }
        }
        Some(sum)
    }

    /// One edge by integrals of its own, its log life longer by so much.
    fn alone(&self, at: &At, longer: f64, precision: Precision, work: &mut Workspace) -> f64 {
        let edge = &self.likelihood.edges[at.edge];
        let location = at.location + longer;
        of_terms(edge, (&self.common, precision), at.logs, location, work)
    }
}

#[cfg(test)]
mod tests {
    use crate::lives::{Look, Noticed, Observation, Sight};
    use crate::quantities::{Grade, MeterHours};
    use crate::wear::density::{DensitySettings, Parameters, WearDensity};
    use crate::wear::{Anchor, EdgeRecord, EdgeRecords, Family, Prior, Priors, Stretch};

    fn hours(hours: f64) -> MeterHours {
        MeterHours::new(hours).expect("hours")
    }

    /// Graded once or twice, or noticed dull, at all ages.
    fn seen(number: usize) -> Observation {
        let at = 4.0 + (number * 37 % 113) as f64 * 0.5;
        let look = |at: f64, grade: Grade| Look {
            at: hours(at),
            sight: Sight::Graded(grade),
        };
        let grade = Grade::ALL[number / 3 % 4];
        let (looks, noticed) = match number % 3 {
            0 => (vec![look(at, grade)], None),
            1 => (Vec::new(), Some(at)),
            _ => (vec![look(0.5 * at, Grade::Working), look(at, grade)], None),
        };
        let noticed = noticed.map(|at| Noticed {
            at: hours(at),
            late: false,
        });
        Observation::Graded { looks, noticed }
    }

    fn many_edges() -> (WearDensity, Parameters) {
        edges(900)
    }

    fn edges(count: usize) -> (WearDensity, Parameters) {
        edges_of(count, 0, vec![(1.0, Vec::new())])
    }

    /// Worn by so many covariates, in such parts.
    fn edges_of(
        count: usize,
        covariates: usize,
        parts: Vec<(f64, Vec<f64>)>,
    ) -> (WearDensity, Parameters) {
        let edge = EdgeRecord {
            stretches: vec![Stretch {
                start: 0.0,
                stop: 61.0,
                parts,
            }],
            weight: 1.0,
            ..EdgeRecord::default()
        };
        let all: Vec<Observation> = (0..count).map(seen).collect();
        let records = EdgeRecords {
            edges: vec![edge; all.len()],
            rate_names: (0..covariates).map(|at| at.to_string()).collect(),
            ..EdgeRecords::default()
        };
        let priors = Priors {
            shared: vec![Prior::Flat; 4 + covariates],
            spreads: Vec::new(),
        };
        let settings = DensitySettings {
            family: Family::Weibull,
            anchor: Anchor::Median,
            called_at: 1.3,
            flat_error: 0.1,
            flat_exponent: 1.0,
        };
        let mut shared = vec![40.0_f64.ln(), 0.0, 0.35_f64.ln(), 0.2_f64.ln()];
        shared.splice(1..1, vec![0.0; covariates]);
        let at = Parameters {
            shared,
            effects: Vec::new(),
        };
        let density = WearDensity::new(&records, &all, settings, priors);
        (density.expect("a density"), at)
    }

    /// Edge by edge every look has an integral of its own; all together share a curve.
    #[test]
    fn many_edges_are_worth_together_what_each_is_alone() {
        let (density, at) = many_edges();
        let together = density.log_likelihood_by_edge(&at);
        for (edge, together) in together.iter().enumerate() {
            let alone = density.log_likelihood_of(&at, &[edge])[0];
            assert!((together - alone).abs() < 1e-5, "{together} {alone}");
        }
        let looks = density.last_looks().iter();
        let bounds: Vec<usize> = looks.flat_map(|look| look.low).collect();
        assert!(bounds.len() > 400);
        let together = density.chances(&at, &bounds);
        for (bound, together) in bounds.iter().zip(together) {
            let alone = density.chances(&at, &[*bound])[0];
            assert!((together - alone).abs() < 1e-7, "{together} {alone}");
        }
    }

    /// A crew's edges share a rougher curve: all together are worth what they are alone, far within what weights show.
    #[test]
    fn a_crews_edges_are_worth_together_what_they_are_alone() {
        let (density, mut at) = edges(300);
        for longer in [-1.0, -0.3, 0.0, 0.4] {
            at.shared[density.layout().location()] = 40.0_f64.ln() + longer;
            let together = density.log_likelihood_by_edge(&at);
            let alone = |edge: usize| density.log_likelihood_of(&at, &[edge])[0];
            let apart: Vec<f64> = (0..300).map(|edge| together[edge] - alone(edge)).collect();
            let whole: f64 = apart.iter().sum();
            assert!(whole.abs() < 1e-3, "{longer}: {whole}");
            // They do share one.
            assert!(apart.iter().filter(|apart| **apart != 0.0).count() > 60);
        }
    }

    #[test]
    fn edges_at_several_points_are_what_they_are_at_each() {
        let parts = vec![
            (0.5, vec![1.0, 0.0]),
            (0.3, vec![0.0, 1.0]),
            (0.2, vec![0.4, -0.7]),
        ];
        let (density, at) = edges_of(40, 2, parts);
        let layout = density.layout();
        let point = |point: u32| {
            let mut shared = at.shared.clone();
            for (own, rate) in layout.rates().enumerate() {
                shared[rate] = (0.3 + own as f64) * f64::from(point).sin();
            }
            shared[layout.touch_up()] = 0.1 * f64::from(point);
            shared
        };
        for count in [0, 1, 8, 9, 19] {
            let points: Vec<Vec<f64>> = (0..count).map(point).collect();
            let points: Vec<&[f64]> = points.iter().map(Vec::as_slice).collect();
            let together = density.at_each_shared(&points);
            assert_eq!(together.len(), points.len());
            let each = together.iter().map(|it| it.values(&at.effects));
            let each: Vec<Vec<f64>> = each.collect();
            for (point, together) in points.iter().zip(&each) {
                assert_eq!(*together, density.at_shared(point).values(&at.effects));
            }
            assert!(each.windows(2).all(|pair| pair[0] != pair[1]));
        }
    }

    /// The curves' slopes and bends are those of values a step apart; what is known through several looks is rough.
    #[test]
    fn curves_bend_as_values_do() {
        const STEP: f64 = 0.01;
        let (density, at) = many_edges();
        let values = |longer: f64| {
            let mut shared = at.shared.clone();
            shared[density.layout().location()] += longer;
            let likelihoods = density.at_shared(&shared);
            likelihoods.values(&at.effects)
        };
        let [below, here, above] = [-STEP, 0.0, STEP].map(values);
        let likelihoods = density.at_shared(&at.shared);
        for (edge, curve) in likelihoods.curves(&at.effects, 0.1).iter().enumerate() {
            let slope = (above[edge] - below[edge]) / (2.0 * STEP);
            let bend = (above[edge] + below[edge] - 2.0 * here[edge]) / STEP.powi(2);
            assert!((curve.value - here[edge]).abs() < 0.01, "{edge}");
            assert!(
                (curve.first - slope).abs() < 0.1,
                "{edge}: {curve:?} {slope}"
            );
            assert!(
                (curve.second - bend).abs() < 0.6,
                "{edge}: {curve:?} {bend}"
            );
        }
    }
}
