//! What tells the fit of one log from that of another.

use super::density::DensitySettings;
use super::prior::{Prior, Priors};
use super::records::{EdgeRecord, EdgeRecords, Stretch};
use crate::lives::{Look, Noticed, Observation, Sight};
use sha2::{Digest, Sha256};

/// SHA-256, in hexadecimal, over the canonical text of everything that a fit depends on: edges, what was
/// seen of them, settings, priors. Edges are taken in the order of their texts, and the levels of
/// groupings by name, so that the order of rows in the files does not count.
pub fn fingerprint(
    records: &EdgeRecords,
    observations: &[Observation],
    settings: &DensitySettings,
    priors: &Priors,
) -> String {
    let edges = records.edges.iter().zip(observations);
    let mut edges: Vec<String> = edges
        .map(|(record, seen)| format!("edge {} | {}", edge(record, records), observation(seen)))
        .collect();
    edges.sort_unstable();
    let mut hash = Sha256::new();
    for line in heading(records, settings, priors).into_iter().chain(edges) {
        hash.update(line.as_bytes());
        hash.update(b"\n");
    }
    let digest = hash.finalize();
    digest.iter().map(|byte| format!("{byte:02x}")).collect()
}

fn heading(records: &EdgeRecords, settings: &DensitySettings, priors: &Priors) -> Vec<String> {
    let settings = format!(
        "{:?} {:?} {} {} {}",
        settings.family,
        settings.anchor,
        number(settings.called_at),
        number(settings.flat_error),
        number(settings.flat_exponent)
    );
    let mut lines = vec![
        settings,
        format!("{:?}", records.feature_names),
        format!("{:?}", records.rate_names),
        list(&priors.shared, |it| prior(*it)),
        list(&priors.spreads, |it| number(it.scale())),
    ];
    for grouping in &records.groupings {
        let mut levels = grouping.levels.clone();
        levels.sort_unstable();
        lines.push(format!("{:?} {levels:?}", grouping.name));
    }
    lines
}

fn prior(prior: Prior) -> String {
    match prior {
        Prior::Flat => "flat".to_string(),
        Prior::Normal(law) => format!("normal {} {}", number(law.mean()), number(law.spread())),
        Prior::Held(value) => format!("held {}", number(value)),
    }
}

fn edge(record: &EdgeRecord, records: &EdgeRecords) -> String {
    let level = |(level, of): (&Option<usize>, &super::Grouping)| {
        level.and_then(|level| of.levels.get(level).cloned())
    };
    let levels: Vec<Option<String>> = record
        .groups
        .iter()
        .zip(&records.groupings)
        .map(level)
        .collect();
    format!(
        "{} {levels:?} {} {} {} {}",
        list(&record.features, |x| number(*x)),
        list(&record.stretches, stretch),
        list(&record.touch_ups, |x| number(*x)),
        record.entry.map_or("from new".to_string(), number),
        number(record.weight)
    )
}

fn stretch(stretch: &Stretch) -> String {
    let part = |(share, row): &(f64, Vec<f64>)| {
        format!("{} of {}", number(*share), list(row, |x| number(*x)))
    };
    let mut parts: Vec<String> = stretch.parts.iter().map(part).collect();
    parts.sort_unstable();
    format!(
        "{} {} {parts:?}",
        number(stretch.start),
        number(stretch.stop)
    )
}

fn observation(seen: &Observation) -> String {
    match seen {
        Observation::Exact(at) => format!("exact {}", number(at.get())),
        Observation::RightCensored(at) => format!("not by {}", number(at.get())),
        Observation::LeftCensored(at) => format!("by {}", number(at.get())),
        Observation::IntervalCensored { after, by } => {
            format!("in {} {}", number(after.get()), number(by.get()))
        }
        Observation::Graded { looks, noticed } => {
            format!(
                "{} {}",
                list(looks, look),
                noticed.map_or(String::new(), noticing)
            )
        }
    }
}

fn look(look: &Look) -> String {
    let sight = match look.sight {
        Sight::Graded(grade) => format!("{grade:?}"),
        Sight::NotCalled => "not called".to_string(),
        Sight::Measured(flat) => format!("flat {}", number(flat.get())),
    };
    format!("{} {sight}", number(look.at.get()))
}

fn noticing(noticed: Noticed) -> String {
    let word = if noticed.late { "late" } else { "noticed" };
    format!("{word} {}", number(noticed.at.get()))
}

/// Twelve digits: sums of hours that differ in the last bit by the order of their terms are one.
fn number(x: f64) -> String {
    // Minus zero is zero.
    format!("{:.11e}", x + 0.0)
}

fn list<T>(items: &[T], word: impl Fn(&T) -> String) -> String {
    let words: Vec<String> = items.iter().map(word).collect();
    format!("[{}]", words.join(", "))
}
