//! How the answer was found, and how far it can be trusted.

use super::WIDTH;
use crate::views::format::{set_in, wrapped};
use crate::wear::Health;

/// The method, its checks, and what weakens the answer.
pub fn text(health: &Health, chains: usize) -> String {
    let mut text = set_in(&method(health, chains), WIDTH);
    if let Some(doubt) = &health.switched {
        let switched = format!(
            "The program began with weighted draws and went over to the sampler by itself: {doubt}."
        );
        text.push_str(&set_in(&switched, WIDTH));
    }
    for doubt in &health.doubts {
        text.push_str(&wrapped("!", &format!("{doubt}."), WIDTH));
    }
    let verdict = if health.doubts.is_empty() {
        "The computation holds up.".to_string()
    } else {
        format!(
            "Do not lean on these numbers as they stand. {}",
            way_out(health)
        )
    };
    text.push_str(&set_in(&verdict, WIDTH));
    text
}

fn way_out(health: &Health) -> &'static str {
    if health.method == "nuts" {
        "Try another --seed; if the doubt stays, keenspan verify shows rows that may be wrong."
    } else {
        "Ask again with --posterior nuts, which takes longer and needs no approximation."
    }
}

fn method(health: &Health, chains: usize) -> String {
    let worth = format!("worth {:.0} independent draws", health.effective);
    if health.method != "nuts" {
        let k_hat = health.k_hat.map_or(String::new(), |k| {
            format!("how far a few draws outweigh the rest: {k:.2} (the lower the better; k-hat); ")
        });
        return format!("Method: weighted draws from a quick approximation; {k_hat}{worth}.");
    }
    let r_hat = health.r_hat.map_or(String::new(), |r| {
        format!("chains agree to {r:.3} (1 is full agreement; R-hat), ")
    });
    let lost = match health.divergences {
        None => String::new(),
        Some(0) => ", the path never lost".to_string(),
        Some(1) => ", the path lost once".to_string(),
        Some(count) => format!(", the path lost {count} times"),
    };
    format!("Method: {chains} chains of a sampler; {r_hat}{worth}{lost}.")
}
