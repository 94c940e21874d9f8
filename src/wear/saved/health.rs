//! How far the draws of a saved model can be trusted.

use super::parts::Endless;
use crate::wear::sample::{Doubt, Health};
use serde::{Deserialize, Serialize};

/// How draws were made, and how far they can be trusted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WrittenHealth {
    method: Way,
    #[serde(skip_serializing_if = "Option::is_none")]
    k_hat: Option<Endless>,
    effective: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    r_hat: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    divergences: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    switched: Option<WrittenDoubt>,
    doubts: Vec<WrittenDoubt>,
}

#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
enum Way {
    Laplace,
    Nuts,
}

#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "doubt", rename_all = "kebab-case")]
enum WrittenDoubt {
    HeavyWeights { k_hat: Endless, trusted: f64 },
    NotSettled,
    Divergences { count: usize },
    ChainsDisagree { r_hat: f64 },
    FewEffective { effective: f64 },
}

impl WrittenDoubt {
    fn of(doubt: Doubt) -> Self {
        match doubt {
            Doubt::HeavyWeights { k_hat, trusted } => WrittenDoubt::HeavyWeights {
                k_hat: Endless::of(k_hat),
                trusted,
            },
            Doubt::NotSettled => WrittenDoubt::NotSettled,
            Doubt::Divergences { count } => WrittenDoubt::Divergences { count },
            Doubt::ChainsDisagree { r_hat } => WrittenDoubt::ChainsDisagree { r_hat },
            Doubt::FewEffective { effective } => WrittenDoubt::FewEffective { effective },
        }
    }

    fn restored(self) -> Doubt {
        match self {
            WrittenDoubt::HeavyWeights { k_hat, trusted } => Doubt::HeavyWeights {
                k_hat: k_hat.get(),
                trusted,
            },
            WrittenDoubt::NotSettled => Doubt::NotSettled,
            WrittenDoubt::Divergences { count } => Doubt::Divergences { count },
            WrittenDoubt::ChainsDisagree { r_hat } => Doubt::ChainsDisagree { r_hat },
            WrittenDoubt::FewEffective { effective } => Doubt::FewEffective { effective },
        }
    }
}

impl WrittenHealth {
    pub fn of(health: &Health) -> Self {
        Self {
            method: if health.method == "nuts" {
                Way::Nuts
            } else {
                Way::Laplace
            },
            k_hat: health.k_hat.map(Endless::of),
            effective: health.effective,
            r_hat: health.r_hat,
            divergences: health.divergences,
            switched: health.switched.map(WrittenDoubt::of),
            doubts: health
                .doubts
                .iter()
                .copied()
                .map(WrittenDoubt::of)
                .collect(),
        }
    }

    pub fn restored(self) -> Health {
        Health {
            method: match self.method {
                Way::Laplace => "laplace",
                Way::Nuts => "nuts",
            },
            k_hat: self.k_hat.map(Endless::get),
            effective: self.effective,
            r_hat: self.r_hat,
            divergences: self.divergences,
            switched: self.switched.map(WrittenDoubt::restored),
            doubts: self
                .doubts
                .into_iter()
                .map(WrittenDoubt::restored)
                .collect(),
        }
    }

    pub fn is_finite(&self) -> bool {
        self.effective.is_finite() && self.r_hat.is_none_or(f64::is_finite)
    }
}
