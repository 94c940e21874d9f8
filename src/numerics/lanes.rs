//! exp, exp(x) - 1 and ln without a branch, so that a loop of them over an array becomes vector instructions.
//!
//! `FUSED` says that the processor multiplies and adds in one instruction: where it does not, asking for that
//! would be a slow call. Within two units in the last place of the standard library's over the stated ranges (see the
//! tests); what lies outside is the caller's to keep away.

use std::marker::PhantomData;

/// Numbers that are summed side by side.
pub const LANES: usize = 8;

/// `a b + c`, in one rounding where the processor has it.
#[inline(always)]
pub fn multiply_add<const FUSED: bool>(a: f64, b: f64, c: f64) -> f64 {
    if FUSED { a.mul_add(b, c) } else { a * b + c }
}

/// 1.5 x 2^52: added to a small number it leaves that number, rounded, in the last bits.
const ROUNDER: f64 = 6_755_399_441_055_744.0;
/// ln 2 in two parts, the first short enough that its product with a whole exponent is exact (FreeBSD msun).
const LN_2_HIGH: f64 = 6.931_471_803_691_238e-1;
const LN_2_LOW: f64 = 1.908_214_929_270_587_7e-10;

/// `exp(r) - 1` and `2^k`, where `x = r + k ln 2` with `r` within half of ln 2. Taylor's series to the thirteenth
/// power leaves 4e-18.
#[inline(always)]
fn parts<const FUSED: bool>(x: f64) -> (f64, f64) {
    const SERIES: [f64; 12] = [
        1.0 / 6_227_020_800.0,
        1.0 / 479_001_600.0,
        1.0 / 39_916_800.0,
        1.0 / 3_628_800.0,
        1.0 / 362_880.0,
        1.0 / 40_320.0,
        1.0 / 5_040.0,
        1.0 / 720.0,
        1.0 / 120.0,
        1.0 / 24.0,
        1.0 / 6.0,
        1.0 / 2.0,
    ];
    let shifted = multiply_add::<FUSED>(x, std::f64::consts::LOG2_E, ROUNDER);
    let k = shifted - ROUNDER;
    let r = multiply_add::<FUSED>(k, -LN_2_LOW, multiply_add::<FUSED>(k, -LN_2_HIGH, x));
    let mut sum = SERIES[0];
    for coefficient in &SERIES[1..] {
        sum = multiply_add::<FUSED>(sum, r, *coefficient);
    }
    let less_one = multiply_add::<FUSED>(r * r, sum, r);
    let power = f64::from_bits(shifted.to_bits().wrapping_add(1023) << 52);
    (less_one, power)
}

/// `exp(x)` for `x` from -708 to 709.
#[inline(always)]
pub fn exp<const FUSED: bool>(x: f64) -> f64 {
    let (less_one, power) = parts::<FUSED>(x);
    multiply_add::<FUSED>(power, less_one, power)
}

/// `exp(x) - 1`, relatively exact near zero, and `exp(x)`, for `x` from -708 to 709.
#[inline(always)]
pub fn exp_m1_and_exp<const FUSED: bool>(x: f64) -> (f64, f64) {
    let (less_one, power) = parts::<FUSED>(x);
    (
        multiply_add::<FUSED>(power, less_one, power - 1.0),
        multiply_add::<FUSED>(power, less_one, power),
    )
}

