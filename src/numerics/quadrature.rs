//! Gauss-Legendre quadrature.

/// An `N`-point Gauss-Legendre rule on `[-1, 1]`: exact for polynomials up to degree `2N - 1`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct GaussLegendre<const N: usize> {
    /// Where to look, in rising order.
    pub nodes: [f64; N],
    /// How much each look counts; they add up to 2.
    pub weights: [f64; N],
}

impl<const N: usize> GaussLegendre<N> {
    /// Nodes are the roots of the Legendre polynomial `P_N`, weights `2 / ((1 - x^2) P_N'(x)^2)`.
    ///
    /// Source: Abramowitz and Stegun (1964), 25.4.29; starting values 22.16.6 in first order.
    pub fn new() -> Self {
        let mut rule = Self {
            nodes: [0.0; N],
            weights: [0.0; N],
        };
        for (place, (node, weight)) in rule.nodes.iter_mut().zip(&mut rule.weights).enumerate() {
            let (x, slope) = legendre_root(N, place);
            *node = x;
            *weight = 2.0 / ((1.0 - x * x) * slope * slope);
        }
        rule
    }
}

/// The root of `P_n` at `place` from the left, and the slope of `P_n` there, by Newton's method.
fn legendre_root(n: usize, place: usize) -> (f64, f64) {
    let turn = (place as f64 + 0.75) / (n as f64 + 0.5);
    let mut x = -(std::f64::consts::PI * turn).cos();
    let (mut value, mut slope) = legendre(n, x);
    // Converges quadratically from these starts; ten steps are far more than double precision needs, and one
    // that leads nowhere is the last.
    for _ in 0..10 {
        let next = x - value / slope;
        if next == x {
            break;
        }
        x = next;
        (value, slope) = legendre(n, x);
    }
    (x, slope)
}

/// `P_n(x)` and its derivative by the three-term recurrence (Abramowitz and Stegun 22.7.10, 22.8.5).
fn legendre(n: usize, x: f64) -> (f64, f64) {
    let (mut previous, mut current) = (1.0, x);
    for k in 2..=n {
        let k = k as f64;
        let next = ((2.0 * k - 1.0) * x * current - (k - 1.0) * previous) / k;
        (previous, current) = (current, next);
    }
    let slope = n as f64 * (x * current - previous) / (x * x - 1.0);
    (current, slope)
}

#[cfg(test)]
impl<const N: usize> GaussLegendre<N> {
    /// The integral of `f` from `low` to `high`; negative of the same where they are swapped.
    pub fn integrate(&self, low: f64, high: f64, f: impl Fn(f64) -> f64) -> f64 {
        let half = 0.5 * (high - low);
        let middle = 0.5 * (high + low);
        let sum: f64 = self
            .nodes
            .iter()
            .zip(&self.weights)
            .map(|(x, w)| w * f(middle + half * x))
            .sum();
        half * sum
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Abramowitz and Stegun (1964), table 25.4, n = 5.
    #[test]
    fn five_points_are_those_of_the_printed_table() {
        let rule = GaussLegendre::<5>::new();
        let nodes = [0.0, 0.538469310105683, 0.906179845938664];
        let weights = [0.568888888888889, 0.478628670499366, 0.236926885056189];
        for (k, (node, weight)) in nodes.iter().zip(&weights).enumerate() {
            assert!((rule.nodes[2 + k] - node).abs() < 1e-15);
            assert!((rule.weights[2 + k] - weight).abs() < 1e-15);
            assert!((rule.nodes[2 - k] + node).abs() < 1e-15);
        }
    }

    #[test]
    fn degree_fifteen_is_exact_with_eight_points_and_swapped_ends_change_the_sign() {
        let rule = GaussLegendre::<8>::new();
        let exact = 3f64.powi(16) / 16.0;
        assert!((rule.integrate(0.0, 3.0, |x| x.powi(15)) / exact - 1.0).abs() < 1e-14);
        assert!((rule.integrate(3.0, 0.0, |x| x.powi(15)) / exact + 1.0).abs() < 1e-14);
    }
}
