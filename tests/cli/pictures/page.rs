//! What a notebook says in figures, read from its own text, so that a picture of them follows it.

use std::path::Path;

/// One notebook.
pub struct Page {
    name: &'static str,
    text: String,
}

impl Page {
    pub fn new(name: &'static str) -> Self {
        let path = Path::new(super::ROOT).join("notebooks-md").join(name);
        let text = std::fs::read_to_string(path).expect(name);
        Self { name, text }
    }

    /// What comes after these words.
    pub fn after(&self, words: &str) -> Self {
        let (_, rest) = self.text.split_once(words).expect(words);
        Self {
            name: self.name,
            text: rest.to_string(),
        }
    }

    /// The rows of the table whose head begins so, the head first; each as its cells.
    pub fn table(&self, head: &str) -> Vec<Vec<&str>> {
        let rows = self.text.lines().skip_while(|line| !line.starts_with(head));
        let rows: Vec<Vec<&str>> = rows
            .take_while(|line| line.starts_with('|'))
            .filter(|line| !line.starts_with("| ---"))
            .map(|line| line.trim_matches('|').split('|').map(str::trim).collect())
            .collect();
        assert!(rows.len() > 1, "{}: no table {head}", self.name);
        rows
    }

    /// The rest of the line in which these words stand.
    pub fn line_after(&self, words: &str) -> &str {
        let (_, rest) = self.text.split_once(words).expect(words);
        rest.lines().next().unwrap_or_default()
    }

    /// The first number after these words.
    pub fn number_after(&self, words: &str) -> f64 {
        *numbers(self.line_after(words))
            .first()
            .unwrap_or_else(|| panic!("{}: no number after {words}", self.name))
    }
}

/// Every number in a text, in their order; a comma between thousands does not end one.
pub fn numbers(text: &str) -> Vec<f64> {
    let text = text.replace(',', "");
    let is_part = |letter: char| letter.is_ascii_digit() || letter == '.';
    let parts = text.split(|letter| !is_part(letter));
    parts
        .filter_map(|part| part.trim_end_matches('.').parse().ok())
        .collect()
}

#[test]
fn numbers_are_read_as_people_write_them() {
    assert_eq!(
        numbers("51 (29 to 98.5), 1,000 crews."),
        [51.0, 29.0, 98.5, 1000.0]
    );
    assert_eq!(numbers("16.5 ± 2.6"), [16.5, 2.6]);
    assert_eq!(numbers("none"), [0.0; 0]);
}