/// `ln x` for `x` above zero, neither subnormal nor infinite. The polynomial is that of FreeBSD's msun, `e_log.c`.
#[inline(always)]
pub fn ln<const FUSED: bool>(x: f64) -> f64 {
    const ROOT_HALF: u64 = 0x3fe6_a09e_667f_3bcd;
    const BIAS: u64 = 1024;
    /// 2^52 as a number, and its bits: a whole number below it stands in the last bits.
    const WHOLE: f64 = 4_503_599_627_370_496.0;
    const SERIES: [f64; 7] = [
        1.479_819_860_511_658_6e-1,
        1.531_383_769_920_937_3e-1,
        1.818_357_216_161_805e-1,
        2.222_219_843_214_978_4e-1,
        2.857_142_874_366_239e-1,
        3.999_999_999_940_942e-1,
        6.666_666_666_666_735e-1,
    ];
    let bits = x.to_bits();
    let biased = bits.wrapping_sub(ROOT_HALF).wrapping_add(BIAS << 52) >> 52;
    let k = f64::from_bits(WHOLE.to_bits() | biased) - (WHOLE + BIAS as f64);
    let f = f64::from_bits(bits.wrapping_sub(biased.wrapping_sub(BIAS) << 52)) - 1.0;
    let s = f / (2.0 + f);
    let z = s * s;
    let mut sum = SERIES[0];
    for coefficient in &SERIES[1..] {
        sum = multiply_add::<FUSED>(sum, z, *coefficient);
    }
    let half = 0.5 * f * f;
    let rest = multiply_add::<FUSED>(s, multiply_add::<FUSED>(z, sum, half), k * LN_2_LOW);
    multiply_add::<FUSED>(k, LN_2_HIGH, f - (half - rest))
}

/// `ln(1 + x)`, given that `1 + x` is above zero, not subnormal and finite (Higham, Accuracy and Stability, 2002, 1.14.1).
#[inline(always)]
pub fn ln_1p<const FUSED: bool>(x: f64) -> f64 {
    let y = 1.0 + x;
    ln::<FUSED>(y) + (x - (y - 1.0)) / y
}

/// `P(Z <= x)` for a standard normal `Z`, to 2e-12; what lies beyond seven on either side counts as seven. Hart's
/// rational function 5666 (Computer Approximations, Wiley, 1968) in the form of Genz (Journal of Computational and
/// Graphical Statistics 1, 1992).
#[inline(always)]
pub fn normal_lower_tail<const FUSED: bool>(x: f64) -> f64 {
    normal_tail_and_height::<FUSED>(x).0
}

/// The same with `exp(-x^2 / 2)`, on which it stands.
#[inline(always)]
pub fn normal_tail_and_height<const FUSED: bool>(x: f64) -> (f64, f64) {
    const ABOVE: [f64; 7] = [
        3.526_249_659_989_11e-2,
        0.700_383_064_443_688,
        6.373_962_203_531_65,
        33.912_866_078_383,
        112.079_291_497_871,
        221.213_596_169_931,
        220.206_867_912_376,
    ];
    const BELOW: [f64; 8] = [
        8.838_834_764_831_84e-2,
        1.755_667_163_182_64,
        16.064_177_579_207,
        86.780_732_202_946_1,
        296.564_248_779_674,
        637.333_633_378_831,
        793.826_512_519_948,
        440.413_735_824_752,
    ];
    const FAR: f64 = 7.0;
    let far = x.abs().min(FAR);
    let polynomial = |of: &[f64]| {
        let first = of.first().copied().unwrap_or_default();
        let rest = of.iter().skip(1);
        rest.fold(first, |sum, next| multiply_add::<FUSED>(sum, far, *next))
    };
    let height = exp::<FUSED>(-0.5 * far * far);
    let tail = height * polynomial(&ABOVE) / polynomial(&BELOW);
    (if x < 0.0 { tail } else { 1.0 - tail }, height)
}

/// Work over whole columns, with instructions that multiply and add in one or without.
pub trait Fusing {
    fn run<const FUSED: bool>(self);
}

/// Does the work with the widest instructions that the processor has.
pub fn run(work: impl Fusing) {
    pulp::Arch::new().dispatch(Widest(work));
}

struct Widest<W>(W);

impl<W: Fusing> pulp::WithSimd for Widest<W> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) {
        if S::IS_SCALAR {
            self.0.run::<false>();
        } else {
            self.0.run::<true>();
        }
    }
}

/// Each of `values` by its `exp`; up to 709, and what is below -708 comes to nothing.
pub fn exp_each(values: &mut [f64]) {
    each::<Exp>(values);
}

/// Each of `values` by its `exp - 1`, good to a few parts in ten to the fifteenth however small they are; from -708 to 709.
pub fn exp_m1_each(values: &mut [f64]) {
    each::<ExpM1>(values);
}

/// Each of `values` by its `ln`; above zero and finite.
pub fn ln_each(values: &mut [f64]) {
    if values.iter().any(|value| *value < f64::MIN_POSITIVE) {
        values.iter_mut().for_each(|value| *value = value.ln());
    } else {
        each::<Ln>(values);
    }
}

