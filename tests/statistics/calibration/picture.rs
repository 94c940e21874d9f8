//! Ranks as the notebook shows them: how many truths fell into each tenth of their draws.

use super::study::Study;
use crate::reference::path;
use keenspan::views::svg::{Axis, Mark, Plot, Stroke, Tone};
use statrs::distribution::{Binomial, DiscreteCDF};

const TENTHS: usize = 10;
/// One for what is known of knives, one for how unlike they are, one for what an owner asks.
const SHOWN: [(&str, &str); 3] = [
    ("location", "median life"),
    ("log_sigma", "spread of life"),
    ("interval, drum, reground, clean", "interval"),
];

/// The picture kept is this one; `WRITE_PICTURES=1` writes it anew.
pub fn hold(name: &str, plot: &Plot) {
    let svg = plot.svg_alone().expect("a picture");
    let kept = path("notebooks-md/pictures").join(name);
    if std::env::var_os("WRITE_PICTURES").is_some() {
        std::fs::write(&kept, &svg).expect("written");
    }
    let kept = std::fs::read_to_string(kept).unwrap_or_default();
    assert!(kept == svg, "{name}: write it anew: WRITE_PICTURES=1");
}

/// A bar for each tenth, on the band within which nineteen in twenty lie where every rank is as likely as any
/// other.
pub fn ranks(study: &Study, crews: u64) -> Plot {
    let law = Binomial::new(1.0 / TENTHS as f64, crews).expect("a law");
    let [low, high] = [0.025, 0.975].map(|chance| law.inverse_cdf(chance) as f64);
    let room = TENTHS as f64 + 2.0;
    let until = room * SHOWN.len() as f64;
    let even = crews as f64 / TENTHS as f64;
    let band = Mark::Block {
        across: (0.0, until),
        up: (low, high),
        tone: Tone::Faint,
        full: true,
    };
    let line = Mark::Line {
        points: vec![(0.0, even), (until, even)],
        tone: Tone::Second,
        stroke: Stroke::Long,
    };
    let bars = SHOWN.iter().enumerate().flat_map(|(place, (quantity, _))| {
        let left = room * place as f64 + 1.0;
        let counts = by_tenths(study, quantity).into_iter().enumerate();
        counts.map(move |(tenth, count)| Mark::Block {
            across: (left + tenth as f64 + 0.1, left + tenth as f64 + 0.9),
            up: (0.0, count),
            tone: Tone::First,
            full: false,
        })
    });
    let names = SHOWN.iter().enumerate();
    let names = names.map(|(place, (_, word))| (room * (place as f64 + 0.5), (*word).to_string()));
    Plot {
        description: format!(
            "How many truths of {crews} invented crews fell into each tenth of their draws, for three quantities, \
             beside how many chance allows"
        ),
        across: Axis {
            names: names.collect(),
            ..Axis::numbers(
                "from the lowest tenth of the draws to the highest",
                0.0,
                until,
            )
        },
        up: Axis::numbers("crews", 0.0, 2.0 * even),
        marks: [band, line].into_iter().chain(bars).collect(),
        keys: Vec::new(),
        shape: 0.5,
    }
}

fn by_tenths(study: &Study, quantity: &str) -> [f64; TENTHS] {
    let mut outcomes = study.outcomes.iter();
    let outcome = outcomes.find(|it| it.quantity == quantity).expect(quantity);
    let mut counts = [0.0; TENTHS];
    for rank in &outcome.thinned.ranks {
        counts[rank * TENTHS / (outcome.thinned.draws + 1)] += 1.0;
    }
    counts
}
