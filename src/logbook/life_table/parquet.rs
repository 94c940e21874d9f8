//! The same blocks from a Parquet file, column by column. What is not plain is left to the careful reader.

use super::LifeTableBlock;
use super::cell::{Ages, FROM_NEW, NOT_ENDED, value};
use super::header::Header;
use crate::logbook::parquet_table::{Batch, Cells, ParquetTable};
use std::path::Path;

/// What `keep` makes of some rows at a time; `None` where the table is not plain.
pub fn read<T>(
    file: &Path,
    header: &Header,
    keep: &impl Fn(LifeTableBlock) -> T,
) -> Option<Vec<T>> {
    let columns: Vec<usize> = header.columns.used().collect();
    let mut batches = ParquetTable::open(file).ok()?.batches(&columns).ok()?;
    let mut blocks = Vec::new();
    while let Some(batch) = batches.next_batch().ok()? {
        blocks.push(keep(block(header, &batch)?));
    }
    Some(blocks)
}

fn block(header: &Header, batch: &Batch) -> Option<LifeTableBlock> {
    let mut columns = batch.columns.iter().map(|column| column.cells());
    let (mut lower, mut upper) = (columns.next()?, columns.next()?);
    let mut next = |asked: Option<usize>| match asked {
        Some(_) => columns.next().map(Some),
        None => Some(None),
    };
    let (mut weight, mut entry) = (next(header.columns.weight)?, next(header.columns.entry)?);
    let mut others: Vec<Cells> = columns.collect();
    let mut block = LifeTableBlock::new(header);
    let mut covariates = vec![0.0; others.len()];
    for _ in 0..batch.rows {
        let ages = Ages {
            lower: number(&mut lower, FROM_NEW)?,
            upper: number(&mut upper, NOT_ENDED)?,
            weight: weight.as_mut().map_or(Some(1.0), |it| number(it, None))?,
            entry: entry
                .as_mut()
                .map_or(Some(0.0), |it| number(it, FROM_NEW))?,
        };
        for (to, cells) in covariates.iter_mut().zip(&mut others) {
            *to = number(cells, None)?;
        }
        block.push_sound(&ages, &covariates)?;
    }
    Some(block)
}

fn number(cells: &mut Cells, blank: Option<f64>) -> Option<f64> {
    cells.next_cell().number(blank, |text| value(text, blank))
}

#[cfg(test)]
mod tests {
    use super::super::{careful, read_life_table};
    use super::*;

    const ASKED: [&str; 1] = ["log_kv"];

    fn written() -> std::path::PathBuf {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/parquet");
        folder.join("lives_polars.parquet")
    }

    fn asked() -> Vec<String> {
        ASKED.map(str::to_string).into()
    }

    fn joined(blocks: Vec<LifeTableBlock>) -> [Vec<f64>; 4] {
        let mut all: [Vec<f64>; 4] = Default::default();
        for block in blocks {
            all[0].extend(block.lower);
            all[1].extend(block.upper);
            all[2].extend(block.weight.expect("a column of weights"));
            all[3].extend(&block.covariates[0]);
        }
        all
    }

    /// tests/reference/parquet: the table as polars wrote it.
    #[test]
    fn lives_are_those_of_the_csv_to_the_last_bit() {
        let csv =
            Path::new(env!("CARGO_MANIFEST_DIR")).join("datasets/published/insulating_fluid.csv");
        let csv = read_life_table(&csv, &asked(), |block| block).expect("a sound table");
        let csv = joined(csv.blocks);
        let (columns, rows) = careful::open(&written()).expect("a table");
        let header = Header::of(&written(), &columns, &asked()).expect("a header");
        let quick = read(&written(), &header, &|block| block).expect("a plain table");
        assert!(quick.len() > 1, "several groups of rows");
        assert_eq!(joined(quick), csv);
        let careful = careful::read(&written(), rows, &header, &|block| block);
        assert_eq!(joined(careful.expect("a sound table")), csv);
    }

    #[test]
    fn what_a_parquet_table_lacks_is_told_without_lines() {
        let folder = written().with_file_name("runs_on_days.parquet");
        let told = |covariates: &[&str]| {
            let names: Vec<String> = covariates.iter().map(|it| it.to_string()).collect();
            let error = read_life_table(&folder, &names, |block| block).expect_err("no lives");
            error.to_string()
        };
        let lacks = "runs_on_days.parquet: the table has no column \"lower\"; write a table with lower and upper";
        assert!(told(&[]).ends_with(lacks), "{}", told(&[]));
    }
}
