//! The integral's value alone, and the mass of each node, some nodes side by side: what draws ask for by the hundred
//! million.
//!
//! Nodes lie at even steps, so that what a look sees moves evenly from one to the next, and eight of them are looked
//! at in as many lanes of a vector. Where every look is all but certain to be what it was, the law itself is left, and
//! its sum is known beforehand.

use super::Integral;
use super::quick::MOST_LOOKS;
use crate::numerics::lanes::{exp, multiply_add, normal_lower_tail};
use crate::wear::eye::Glance;
use crate::wear::life_nodes::{self, LANES, NodeColumns};
use std::f64::consts::TAU;
use std::ops::Range;

/// Densities are not looked at further out.
const NO_DENSITY: f64 = 37.0;

/// The whole mass, and the standardised log life at which most of it lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mass {
    pub whole: f64,
    pub peak: f64,
}

impl Mass {
    const NONE: Self = Self {
        whole: f64::NAN,
        peak: f64::NAN,
    };
}

/// The mass of each of some nodes.
pub struct EachMass {
    pub masses: Vec<f64>,
    /// Standardised log life of the first.
    pub first: f64,
    /// From one to the next.
    pub step: f64,
}

type Lanes = [f64; LANES];

/// A look over the nodes: errors between what was seen and the truth at the first node, and more of them from node
/// to node.
#[derive(Debug, Clone, Copy)]
pub enum Line {
    /// Seen below a cut.
    Below { at: f64, slope: f64 },
    /// Seen above a cut.
    Above { at: f64, slope: f64 },
    /// Seen between two.
    Between { low: f64, high: f64, slope: f64 },
    /// Seen at a point.
    At { at: f64, slope: f64, height: f64 },
}

/// The looks of one edge as lines over its nodes.
pub struct Lines<'a> {
    pub nodes: &'a NodeColumns,
    pub lines: &'a [Line],
    /// Errors off beyond which nothing is seen.
    farthest: f64,
}

/// What every lane has seen.
#[derive(Default)]
struct Sums {
    mass: Lanes,
    /// The heaviest node's mass, and its number.
    heaviest: Lanes,
    peak: Lanes,
}

impl Integral<'_> {
    /// Mass and peak on nodes fine enough for `kernel`; no numbers where a look, or a parameter, is none, or where
    /// nodes would have to lie closer than any that are kept. At most [`MOST_LOOKS`] looks.
    pub fn mass_at(&self, kernel: f64) -> Mass {
        let mut room = [Line::NONE; MOST_LOOKS];
        match self.lines(kernel, &mut room) {
            Some(lines) => pulp::Arch::new().dispatch(lines),
            None => Mass::NONE,
        }
    }

    /// The nodes that the looks leave possible, fine enough for `kernel`, each with its mass; `None` as of
    /// [`Integral::lines`]. At most [`MOST_LOOKS`] looks.
    pub fn mass_of_each(&self, kernel: f64) -> Option<EachMass> {
        let mut room = [Line::NONE; MOST_LOOKS];
        let lines = self.lines(kernel, &mut room)?;
        let nodes = lines.nodes;
        let (possible, _) = lines.reach();
        let masses = pulp::Arch::new().dispatch(Each {
            lines,
            nodes: possible.clone(),
        });
        Some(EachMass {
            masses,
            first: nodes.first + nodes.step * possible.start as f64,
            step: nodes.step,
        })
    }

    /// The looks over nodes fine enough for `kernel`; `None` where one is no number, or nodes so fine are not kept.
    pub fn lines<'a>(&self, kernel: f64, room: &'a mut [Line; MOST_LOOKS]) -> Option<Lines<'a>> {
        let nodes = &life_nodes::nodes(self.family, kernel, self.precision)?.columns;
        let lines = room.iter_mut().zip(self.looks);
        lines.for_each(|(line, look)| *line = self.line(*look, nodes));
        let lines = room.get(..self.looks.len())?;
        lines.iter().all(Line::is_number).then_some(Lines {
            nodes,
            lines,
            farthest: self.precision.farthest(),
        })
    }

    /// With `v = age - sigma (W - anchor)`, what is seen lies `(cut - v) / error` errors off.
    fn line(&self, (age, glance): (usize, Glance), nodes: &NodeColumns) -> Line {
        let error = glance.error(self.point.eye);
        let v = self.point.ages[age] - self.point.sigma * (nodes.first - self.point.anchor);
        let at = |cut: f64| (cut - v) / error;
        let slope = self.point.sigma * nodes.step / error;
        match glance {
            Glance::Between { low, high } if low == f64::NEG_INFINITY => Line::Below {
                at: at(high),
                slope,
            },
            Glance::Between { low, high } if high == f64::INFINITY => {
                Line::Above { at: at(low), slope }
            }
            Glance::Between { low, high } => Line::Between {
                low: at(low),
                high: at(high),
                slope,
            },
            Glance::MeasuredBelow { high, .. } => Line::Below {
                at: at(high),
                slope,
            },
            Glance::At(seen)
            | Glance::Measured {
                log_fraction: seen, ..
            } => Line::At {
                at: at(seen),
                slope,
                height: 1.0 / (TAU.sqrt() * error),
            },
        }
    }
}

