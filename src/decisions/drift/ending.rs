//! Whether a change is over: that edges since some last one are again what they were before it.

use super::change::{OfChanges, Shifts, add, log_mean};
use crate::numerics::lanes::log_sum_exp;
use std::ops::RangeInclusive;

/// A change counts as over if that is so much likelier than that it goes on, on the log scale: twenty times. Basis:
/// judged.
const CLEARLY_OVER: f64 = 3.0;
/// Starts that fall so far behind the likeliest, on the log scale, both by the time of the sign and by all edges, are
/// not followed from edge to edge: one chance in a thousand million.
const HOPELESS: f64 = -20.7;
/// Nor are more than this, the likeliest first. Basis: a shift of one standard deviation is dated to some ten edges.
const FOLLOWED: usize = 64;

/// A sum over the edges that changed, and how many starts have it in common.
struct Followed {
    inside: OfChanges,
    starts: usize,
    /// The logs of how likely scores are if the change ended with the sign, and if it goes on.
    at_sign: f64,
    at_end: f64,
}

impl Shifts {
    /// The edge with which a change was over that began at one of `starts` and gave its sign with the edge
    /// `signalled`, if it clearly is over by the edge `end`.
    pub fn over(
        &self,
        changed: impl Fn(usize) -> bool,
        starts: &RangeInclusive<usize>,
        signalled: usize,
        end: usize,
    ) -> Option<usize> {
        let all = starts.clone().count() as f64;
        let (mut followed, going_on) = self.followed(&changed, starts, signalled, end);
        let mut best = (f64::NEG_INFINITY, None);
        let mut evidence = f64::NEG_INFINITY;
        for last in signalled..end {
            let more = self.ratios(&changed, last).filter(|_| last > signalled);
            if let Some(ratios) = more {
                for sum in &mut followed {
                    add(&mut sum.inside, ratios);
                }
            }
            if more.is_some() || last == signalled {
                let log = |sum: &Followed| self.evidence(&sum.inside) + (sum.starts as f64).ln();
                let logs: Vec<f64> = followed.iter().map(log).collect();
                evidence = log_sum_exp(&logs) - all.ln();
            }
            if evidence >= best.0 {
                best = (evidence, Some(last));
            }
        }
        best.1.filter(|_| best.0 - going_on > CLEARLY_OVER)
    }

    /// The starts that are worth following, and the log of how likely all scores are if the change goes on.
    fn followed(
        &self,
        changed: &impl Fn(usize) -> bool,
        starts: &RangeInclusive<usize>,
        signalled: usize,
        end: usize,
    ) -> (Vec<Followed>, f64) {
        // Nothing of it changed before the sign: this is the sum over what came after.
        let mut since = None;
        self.each_sum(changed, &(signalled + 1..=signalled + 1), end, |sum, _| {
            since = Some(*sum);
        });
        let mut followed = Vec::new();
        let mut going_on = Vec::new();
        self.each_sum(changed, starts, signalled, |inside, alike| {
            let mut to_end = *inside;
            if let Some(since) = &since {
                add(&mut to_end, since);
            }
            let sum = Followed {
                at_sign: self.evidence(inside),
                at_end: self.evidence(&to_end),
                inside: *inside,
                starts: alike.len(),
            };
            going_on.extend(alike.map(|_| sum.at_end));
            followed.push(sum);
        });
        let likeliest =
            |log: fn(&Followed) -> f64| followed.iter().map(log).fold(f64::NEG_INFINITY, f64::max);
        let (at_sign, at_end) = (likeliest(|sum| sum.at_sign), likeliest(|sum| sum.at_end));
        let behind = |sum: &Followed| (sum.at_sign - at_sign).max(sum.at_end - at_end);
        followed.retain(|sum| behind(sum) > HOPELESS);
        followed.sort_by(|a, b| behind(b).total_cmp(&behind(a)));
        followed.truncate(FOLLOWED);
        (followed, log_mean(&going_on))
    }
}
