//! Families of life distributions, on the standardised scale of log time.
//!
//! `ln T = location + sigma W`. Each family is a law for `W`; everything here is a function of the
//! standardised log time `w = (ln t - location) / sigma`, so that location and spread stay outside.

/// A law for `W`, the standardised log of life.
pub trait LifeDistribution {
    /// `ln P(W > w)`.
    fn log_survival(&self, w: f64) -> f64;
    /// `ln P(W <= w)`.
    fn log_failure(&self, w: f64) -> f64;
    /// `ln` of the density of `W` at `w`.
    fn log_density(&self, w: f64) -> f64;
    /// The `w` with `P(W <= w) = p`, for `p` strictly between 0 and 1.
    fn quantile(&self, p: f64) -> f64;
}

/// The families on offer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Family {
    /// `W` is the smallest extreme value: `T` is Weibull with shape `1/sigma`.
    Weibull,
    /// `W` is standard normal: `T` is lognormal.
    Lognormal,
    /// `W` is standard logistic: `T` is log-logistic with shape `1/sigma`.
    Loglogistic,
}
