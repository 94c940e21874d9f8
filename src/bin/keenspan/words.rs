//! Choices as they are typed, shared by commands.

use clap::ValueEnum;
use keenspan::wear::{Family, Method};

/// How a posterior is found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum PosteriorWord {
    /// A normal law at the most probable parameters, its draws weighted
    Laplace,
    /// Sampled by chains
    Nuts,
    /// Laplace where its weights say that it holds, else sampled
    Auto,
}

impl From<PosteriorWord> for Method {
    fn from(word: PosteriorWord) -> Method {
        match word {
            PosteriorWord::Laplace => Method::Laplace,
            PosteriorWord::Nuts => Method::Nuts,
            PosteriorWord::Auto => Method::Auto,
        }
    }
}

/// Family of life distributions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum FamilyWord {
    /// Edges fail the faster the older they are; the usual choice
    Weibull,
    /// A longer tail of edges that last
    Lognormal,
    /// Longer tails on either side
    Loglogistic,
}

impl From<FamilyWord> for Family {
    fn from(word: FamilyWord) -> Family {
        match word {
            FamilyWord::Weibull => Family::Weibull,
            FamilyWord::Lognormal => Family::Lognormal,
            FamilyWord::Loglogistic => Family::Loglogistic,
        }
    }
}
