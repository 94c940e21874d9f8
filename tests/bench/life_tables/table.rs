//! The table: lives that follow a Weibull law with five covariates, seen in three ways.

use keenspan::wear::seeded;
use rand::{Rng, RngExt};
use std::fmt::Write as _;
use std::path::Path;

/// The seed of the table.
const SEED: u64 = 20_260;

/// Writes `rows` lives.
pub fn write(file: &Path, rows: usize) {
    let mut random = seeded(SEED);
    let mut text = "lower,upper,a,b,c,d,e\n".to_string();
    for _ in 0..rows {
        let x = [(); 5].map(|()| normal(&mut random));
        let location = 3.0 + 0.3 * x[0] - 0.2 * x[1] + 0.1 * x[3] + 0.4 * x[4];
        let age = (location + 0.5 * (-chance(&mut random).ln()).ln())
            .exp()
            .max(0.01);
        match chance(&mut random) {
            kind if kind < 0.4 => write!(text, "{age:.6},{age:.6}"),
            kind if kind < 0.7 => write!(text, "{:.6},", (age * chance(&mut random)).max(1e-4)),
            _ => {
                let lower = age * chance(&mut random);
                let upper = age * (1.0 + chance(&mut random)) + 1e-4;
                write!(text, "{:.6},{upper:.6}", lower.max(1e-4))
            }
        }
        .expect("a string");
        x.iter()
            .for_each(|x| write!(text, ",{x:.6}").expect("a string"));
        text.push('\n');
    }
    std::fs::write(file, text).expect("a writable folder");
}

/// Above zero, below one.
fn chance(random: &mut impl Rng) -> f64 {
    random.random::<f64>().max(1e-12)
}

/// Box and Muller, A note on the generation of random normal deviates, 1958.
fn normal(random: &mut impl Rng) -> f64 {
    (-2.0 * chance(random).ln()).sqrt() * (std::f64::consts::TAU * chance(random)).cos()
}
