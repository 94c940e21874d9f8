//! Whether the fitted law of life is adequate: the verdict first, then what it stands on.

use super::View;
use super::format::{hours, set_in, wrapped};
use crate::quantities::MeterHours;
use crate::wear::{Adequacy, Count, FamilyFit, FittedCurve, Verdict};
use serde_json::{Map, Value, json};

/// No line is wider.
const WIDTH: usize = 80;

/// How well the model fits, ready to be shown.
#[derive(Debug, Clone, PartialEq)]
pub struct AdequacyReport {
    /// What was found.
    pub adequacy: Adequacy,
    /// What people call each edge, in the order of the fit: "Heron's red, fitted 3 March". An edge without
    /// a name is called by its number.
    pub names: Vec<String>,
}

impl AdequacyReport {
    fn name(&self, edge: usize) -> String {
        let number = || format!("edge {}", edge + 1);
        self.names.get(edge).cloned().unwrap_or_else(number)
    }

    fn named(&self, edges: &[usize]) -> String {
        let names: Vec<String> = edges.iter().map(|edge| self.name(*edge)).collect();
        names.join(", ")
    }

    /// The verdict in words, with edges by name.
    fn sentence(&self) -> String {
        match &self.adequacy.verdict {
            Verdict::OddEdges { edges } => {
                format!("Some edges do not fit: {}", self.named(edges))
            }
            verdict => verdict.to_string(),
        }
    }

    fn laws(&self) -> String {
        let mut text = format!("  {:<13}{:>13}{:>24}\n", "curve", "foretells", "better by");
        for fit in &self.adequacy.families {
            let better = if fit.family == self.adequacy.family {
                "(fitted)".to_string()
            } else {
                format!("{:+.1} (error {:.1})", fit.better_by, fit.better_by_error)
            };
            let word = fit.family.word();
            text.push_str(&format!(
                "  {word:<13}{:>13.1}{better:>24}\n",
                fit.log_density
            ));
        }
        text.push_str(&set_in(FORETELLS, WIDTH));
        text
    }

    fn counts(&self) -> String {
        let counts = &self.adequacy.counts;
        let grades = counts.grades.iter().map(|grade| {
            let word = format!("graded {}", grade.grade.word());
            (word, Some(grade.count))
        });
        // What the model says of noticing is an upper bound: it stands in the JSON for those who know.
        let others = [("short-lived".to_string(), counts.short_lived)];
        let rows: Vec<String> = grades
            .chain(others)
            .filter_map(|(word, count)| Some(count_row(&word, &count?)))
            .collect();
        if rows.is_empty() {
            return String::new();
        }
        let head = format!(
            "  {:<17}{:>8}{:>10}{:>15}{:>10}\n",
            "edges", "in log", "expected", "90 % between", "chance"
        );
        let mut text = format!("\n{head}{}", rows.concat());
        text.push_str(&set_in(
            "Short-lived edges end before half their typical life. Chance: how often a model that holds \
             counts as far out.",
            WIDTH,
        ));
        text
    }

    fn curve(&self) -> String {
        let gap = self
            .adequacy
            .curve
            .as_ref()
            .and_then(|curve| curve.largest_gap);
        let Some((gap, at)) = gap.and_then(|gap| Some((gap, MeterHours::new(gap.hours).ok()?)))
        else {
            return String::new();
        };
        let sentence = format!(
            "Furthest from the fitted curve at {} hours of a new drum edge in clean green hardwood: of \
             100 edges {:.0} last longer by the log alone, {:.0} by the model.",
            hours(at),
            gap.seen,
            gap.fitted
        );
        format!("\n{}", set_in(&sentence, WIDTH))
    }
}

const FORETELLS: &str = "How well each kind of curve of edge lives foretells an edge from the others: the larger (the less below \
zero) the better (log predictive density). Below 4, or below twice its error, a difference says nothing.";

fn count_row(word: &str, count: &Count) -> String {
    let between = format!("{:.0} and {:.0}", count.lower, count.upper);
    let chance = if count.tail < 0.01 {
        "under 1 %".to_string()
    } else {
        format!("{:.0} %", 100.0 * count.tail)
    };
    format!(
        "  {word:<17}{:>8.0}{:>10.1}{between:>15}{chance:>10}\n",
        count.observed, count.expected
    )
}

fn count_json(count: &Count) -> Value {
    json!({
        "observed": count.observed, "expected": count.expected,
        "lower": count.lower, "upper": count.upper, "level": 0.9, "tail": count.tail,
    })
}

fn family_json(fit: &FamilyFit) -> Value {
    json!({
        "family": fit.family.word(),
        "elpd": fit.log_density, "elpd_se": fit.standard_error, "p_loo": fit.effective_parameters,
        "elpd_difference": fit.better_by, "elpd_difference_se": fit.better_by_error,
        "doubtful_edges": fit.doubtful_edges,
        "doubts": fit.doubts.iter().map(ToString::to_string).collect::<Vec<_>>(),
    })
}

fn curve_json(curve: &FittedCurve) -> Value {
    json!({
        "blurred": curve.blurred, "points": curve.points, "level": 0.9,
        "largest_gap": curve.largest_gap,
    })
}

