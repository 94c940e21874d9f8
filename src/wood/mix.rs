//! A wood, and the mix of woods in a run, as people write them.

use super::{HardnessBasis, REFERENCE_HARDNESS, SpeciesTable, WoodError};
use std::fmt;
use std::sync::Arc;

/// How far shares may miss the whole: three woods at 33 % make 99 %.
/// Basis: judgement; wide enough for rounded thirds and sevenths, too narrow for a forgotten wood.
const SHARE_TOLERANCE: f64 = 0.02;

/// A species or a class of wood, as far as wear is concerned.
#[derive(Debug, Clone, PartialEq)]
pub struct Wood {
    name: String,
    green_hardness: f64,
    palm: bool,
    basis: HardnessBasis,
}

impl Wood {
    pub(super) fn new(name: &str, green_hardness: f64, palm: bool, basis: HardnessBasis) -> Self {
        Self {
            name: name.to_owned(),
            green_hardness,
            palm,
            basis,
        }
    }

    /// What the crew called it.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Side (Janka) hardness of the green wood, in pounds-force; above zero.
    pub fn green_hardness(&self) -> f64 {
        self.green_hardness
    }

    /// Where the hardness comes from.
    pub fn basis(&self) -> HardnessBasis {
        self.basis
    }

    /// `ln(green side hardness / reference hardness)`.
    pub fn log_relative_hardness(&self) -> f64 {
        (self.green_hardness / REFERENCE_HARDNESS).ln()
    }

    /// Palm or bamboo: silica in the wood wears edges beyond what its hardness says.
    pub fn is_palm(&self) -> bool {
        self.palm
    }
}

/// Woods by share of a run. `Display` gives it as it was written. Copies share what they hold: a long log has
/// the same few in many thousand runs.
#[derive(Debug, Clone, PartialEq)]
pub struct WoodMix {
    parts: Arc<[(Wood, f64)]>,
    written: Arc<str>,
}

impl WoodMix {
    /// Reads a mix as people write it: "oak", "oak 60%, spruce 40%", "60 oak 40 spruce",
    /// "oak/spruce", "oak + ash", "oak and ash". Shares are percent, or fractions adding up to one;
    /// woods without shares share alike. Shares that nearly add up (33 + 33 + 33) are stretched to
    /// the whole.
    ///
    /// # Errors
    ///
    /// [`WoodError`] on an unknown wood, a wood without its share, a share without its wood, or
    /// shares that do not add up.
    pub fn parse(written: &str) -> Result<Self, WoodError> {
        let written = written.trim();
        let named = parts_of(written)?;
        let shares = shares(&named)?;
        let table = SpeciesTable::compiled_in();
        let parts = named
            .iter()
            .zip(shares)
            .map(|(part, share)| Ok((table.wood(&part.name)?, share)))
            .collect::<Result<_, WoodError>>()?;
        Ok(Self {
            parts,
            written: written.into(),
        })
    }

    /// As it was written, which settles the rest.
    pub fn written(&self) -> &str {
        &self.written
    }

    /// Each wood with its share; the shares add up to one.
    pub fn parts(&self) -> impl Iterator<Item = (&Wood, f64)> {
        self.parts.iter().map(|(wood, share)| (wood, *share))
    }
}

impl fmt::Display for WoodMix {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(&self.written)
    }
}

/// A wood and its share, as written.
#[derive(Debug, Default, Clone, PartialEq)]
struct Part {
    name: String,
    share: Option<f64>,
}

#[derive(Debug, PartialEq)]
enum Token<'a> {
    Share(f64),
    Word(&'a str),
}

fn parts_of(written: &str) -> Result<Vec<Part>, WoodError> {
    let segments = segments(written);
    let parts: Vec<Part> = segments.into_iter().flat_map(parts_of_segment).collect();
    let nameless = parts.iter().any(|part| part.name.is_empty());
    if parts.is_empty() || nameless {
        return Err(WoodError::NoWood {
            found: written.to_owned(),
        });
    }
    Ok(parts)
}

/// Cuts at commas, slashes and the like. A comma between two digits is a decimal comma.
fn segments(written: &str) -> Vec<&str> {
    let digit = |character: Option<char>| character.is_some_and(|it| it.is_ascii_digit());
    let mut pieces = Vec::new();
    let mut from = 0;
    for (at, mark) in written.char_indices() {
        let decimal = mark == ','
            && digit(written[..at].chars().next_back())
            && digit(written[at + 1..].chars().next());
        if ",;/+&".contains(mark) && !decimal {
            pieces.push(&written[from..at]);
            from = at + mark.len_utf8();
        }
    }
    pieces.push(&written[from..]);
    pieces
        .into_iter()
        .map(str::trim)
        .filter(|piece| !piece.is_empty())
        .collect()
}

/// "60 oak 40 spruce" is two parts, and so is "oak 60 spruce 40": the first token tells whether the
/// share comes before its wood or after. "and" parts woods, too.
fn parts_of_segment(segment: &str) -> Vec<Part> {
    let tokens = tokens(segment);
    let share_first = matches!(tokens.first(), Some(Token::Share(_)));
    let mut parts = vec![Part::default()];
    for token in tokens {
        take(&mut parts, token, share_first);
    }
    parts.retain(|part| *part != Part::default());
    parts
}

