//! Plain tables in pieces, several at a time. Whatever is not plain is left to the careful reader: nothing here names a
//! fault, it gives up.

use super::LifeTableBlock;
use super::cell::{Ages, FROM_NEW, NOT_ENDED};
use super::header::Header;
use crate::logbook::plain::{Cells, first_line, lines_from};
use rayon::prelude::*;
use std::path::Path;

/// Bytes of a piece: some ten thousand rows, and small beside what is kept of them.
const PIECE: u64 = 1 << 20;

/// What `keep` makes of each piece; `None` where the table is not plain, or no file that can be read in pieces.
pub fn read<T: Send>(
    file: &Path,
    header: &Header,
    keep: &(impl Fn(LifeTableBlock) -> T + Sync),
) -> Option<Vec<T>> {
    in_pieces(file, header, keep, PIECE)
}

fn in_pieces<T: Send>(
    file: &Path,
    header: &Header,
    keep: &(impl Fn(LifeTableBlock) -> T + Sync),
    bytes: u64,
) -> Option<Vec<T>> {
    let metadata = std::fs::metadata(file).ok()?;
    if !metadata.is_file() {
        return None;
    }
    let plan = Plan::of(header)?;
    let first = first_line(file)?;
    let starts: Vec<u64> = (first..metadata.len()).step_by(bytes as usize).collect();
    let piece = |buffer: &mut Vec<u8>, start: u64| {
        let text = lines_from(file, buffer, first, start..start + bytes)?;
        let block = plan.block(header, text)?;
        Some((!block.lower.is_empty()).then(|| keep(block)))
    };
    let pieces: Option<Vec<Option<T>>> = match starts.as_slice() {
        // One piece is not worth waking other threads.
        [] | [_] => starts
            .iter()
            .map(|start| piece(&mut Vec::new(), *start))
            .collect(),
        _ => starts
            .par_iter()
            .map_init(Vec::new, |buffer, start| piece(buffer, *start))
            .collect(),
    };
    Some(pieces?.into_iter().flatten().collect())
}

/// What each column of the table is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Role {
    Lower,
    Upper,
    Weight,
    Entry,
    Covariate(usize),
    Nothing,
}

struct Plan {
    roles: Vec<Role>,
    covariates: usize,
}

impl Plan {
    /// `None` where one column plays two parts.
    fn of(header: &Header) -> Option<Self> {
        let columns = &header.columns;
        let mut roles = vec![Role::Nothing; header.names.len()];
        let covariates = columns.covariates.iter().enumerate();
        let parts = [(columns.lower, Role::Lower), (columns.upper, Role::Upper)]
            .into_iter()
            .chain(columns.weight.map(|at| (at, Role::Weight)))
            .chain(columns.entry.map(|at| (at, Role::Entry)))
            .chain(covariates.map(|(j, at)| (*at, Role::Covariate(j))));
        for (at, role) in parts {
            let place = roles.get_mut(at)?;
            if *place != Role::Nothing {
                return None;
            }
            *place = role;
        }
        Some(Self {
            roles,
            covariates: columns.covariates.len(),
        })
    }

    /// The rows of whole lines.
    fn block(&self, header: &Header, text: &[u8]) -> Option<LifeTableBlock> {
        let mut cells = Cells::of(std::str::from_utf8(text).ok()?);
        let mut block = LifeTableBlock::new(header);
        let mut covariates = vec![0.0; self.covariates];
        while cells.skip_blank_lines() {
            let ages = self.row(&mut cells, &mut covariates)?;
            block.push_sound(&ages, &covariates)?;
        }
        Some(block)
    }

    /// One row; cells that the line does not have are blank.
    #[inline]
    fn row(&self, cells: &mut Cells, covariates: &mut [f64]) -> Option<Ages> {
        let mut ages = Ages {
            lower: 0.0,
            upper: f64::INFINITY,
            weight: 1.0,
            entry: 0.0,
        };
        let mut ended = false;
        for role in &self.roles {
            let mut number = |blank| {
                if ended {
                    return blank;
                }
                let (value, end) = cells.number(blank)?;
                ended = end;
                Some(value)
            };
            match role {
                Role::Lower => ages.lower = number(FROM_NEW)?,
                Role::Upper => ages.upper = number(NOT_ENDED)?,
                Role::Weight => ages.weight = number(None)?,
                Role::Entry => ages.entry = number(FROM_NEW)?,
                Role::Covariate(j) => *covariates.get_mut(*j)? = number(None)?,
                Role::Nothing if ended => {}
                Role::Nothing => ended = cells.skip()?,
            }
        }
        ended.then_some(ages)
    }
}

