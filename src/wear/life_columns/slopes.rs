//! What one row adds to the log-likelihood, and how that changes with the parameters.

/// The log-likelihood of one row as a function of `z = (start - location) / sigma` and, where it has a second age, of
/// `g = gap / sigma`. Derivatives by `g` come times `g`: so they stay of size one however narrow the gap.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Slopes {
    pub value: f64,
    /// First, by `z`.
    pub z: f64,
    /// First by `g`, times `g`.
    pub g: f64,
    /// Second, by `z` twice.
    pub zz: f64,
    /// Second, mixed, times `g`.
    pub zg: f64,
    /// Second by `g` twice, times `g` squared.
    pub gg: f64,
}

/// The six figures of a row that go into sums. With `x` the covariates and a one before them, by the chain rule
/// (`dz = -x db / sigma - z ds`, `dg = -g ds`):
///
/// ```text
/// gradient   b: -sum of first x / sigma             log sigma: -sum of spread
/// Hessian    b b: sum of bend x x' / sigma^2        b log sigma: sum of mixed x / sigma
///            log sigma twice: sum of spread_bend
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Parts {
    pub value: f64,
    pub first: f64,
    pub spread: f64,
    pub bend: f64,
    pub mixed: f64,
    pub spread_bend: f64,
}

impl Slopes {
    /// A row without a second age.
    #[inline(always)]
    pub fn of_one_age(value: f64, z: f64, zz: f64) -> Self {
        Self {
            value,
            z,
            zz,
            ..Self::default()
        }
    }

    /// The figures at `z`.
    #[inline(always)]
    pub fn parts(&self, z: f64) -> Parts {
        let spread = self.z * z + self.g;
        let bend_spread = self.zz * z + self.zg;
        Parts {
            value: self.value,
            first: self.z,
            spread,
            bend: self.zz,
            mixed: self.z + bend_spread,
            spread_bend: spread + bend_spread * z + self.zg * z + self.gg,
        }
    }
}
