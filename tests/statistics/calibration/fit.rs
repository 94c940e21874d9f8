//! What a fit hands in. To calibrate another posterior, write another function like [`posterior`].

use keenspan::lives::Observation;
use keenspan::quantities::WearFraction;
use keenspan::simulation::Truth;
use keenspan::wear::{EdgeRecords, Method, PriorPack, WearModel};
use linfa::traits::Fit;
use linfa::{DatasetBase, ParamGuard};

/// Draws from a posterior: one row a draw, one column a name.
pub struct Fitted {
    pub names: Vec<&'static str>,
    pub draws: Vec<Vec<f64>>,
}

/// Draws that a fit hands in: 99 ranks are thinned from them, and bounds to a thousandth are told.
pub const DRAWS: usize = 1000;

/// Wear fraction at which the fit takes crews to call an edge: that of [`Truth::stated`].
const CALLED_AT: f64 = 1.3;

/// Draws from the posterior, drawn by `method`.
pub fn posterior(method: Method) -> impl Fn(u64, &EdgeRecords, &[Observation]) -> Fitted + Sync {
    let pack = PriorPack::common_practice().expect("the pack");
    let called_at = WearFraction::new(CALLED_AT).expect("a fraction");
    move |seed, records, seen| {
        let data = DatasetBase::new(records.clone(), seen.to_vec());
        let model = WearModel::params(&pack, called_at)
            .method(method)
            .draws(DRAWS)
            .seed(seed);
        let posterior = model.check().expect("settings").fit(&data).expect("a fit");
        let spreads = ["machine_spread", "set_spread", "grinder_spread"];
        let draws = posterior.sample().even(DRAWS).into_iter();
        Fitted {
            names: Truth::PARAMETERS.into_iter().chain(spreads).collect(),
            draws: draws
                .map(|draw| draw.shared.into_iter().chain(draw.spreads).collect())
                .collect(),
        }
    }
}
