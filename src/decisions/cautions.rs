//! What is said wherever a text has somebody handle knives.

/// The usual cautions, in the order of the work, as short lines to print. They defer to the machine's
/// manual, to local rules and to qualified people, and promise nothing.
///
/// Basis: published. Stop, lock and verify before the work: 29 CFR 1910.147(d). Engine off, key out,
/// rotor stationary, gloves to handle knives: FISA 604 items 37 to 40. Covers shut until the rotor
/// has come to a complete stop: 29 CFR 1910.266(h)(4). Cracked, chipped or thin knives out, bolts
/// and torque by the manual, bed-knife gap after any removal: operators' manuals of chippers. Knives
/// in a carrier: common practice.
pub fn handling_knives() -> &'static [&'static str] {
    &[
        "Follow the machine's own manual and your local rules; they come before anything printed here.",
        "Leave this work to people trained and authorised for it; ask a qualified person when in doubt.",
        "Engine off, key out and in the pocket of whoever does the work, battery isolated.",
        "Wait until the rotor is seen to stand still, open no cover before, then fit the rotor lock.",
        "Wear cut-resistant gloves and eye protection; keep hands out of the line of the edges.",
        "Carry and store knives in a knife carrier or cover, never loose.",
        "Discard knives that are cracked or below the manual's minimum width; keep sets matched.",
        "Replace bolts and nuts as the manual says and tighten them to the manual's torque.",
        "Set the bed-knife gap again to the manual's figure and turn the rotor by hand first.",
        "Put every guard and cover back and take the lock out before the key goes in.",
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_necessary_caution_is_given() {
        let all = handling_knives().join(" ").to_lowercase();
        for point in [
            "engine off",
            "key out",
            "stand still",
            "rotor lock",
            "gloves",
            "eye protection",
            "carrier",
            "below the manual's minimum width",
            "cracked",
            "matched",
            "replace bolts",
            "manual's torque",
            "bed-knife gap",
            "guard",
            "manual",
            "local rules",
            "qualified",
        ] {
            assert!(all.contains(point), "{point}");
        }
    }

    #[test]
    fn nothing_is_called_safe() {
        assert!(
            handling_knives()
                .iter()
                .all(|line| !line.to_lowercase().contains("safe"))
        );
    }
}
