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

impl GroupTable<'_> {
    /// The table as CSV: name, edges, what the group adds to the log of life and the median life in hours in reference
    /// conditions, each with its 90 % bounds.
    pub fn csv(&self) -> String {
        let mut writer = csv::Writer::from_writer(Vec::new());
        let heads = [
            self.group,
            "edges",
            "effect",
            "effect_lower",
            "effect_upper",
            "median_hours",
            "median_hours_lower",
            "median_hours_upper",
        ];
        // Writing to memory cannot fail, and text in gives text out.
        let _ = writer.write_record(heads);
        for GroupLife {
            name,
            edges,
            effect,
            median,
        } in self.groups
        {
            let log = |value: f64| format!("{value:.4}");
            let hours = |value: f64| format!("{value:.2}");
            let _ = writer.write_record([
                name.clone(),
                edges.to_string(),
                log(effect.point),
                log(effect.lower),
                log(effect.upper),
                hours(median.point),
                hours(median.lower),
                hours(median.upper),
            ]);
        }
        String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default()
    }
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
