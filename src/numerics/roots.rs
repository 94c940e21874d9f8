//! Roots of functions of one variable.

/// The root of `f` between two points `(x, f(x))` whose values have opposite signs, to within
/// `tolerance` (and a few units in the last place). `None` where the signs do not differ or are
/// not numbers.
///
/// Source: R. P. Brent (1973), Algorithms for Minimization without Derivatives, chapter 4: inverse
/// quadratic interpolation, falling back on bisection.
pub(crate) fn brent_root(
    low: (f64, f64),
    high: (f64, f64),
    tolerance: f64,
    mut f: impl FnMut(f64) -> f64,
) -> Option<f64> {
    let mut bracket = Bracket::new(low, high)?;
    for _ in 0..200 {
        let near = 2.0 * f64::EPSILON * bracket.b.abs() + 0.5 * tolerance;
        let half = 0.5 * (bracket.c - bracket.b);
        if half.abs() <= near || bracket.fb == 0.0 {
            break;
        }
        let step = bracket.next_step(half, near);
        let next = bracket.b + step;
        bracket.advance(next, f(next));
    }
    Some(bracket.b)
}

/// `b` is the best guess, `a` the one before, and the root lies between `b` and `c`.
struct Bracket {
    a: f64,
    fa: f64,
    b: f64,
    fb: f64,
    c: f64,
    fc: f64,
    step: f64,
    step_before: f64,
}

impl Bracket {
    fn new((low, at_low): (f64, f64), (high, at_high): (f64, f64)) -> Option<Self> {
        let opposite = (at_low <= 0.0 && at_high >= 0.0) || (at_low >= 0.0 && at_high <= 0.0);
        opposite.then(|| {
            let mut bracket = Self {
                a: low,
                fa: at_low,
                b: high,
                fb: at_high,
                c: low,
                fc: at_low,
                step: high - low,
                step_before: high - low,
            };
            bracket.put_best_first();
            bracket
        })
    }

    /// Keeps `b` the guess with the smaller value.
    fn put_best_first(&mut self) {
        if self.fc.abs() < self.fb.abs() {
            (self.a, self.b, self.c) = (self.b, self.c, self.b);
            (self.fa, self.fb, self.fc) = (self.fb, self.fc, self.fb);
        }
    }

    fn next_step(&mut self, half: f64, near: f64) -> f64 {
        let interpolated = (self.step_before.abs() >= near && self.fa.abs() > self.fb.abs())
            .then(|| self.interpolated(half))
            .filter(|step| self.trusted(*step, half, near));
        match interpolated {
            Some(step) => (self.step_before, self.step) = (self.step, step),
            None => (self.step_before, self.step) = (half, half),
        }
        if self.step.abs() > near {
            self.step
        } else {
            near.copysign(half)
        }
    }

    fn interpolated(&self, half: f64) -> f64 {
        let s = self.fb / self.fa;
        let (p, q) = if self.a == self.c {
            (2.0 * half * s, 1.0 - s)
        } else {
            let q = self.fa / self.fc;
            let r = self.fb / self.fc;
            let p = s * (2.0 * half * q * (q - r) - (self.b - self.a) * (r - 1.0));
            (p, (q - 1.0) * (r - 1.0) * (s - 1.0))
        };
        -p / q
    }

    /// Brent's conditions: the step stays well inside and shrinks at least like bisection every
    /// second time.
    fn trusted(&self, step: f64, half: f64, near: f64) -> bool {
        let inside = step * half > 0.0 && step.abs() < 1.5 * half.abs() - 0.5 * near;
        inside && step.abs() < 0.5 * self.step_before.abs()
    }

    fn advance(&mut self, next: f64, at_next: f64) {
        (self.a, self.fa) = (self.b, self.fb);
        (self.b, self.fb) = (next, at_next);
        if (self.fb > 0.0) == (self.fc > 0.0) {
            (self.c, self.fc) = (self.a, self.fa);
            self.step = self.b - self.a;
            self.step_before = self.step;
        }
        self.put_best_first();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn root(low: f64, high: f64, tolerance: f64, f: impl Fn(f64) -> f64) -> Option<f64> {
        brent_root((low, f(low)), (high, f(high)), tolerance, f)
    }

    #[test]
    fn finds_roots_known_by_algebra() {
        let two = root(0.0, 2.0, 0.0, |x| x * x - 2.0);
        assert!(two.is_some_and(|x| (x - 2f64.sqrt()).abs() < 1e-15));
        // Brent's own hard kind: flat at the root.
        let flat = root(-1.0, 4.0, 1e-12, |x| (x - 1.0).powi(9));
        assert!(flat.is_some_and(|x| (x - 1.0).abs() < 2e-2));
        let steep = root(-50.0, 50.0, 1e-13, |x| x.exp() - 1e-9);
        assert!(steep.is_some_and(|x| (x - 1e-9f64.ln()).abs() < 1e-12));
    }

    #[test]
    fn interpolation_needs_few_looks_at_a_smooth_function() {
        let mut looks = 0;
        let root = brent_root((0.0, 1.0), (1.0, 1f64.cos() - 1.0), 1e-13, |x| {
            looks += 1;
            x.cos() - x
        });
        // The Dottie number, from its definition cos x = x.
        assert!(root.is_some_and(|x| (x.cos() - x).abs() < 1e-14));
        assert!(looks <= 8, "{looks} looks");
    }

    #[test]
    fn no_change_of_sign_is_no_root() {
        assert_eq!(root(0.0, 1.0, 1e-9, |x| x + 1.0), None);
        assert_eq!(root(0.0, 1.0, 1e-9, |_| f64::NAN), None);
    }
}
