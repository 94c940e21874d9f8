//! The posterior of every parameter of a hierarchical model, one row each.

use super::View;
use super::format::{four_digits, set_in, wrapped};
use serde_json::{Map, Value, json};

/// The posterior of one parameter.
#[derive(Debug, Clone, PartialEq)]
pub struct PosteriorRow {
    /// Its name.
    pub name: String,
    /// Posterior mean.
    pub mean: f64,
    /// Posterior standard deviation.
    pub sd: f64,
    /// One chance in twenty that it is lower.
    pub q05: f64,
    /// As likely lower as higher.
    pub q50: f64,
    /// One chance in twenty that it is higher.
    pub q95: f64,
    /// Rank-normalised split R-hat; absent where nothing was sampled by chains.
    pub rhat: Option<f64>,
    /// Effective sample size; absent where draws are independent by construction.
    pub ess: Option<f64>,
}

/// What was fitted.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FittedEdges {
    /// Edges in the table.
    pub found: usize,
    /// Edges set aside, each with the reason; the others were used.
    pub set_aside: Vec<(String, String)>,
    /// Runs of the edges used.
    pub runs: usize,
    /// Covariates of the wear rate.
    pub covariates: Vec<String>,
    /// Name and number of levels of the group.
    pub group: Option<(String, usize)>,
    /// Columns that mean nothing here.
    pub unused_columns: Vec<String>,
}

/// What a fit hands over to be shown.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PosteriorSummary {
    /// How the posterior was found: `laplace`, `nuts`, `integrated`.
    pub method: String,
    /// Pareto k-hat of the importance weights; absent where none were taken.
    pub k_hat: Option<f64>,
    /// Divergent transitions; absent where no chains were run.
    pub divergences: Option<usize>,
    /// What else was checked, in words that follow "The computation holds up:".
    pub checked: Option<String>,
    /// What speaks against the numbers.
    pub warnings: Vec<String>,
    /// The parameters.
    pub rows: Vec<PosteriorRow>,
}

/// The posterior of a hierarchical model, ready to be shown.
#[derive(Debug, Clone, PartialEq)]
pub struct PosteriorTable {
    /// What was fitted.
    pub edges: FittedEdges,
    /// What came of it.
    pub summary: PosteriorSummary,
}

/// No line is wider.
const WIDTH: usize = 80;
/// Width of the names; a longer one has a line of its own.
const NAME: usize = 12;

impl FittedEdges {
    /// Edges that were used.
    pub fn used(&self) -> usize {
        self.found - self.set_aside.len().min(self.found)
    }

    fn sentence(&self) -> String {
        let mut sentence = format!(
            "Fitted {} of {} edges, over {} runs",
            self.used(),
            self.found,
            self.runs
        );
        sentence.push_str(&match self.covariates.as_slice() {
            [] => ", with one wear rate throughout".to_string(),
            names => format!(", with a wear rate that depends on {}", names.join(", ")),
        });
        sentence.push_str(&match &self.group {
            None => ".".to_string(),
            Some((name, levels)) => format!(" and a life of its own for each {name} ({levels})."),
        });
        sentence
    }
}

impl PosteriorSummary {
    fn checks(&self) -> String {
        let mut checks = Vec::new();
        checks.extend(
            self.k_hat
                .map(|k| format!("Pareto k-hat {}", four_digits(k))),
        );
        checks.extend(self.checked.clone());
        checks.extend(self.divergences.map(|count| format!("{count} divergences")));
        let worst = self.rows.iter().filter_map(|row| row.rhat).reduce(f64::max);
        checks.extend(worst.map(|rhat| format!("R-hat up to {}", four_digits(rhat))));
        let least = self.rows.iter().filter_map(|row| row.ess).reduce(f64::min);
        checks.extend(least.map(|ess| format!("effective sample sizes from {ess:.0}")));
        if checks.is_empty() {
            "nothing was checked".to_string()
        } else {
            checks.join(", ")
        }
    }

    fn trust(&self) -> String {
        let verdict = if !self.warnings.is_empty() {
            "Do not lean on these numbers before you have read what speaks against them"
        } else if self.k_hat.is_none()
            && self.checked.is_none()
            && self.rows.iter().all(|row| row.rhat.is_none())
        {
            "Nothing vouches for these numbers"
        } else {
            "The computation holds up"
        };
        format!("Method: {}. {verdict}: {}.", self.method, self.checks())
    }
}

/// More groups than this are not told line by line.
const MOST_GROUPS: usize = 60;

fn is_of_group(name: &str) -> bool {
    let number = name.strip_prefix("b_").unwrap_or_default();
    !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit())
}

