//! Damped Newton maximisation with exact second derivatives.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// A function's value, gradient and Hessian at one point.
#[derive(Debug, Clone)]
pub struct Quadratic<H = DMatrix<f64>> {
    /// Value; minus infinity outside the domain.
    pub value: f64,
    /// First derivatives.
    pub gradient: DVector<f64>,
    /// Second derivatives.
    pub hessian: H,
}

/// A symmetric matrix of second derivatives.
pub trait Curvature: Clone {
    /// What solves with it.
    type Factor: Factor;
    /// Whether every entry is a number.
    fn is_finite(&self) -> bool;
    /// The diagonal.
    fn diagonal(&self) -> DVector<f64>;
    /// The Cholesky factor of minus the matrix with `raise` added to its diagonal; `None` where that is
    /// not positive definite.
    fn factor_of_negative(&self, raise: &DVector<f64>) -> Option<Self::Factor>;
}

/// A factored positive definite matrix.
pub trait Factor {
    /// The solution of `matrix x = right`.
    fn solve(&self, right: &DVector<f64>) -> DVector<f64>;
}

impl Factor for Cholesky<f64, Dyn> {
    fn solve(&self, right: &DVector<f64>) -> DVector<f64> {
        Cholesky::solve(self, right)
    }
}

impl Curvature for DMatrix<f64> {
    type Factor = Cholesky<f64, Dyn>;

    fn is_finite(&self) -> bool {
        self.iter().all(|h| h.is_finite())
    }

    fn diagonal(&self) -> DVector<f64> {
        DMatrix::diagonal(self)
    }

    fn factor_of_negative(&self, raise: &DVector<f64>) -> Option<Self::Factor> {
        let mut negative = -self;
        for (i, raise) in raise.iter().enumerate() {
            negative[(i, i)] += raise;
        }
        Cholesky::new(negative)
    }
}

impl Quadratic {
    /// Nothing yet, in `dimension` coordinates.
    pub fn zero(dimension: usize) -> Self {
        Self {
            value: 0.0,
            gradient: DVector::zeros(dimension),
            hessian: DMatrix::zeros(dimension, dimension),
        }
    }
}

impl<H: Curvature> Quadratic<H> {
    fn is_finite(&self) -> bool {
        self.value.is_finite()
            && self.gradient.iter().all(|g| g.is_finite())
            && self.hessian.is_finite()
    }
}

/// Where the search ended.
#[derive(Debug, Clone)]
pub struct Maximum<H = DMatrix<f64>> {
    /// The point.
    pub point: DVector<f64>,
    /// The function there.
    pub at: Quadratic<H>,
    /// Newton steps taken.
    pub iterations: usize,
    /// Whether the gradient vanishes there, measured in the function's own curvature, and the
    /// curvature is negative in every direction.
    pub converged: bool,
}

/// Settings of the search.
#[derive(Debug, Clone, Copy)]
pub struct NewtonSettings {
    /// Most steps. Default 100.
    pub most_iterations: usize,
    /// The squared Newton decrement `g' (-H)^-1 g` below which the search has arrived: the gain still
    /// to be had is half of it. Default 1e-18, about 1e-9 standard errors.
    pub decrement: f64,
    /// Longest step in any coordinate. Default 4.
    pub longest_step: f64,
    /// Whether the function is computed once more where the last step ends. Where it is not, the value there is that of
    /// the parabola, and the Hessian that before the step. Default true.
    pub looks_again: bool,
}

impl Default for NewtonSettings {
    fn default() -> Self {
        Self {
            most_iterations: 100,
            decrement: 1e-18,
            longest_step: 4.0,
            looks_again: true,
        }
    }
}

/// Finds a local maximum of `function` from `start`.
///
/// Where the Hessian is not negative definite its diagonal is shifted until it is (Levenberg); steps
/// are halved until the value rises (Nocedal and Wright, Numerical Optimization, 2006, chapter 3).
pub fn maximise<H: Curvature>(
    function: impl Fn(&DVector<f64>) -> Quadratic<H>,
    start: DVector<f64>,
    settings: NewtonSettings,
) -> Maximum<H> {
    let mut point = start;
    let mut at = function(&point);
    for iteration in 0..settings.most_iterations {
        if !at.is_finite() {
            return Maximum {
                point,
                at,
                iterations: iteration,
                converged: false,
            };
        }
        let (factor, shifted) = shifted_curvature(&at.hessian);
        let step = factor.solve(&at.gradient);
        let decrement = at.gradient.dot(&step);
        let arrived = |point, at, converged| Maximum {
            point,
            at,
            iterations: iteration + 1,
            converged,
        };
        if decrement <= settings.decrement && !shifted {
            let (point, at) = if settings.looks_again {
                polished(&function, point, at, &step)
            } else {
                unseen(point, at, &step)
            };
            return arrived(point, at, true);
        }
        match rise(&function, &point, &at, &step, settings.longest_step) {
            Some((better, there)) => (point, at) = (better, there),
            // No rise to be had in floating point: arrived as closely as the function's value can tell.
            None => {
                let converged = !shifted && decrement <= 1e-10 * (1.0 + at.value.abs());
                if converged {
                    (point, at) = polished(&function, point, at, &step);
                }
                return arrived(point, at, converged);
            }
        }
    }
    Maximum {
        point,
        at,
        iterations: settings.most_iterations,
        converged: false,
    }
}