/// Each of `values` by the `ln` of one more than it, which is above zero and finite.
pub fn ln_1p_each(values: &mut [f64]) {
    each::<Ln1p>(values);
}

/// The log of the sum of the `exp` of each of `values`; minus infinity without any.
pub fn log_sum_exp(values: &[f64]) -> f64 {
    let largest = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    // Infinite, or no number: nothing can be taken off it.
    if !largest.is_finite() {
        return largest;
    }
    largest
        + pulp::Arch::new()
            .dispatch(SumOfExp { values, largest })
            .ln()
}

#[inline(always)]
fn exp_or_nothing<const FUSED: bool>(x: f64) -> f64 {
    const LEAST: f64 = -708.0;
    let value = exp::<FUSED>(x);
    if x < LEAST { 0.0 } else { value }
}

/// A function of one number.
trait OfOne {
    fn of<const FUSED: bool>(x: f64) -> f64;
}

struct Exp;
struct ExpM1;
struct Ln;
struct Ln1p;

impl OfOne for Exp {
    #[inline(always)]
    fn of<const FUSED: bool>(x: f64) -> f64 {
        exp_or_nothing::<FUSED>(x)
    }
}

impl OfOne for ExpM1 {
    #[inline(always)]
    fn of<const FUSED: bool>(x: f64) -> f64 {
        exp_m1_and_exp::<FUSED>(x).0
    }
}

impl OfOne for Ln {
    #[inline(always)]
    fn of<const FUSED: bool>(x: f64) -> f64 {
        ln::<FUSED>(x)
    }
}

impl OfOne for Ln1p {
    #[inline(always)]
    fn of<const FUSED: bool>(x: f64) -> f64 {
        ln_1p::<FUSED>(x)
    }
}

/// Numbers that become what a function makes of them.
struct Each<'a, F> {
    values: &'a mut [f64],
    function: PhantomData<F>,
}

fn each<F: OfOne>(values: &mut [f64]) {
    let function = PhantomData::<F>;
    run(Each { values, function });
}

impl<F: OfOne> Fusing for Each<'_, F> {
    #[inline(always)]
    fn run<const FUSED: bool>(self) {
        for x in self.values {
            *x = F::of::<FUSED>(*x);
        }
    }
}

/// Exponentials of this and less are lost beside one, thousands of them together: a peaked law has few others.
const LOST_BESIDE_ONE: f64 = -48.0;

struct SumOfExp<'a> {
    values: &'a [f64],
    largest: f64,
}

impl SumOfExp<'_> {
    #[inline(always)]
    fn sum<const FUSED: bool>(&self) -> f64 {
        let mut lanes = [0.0; LANES];
        let mut vectors = self.values.chunks_exact(LANES);
        for vector in vectors.by_ref() {
            let mut lost = true;
            for value in vector {
                lost &= value - self.largest < LOST_BESIDE_ONE;
            }
            if lost {
                continue;
            }
            for (lane, value) in lanes.iter_mut().zip(vector) {
                *lane += exp_or_nothing::<FUSED>(value - self.largest);
            }
        }
        for (lane, value) in lanes.iter_mut().zip(vectors.remainder()) {
            *lane += exp_or_nothing::<FUSED>(value - self.largest);
        }
        lanes.iter().sum()
    }
}