const MEANING: &str = "log_eta is the log of the characteristic life in hours (63.2 % dull) of the mean of \
the groups where every covariate is zero, log_kappa the log of the shape, beta_ the coefficients of the log \
wear rate (positive wears faster), b_ what a group adds to log_eta, sigma_b the spread of those, log_lambda \
the log of strikes per hour.";

fn line(name: &str, cells: [String; 7]) -> String {
    let [mean, sd, q05, q50, q95, rhat, ess] = cells;
    let numbers = format!("{mean:>11}{sd:>11}{q05:>11}{q50:>11}{q95:>10}{rhat:>7}{ess:>7}");
    if name.chars().count() <= NAME {
        return format!("{name:<NAME$}{numbers}\n");
    }
    let mut name = name.to_string();
    if let Some((end, _)) = name
        .char_indices()
        .nth(WIDTH - 3)
        .filter(|_| name.chars().count() > WIDTH)
    {
        name.truncate(end);
        name.push_str("...");
    }
    format!("{name}\n{:NAME$}{numbers}\n", "")
}

/// Four digits that leave a gap before them in their column.
fn cell(value: f64) -> String {
    let text = four_digits(value);
    if text.len() > 10 {
        format!("{value:.3e}")
    } else {
        text
    }
}

fn row(row: &PosteriorRow) -> String {
    let or_dash = |text: Option<String>| text.unwrap_or_else(|| "-".to_string());
    let [mean, sd, q05, q50, q95] = [row.mean, row.sd, row.q05, row.q50, row.q95].map(cell);
    let rhat = or_dash(row.rhat.map(four_digits));
    let ess = or_dash(row.ess.map(|ess| format!("{ess:.0}")));
    line(&row.name, [mean, sd, q05, q50, q95, rhat, ess])
}

impl View for PosteriorTable {
    fn text(&self) -> String {
        let mut text = wrapped_plain(&self.edges.sentence());
        for (id, reason) in &self.edges.set_aside {
            text.push_str(&wrapped(
                "-",
                &format!("edge {id} set aside: {reason}"),
                WIDTH,
            ));
        }
        if !self.edges.unused_columns.is_empty() {
            let names = self.edges.unused_columns.join(", ");
            text.push_str(&wrapped("-", &format!("columns not used: {names}"), WIDTH));
        }
        text.push_str(&wrapped_plain(&self.summary.trust()));
        for warning in &self.summary.warnings {
            text.push_str(&wrapped("!", warning, WIDTH));
        }
        let heads = ["mean", "sd", "5 %", "50 %", "95 %", "R-hat", "ESS"].map(String::from);
        text.push_str(&format!("\n{}", line("", heads)));
        let groups = self.edges.group.as_ref().map_or(0, |(_, levels)| *levels);
        let shown = |known: &&PosteriorRow| groups <= MOST_GROUPS || !is_of_group(&known.name);
        let rows = self.summary.rows.iter().filter(shown);
        rows.for_each(|known| text.push_str(&row(known)));
        if groups > MOST_GROUPS {
            let sentence = format!(
                "The {groups} rows b_ are left out here; --json has them, and --by-group FILE.csv tells them by name."
            );
            text.push_str(&format!("\n{}", wrapped_plain(&sentence)));
        }
        text.push_str(&format!("\n{}", set_in(MEANING, WIDTH)));
        text
    }

    fn json(&self) -> Map<String, Value> {
        let row = |row: &PosteriorRow| {
            json!({
                "name": row.name, "mean": row.mean, "sd": row.sd,
                "q05": row.q05, "q50": row.q50, "q95": row.q95,
                "rhat": row.rhat, "ess": row.ess,
            })
        };
        let aside = |(id, reason): &(String, String)| json!({ "edge_id": id, "reason": reason });
        let (edges, summary) = (&self.edges, &self.summary);
        let posterior: Vec<Value> = summary.rows.iter().map(row).collect();
        let set_aside: Vec<Value> = edges.set_aside.iter().map(aside).collect();
        Map::from_iter([
            ("method".to_string(), json!(summary.method)),
            ("k_hat".to_string(), json!(summary.k_hat)),
            ("divergences".to_string(), json!(summary.divergences)),
            ("posterior".to_string(), json!(posterior)),
            (
                "edges".to_string(),
                json!({ "found": edges.found, "used": edges.used(), "set_aside": set_aside }),
            ),
            ("runs".to_string(), json!(edges.runs)),
            ("columns_not_used".to_string(), json!(edges.unused_columns)),
        ])
    }

