//! What is known of each group of a fleet, as a table for other programs.

use crate::wear::GroupLife;

/// One line a group.
#[derive(Debug, Clone, PartialEq)]
pub struct GroupTable<'g> {
    /// What the groups are: the column of the edges file.
    pub group: &'g str,
    /// The groups.
    pub groups: &'g [GroupLife],
}

/// What stands in a column, one value a group.
#[derive(Debug, Clone, PartialEq)]
pub enum GroupColumn {
    /// Names.
    Texts(Vec<String>),
    /// How many.
    Counts(Vec<i64>),
    /// Numbers rounded to so many decimals.
    Numbers(Vec<f64>, usize),
}

impl GroupColumn {
    fn text(&self, row: usize) -> String {
        let text = match self {
            Self::Texts(texts) => texts.get(row).cloned(),
            Self::Counts(counts) => counts.get(row).map(i64::to_string),
            Self::Numbers(numbers, decimals) => {
                numbers.get(row).map(|it| format!("{it:.decimals$}"))
            }
        };
        text.unwrap_or_default()
    }
}

impl GroupTable<'_> {
    /// The table: name, edges, what the group adds to the log of life and the median life in hours in reference
    /// conditions, each with its 90 % bounds.
    pub fn columns(&self) -> Vec<(&str, GroupColumn)> {
        let names = self.groups.iter().map(|it| it.name.clone()).collect();
        let edges = self.groups.iter().map(|it| it.edges as i64).collect();
        let numbers = |decimals: usize, of: fn(&GroupLife) -> f64| {
            let rounded = |it| rounded(of(it), decimals);
            GroupColumn::Numbers(self.groups.iter().map(rounded).collect(), decimals)
        };
        vec![
            (self.group, GroupColumn::Texts(names)),
            ("edges", GroupColumn::Counts(edges)),
            ("effect", numbers(4, |it| it.effect.point)),
            ("effect_lower", numbers(4, |it| it.effect.lower)),
            ("effect_upper", numbers(4, |it| it.effect.upper)),
            ("median_hours", numbers(2, |it| it.median.point)),
            ("median_hours_lower", numbers(2, |it| it.median.lower)),
            ("median_hours_upper", numbers(2, |it| it.median.upper)),
        ]
    }

    /// The same as CSV.
    pub fn csv(&self) -> String {
        let columns = self.columns();
        let mut writer = csv::Writer::from_writer(Vec::new());
        // Writing to memory cannot fail, and text in gives text out.
        let _ = writer.write_record(columns.iter().map(|(name, _)| name));
        for row in 0..self.groups.len() {
            let _ = writer.write_record(columns.iter().map(|(_, column)| column.text(row)));
        }
        String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default()
    }
}

/// The number that so many decimals are read as.
fn rounded(number: f64, decimals: usize) -> f64 {
    format!("{number:.decimals$}").parse().unwrap_or(number)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantities::{Estimate, Level};

    #[test]
    fn each_group_has_a_line_with_its_bounds() {
        let estimate = |point: f64, half: f64| Estimate {
            point,
            lower: point - half,
            upper: point + half,
            level: Level::NINETY,
        };
        let groups = [GroupLife {
            name: "big, old".to_string(),
            edges: 250,
            effect: estimate(-0.25, 0.05),
            median: estimate(10.125, 0.5),
        }];
        let table = GroupTable {
            group: "machine",
            groups: &groups,
        };
        assert_eq!(
            table.csv(),
            "machine,edges,effect,effect_lower,effect_upper,median_hours,median_hours_lower,median_hours_upper\n\
             \"big, old\",250,-0.2500,-0.3000,-0.2000,10.12,9.62,10.62\n"
        );
    }
}
