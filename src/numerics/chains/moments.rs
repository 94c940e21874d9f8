//! Mean, variance and sameness.

pub(super) fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// Sample variance, over `n - 1`.
pub(super) fn variance(values: &[f64]) -> f64 {
    let centre = mean(values);
    let squares: f64 = values.iter().map(|x| (x - centre) * (x - centre)).sum();
    squares / (values.len() as f64 - 1.0)
}

/// Whether nothing ever moved. Asked of the values themselves: their variance may come out above zero
/// by rounding.
pub(super) fn all_equal(chains: &[Vec<f64>]) -> bool {
    let mut values = chains.iter().flatten();
    let first = values.next();
    values.all(|x| Some(x) == first)
}
