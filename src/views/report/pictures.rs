//! The report's pictures as files of their own.

use super::{ReportPage, drift, knives, page, plots};
use crate::views::interval::Recommended;
use crate::views::svg::Plot;

/// By which the program knows a picture that it wrote.
const MARK: &str = "<!-- keenspan report -->\n";

/// One picture, on its own.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// The name of its file.
    pub file: String,
    /// What it shows, in words.
    pub description: String,
    /// The picture, as SVG with colours and paper of its own.
    pub svg: String,
}

impl ReportPage {
    /// Every picture of the page, on its own.
    pub fn pictures(&self) -> Vec<Picture> {
        let of_machines = self.of_machines();
        let of_all = self.of_all();
        let mut files: Vec<String> = Vec::new();
        let picture = |(name, plot): (String, Plot)| {
            let file = unused(&files, &file_name(&name));
            files.push(file.clone());
            Some(Picture {
                file: format!("{file}.svg"),
                svg: plot.svg_alone()? + MARK,
                description: plot.description,
            })
        };
        of_machines
            .into_iter()
            .chain(of_all)
            .filter_map(picture)
            .collect()
    }

    fn of_machines(&self) -> Vec<(String, Plot)> {
        let currency = &self.interval.standing.currency;
        let mut all = Vec::new();
        for machine in &self.interval.machines {
            let name = &machine.machine;
            if let Recommended::At(answer) = &machine.answer {
                all.push((format!("cost {name}"), plots::cost(name, answer, currency)));
            }
            let dull = self.dull.iter().find(|dull| dull.machine == *name);
            all.extend(dull.map(|dull| (format!("dull {name}"), plots::dull(dull))));
            let line = self.lines.iter().find(|line| line.machine == *name);
            let line = line.and_then(plots::time_line);
            all.extend(line.map(|plot| (format!("edges {name}"), plot)));
        }
        all
    }

    fn of_all(&self) -> Vec<(String, Plot)> {
        let mut all = Vec::new();
        for chart in self.drift.charts.iter().filter(|chart| drift::tells(chart)) {
            for series in drift::drawn(chart).0 {
                let plot = drift::plot::sums(chart, &series);
                all.push((format!("drift {}", series.name), plot));
            }
        }
        for (machine, sets) in knives::by_machine(self) {
            let plot = knives::plot::stock(machine, &sets, self.knives.units);
            all.extend(plot.map(|plot| (format!("knives {machine}"), plot)));
        }
        let learned = page::learned_plot(&self.learned);
        all.extend(learned.map(|plot| ("learned".to_string(), plot)));
        all
    }
}

/// Small letters and figures, hyphens for all else: a name that every system takes.
fn file_name(name: &str) -> String {
    let letters = name.chars().map(|letter| match letter {
        letter if letter.is_ascii_alphanumeric() => letter.to_ascii_lowercase(),
        _ => ' ',
    });
    let letters: String = letters.collect();
    let words: Vec<&str> = letters.split_whitespace().collect();
    words.join("-")
}

/// With a number where the name is taken.
fn unused(taken: &[String], name: &str) -> String {
    let numbered = (2..).map(|number| format!("{name}-{number}"));
    let mut names = std::iter::once(name.to_string()).chain(numbered);
    let free = names.find(|name| !taken.contains(name));
    free.unwrap_or_else(|| name.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_files_are_plain_and_each_is_used_once() {
        assert_eq!(file_name("cost Big \"drum\" <2>"), "cost-big-drum-2");
        assert_eq!(file_name("knives ../Ä"), "knives");
        let taken = ["knives".to_string(), "knives-2".to_string()];
        assert_eq!(unused(&taken, "knives"), "knives-3");
        assert_eq!(unused(&taken, "learned"), "learned");
    }
}
