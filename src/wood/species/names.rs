//! How names are compared, and the several names that one row of the table stands for.

/// A name without regard to case, spaces, hyphens and other marks: "Scots pine" is "scotspine".
pub(super) fn key(name: &str) -> String {
    let mut key = String::with_capacity(name.len());
    for letter in name.chars().filter(|letter| letter.is_alphanumeric()) {
        // The small letter of a plain one is at hand.
        if letter.is_ascii() {
            key.push(letter.to_ascii_lowercase());
        } else {
            key.extend(letter.to_lowercase());
        }
    }
    key
}

/// Words in brackets that tell specimens apart and are no name by themselves.
const QUALIFIERS: [&str; 2] = ["coast", "younggrowth"];

/// Every common name that the table's entry stands for: "sweet (wild) cherry" is "sweet cherry" and
/// "wild cherry"; "yellow-poplar (tuliptree)" is "yellow-poplar" and "tuliptree".
pub(super) fn common_names(entry: &str) -> Vec<String> {
    let Some((before, rest)) = entry.split_once('(') else {
        return vec![entry.trim().to_owned()];
    };
    let (inside, after) = rest.split_once(')').unwrap_or((rest, ""));
    let first = join(before, after);
    if QUALIFIERS.contains(&key(inside).as_str()) {
        vec![first]
    } else {
        vec![first, join(inside, after)]
    }
}

fn join(front: &str, back: &str) -> String {
    format!("{} {}", front.trim(), back.trim())
        .trim()
        .to_owned()
}

/// The trade words that a common name ends in, longest first: "northern red oak" is a "red oak" and
/// an "oak". Words joined by a hyphen stay one: a Douglas-fir is no fir, a horse-chestnut no chestnut.
pub(super) fn kinds(common_name: &str) -> Vec<String> {
    let words: Vec<&str> = common_name.split_whitespace().collect();
    (1..words.len())
        .filter_map(|skipped| words.get(skipped..))
        .map(|tail| tail.join(" "))
        .collect()
}

/// The first word of a binomial.
pub(super) fn genus(scientific_name: &str) -> String {
    key(scientific_name
        .split_whitespace()
        .next()
        .unwrap_or_default())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bracketed_names_are_names_of_their_own() {
        assert_eq!(
            common_names("sweet (wild) cherry"),
            ["sweet cherry", "wild cherry"]
        );
        assert_eq!(
            common_names("yellow-poplar (tuliptree)"),
            ["yellow-poplar", "tuliptree"]
        );
        assert_eq!(common_names("Douglas-fir (coast)"), ["Douglas-fir"]);
    }

    #[test]
    fn a_northern_red_oak_is_a_red_oak_and_an_oak() {
        assert_eq!(kinds("northern red oak"), ["red oak", "oak"]);
        assert!(kinds("Douglas-fir").is_empty());
    }

    #[test]
    fn case_spaces_and_hyphens_do_not_count() {
        assert_eq!(key("Tree-of-Heaven"), key("tree of heaven"));
    }
}
