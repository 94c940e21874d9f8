//! How far figures that somebody types may reach. Beyond, a finger slipped or a unit was mistaken, and what is
//! worked out of it is nonsense at best.

/// A range, both ends included, with its words.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sensible {
    /// The least.
    pub least: f64,
    /// The most.
    pub most: f64,
    /// Both, as a reader likes to see them.
    pub words: &'static str,
}

impl Sensible {
    /// Money for one thing: a knife, a grind, an hour of the crew. Basis: judged; a chipper itself costs less in
    /// any currency, those with many zeros included.
    pub const MONEY: Self = Self {
        least: 0.0,
        most: 1e9,
        words: "from 0 to 1,000,000,000",
    };
    /// Minutes that a change takes or stops the job. Basis: judged; 10,000 are a week.
    pub const MINUTES: Self = Self {
        least: 0.0,
        most: 1e4,
        words: "from 0 to 10,000",
    };
    /// Grinds that one knife lasts. Basis: judged; a tenth of a millimetre off each is a hundred millimetres.
    pub const GRINDS: Self = Self {
        least: 0.0,
        most: 1e3,
        words: "from 0 to 1,000",
    };
    /// Litres of fuel in a meter hour. Basis: judged; the largest engines on chippers burn a few hundred.
    pub const LITRES_PER_HOUR: Self = Self {
        least: 0.0,
        most: 1e3,
        words: "from 0 to 1,000",
    };
    /// A multiple of what a fresh edge does, or of a life. Basis: judged; crews call an edge long before ten lives.
    pub const TIMES: Self = Self {
        least: 0.0,
        most: 10.0,
        words: "from 0 to 10",
    };
    /// A part of a whole.
    pub const SHARE: Self = Self {
        least: 0.0,
        most: 1.0,
        words: "between 0 and 1",
    };
    /// Meter hours between two changes, or two services. Basis: judged; nobody stops every half hour for knives,
    /// and 5,000 hours are ten years of a busy machine.
    pub const BETWEEN_CHANGES: Self = Self {
        least: 0.5,
        most: 5e3,
        words: "from 0.5 to 5,000",
    };
    /// Meter hours of a year: no year has more, and below one there is nothing to plan.
    pub const OF_A_YEAR: Self = Self {
        least: 1.0,
        most: 8784.0,
        words: "from 1 to 8,784",
    };

    /// Whether a figure lies in it; what is no number does not.
    pub fn holds(&self, figure: f64) -> bool {
        (self.least..=self.most).contains(&figure)
    }
}

/// A figure as it is told back: without the zeros that nobody can count.
pub fn as_found(figure: f64) -> String {
    let magnitude = figure.abs();
    let countable = magnitude == 0.0 || (1e-5..1e15).contains(&magnitude);
    if countable || !figure.is_finite() {
        figure.to_string()
    } else {
        format!("{figure:e}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_are_in_and_what_is_no_number_is_not() {
        let interval = Sensible::BETWEEN_CHANGES;
        for inside in [0.5, 50.0, 5000.0] {
            assert!(interval.holds(inside), "{inside}");
        }
        for outside in [0.4999, 5000.1, f64::NAN, f64::INFINITY, -1.0] {
            assert!(!interval.holds(outside), "{outside}");
        }
    }

    #[test]
    fn words_say_the_ends() {
        let all = [
            Sensible::MONEY,
            Sensible::MINUTES,
            Sensible::GRINDS,
            Sensible::LITRES_PER_HOUR,
            Sensible::TIMES,
            Sensible::SHARE,
            Sensible::BETWEEN_CHANGES,
            Sensible::OF_A_YEAR,
        ];
        for range in all {
            let told: Vec<f64> = range
                .words
                .replace(',', "")
                .split(' ')
                .filter_map(|word| word.parse().ok())
                .collect();
            assert_eq!(told, [range.least, range.most], "{}", range.words);
        }
    }

    #[test]
    fn a_figure_is_told_back_in_a_few_letters() {
        for (figure, told) in [
            (5.0, "5"),
            (0.05, "0.05"),
            (1e308, "1e308"),
            (1e-300, "1e-300"),
            (-1.5, "-1.5"),
            (f64::INFINITY, "inf"),
        ] {
            assert_eq!(as_found(figure), told);
        }
    }
}
