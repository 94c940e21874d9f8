//! The log-likelihood of a life table in columns.

use super::super::life_distribution::Family;
use super::super::standardise::Standardisation;
use super::LifeColumns;
use super::sums::{self, BEFORE, BlockAt};
use super::tile::Place;
use crate::numerics::newton::Quadratic;
use rayon::prelude::*;
use std::sync::Arc;

/// The log-likelihood in `(intercept, b.., log sigma)` of standardised covariates.
#[derive(Debug, Clone)]
pub struct ColumnDensity {
    pub columns: Arc<LifeColumns>,
    pub standardisation: Standardisation,
    pub family: Family,
}

impl ColumnDensity {
    /// Value, gradient and Hessian, in one pass over the table. The same to the last bit on any number of threads: each
    /// block has its own sums, and they are added in the order of the blocks.
    pub fn evaluate(&self, theta: &[f64]) -> Quadratic {
        let Some((log_sigma, coefficients)) = theta.split_last() else {
            return Quadratic::zero(0);
        };
        let place = Place {
            family: self.family,
            standardisation: &self.standardisation,
            coefficients,
            sigma: log_sigma.exp(),
        };
        let processor = pulp::Arch::new();
        let of_block = |block| processor.dispatch(BlockAt { block, place });
        let blocks = self.columns.blocks();
        let parts: Vec<Vec<f64>> = match blocks {
            // One block is not worth waking other threads.
            [block] => vec![of_block(block)],
            _ => blocks.par_iter().map(of_block).collect(),
        };
        let mut total = vec![0.0; sums::count(coefficients.len().saturating_sub(1))];
        for part in &parts {
            total
                .iter_mut()
                .zip(part)
                .for_each(|(sum, part)| *sum += part);
        }
        self.quadratic(&total, coefficients.len(), *log_sigma)
    }

    /// Sums over rows as derivatives by the parameters; a density of an exact age is one by log age, over sigma and age.
    fn quadratic(&self, sums: &[f64], coefficients: usize, log_sigma: f64) -> Quadratic {
        let [
            value,
            spread,
            spread_bend,
            first,
            mixed,
            bend,
            by_covariate @ ..,
        ] = sums
        else {
            return Quadratic::zero(0);
        };
        let (exact, exact_logs) = self.exact();
        let last = coefficients;
        let per_sigma = (-log_sigma).exp();
        let mut at = Quadratic::zero(coefficients + 1);
        at.value = value - exact * log_sigma - exact_logs;
        at.gradient[last] = -spread - exact;
        at.hessian[(last, last)] = *spread_bend;
        let mut put = |i: usize, first: f64, mixed: f64| {
            at.gradient[i] = -first * per_sigma;
            at.hessian[(i, last)] = mixed * per_sigma;
            at.hessian[(last, i)] = mixed * per_sigma;
        };
        put(0, *first, *mixed);
        let mut next = by_covariate;
        let mut bends = vec![(0, 0, *bend)];
        for i in 1..coefficients {
            let Some((&[first, mixed, bend], rest)) = next.split_first_chunk() else {
                break;
            };
            put(i, first, mixed);
            bends.push((i, 0, bend));
            bends.extend(
                rest.iter()
                    .take(i)
                    .enumerate()
                    .map(|(j, bend)| (i, j + 1, *bend)),
            );
            next = &rest[i.min(rest.len())..];
        }
        for (i, j, bend) in bends {
            at.hessian[(i, j)] = bend * per_sigma * per_sigma;
            at.hessian[(j, i)] = at.hessian[(i, j)];
        }
        debug_assert_eq!(sums.len(), BEFORE + by_covariate.len());
        at
    }