fn take(parts: &mut Vec<Part>, token: Token<'_>, share_first: bool) {
    match token {
        Token::Word(word) if word.eq_ignore_ascii_case("and") => parts.push(Part::default()),
        Token::Share(share) if share_first => {
            parts.push(Part {
                share: Some(share),
                ..Part::default()
            });
        }
        Token::Share(share) => {
            if let Some(part) = parts.last_mut() {
                part.share = Some(share);
            }
            parts.push(Part::default());
        }
        Token::Word(word) => {
            if let Some(part) = parts.last_mut() {
                part.name = format!("{} {word}", part.name).trim().to_owned();
            }
        }
    }
}

fn tokens(segment: &str) -> Vec<Token<'_>> {
    segment
        .split_whitespace()
        .flat_map(split_number)
        .filter(|token| *token != Token::Word(""))
        .collect()
}

/// "60%oak" is a share and a word; "%" alone, after a number and a space, says nothing new.
fn split_number(word: &str) -> [Token<'_>; 2] {
    let is_number = |character: char| character.is_ascii_digit() || ".,".contains(character);
    let end = word
        .find(|character| !is_number(character))
        .unwrap_or(word.len());
    let (number, rest) = word.split_at(end);
    let rest = Token::Word(rest.trim_start_matches(['%', ':', '=']));
    match number.replace(',', ".").parse::<f64>() {
        Ok(share) if share.is_finite() => [Token::Share(share), rest],
        _ => [
            Token::Word(word.trim_matches(['%', ':', '='])),
            Token::Word(""),
        ],
    }
}

/// One share a part, adding up to one.
fn shares(parts: &[Part]) -> Result<Vec<f64>, WoodError> {
    if parts.iter().all(|part| part.share.is_none()) {
        return Ok(vec![1.0 / parts.len() as f64; parts.len()]);
    }
    let given = parts
        .iter()
        .map(|part| {
            part.share.ok_or_else(|| WoodError::ShareMissing {
                wood: part.name.clone(),
            })
        })
        .collect::<Result<Vec<f64>, WoodError>>()?;
    let total: f64 = given.iter().sum();
    let whole = |whole: f64| (total / whole - 1.0).abs() <= SHARE_TOLERANCE;
    let positive = given.iter().all(|share| *share > 0.0);
    if positive && (whole(100.0) || whole(1.0)) {
        Ok(given.iter().map(|share| share / total).collect())
    } else {
        Err(WoodError::SharesDoNotAddUp { total })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shares_of(written: &str) -> Vec<(String, f64)> {
        let mix = WoodMix::parse(written).unwrap_or_else(|error| panic!("{written}: {error}"));
        mix.parts()
            .map(|(wood, share)| (wood.name().to_owned(), (share * 1e6).round() / 1e6))
            .collect()
    }

    fn mix(parts: &[(&str, f64)]) -> Vec<(String, f64)> {
        parts
            .iter()
            .map(|(name, share)| ((*name).to_owned(), *share))
            .collect()
    }

    #[test]
    fn mixes_are_read_as_people_write_them() {
        let sixty_forty = mix(&[("oak", 0.6), ("spruce", 0.4)]);
        for written in [
            "oak 60%, spruce 40%",
            "60 oak 40 spruce",
            "oak 60 spruce 40",
            "60% oak / 40% spruce",
            "oak 60 % + spruce 40 %",
            "oak: 60%; spruce: 40%",
            "oak 0.6, spruce 0.4",
            "oak 0,6 / spruce 0,4",
            "60%oak,40%spruce",
            "oak 60%, 40% spruce",
        ] {
            assert_eq!(shares_of(written), sixty_forty, "{written}");
        }
        let alike = mix(&[("red oak", 0.5), ("ash", 0.5)]);
        for written in [
            "red oak/ash",
            "red oak + ash",
            "red oak and ash",
            "red oak, ash",
        ] {
            assert_eq!(shares_of(written), alike, "{written}");
        }
        assert_eq!(shares_of("Scots pine"), mix(&[("Scots pine", 1.0)]));
        assert_eq!(shares_of("oak 33 ash 33 elm 33").len(), 3);
    }

    #[test]
    fn what_cannot_be_a_mix_says_what_is_wrong() {
        let error = |written| WoodMix::parse(written).err();
        assert!(matches!(
            error("oak 60%, spruce 30%"),
            Some(WoodError::SharesDoNotAddUp { total }) if total == 90.0
        ));
        assert!(matches!(
            error("oak 60%, spruce"),
            Some(WoodError::ShareMissing { .. })
        ));
        assert!(matches!(
            error("60/40 oak/spruce"),
            Some(WoodError::NoWood { .. })
        ));
        assert!(matches!(error(""), Some(WoodError::NoWood { .. })));
        assert!(matches!(error(" , ; "), Some(WoodError::NoWood { .. })));
        assert!(matches!(
            error("oak 0%, ash 100%"),
            Some(WoodError::SharesDoNotAddUp { .. })
        ));
        assert!(matches!(
            error("oak, spruse"),
            Some(WoodError::UnknownWood { .. })
        ));
    }

    #[test]
    fn a_mix_is_shown_as_it_was_written() {
        let written = "60 oak 40 spruce";
        assert_eq!(
            WoodMix::parse(written)
                .map(|mix| mix.to_string())
                .ok()
                .as_deref(),
            Some(written)
        );
    }
}
