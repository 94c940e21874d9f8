//! The cells of plain lines, one after the other.

use crate::logbook::life_table::value;

/// Powers of ten that a double holds exactly.
const TENS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
    1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
];

/// The cells of a piece, one after the other.
pub struct Cells<'a> {
    text: &'a str,
    at: usize,
}

impl<'a> Cells<'a> {
    /// From the beginning of `text`.
    pub fn of(text: &'a str) -> Self {
        Self { text, at: 0 }
    }

    fn byte(&self, at: usize) -> Option<u8> {
        self.text.as_bytes().get(at).copied()
    }

    /// Whether a row begins here or after blank lines.
    pub fn skip_blank_lines(&mut self) -> bool {
        while let Some(byte) = self.byte(self.at) {
            match byte {
                b'\n' => self.at += 1,
                b'\r' if self.byte(self.at + 1) == Some(b'\n') => self.at += 2,
                _ => return true,
            }
        }
        false
    }

    /// Where the next cell begins if this one ends at `at`, and whether that is the next line.
    #[inline(always)]
    fn after(&self, at: usize) -> Option<(usize, bool)> {
        match self.byte(at) {
            Some(b',') => Some((at + 1, false)),
            Some(b'\n') => Some((at + 1, true)),
            Some(b'\r') if self.byte(at + 1) == Some(b'\n') => Some((at + 2, true)),
            None => Some((at, true)),
            _ => None,
        }
    }

    /// The number that stands here and whether the line ends with it.
    #[inline(always)]
    pub fn number(&mut self, blank: Option<f64>) -> Option<(f64, bool)> {
        let (value, end) = match self.plain_decimal() {
            Some(plain) => plain,
            None => return self.any_number(blank),
        };
        let Some((next, line)) = self.after(end) else {
            return self.any_number(blank);
        };
        self.at = next;
        Some((value, line))
    }

    /// A number of few enough digits that it is one whole number over a power of ten, both exact (Clinger, How to read
    /// floating point numbers accurately, 1990), and where it ends.
    #[inline(always)]
    fn plain_decimal(&self) -> Option<(f64, usize)> {
        let bytes = self.text.as_bytes();
        let negative = self.byte(self.at) == Some(b'-');
        let begin = self.at + usize::from(negative);
        let mut at = begin;
        let mut whole = 0u64;
        let mut digits = |at: &mut usize| {
            while let Some(digit) = bytes
                .get(*at)
                .map(|byte| byte.wrapping_sub(b'0'))
                .filter(|digit| *digit < 10)
            {
                whole = whole.wrapping_mul(10).wrapping_add(u64::from(digit));
                *at += 1;
            }
        };
        digits(&mut at);
        let mut decimals = 0;
        let mut points = 0;
        if bytes.get(at) == Some(&b'.') {
            points = 1;
            at += 1;
            let before = at;
            digits(&mut at);
            decimals = at - before;
        }
        let count = at - begin - points;
        // Nineteen digits do not overflow; 2^53 is where whole numbers cease to be exact.
        if count == 0 || count > 19 || whole > 1 << 53 {
            return None;
        }
        let value = whole as f64 / TENS.get(decimals)?;
        Some((if negative { -value } else { value }, at))
    }

    /// Any cell that is not quoted.
    #[inline(never)]
    fn any_number(&mut self, blank: Option<f64>) -> Option<(f64, bool)> {
        let begin = self.at;
        let line = self.skip()?;
        let text = self.text.get(begin..self.at)?;
        let text = text.trim_end_matches(['\n', '\r']);
        let cell = if line { text } else { text.strip_suffix(',')? };
        Some((value(cell.trim(), blank)?, line))
    }

    /// The text that stands here without blanks at its ends, and whether the line ends with it.
    #[inline(always)]
    pub fn text(&mut self) -> Option<(&'a str, bool)> {
        let begin = self.at;
        let line = self.skip()?;
        let cell = self.text.get(begin..self.at)?;
        let cell = cell.trim_end_matches(['\n', '\r']);
        let cell = if line { cell } else { cell.strip_suffix(',')? };
        Some((cell.trim(), line))
    }

    /// The number that stands here, its decimals as written, and whether the line ends with it.
    #[inline(always)]
    pub fn number_and_decimals(&mut self) -> Option<(f64, i32, bool)> {
        let begin = self.at;
        let (value, line) = self.number(None)?;
        let written = self.text.as_bytes().get(begin..self.at)?;
        let point = written.iter().position(|byte| *byte == b'.');
        let after = written.get(point.map_or(written.len(), |point| point + 1)..)?;
        let decimals = after
            .iter()
            .take_while(|byte| byte.is_ascii_digit())
            .count();
        Some((value, decimals as i32, line))
    }

    /// Goes past a cell; whether the line ends with it. Nothing is known of quotes.
    #[inline(always)]
    pub fn skip(&mut self) -> Option<bool> {
        let rest = self.text.as_bytes().get(self.at..)?;
        let length = rest
            .iter()
            .position(|byte| matches!(byte, b',' | b'\n' | b'\r' | b'"'));
        let end = self.at + length.unwrap_or(rest.len());
        let (next, line) = self.after(end)?;
        self.at = next;
        Some(line)
    }
}
