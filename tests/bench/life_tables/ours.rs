//! Our own fit: in this process from columns in memory, and the program as a whole.

use super::measure::timed;
use super::peer::Run;
use keenspan::logbook::{LifeTableBlock, read_life_table};
use keenspan::wear::{Distribution, Family, LifeBlock, LifeColumns, LifeRows, LifeTableFit};
use rayon::prelude::*;
use std::path::Path;
use std::sync::Arc;
use std::time::Instant;

const COVARIATES: [&str; 5] = ["a", "b", "c", "d", "e"];

/// One run.
pub struct Own {
    pub run: Run,
    /// Standard errors of the estimates.
    pub errors: Vec<f64>,
    /// Seconds that rows take to be sorted.
    pub sorting: f64,
    /// Seconds of the fit that follows.
    pub climbing: f64,
    /// Passes over the whole table.
    pub passes: usize,
}

/// The raw columns.
pub fn read(file: &Path) -> Vec<LifeTableBlock> {
    let names = COVARIATES.map(str::to_string);
    read_life_table(file, &names, |block| block)
        .expect("a table")
        .blocks
}

/// Fits, here and as a program.
pub fn run(blocks: &[LifeTableBlock], file: &Path, folder: &Path) -> Own {
    let start = Instant::now();
    let sorted = |block: &LifeTableBlock| {
        let rows = LifeRows {
            lower: &block.lower,
            upper: &block.upper,
            weight: block.weight.as_deref(),
            entry: block.entry.as_deref(),
            covariates: &block.covariates,
        };
        LifeBlock::sorted(&rows).expect("lives")
    };
    let blocks: Vec<LifeBlock> = blocks.par_iter().map(sorted).collect();
    let columns = Arc::new(LifeColumns::new(
        COVARIATES.map(str::to_string).to_vec(),
        blocks,
    ));
    let sorting = start.elapsed().as_secs_f64();
    let weibull = Distribution {
        family: Family::Weibull,
        fixed_sigma: None,
    };
    let fit = LifeTableFit::of_columns(&columns, weibull).expect("a fit");
    let fitted = start.elapsed().as_secs_f64();
    let (whole, peak_megabytes) = program(file, folder);
    Own {
        run: Run {
            version: "keenspan".to_string(),
            fit: fitted,
            whole,
            peak_megabytes,
            estimates: fit.estimates().to_vec(),
        },
        errors: (0..fit.estimates().len())
            .map(|i| fit.standard_error(i))
            .collect(),
        sorting,
        climbing: fitted - sorting,
        passes: fit.iterations(),
    }
}

fn program(file: &Path, folder: &Path) -> (f64, Option<f64>) {
    let file = file.display().to_string();
    let arguments = ["lifedata", &file, "--covariates", "a,b,c,d,e", "--json"];
    let program = Path::new(env!("CARGO_BIN_EXE_keenspan"));
    let (output, whole, peak) = timed(program, &arguments, folder).expect("the program");
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    (whole, peak)
}