    /// Sum of weights of the exact lives, and of weights times log age.
    fn exact(&self) -> (f64, f64) {
        self.columns.blocks().iter().fold((0.0, 0.0), |sum, block| {
            (sum.0 + block.exact.0, sum.1 + block.exact.1)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::super::Design;
    use super::*;
    use crate::wear::{
        Anchor, DensitySettings, LifeTable, Lifetime, LogPosterior, Priors, WearDensity, seeded,
    };
    use approx::assert_relative_eq;
    use rand::RngExt;

    /// Rows of every kind with three covariates, some weighed, some in view late.
    fn table(rows: usize) -> LifeTable {
        let mut random = seeded(5);
        let mut table = LifeTable {
            covariate_names: ["a", "b", "c"].map(str::to_string).to_vec(),
            ..LifeTable::default()
        };
        for i in 0..rows {
            let age = 20.0 * random.random::<f64>() + 1e-3;
            let later = age * (1.0 + 10.0_f64.powf(-9.0 * random.random::<f64>()));
            let (lower, upper) = match i % 4 {
                0 => (age, age),
                1 => (age, f64::INFINITY),
                2 => (0.0, age),
                _ => (age, later),
            };
            table.lives.push(Lifetime {
                lower,
                upper,
                weight: if i % 7 == 0 { 2.5 } else { 1.0 },
                entry: if i % 5 == 0 { 0.4 * age } else { 0.0 },
            });
            let row = [(); 3].map(|()| 30.0 + 4.0 * random.random::<f64>());
            table.covariates.push(row.to_vec());
        }
        table
    }

    fn density(table: &LifeTable, family: Family) -> ColumnDensity {
        let columns = Arc::new(LifeColumns::of(table).expect("ages"));
        ColumnDensity {
            standardisation: Design::for_fit(&columns).standardisation,
            columns,
            family,
        }
    }

    /// The general likelihood of wear records, which goes by other formulas, on the same covariates.
    fn general(table: &LifeTable, near: &ColumnDensity) -> WearDensity {
        let mut table = table.clone();
        for row in &mut table.covariates {
            *row = near.standardisation.row(row);
        }
        let (records, seen) = table.records().expect("records");
        let settings = DensitySettings::of_bare_lives(near.family, Anchor::Intercept);
        let priors = Priors::flat(&records).of_bare_lives();
        WearDensity::new(&records, &seen, settings, priors).expect("a density")
    }

    #[test]
    fn the_pass_agrees_with_the_general_likelihood_in_every_law_and_kind() {
        let table = table(733);
        for family in Family::ALL {
            let ours = density(&table, family);
            let theirs = general(&table, &ours);
            // The last two lie so far off that rows leave the reach of the quick way.
            for theta in [
                [2.0, 0.3, -0.2, 0.1, -0.4],
                [1.0, 0.0, 0.7, 0.0, 1.5],
                [2.0, 0.1, -0.1, 0.0, -5.5],
                [6.0, 0.1, -0.1, 0.0, -5.0],
            ] {
                let (one, two) = (ours.evaluate(&theta), theirs.evaluate(&theta));
                if !two.value.is_finite() {
                    assert!(!one.value.is_finite(), "{family:?} {theta:?}");
                    continue;
                }
                assert_relative_eq!(one.value, two.value, max_relative = 1e-11);
                let steepest = two.gradient.amax();
                assert_relative_eq!(one.gradient, two.gradient, epsilon = 1e-9 * steepest);
                let most = two.hessian.amax();
                assert_relative_eq!(one.hessian, two.hessian, epsilon = 1e-8 * most);
            }
        }
    }

    #[test]
    fn one_thread_and_several_give_the_same_bits() {
        let density = density(&table(50_000), Family::Weibull);
        let on = |threads| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
            pool.expect("threads")
                .install(|| density.evaluate(&[2.0, 0.3, -0.2, 0.1, -0.4]))
        };
        let (one, three) = (on(1), on(3));
        assert_eq!(one.value.to_bits(), three.value.to_bits());
        assert_eq!(one.gradient, three.gradient);
        assert_eq!(one.hessian, three.hessian);
    }

    #[test]
    fn a_large_table_comes_out_as_if_it_had_been_climbed_from_afar() {
        use super::super::{best, search};
        use crate::numerics::newton;
        use crate::wear::Distribution;
        let mut table = table(40_000);
        table.lives.iter_mut().for_each(|life| life.entry = 0.0);
        for family in [Family::Weibull, Family::Loglogistic] {
            let density = density(&table, family);
            let distribution = Distribution {
                family,
                fixed_sigma: None,
            };
            let quick = best(&density, distribution);
            let start = nalgebra::DVector::from_vec(vec![2.0, 0.0, 0.0, 0.0, 0.0]);
            let slow = search(&density, &crate::wear::section::Section::default(), start);
            assert!(quick.converged && slow.converged);
            let errors = newton::covariance(&slow.at.hessian)
                .expect("a top")
                .diagonal()
                .map(f64::sqrt);
            for i in 0..5 {
                assert!(
                    (quick.point[i] - slow.point[i]).abs() < 1e-7 * errors[i],
                    "{family:?} {i}"
                );
            }
            assert_relative_eq!(quick.at.value, slow.at.value, max_relative = 1e-12);
            let ours = newton::covariance(&quick.at.hessian)
                .expect("a top")
                .diagonal()
                .map(f64::sqrt);
            assert_relative_eq!(ours, errors, max_relative = 1e-6);
        }
    }
}