    fn warnings(&self) -> Vec<String> {
        self.summary.warnings.clone()
    }
}

/// A sentence broken into lines that start at the margin.
fn wrapped_plain(sentence: &str) -> String {
    let set_in = set_in(sentence, WIDTH);
    let lines: Vec<&str> = set_in.lines().map(str::trim_start).collect();
    format!("{}\n", lines.join("\n"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parameter(name: &str, mean: f64, sampled: bool) -> PosteriorRow {
        PosteriorRow {
            name: name.to_string(),
            mean,
            sd: 0.125,
            q05: mean - 0.2,
            q50: mean,
            q95: mean + 0.2,
            rhat: sampled.then_some(1.001_2),
            ess: sampled.then_some(2_345.6),
        }
    }

    fn table(sampled: bool, warnings: &[&str]) -> PosteriorTable {
        PosteriorTable {
            edges: FittedEdges {
                found: 121,
                set_aside: vec![("7".into(), "it has run no hours at all".into())],
                runs: 484,
                covariates: vec!["hard".into(), "dirt".into()],
                group: Some(("machine".into(), 3)),
                unused_columns: vec!["note".into()],
            },
            summary: PosteriorSummary {
                method: if sampled { "nuts" } else { "laplace" }.into(),
                k_hat: (!sampled).then_some(0.312),
                divergences: sampled.then_some(0),
                checked: None,
                warnings: warnings.iter().map(ToString::to_string).collect(),
                rows: vec![
                    parameter("log_eta", 2.565, sampled),
                    parameter("beta_share_of_soil", -0.000_012_345_6, sampled),
                    parameter("log_lambda", -4.5e-9, sampled),
                ],
            },
        }
    }

    #[test]
    fn the_page_says_what_was_fitted_whether_to_trust_it_and_then_the_numbers() {
        let text = table(true, &[]).text();
        let starts = "\
Fitted 120 of 121 edges, over 484 runs, with a wear rate that depends on hard,
dirt and a life of its own for each machine (3).
  - edge 7 set aside: it has run no hours at all
  - columns not used: note
Method: nuts. The computation holds up: 0 divergences, R-hat up to 1.001,
effective sample sizes from 2346.

                   mean         sd        5 %       50 %      95 %  R-hat    ESS
log_eta           2.565     0.1250      2.365      2.565     2.765  1.001   2346
";
        assert!(text.starts_with(starts), "{text}");
    }

    #[test]
    fn a_warning_comes_before_the_numbers_that_it_speaks_against() {
        let text = table(
            false,
            &["Pareto k-hat above 0.7: the weights are led by a few draws"],
        )
        .text();
        let warned = text.find("! Pareto").expect("the warning");
        assert!(text.contains("Do not lean on these numbers"));
        assert!(warned < text.find("log_eta").expect("the numbers"));
    }

    #[test]
    fn numbers_that_nothing_checked_are_not_vouched_for() {
        let mut unchecked = table(false, &[]);
        unchecked.summary.k_hat = None;
        assert!(
            unchecked
                .text()
                .contains("Nothing vouches for these numbers: nothing was checked.")
        );
    }

    #[test]
    fn no_line_is_wider_than_eighty_letters_and_no_numbers_touch() {
        let mut long = table(true, &["word ".repeat(60).trim()]);
        long.summary
            .rows
            .push(parameter(&"x".repeat(200), -1.234_567e-5, true));
        for line in long.text().lines() {
            assert!(line.chars().count() <= WIDTH, "{line}");
        }
        let text = long.text();
        let numbers: Vec<&str> = text
            .lines()
            .filter(|line| line.ends_with(" 2346"))
            .collect();
        assert_eq!(numbers.len(), 4, "{text}");
        for line in numbers {
            let words = line.split_whitespace().count();
            assert_eq!(words, if line.starts_with(' ') { 7 } else { 8 }, "{line}");
        }
    }

    #[test]
    fn programs_get_every_key_and_null_where_there_is_no_number() {
        let json = Value::Object(table(false, &[]).json());
        let first = &json["posterior"][0];
        for key in ["mean", "sd", "q05", "q50", "q95"] {
            assert!(first[key].is_number(), "{key}");
        }
        assert!(first["rhat"].is_null() && first["ess"].is_null() && json["divergences"].is_null());
        assert_eq!(json["k_hat"], 0.312);
        assert_eq!(json["method"], "laplace");
        assert_eq!(json["edges"]["used"], 120);
        assert_eq!(json["edges"]["set_aside"][0]["edge_id"], "7");
    }
}
