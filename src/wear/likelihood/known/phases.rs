//! Phases of lives, each column of them in one piece.

use super::super::Phase;
use super::{FAR, Scale, Seen};
use crate::numerics::lanes::{Fusing, exp, exp_m1_and_exp, ln, ln_1p, run};

/// Phases over which edges gather hazard; those from fresh on first, in columns of their own.
#[derive(Debug, Clone, Default)]
pub struct Phases {
    fresh: Places,
    later: Places,
    /// What the later ones gain.
    gained: Vec<usize>,
}

/// Whose phases they are, and the wear sum at the end of one from fresh on, at the start of a later one.
#[derive(Debug, Clone, Default)]
struct Places {
    edges: Vec<usize>,
    ages: Vec<usize>,
}

/// What is known of all phases, in columns as the phases are.
pub struct SeenPhases {
    fresh: Columns,
    later: Columns,
    gaps: Gaps,
}

/// The value of each, with slope and bend by the standardised log age.
#[derive(Default)]
struct Columns {
    w: Vec<f64>,
    value: Vec<f64>,
    first: Vec<f64>,
    second: Vec<f64>,
}

/// The widths of later phases on the standardised scale.
#[derive(Default)]
struct Gaps {
    width: Vec<f64>,
    /// The slope of a width by the log of what is gained over the start, times sigma.
    share: Vec<f64>,
    /// The slope by a width for each slope by the standardised log age.
    factor: Vec<f64>,
}

impl Phases {
    pub fn push(&mut self, edge: usize, phase: Phase) {
        let (places, age) = match phase {
            Phase::FromFresh(age) => (&mut self.fresh, age),
            Phase::From(start, gained) => {
                self.gained.push(gained);
                (&mut self.later, start)
            }
        };
        places.edges.push(edge);
        places.ages.push(age);
    }

    /// Dull within each of them, or not; `None` where a number is too large or too small.
    pub fn see<const DULL: bool>(
        &self,
        logs: &[f64],
        locations: &[f64],
        scale: Scale,
    ) -> Option<SeenPhases> {
        let fresh = self.fresh.standardised(logs, locations, scale)?;
        let later = self.later.standardised(logs, locations, scale)?;
        let start = self.later.ages.iter().zip(&self.gained);
        let ratios: Vec<f64> = start.map(|(age, gain)| logs[*gain] - logs[*age]).collect();
        within_reach(&ratios)?;
        let mut gaps = Gaps::of(ratios.len());
        let mut seen = SeenPhases {
            fresh: Columns::of(fresh),
            later: Columns::of(later),
            gaps: Gaps::default(),
        };
        run(Widths {
            ratios: &ratios,
            sigma: scale.sigma,
            gaps: &mut gaps,
        });
        within_reach(&gaps.width)?;
        seen.gaps = gaps;
        for (columns, gaps) in [
            (&mut seen.fresh, None),
            (&mut seen.later, Some(&seen.gaps.width)),
        ] {
            let widths = gaps.map(Vec::as_slice);
            run(Hazards::<DULL> { columns, widths });
            columns.is_finite().then_some(())?;
        }
        Some(seen)
    }
}

/// `None` where any is farther than [`FAR`] from none, or no number.
fn within_reach(values: &[f64]) -> Option<()> {
    let near = values
        .iter()
        .fold(true, |near, value| near & (value.abs() <= FAR));
    near.then_some(())
}

impl Places {
    fn standardised(&self, logs: &[f64], locations: &[f64], scale: Scale) -> Option<Vec<f64>> {
        let places = self.edges.iter().zip(&self.ages);
        let ages = places.map(|(edge, age)| logs[*age] - locations[*edge]);
        let w: Vec<f64> = ages.map(|age| age / scale.sigma + scale.anchor).collect();
        within_reach(&w)?;
        Some(w)
    }
}

impl Columns {
    fn of(w: Vec<f64>) -> Self {
        let empty = vec![0.0; w.len()];
        Self {
            value: empty.clone(),
            first: empty.clone(),
            second: empty,
            w,
        }
    }

    fn is_finite(&self) -> bool {
        let both = self.value.iter().zip(&self.second);
        both.fold(true, |all, (value, second)| {
            all & value.is_finite() & second.is_finite()
        })
    }
}

