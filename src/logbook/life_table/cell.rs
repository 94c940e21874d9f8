//! What a cell says, and whether the cells of a row go together.

/// The value of a cell that has been trimmed; a blank one is `blank`. Nothing where it holds no number.
pub fn value(text: &str, blank: Option<f64>) -> Option<f64> {
    match text.to_ascii_lowercase().as_str() {
        "" | "na" => blank,
        "inf" | "+inf" | "infinity" => Some(f64::INFINITY),
        plain => plain.parse().ok().filter(|value: &f64| !value.is_nan()),
    }
}

/// What a blank `lower` or `entry` means.
pub const FROM_NEW: Option<f64> = Some(0.0);
/// What a blank `upper` means.
pub const NOT_ENDED: Option<f64> = Some(f64::INFINITY);

/// What a row says besides its covariates.
#[derive(Debug, Clone, Copy)]
pub struct Ages {
    pub lower: f64,
    pub upper: f64,
    pub weight: f64,
    pub entry: f64,
}

/// What would be right in each of the four columns; nothing where all is well.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Wanted {
    pub lower: Option<&'static str>,
    pub upper: Option<&'static str>,
    pub weight: Option<&'static str>,
    pub entry: Option<&'static str>,
}

impl Ages {
    /// What no single cell shows.
    #[inline]
    pub fn wanted(&self) -> Wanted {
        let number = |value: f64| (0.0..f64::INFINITY).contains(&value);
        let upper = if self.upper <= 0.0 {
            Some("an age above zero, inf, or nothing")
        } else if self.upper < self.lower {
            Some("an age not below lower")
        } else {
            None
        };
        let entry = if !number(self.entry) {
            Some("an age, zero or more")
        } else if self.entry >= self.upper || (self.lower > 0.0 && self.entry > self.lower) {
            Some(
                "an age at which this life was in view and not yet ended: not above lower, below upper",
            )
        } else {
            None
        };
        Wanted {
            lower: (!number(self.lower)).then_some("an age, zero or more"),
            upper,
            weight: (!number(self.weight)).then_some("a weight, zero or more"),
            entry,
        }
    }
}
