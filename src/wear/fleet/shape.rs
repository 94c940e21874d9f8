//! Which sum stands where.

/// The parameters that every edge shares are the location (log of the characteristic life), one coefficient a
/// covariate of the wear rate, and the log of the shape. Sums over edges are the value, its slopes by them, and its
/// second slopes row by row from the diagonal on. A group's effect adds to the location: slopes by it are the location's.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Shape {
    pub covariates: usize,
}

impl Shape {
    /// Shared parameters.
    pub fn dimension(self) -> usize {
        self.covariates + 2
    }

    /// The log of the shape is the last.
    pub fn log_shape(self) -> usize {
        self.covariates + 1
    }

    /// Where the slopes stand.
    pub fn slope(self, i: usize) -> usize {
        1 + i
    }

    /// Where second slopes stand, `i` not above `j`.
    pub fn bend(self, i: usize, j: usize) -> usize {
        let d = self.dimension();
        1 + d + i * d - i * i.saturating_sub(1) / 2 + j - i
    }

    /// How many sums there are.
    pub fn sums(self, bends: bool) -> usize {
        let d = self.dimension();
        1 + d + if bends { d * (d + 1) / 2 } else { 0 }
    }

    /// Products of covariates, one with itself included.
    pub fn products(self) -> usize {
        self.covariates * (self.covariates + 1) / 2
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sums_follow_each_other_without_gap() {
        for covariates in 0..5 {
            let shape = Shape { covariates };
            let d = shape.dimension();
            let bends = (0..d).flat_map(|i| (i..d).map(move |j| shape.bend(i, j)));
            let slopes = (0..d).map(|i| shape.slope(i));
            let all: Vec<usize> = slopes.chain(bends).collect();
            assert_eq!(all, (1..shape.sums(true)).collect::<Vec<_>>());
        }
    }
}
