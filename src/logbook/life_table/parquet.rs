//! The same blocks from a Parquet file, column by column. What is not plain is left to the careful reader.

use super::LifeTableBlock;
use super::cell::{Ages, FROM_NEW, NOT_ENDED, value};
use super::header::Header;
use crate::logbook::parquet_table::{Batch, Cells, ParquetTable};
use std::path::Path;

/// Rows of a block, whatever the groups of rows in the file: how they are added up must not depend on its writer. Tables
/// of fewer rows are one block, as they are where they are read as text.
const BLOCK: usize = 1 << 16;

/// What `keep` makes of some rows at a time; `None` where the table is not plain.
pub fn read<T>(
    file: &Path,
    header: &Header,
    keep: &impl Fn(LifeTableBlock) -> T,
) -> Option<Vec<T>> {
    let columns: Vec<usize> = header.columns.used().collect();
    let mut batches = ParquetTable::open(file).ok()?.batches(&columns).ok()?;
    let mut blocks = Vec::new();
    let mut block = LifeTableBlock::new(header);
    while let Some(batch) = batches.next_batch().ok()? {
        let mut rows = Rows::of(header, &batch)?;
        for _ in 0..batch.rows {
            rows.next_row(&mut block)?;
            if block.lower.len() == BLOCK {
                let whole = std::mem::replace(&mut block, LifeTableBlock::new(header));
                blocks.push(keep(whole));
            }
        }
    }
    if !block.lower.is_empty() {
        blocks.push(keep(block));
    }
    Some(blocks)
}

/// Goes down the columns that are read.
struct Rows<'b> {
    lower: Cells<'b>,
    upper: Cells<'b>,
    weight: Option<Cells<'b>>,
    entry: Option<Cells<'b>>,
    others: Vec<Cells<'b>>,
    covariates: Vec<f64>,
}

impl<'b> Rows<'b> {
    fn of(header: &Header, batch: &'b Batch) -> Option<Self> {
        let mut columns = batch.columns.iter().map(|column| column.cells());
        let (lower, upper) = (columns.next()?, columns.next()?);
        let mut next = |asked: Option<usize>| match asked {
            Some(_) => columns.next().map(Some),
            None => Some(None),
        };
        let (weight, entry) = (next(header.columns.weight)?, next(header.columns.entry)?);
        let others: Vec<Cells> = columns.collect();
        Some(Self {
            lower,
            upper,
            weight,
            entry,
            covariates: vec![0.0; others.len()],
            others,
        })
    }

    /// Puts the next row into a block; nothing where it is not plain.
    fn next_row(&mut self, block: &mut LifeTableBlock) -> Option<()> {
        let weight = self.weight.as_mut();
        let entry = self.entry.as_mut();
        let ages = Ages {
            lower: number(&mut self.lower, FROM_NEW)?,
            upper: number(&mut self.upper, NOT_ENDED)?,
            weight: weight.map_or(Some(1.0), |it| number(it, None))?,
            entry: entry.map_or(Some(0.0), |it| number(it, FROM_NEW))?,
        };
        for (to, cells) in self.covariates.iter_mut().zip(&mut self.others) {
            *to = number(cells, None)?;
        }
        block.push_sound(&ages, &self.covariates)
    }
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
        assert_eq!(quick.len(), 1, "one block of several groups of rows");
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