impl pulp::WithSimd for SumOfExp<'_> {
    type Output = f64;

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> f64 {
        if S::IS_SCALAR {
            self.sum::<false>()
        } else {
            self.sum::<true>()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Half a million points that crowd around `centre` and reach out to `reach` on either side.
    fn points(centre: f64, reach: f64) -> impl Iterator<Item = f64> {
        (1..500_000).map(move |i| {
            let u = (f64::from(i) * 0.618_033_988_749_894_9).fract() * 2.0 - 1.0;
            centre + reach * u.abs().powi(9).copysign(u)
        })
    }

    fn worst(points: impl Iterator<Item = f64>, ours: fn(f64) -> f64, std: fn(f64) -> f64) -> f64 {
        points
            .map(|x| ((ours(x) - std(x)) / std(x)).abs())
            .filter(|error| !error.is_nan())
            .fold(0.0, f64::max)
    }

    #[test]
    fn they_agree_with_the_standard_library_to_two_units_in_the_last_place() {
        let unit = f64::EPSILON;
        assert!(worst(points(0.0, 707.0), exp::<true>, f64::exp) <= unit);
        assert!(worst(points(0.0, 707.0), exp::<false>, f64::exp) <= 2.0 * unit);
        let less_one = |x| exp_m1_and_exp::<true>(x).0;
        assert!(worst(points(0.0, 707.0), less_one, f64::exp_m1) <= 2.0 * unit);
        let less_one = |x| exp_m1_and_exp::<false>(x).0;
        assert!(worst(points(0.0, 707.0), less_one, f64::exp_m1) <= 2.0 * unit);
        let far = || points(0.0, 707.0).map(f64::exp);
        let near = || points(1.0, 0.9);
        assert!(worst(far().chain(near()), ln::<true>, f64::ln) <= 2.0 * unit);
        assert!(worst(far().chain(near()), ln::<false>, f64::ln) <= 2.0 * unit);
        assert!(worst(far(), ln_1p::<true>, f64::ln_1p) <= 2.0 * unit);
        let below_one = || points(0.0, 0.999);
        assert!(worst(below_one(), ln_1p::<true>, f64::ln_1p) <= 2.0 * unit);
    }

    #[test]
    fn the_normal_tail_is_that_of_erfc_to_2e_12() {
        for i in -90_000..=90_000 {
            let x = f64::from(i) * 1e-4;
            let exact = 0.5 * libm::erfc(-x * std::f64::consts::FRAC_1_SQRT_2);
            let [fused, plain] = [normal_lower_tail::<true>(x), normal_lower_tail::<false>(x)];
            assert!((fused - exact).abs() < 2e-12, "{x}: {fused} {exact}");
            assert!((plain - exact).abs() < 2e-12, "{x}: {plain} {exact}");
        }
    }

    #[test]
    fn the_log_of_a_sum_is_that_of_the_standard_library() {
        for count in [1, 7, 8, 201, 1000] {
            let values: Vec<f64> = points(3.0, 60.0).take(count).collect();
            let plain = values.iter().map(|x| x.exp()).sum::<f64>().ln();
            let ours = log_sum_exp(&values);
            assert!((ours - plain).abs() < 1e-13 * plain.abs(), "{ours} {plain}");
        }
        assert_eq!(log_sum_exp(&[]), f64::NEG_INFINITY);
        assert_eq!(log_sum_exp(&[f64::NEG_INFINITY; 3]), f64::NEG_INFINITY);
        let far = [-5000.0, f64::NEG_INFINITY, -5000.0];
        assert!((log_sum_exp(&far) + 5000.0 - 2.0_f64.ln()).abs() < 1e-12);
    }

    #[test]
    fn logs_of_a_whole_column_are_those_of_its_values() {
        let mut ages: Vec<f64> = points(0.0, 300.0).map(f64::exp).take(1001).collect();
        let mut more = ages.clone();
        let expected: Vec<(f64, f64)> = ages.iter().map(|x| (x.ln(), x.ln_1p())).collect();
        ln_each(&mut ages);
        ln_1p_each(&mut more);
        for ((ln, ln_1p), (expected_ln, expected_ln_1p)) in ages.iter().zip(more).zip(expected) {
            assert!((ln - expected_ln).abs() <= 1e-15 * expected_ln.abs());
            assert!((ln_1p - expected_ln_1p).abs() <= 1e-15 * expected_ln_1p);
        }
        let mut powers = [f64::NAN, -1e300, -3.5, 0.0, 200.0];
        exp_each(&mut powers);
        assert!(powers[0].is_nan());
        assert_eq!(powers[1], 0.0);
        assert_eq!(powers[3..], [1.0, 200.0_f64.exp()]);
        assert!((powers[2] - (-3.5_f64).exp()).abs() < 1e-17);
        let mut subnormal = [4.9e-324, 1.0];
        ln_each(&mut subnormal);
        assert_eq!(subnormal, [4.9e-324_f64.ln(), 0.0]);
    }
}
