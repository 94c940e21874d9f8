//! What can stop a fit.

/// Why the wear room could not answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum WearError {
    /// A record does not have as many numbers as there are names, or one of them is not finite.
    #[error("edge {edge}: numbers and names do not match, or a number is not finite")]
    Shape {
        /// Place among the records, from zero.
        edge: usize,
    },
    /// Something was seen of an edge before it had run at all.
    #[error("edge {edge}: something was seen of it before it had run at all")]
    NoWear {
        /// Place among the records, from zero.
        edge: usize,
    },
    /// There is not one prior for each parameter and one for each grouping.
    #[error("{wanted} priors wanted, one for each parameter and grouping; found {found}")]
    Priors {
        /// How many are needed.
        wanted: usize,
        /// How many were given.
        found: usize,
    },
    /// Records and observations are not equally many.
    #[error("{records} edges but {observations} observations")]
    Unpaired {
        /// How many records.
        records: usize,
        /// How many observations.
        observations: usize,
    },
    /// A setting outside its range.
    #[error("{setting} must be {wanted}; found {found}")]
    Setting {
        /// Which setting.
        setting: &'static str,
        /// What would be right.
        wanted: &'static str,
        /// What was given.
        found: f64,
    },
    /// The search for the most probable parameters did not settle.
    #[error("the fit did not settle after {iterations} steps")]
    NotSettled {
        /// Steps taken.
        iterations: usize,
    },
    /// Edges share something for which there is no prior.
    #[error("there is no prior for what differs by {0}")]
    UnknownGrouping(String),
    /// The sampler could not start, or broke off.
    #[error("the sampler broke off: {0}")]
    Sampler(String),
    /// The prior pack cannot be used.
    #[error(transparent)]
    PriorPack(#[from] super::prior_pack::PriorPackError),
    /// How well the law fits could not be examined.
    #[error(transparent)]
    Adequacy(#[from] super::AdequacyError),
    /// From the estimator interface.
    #[error("{0}")]
    Estimator(String),
}

impl From<linfa::Error> for WearError {
    fn from(error: linfa::Error) -> Self {
        WearError::Estimator(error.to_string())
    }
}