impl Gaps {
    fn of(count: usize) -> Self {
        let empty = vec![0.0; count];
        Self {
            width: empty.clone(),
            share: empty.clone(),
            factor: empty,
        }
    }
}

impl SeenPhases {
    /// Adds these phases' part to their edges.
    pub fn add(&self, phases: &Phases, scale: Scale, seen: &mut Seen, weights: &[f64]) {
        for (places, columns) in [(&phases.fresh, &self.fresh), (&phases.later, &self.later)] {
            let at = places.edges.iter().zip(&places.ages).enumerate();
            for (i, (&edge, &age)) in at {
                let weight = weights[edge];
                let slope = weight * columns.first[i] / scale.sigma;
                let of_edge = &mut seen.edges[edge];
                of_edge.value += weight * columns.value[i];
                of_edge.first -= slope;
                of_edge.second += weight * columns.second[i] / (scale.sigma * scale.sigma);
                seen.by_sum[age] += slope;
                seen.by_log_sigma -= weight * columns.first[i] * (columns.w[i] - scale.anchor);
            }
        }
        let (gaps, first) = (&self.gaps, &self.later.first);
        let at = phases.later.edges.iter().zip(&phases.later.ages);
        for (i, ((&edge, &start), &gained)) in at.zip(&phases.gained).enumerate() {
            let by_width = weights[edge] * first[i] * gaps.factor[i];
            let slope = by_width * gaps.share[i] / scale.sigma;
            seen.by_sum[gained] += slope;
            seen.by_sum[start] -= slope;
            seen.by_log_sigma -= by_width * gaps.width[i];
        }
    }
}

/// Takes the logs of what is gained over the start to widths.
struct Widths<'a> {
    ratios: &'a [f64],
    sigma: f64,
    gaps: &'a mut Gaps,
}

impl Fusing for Widths<'_> {
    #[inline(always)]
    fn run<const FUSED: bool>(self) {
        let count = self.ratios.len();
        let (width, share) = (&mut self.gaps.width[..count], &mut self.gaps.share[..count]);
        let factor = &mut self.gaps.factor[..count];
        for i in 0..count {
            let ratio = exp::<FUSED>(self.ratios[i]);
            let wide = ln_1p::<FUSED>(ratio) / self.sigma;
            width[i] = wide;
            share[i] = ratio / (1.0 + ratio);
            factor[i] = -1.0 / exp_m1_and_exp::<FUSED>(-wide.min(FAR)).0;
        }
    }
}

/// From standardised log ages, and widths of phases, to what is known.
struct Hazards<'a, const DULL: bool> {
    columns: &'a mut Columns,
    widths: Option<&'a [f64]>,
}

impl<const DULL: bool> Fusing for Hazards<'_, DULL> {
    #[inline(always)]
    fn run<const FUSED: bool>(self) {
        let count = self.columns.w.len();
        let w = &self.columns.w[..count];
        let (value, first) = (
            &mut self.columns.value[..count],
            &mut self.columns.first[..count],
        );
        let second = &mut self.columns.second[..count];
        // The hazards stand in the slopes' column first.
        for i in 0..count {
            first[i] = exp::<FUSED>(w[i]);
        }
        if let Some(widths) = self.widths {
            let widths = &widths[..count];
            for i in 0..count {
                first[i] *= exp_m1_and_exp::<FUSED>(widths[i]).0;
            }
        }
        for i in 0..count {
            let hazard = first[i];
            if DULL {
                // What is beyond all doubt stays within reach of the exponential.
                let hazard = hazard.min(FAR);
                let (less_one, survived) = exp_m1_and_exp::<FUSED>(-hazard);
                let slope = hazard * survived / -less_one;
                let log = ln::<FUSED>(-less_one);
                let digits = -less_one >= f64::MIN_POSITIVE;
                value[i] = if digits { log } else { f64::NAN };
                first[i] = slope;
                second[i] = slope * (1.0 - hazard - slope);
            } else {
                (value[i], first[i], second[i]) = (-hazard, -hazard, -hazard);
            }
        }
    }
}
