//! What a fit hands in. To calibrate another posterior, write another function like [`laplace`].

use keenspan::lives::Observation;
use keenspan::quantities::WearFraction;
use keenspan::simulation::Truth;
use keenspan::wear::{EdgeRecords, PriorPack, WearModel, seeded};
use linfa::DatasetBase;
use linfa::traits::Fit;

/// Draws from a posterior: one row a draw, one column a name.
pub struct Fitted {
    pub names: Vec<&'static str>,
    pub draws: Vec<Vec<f64>>,
}

/// Draws that a fit hands in: 99 ranks are thinned from them, and bounds to a thousandth are told.
pub const DRAWS: usize = 1000;

/// Wear fraction at which the fit takes crews to call an edge: that of [`Truth::stated`].
const CALLED_AT: f64 = 1.3;

/// Draws from the normal approximation, with the grader's error and the share of a touch-up held at
/// what is true.
pub fn laplace(base: &Truth) -> impl Fn(u64, &EdgeRecords, &[Observation]) -> Fitted + Sync {
    let pack = PriorPack::common_practice().expect("the pack");
    let called_at = WearFraction::new(CALLED_AT).expect("a fraction");
    let model = WearModel::params(&pack, called_at)
        .expect("a model")
        .eye_error(base.grader_error)
        .touch_up_share(base.touch_up_share);
    move |seed, records, seen| {
        let data = DatasetBase::new(records.clone(), seen.to_vec());
        let posterior = model.fit(&data).expect("a fit");
        Fitted {
            names: names().to_vec(),
            draws: posterior.laplace().draws(DRAWS, &mut seeded(seed)),
        }
    }
}

/// Of the parameters that [`laplace`] learns: all but the touch-up and the eye.
fn names() -> Vec<&'static str> {
    let held = ["touch_up", "log_eye"];
    let all = Truth::PARAMETERS.into_iter();
    all.filter(|name| !held.contains(name)).collect()
}