impl Line {
    /// Room for one.
    pub const NONE: Self = Self::Below {
        at: 0.0,
        slope: 0.0,
    };

    /// Errors from node to node.
    #[inline(always)]
    pub fn slope(&self) -> f64 {
        match *self {
            Line::Below { slope, .. }
            | Line::Above { slope, .. }
            | Line::Between { slope, .. }
            | Line::At { slope, .. } => slope,
        }
    }

    fn is_number(&self) -> bool {
        let (places, slope) = self.ends();
        places[0].is_finite() && places[1].is_finite() && slope > 0.0 && slope.is_finite()
    }

    /// The lowest and the highest cut at the first node, and the slope.
    fn ends(&self) -> ([f64; 2], f64) {
        match *self {
            Line::Below { at, slope } | Line::Above { at, slope } | Line::At { at, slope, .. } => {
                ([at, at], slope)
            }
            Line::Between { low, high, slope } => ([low, high], slope),
        }
    }

    /// The nodes from and up to which it is not all but impossible, and those where it is all but certain, as
    /// numbers that need not be whole.
    fn reach(&self, farthest: f64) -> (Range<f64>, Range<f64>) {
        // The number of the node at which a cut lies so many errors off.
        let ([low, high], slope) = self.ends();
        let node = |cut: f64, errors: f64| (errors - cut) / slope;
        let (never, always) = (f64::INFINITY, f64::NEG_INFINITY);
        match self {
            Line::Below { .. } => (node(high, -farthest)..never, node(high, farthest)..never),
            Line::Above { .. } => (always..node(low, farthest), always..node(low, -farthest)),
            Line::Between { .. } => (
                node(high, -farthest)..node(low, farthest),
                node(high, farthest)..node(low, -farthest),
            ),
            Line::At { .. } => (node(high, -farthest)..node(low, farthest), never..always),
        }
    }

    /// The chances at nodes from `first` on, or the densities.
    #[inline(always)]
    fn chances<const FUSED: bool>(&self, first: f64) -> Lanes {
        // What lies `at` errors off at the first node of all.
        let from = |at: f64, slope: f64| multiply_add::<FUSED>(slope, first, at);
        match *self {
            Line::Below { at, slope } => {
                each_lane::<FUSED>(from(at, slope), slope, normal_lower_tail::<FUSED>)
            }
            Line::Above { at, slope } => {
                each_lane::<FUSED>(-from(at, slope), -slope, normal_lower_tail::<FUSED>)
            }
            Line::Between { low, high, slope } => {
                let width = high - low;
                each_lane::<FUSED>(from(low, slope), slope, |low| {
                    normal_lower_tail::<FUSED>(low + width) - normal_lower_tail::<FUSED>(low)
                })
            }
            Line::At { at, slope, height } => each_lane::<FUSED>(from(at, slope), slope, |off| {
                let off = off.abs().min(NO_DENSITY);
                height * exp::<FUSED>(-0.5 * off * off)
            }),
        }
    }
}

/// What stands at even places.
#[inline(always)]
fn each_lane<const FUSED: bool>(first: f64, step: f64, of: impl Fn(f64) -> f64) -> Lanes {
    let mut lanes = [0.0; LANES];
    for (lane, it) in lanes.iter_mut().enumerate() {
        *it = of(multiply_add::<FUSED>(step, lane as f64, first));
    }
    lanes
}

