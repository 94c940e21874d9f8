//! From the slopes of all edges to those by the parameters.

use super::super::{Common, Likelihood, Order};
use crate::numerics::Arrow;
use crate::numerics::newton::Quadratic;

impl Likelihood {
    /// `None` where not all edges are known so.
    pub(in crate::wear::likelihood) fn slope_of_known(
        &self,
        common: &Common,
        effects: &[f64],
    ) -> Option<Quadratic<Arrow>> {
        let known = self.known.as_ref()?;
        let logs = self.columns.all_logs(&common.rates);
        let gamma = &common.theta[self.layout.features()];
        let of_all = common.theta[self.layout.location()];
        let locations = self.columns.locations(of_all, gamma, effects);
        let seen = known.seen(&logs, &locations, common.scale())?;
        let mut total = self.nothing(Order::Gradient);
        for (curve, (features, groups)) in seen.edges.iter().zip(self.columns.shifts()) {
            total.value += curve.value;
            total.gradient[self.layout.location()] += curve.first;
            for (place, z) in self.layout.features().zip(features) {
                total.gradient[place] += z * curve.first;
            }
            for &effect in groups {
                total.gradient[self.effects.place(effect, self.layout.dimension())] += curve.first;
            }
        }
        let by_rate = self.columns.by_log_rate(&seen.by_sum, &logs, &common.rates);
        // The share kept by touch-ups follows the coefficients.
        let slopes = self.rows.by_coefficient(&by_rate);
        for (place, slope) in (self.layout.rates().start..).zip(slopes) {
            total.gradient[place] += slope;
        }
        total.gradient[self.layout.log_sigma()] += seen.by_log_sigma;
        self.by_logit_of_share(&mut total, common);
        Some(total)
    }
}