/// One more full step, where it brings the gradient nearer to zero: it costs little and squares the error.
fn polished<H: Curvature>(
    function: &impl Fn(&DVector<f64>) -> Quadratic<H>,
    point: DVector<f64>,
    at: Quadratic<H>,
    step: &DVector<f64>,
) -> (DVector<f64>, Quadratic<H>) {
    let there = &point + step;
    let polished = function(&there);
    if polished.is_finite() && polished.gradient.amax() <= at.gradient.amax() {
        (there, polished)
    } else {
        (point, at)
    }
}

/// The top of the parabola that fits here.
fn unseen<H: Curvature>(
    point: DVector<f64>,
    mut at: Quadratic<H>,
    step: &DVector<f64>,
) -> (DVector<f64>, Quadratic<H>) {
    at.value += 0.5 * at.gradient.dot(step);
    at.gradient.fill(0.0);
    (point + step, at)
}

/// Cholesky factor of minus the Hessian, its diagonal raised if need be; and whether it was.
fn shifted_curvature<H: Curvature>(hessian: &H) -> (H::Factor, bool) {
    let curvature = -hessian.diagonal();
    let typical = curvature.amax().max(1e-300);
    let mut shift = 0.0;
    loop {
        // Relative to each coordinate's own curvature, so that units do not matter.
        let raise = curvature.map(|own| shift * (own.abs() + 1e-8 * typical));
        if let Some(factor) = hessian.factor_of_negative(&raise) {
            return (factor, shift > 0.0);
        }
        shift = if shift == 0.0 { 1e-6 } else { 4.0 * shift };
    }
}

/// The first point along `step`, halved up to forty times, where the value rises enough.
fn rise<H: Curvature>(
    function: &impl Fn(&DVector<f64>) -> Quadratic<H>,
    point: &DVector<f64>,
    at: &Quadratic<H>,
    step: &DVector<f64>,
    longest: f64,
) -> Option<(DVector<f64>, Quadratic<H>)> {
    let slope = at.gradient.dot(step);
    let mut share = (longest / step.amax()).min(1.0);
    for _ in 0..40 {
        let there = point + share * step;
        let value = function(&there);
        if value.is_finite() && value.value > at.value + 1e-4 * share * slope * f64::EPSILON.sqrt()
        {
            return Some((there, value));
        }
        share *= 0.5;
    }
    None
}

/// The covariance matrix `(-H)^-1`; `None` where the curvature is not negative definite.
pub fn covariance(hessian: &DMatrix<f64>) -> Option<DMatrix<f64>> {
    Cholesky::new(-hessian).map(|factor| factor.inverse())
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn finds_the_top_of_a_curved_ridge() {
        // Minus Rosenbrock's function: the top is at (1, 1) (Rosenbrock, 1960).
        let ridge = |p: &DVector<f64>| {
            let (x, y) = (p[0], p[1]);
            let d = y - x * x;
            Quadratic {
                value: -(100.0 * d * d + (1.0 - x) * (1.0 - x)),
                gradient: DVector::from_vec(vec![400.0 * x * d + 2.0 * (1.0 - x), -200.0 * d]),
                hessian: DMatrix::from_row_slice(
                    2,
                    2,
                    &[
                        400.0 * (d - 2.0 * x * x) - 2.0,
                        400.0 * x,
                        400.0 * x,
                        -200.0,
                    ],
                ),
            }
        };
        let found = maximise(
            ridge,
            DVector::from_vec(vec![-1.2, 1.0]),
            NewtonSettings::default(),
        );
        assert!(found.converged);
        assert_relative_eq!(found.point[0], 1.0, max_relative = 1e-12);
        assert_relative_eq!(found.point[1], 1.0, max_relative = 1e-12);
    }

    #[test]
    fn a_rise_that_goes_on_is_not_called_converged() {
        // ln x has no top, and its rise does not die out in floating point.
        let rise = |p: &DVector<f64>| Quadratic {
            value: p[0].ln(),
            gradient: DVector::from_element(1, 1.0 / p[0]),
            hessian: DMatrix::from_element(1, 1, -1.0 / (p[0] * p[0])),
        };
        assert!(
            !maximise(
                rise,
                DVector::from_element(1, 1.0),
                NewtonSettings::default()
            )
            .converged
        );
    }
}