impl Lines<'_> {
    /// The nodes that all looks leave possible, and those among them where all are all but certain.
    fn reach(&self) -> (Range<usize>, Range<usize>) {
        let (mut possible, mut certain) = (0.0..f64::INFINITY, 0.0..f64::INFINITY);
        for line in self.lines {
            let (may, must) = line.reach(self.farthest);
            possible = possible.start.max(may.start)..possible.end.min(may.end);
            certain = certain.start.max(must.start)..certain.end.min(must.end);
        }
        // A number too great or too small for a node is the last or the first. One possible node too many does no
        // harm, nor does one certain node too few.
        let node = |place: f64| (place as usize).min(self.nodes.count);
        let start = node(possible.start);
        let possible = start..(node(possible.end) + 1).clamp(start, self.nodes.count);
        let start = if certain.start > 0.0 {
            (node(certain.start) + 1).min(self.nodes.count)
        } else {
            0
        };
        (possible, start..node(certain.end).max(start))
    }

    /// Possible nodes up to where all looks become certain, in whole vectors, which may reach into what follows; those
    /// that are certain; possible ones beyond.
    pub fn ranges(&self) -> [Range<usize>; 3] {
        let (possible, certain) = self.reach();
        let certain = if certain.is_empty() {
            possible.end..possible.end
        } else {
            certain
        };
        let uncertain = certain.start.saturating_sub(possible.start);
        let end = possible.start + uncertain.next_multiple_of(LANES);
        let certain = end..certain.end.max(end);
        let beyond = certain.end..possible.end;
        [possible.start..end, certain, beyond]
    }

    #[inline(always)]
    fn mass<const FUSED: bool>(&self) -> Mass {
        let [uncertain, certain, beyond] = self.ranges();
        let mut sums = Sums::default();
        self.add::<FUSED>(uncertain, &mut sums);
        self.add::<FUSED>(beyond, &mut sums);
        self.gathered(&sums, certain)
    }

    /// What the lanes saw, and the law's own mass where looks are certain.
    #[inline(always)]
    fn gathered(&self, sums: &Sums, certain: Range<usize>) -> Mass {
        let before = |node: usize| self.nodes.before.get(node).copied().unwrap_or_default();
        let (mut heaviest, mut peak) = (0.0, 0.0);
        let mut whole = 0.0;
        if !certain.is_empty() {
            whole = before(certain.end) - before(certain.start);
            let node = self.nodes.mode.clamp(certain.start, certain.end - 1);
            heaviest = before(node + 1) - before(node);
            peak = node as f64;
        }
        for lane in 0..LANES {
            whole += sums.mass[lane];
            if sums.heaviest[lane] > heaviest {
                (heaviest, peak) = (sums.heaviest[lane], sums.peak[lane]);
            }
        }
        Mass {
            whole,
            peak: self.nodes.first + self.nodes.step * peak,
        }
    }

    /// What all looks leave of the weights of the nodes from `first` on.
    #[inline(always)]
    fn seen<const FUSED: bool>(&self, first: usize, weights: &Lanes) -> Lanes {
        let mut mass = *weights;
        for line in self.lines {
            let chances = line.chances::<FUSED>(first as f64);
            for (mass, chance) in mass.iter_mut().zip(chances) {
                *mass *= chance;
            }
        }
        mass
    }

    /// The mass of each node of a range.
    #[inline(always)]
    fn each<const FUSED: bool>(&self, nodes: Range<usize>) -> Vec<f64> {
        let mut masses = Vec::with_capacity(nodes.len() + LANES);
        for first in nodes.clone().step_by(LANES) {
            let Some(weights) = self.nodes.weights_from(first) else {
                break;
            };
            masses.extend_from_slice(&self.seen::<FUSED>(first, weights));
        }
        masses.truncate(nodes.len());
        masses
    }

    /// Adds the nodes of a range, and some beyond it up to a whole number of vectors.
    #[inline(always)]
    fn add<const FUSED: bool>(&self, nodes: Range<usize>, sums: &mut Sums) {
        for first in nodes.step_by(LANES) {
            let Some(weights) = self.nodes.weights_from(first) else {
                break;
            };
            let mass = self.seen::<FUSED>(first, weights);
            for (lane, mass) in mass.into_iter().enumerate() {
                sums.mass[lane] += mass;
                let heavier = mass > sums.heaviest[lane];
                sums.heaviest[lane] = if heavier { mass } else { sums.heaviest[lane] };
                let node = first as f64 + lane as f64;
                sums.peak[lane] = if heavier { node } else { sums.peak[lane] };
            }
        }
    }
}

impl pulp::WithSimd for Lines<'_> {
    type Output = Mass;

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> Mass {
        if S::IS_SCALAR {
            self.mass::<false>()
        } else {
            self.mass::<true>()
        }
    }
}

/// The mass of each node of a range.
struct Each<'a> {
    lines: Lines<'a>,
    nodes: Range<usize>,
}

impl pulp::WithSimd for Each<'_> {
    type Output = Vec<f64>;

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> Vec<f64> {
        if S::IS_SCALAR {
            self.lines.each::<false>(self.nodes)
        } else {
            self.lines.each::<true>(self.nodes)
        }
    }
}