#[cfg(test)]
mod tests {
    use super::super::careful;
    use super::*;

    /// The table read quickly in pieces of 40 bytes, if it is plain, and row by row, if it has no fault.
    fn both(text: &str) -> (Option<LifeTableBlock>, Option<LifeTableBlock>) {
        let file = tempfile::NamedTempFile::new().expect("a temporary file");
        std::fs::write(file.path(), text).expect("a writable file");
        let (columns, reader) = careful::open(file.path()).expect("a file");
        let header = Header::of(file.path(), &columns, &["x".to_string()]).expect("a header");
        let joined = |blocks: Vec<LifeTableBlock>| {
            blocks
                .into_iter()
                .fold(LifeTableBlock::new(&header), |mut all, block| {
                    all.lower.extend(block.lower);
                    all.upper.extend(block.upper);
                    all.weight
                        .iter_mut()
                        .zip(block.weight)
                        .for_each(|(to, from)| to.extend(from));
                    all.entry
                        .iter_mut()
                        .zip(block.entry)
                        .for_each(|(to, from)| to.extend(from));
                    all.covariates[0].extend(&block.covariates[0]);
                    all
                })
        };
        let quick = in_pieces(file.path(), &header, &|block| block, 40).map(joined);
        let careful = careful::read(file.path(), reader, &header, &|block| block)
            .ok()
            .map(joined);
        (quick, careful)
    }

    #[test]
    fn plain_tables_come_out_to_the_last_bit_as_row_by_row() {
        let numbers = [
            "1",
            "-0.5",
            "12.25",
            ".5",
            "3.",
            "0.1234567890123456789",
            "9007199254740993",
            "1e3",
            "1.7976931348623157e308",
            "123456789012345678901234567890",
            "4.9e-324",
            "+2.5",
            " 7 ",
            "0000000000000000000000001",
            "0.00000000000000000000001",
        ];
        let mut text = "note,lower,upper,x,entry\n".to_string();
        for (i, number) in numbers.iter().cycle().take(400).enumerate() {
            let upper = ["", "inf", "1e309", " Infinity "][i % 4];
            let end = ["\n", "\r\n", ",0\n", ", \n\n"][i % 4];
            text.push_str(&format!("pêche {i},{i}.25,{upper},{number}{end}"));
        }
        let (quick, careful) = both(&text);
        let quick = quick.expect("plain");
        assert_eq!(quick.lower.len(), 400);
        assert_eq!(Some(quick), careful);
    }

    #[test]
    fn what_is_not_plain_is_left_to_the_careful_reader() {
        for rows in [
            "\"1\",2,3\n",
            "1,2,x\n",
            "1,2\n",
            "1,2,3,4\n",
            "3,2,1\n",
            "1,2,inf\n",
            "1,2,3\r4,5,6\n",
            "-1,2,3\n",
            "nan,2,3\n",
            "1,0,3\n",
            "1,2,na\n",
        ] {
            let (quick, _) = both(&format!("lower,upper,x\n1,2,3\n{rows}1,2,3\n"));
            assert_eq!(quick, None, "{rows}");
        }
        assert_eq!(both("lower,upper,\"x\"\n1,2,3\n").0, None);
    }

    #[test]
    fn a_last_line_may_lack_its_end() {
        for rows in ["1,2,3\n4,5,6", "1,2,3\r\n4,,6", ",5,7\n1,inf,6"] {
            let (quick, careful) = both(&format!("lower,upper,x\n{rows}"));
            assert_eq!(
                quick.as_ref().map(|block| block.lower.len()),
                Some(2),
                "{rows}"
            );
            assert_eq!(quick, careful, "{rows}");
        }
    }
}