impl View for AdequacyReport {
    fn text(&self) -> String {
        let mut text = format!("{}\n", self.sentence());
        for warning in self.warnings() {
            text.push_str(&wrapped("!", &warning, WIDTH));
        }
        text.push('\n');
        text.push_str(&self.laws());
        text.push_str(&self.counts());
        text.push_str(&self.curve());
        text
    }

    fn json(&self) -> Map<String, Value> {
        let adequacy = &self.adequacy;
        let edges = adequacy.edges.iter().zip(&adequacy.left_out.edges);
        let edges = edges.map(|(edge, left_out)| {
            json!({
                "edge": self.name(edge.edge), "index": edge.edge, "seen": edge.seen,
                "low": edge.low, "high": edge.high, "score": edge.score,
                "elpd": left_out.log_density, "k_hat": left_out.k_hat,
                "fitted_anew": left_out.fitted_anew,
            })
        });
        let counts = &adequacy.counts;
        let grades = counts
            .grades
            .iter()
            .map(|grade| json!({ "grade": grade.grade.word(), "count": count_json(&grade.count) }));
        let whole = json!({
            "verdict": adequacy.verdict,
            "sentence": self.sentence(),
            "families": adequacy.families.iter().map(family_json).collect::<Vec<_>>(),
            "edges": edges.collect::<Vec<_>>(),
            "scores_test": adequacy.scores_test,
            "curve": adequacy.curve.as_ref().map(curve_json),
            "counts": {
                "grades": grades.collect::<Vec<_>>(),
                "noticed": counts.noticed.as_ref().map(count_json),
                "short_lived": counts.short_lived.as_ref().map(count_json),
            },
        });
        Map::from_iter([("adequacy".to_string(), whole)])
    }

    fn warnings(&self) -> Vec<String> {
        let mut warnings = Vec::new();
        let doubtful = &self.adequacy.doubtful_edges;
        if !doubtful.is_empty() {
            warnings.push(format!(
                "what the others foretell is rough for {}",
                self.named(doubtful)
            ));
        }
        let others = self.adequacy.families.iter();
        for fit in others.filter(|fit| fit.family != self.adequacy.family) {
            for doubt in &fit.doubts {
                warnings.push(format!("{}: {doubt}", fit.family.word()));
            }
        }
        warnings
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantities::Grade;
    use crate::wear::{Counts, Family, Gap, GradeCount, LeaveOneOut};

    fn family(family: Family, better_by: f64) -> FamilyFit {
        FamilyFit {
            family,
            log_density: -61.25 + better_by,
            standard_error: 4.0,
            effective_parameters: 5.0,
            better_by,
            better_by_error: 1.25,
            doubtful_edges: Vec::new(),
            doubts: Vec::new(),
        }
    }

    fn report(verdict: Verdict) -> AdequacyReport {
        let count = Count {
            observed: 7.0,
            expected: 8.25,
            lower: 5.0,
            upper: 12.0,
            tail: 0.62,
        };
        let adequacy = Adequacy {
            verdict,
            family: Family::Weibull,
            families: vec![
                family(Family::Weibull, 0.0),
                family(Family::Lognormal, -2.0),
            ],
            left_out: LeaveOneOut::new(&[0.0], &[]),
            doubtful_edges: vec![1],
            edges: Vec::new(),
            scores_test: None,
            curve: Some(FittedCurve {
                blurred: true,
                points: Vec::new(),
                largest_gap: Some(Gap {
                    hours: 33.4,
                    seen: 61.0,
                    fitted: 54.0,
                }),
            }),
            counts: Counts {
                grades: vec![GradeCount {
                    grade: Grade::Dull,
                    count,
                }],
                noticed: Some(count),
                short_lived: None,
            },
        };
        AdequacyReport {
            adequacy,
            names: vec!["Heron's red on 3 March".to_string()],
        }
    }

    #[test]
    fn the_verdict_comes_first_with_edges_by_name_or_number() {
        let text = report(Verdict::OddEdges { edges: vec![0, 4] }).text();
        let first = "Some edges do not fit: Heron's red on 3 March, edge 5\n";
        assert!(text.starts_with(first), "{text}");
        assert!(text.contains("  ! what the others foretell is rough for edge 2"));
        assert!(
            report(Verdict::Fits)
                .text()
                .starts_with("Your edges wear as the model says\n")
        );
    }

    #[test]
    fn numbers_stand_in_columns_no_wider_than_the_page() {
        let text = report(Verdict::Fits).text();
        assert!(
            text.lines().all(|line| line.chars().count() <= WIDTH),
            "{text}"
        );
        assert!(
            text.contains("  lognormal            -63.2        -2.0 (error 1.2)\n"),
            "{text}"
        );
        assert!(
            text.contains("  graded dull             7       8.2       5 and 12      62 %\n"),
            "{text}"
        );
        assert!(text.contains("at 33 hours"), "{text}");
    }

    #[test]
    fn programs_get_every_key() {
        let json = Value::Object(report(Verdict::Off).json());
        let adequacy = &json["adequacy"];
        assert_eq!(adequacy["verdict"]["verdict"], "off");
        assert_eq!(adequacy["families"][1]["elpd_difference"], -2.0);
        assert_eq!(adequacy["counts"]["grades"][0]["count"]["observed"], 7.0);
        assert!(adequacy["counts"]["short_lived"].is_null());
        assert_eq!(adequacy["curve"]["largest_gap"]["hours"], 33.4);
    }
}
