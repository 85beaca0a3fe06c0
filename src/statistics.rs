//! What every stage may ask of statistics: the normal and the Student t distribution, and the median.

use std::f64::consts::PI;

/// Degrees of freedom above which the t distribution is had from the normal one.
const NEAR_NORMAL: f64 = 1e6;

/// Probability that a standard normal variable is at most `z`.
///
/// Relative error below 1e-14 for |z| < 6. Series of Abramowitz and Stegun (1964), 26.2.11 (all terms of one
/// sign), near the middle; continued fraction 26.2.14 in the tails. A `z`
/// that is not a number gives the same back.
pub fn normal_cdf(z: f64) -> f64 {
    let density = normal_density(z);
    if z.abs() < 3.0 {
        let (mut term, mut sum, mut k) = (z, z, 1.0);
        while term.abs() > 1e-17 * sum.abs() {
            k += 2.0;
            term *= z * z / k;
            sum += term;
        }
        return 0.5 + density * sum;
    }
    // 1/(z + 1/(z + 2/(z + 3/...))), evaluated from the far end: 120 terms are exact from z = 3 on.
    let far = (1..=120).rev().fold(z.abs(), |rest, k| z.abs() + f64::from(k) / rest);
    let tail = density / far;
    if z > 0.0 { 1.0 - tail } else { tail }
}

/// [`normal_cdf`] within 1e-7, for where it is asked for millions of times: M. Abramowitz and I. A. Stegun, 1964, Handbook of
/// Mathematical Functions, 7.1.26.
pub fn normal_cdf_quick(z: f64) -> f64 {
    let x = z.abs() * std::f64::consts::FRAC_1_SQRT_2;
    let t = 1.0 / (1.0 + 0.327_591_1 * x);
    let sum =
        t * (0.254_829_592 + t * (-0.284_496_736 + t * (1.421_413_741 + t * (-1.453_152_027 + t * 1.061_405_429))));
    let upper = 0.5 * sum * (-x * x).exp();
    if z < 0.0 { upper } else { 1.0 - upper }
}

/// Density of a standard normal variable.
pub fn normal_density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * PI).sqrt()
}

/// Median, reordering the slice: the mean of the middle two of an even number; `None` of nothing.
pub fn median(values: &mut [f64]) -> Option<f64> {
    if values.is_empty() {
        return None;
    }
    let is_odd = values.len() % 2 == 1;
    let (below, &mut middle, _) = values.select_nth_unstable_by(values.len() / 2, f64::total_cmp);
    let before = || below.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    Some(if is_odd { middle } else { 0.5 * (middle + before()) })
}

/// The `z` that a standard normal variable exceeds with probability `1 - p`.
///
/// Relative error about 1e-16: algorithm AS 241, routine PPND16, Wichura (1988), Applied
/// Statistics 37, 477-484. `p` at or outside 0 and 1 gives minus or plus infinity.
pub fn normal_quantile(p: f64) -> f64 {
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        let r = 0.180625 - q * q;
        return q * horner(&MIDDLE.0, r) / horner(&MIDDLE.1, r);
    }
    let tail = p.min(1.0 - p);
    if tail <= 0.0 {
        return f64::INFINITY.copysign(q);
    }
    let r = (-tail.ln()).sqrt();
    let size = if r <= 5.0 {
        horner(&TAIL.0, r - 1.6) / horner(&TAIL.1, r - 1.6)
    } else {
        horner(&FAR_TAIL.0, r - 5.0) / horner(&FAR_TAIL.1, r - 5.0)
    };
    size.copysign(q)
}

/// Numerator and denominator of one of AS 241's rational functions, constant term first.
type Rational = ([f64; 8], [f64; 8]);

const MIDDLE: Rational = (
    [
        3.387_132_872_796_366_5,
        133.141_667_891_784_38,
        1_971.590_950_306_551_3,
        13_731.693_765_509_46,
        45_921.953_931_549_87,
        67_265.770_927_008_7,
        33_430.575_583_588_13,
        2_509.080_928_730_122_7,
    ],
    [
        1.0,
        42.313_330_701_600_91,
        687.187_007_492_057_9,
        5_394.196_021_424_751,
        21_213.794_301_586_597,
        39_307.895_800_092_71,
        28_729.085_735_721_943,
        5_226.495_278_852_545,
    ],
);

const TAIL: Rational = (
    [
        1.423_437_110_749_683_5,
        4.630_337_846_156_546,
        5.769_497_221_460_691,
        3.647_848_324_763_204_5,
        1.270_458_252_452_368_4,
        0.241_780_725_177_450_6,
        0.022_723_844_989_269_184,
        7.745_450_142_783_414e-4,
    ],
    [
        1.0,
        2.053_191_626_637_759,
        1.676_384_830_183_803_8,
        0.689_767_334_985_1,
        0.148_103_976_427_480_08,
        0.015_198_666_563_616_457,
        5.475_938_084_995_345e-4,
        1.050_750_071_644_416_9e-9,
    ],
);

const FAR_TAIL: Rational = (
    [
        6.657_904_643_501_103,
        5.463_784_911_164_114,
        1.784_826_539_917_291_3,
        0.296_560_571_828_504_87,
        0.026_532_189_526_576_124,
        0.001_242_660_947_388_078_4,
        2.711_555_568_743_487_6e-5,
        2.010_334_399_292_288_1e-7,
    ],
    [
        1.0,
        0.599_832_206_555_888,
        0.136_929_880_922_735_8,
        0.014_875_361_290_850_615,
        7.868_691_311_456_133e-4,
        1.846_318_317_510_054_8e-5,
        1.421_511_758_316_446e-7,
        2.044_263_103_389_939_8e-15,
    ],
);

fn horner(coefficients: &[f64; 8], x: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c)
}

/// Probability that a Student t variable with `dof` degrees of freedom is at most `t`.
///
/// Absolute error below 1e-11. By the incomplete beta function, I_x(dof/2, 1/2) with
/// x = dof/(dof + t^2): Abramowitz and Stegun (1964), 26.7.1 and 26.5.27; above a million degrees of
/// freedom by the first term of 26.7.5, turned round, whose rest is of the order t^5/dof^2. `dof` is above 0, need not be whole, and may
/// be infinite (the normal distribution).
pub fn t_cdf(t: f64, dof: f64) -> f64 {
    if dof > NEAR_NORMAL {
        // Beyond 50 both tails are zero, and the cube must not overtake t.
        let t = t.clamp(-50.0, 50.0);
        return normal_cdf(t - (t * t * t + t) / (4.0 * dof));
    }
    let (a, b) = (0.5 * dof, 0.5);
    let square = t * t;
    let both_tails = if square > dof * (b + 1.0) / (a + 1.0) {
        incomplete_beta(dof / (dof + square), square / (dof + square), a, b, dof)
    } else {
        1.0 - incomplete_beta(square / (dof + square), dof / (dof + square), b, a, dof)
    };
    if t > 0.0 { 1.0 - 0.5 * both_tails } else { 0.5 * both_tails }
}

/// The `t` that a Student t variable with `dof` degrees of freedom exceeds with probability `1 - p`.
///
/// Relative error below 1e-10 for `p` from 1e-6 to 1 - 1e-6: Newton steps on [`t_cdf`], kept inside
/// a bracket that shrinks. `p` at or outside 0 and 1 gives minus or plus infinity.
pub fn t_quantile(p: f64, dof: f64) -> f64 {
    if dof.is_infinite() || p <= 0.0 || p >= 1.0 {
        return normal_quantile(p);
    }
    if p > 0.5 {
        return -t_quantile(1.0 - p, dof);
    }
    // The lower half: t is never above the normal quantile, so that is the upper end of the bracket.
    let (mut low, mut high) = (-1.0, 0.0);
    while t_cdf(low, dof) > p {
        high = low;
        low *= 2.0;
        if low.is_infinite() {
            return low;
        }
    }
    let mut t = normal_quantile(p).clamp(low, high);
    for _ in 0..200 {
        let excess = t_cdf(t, dof) - p;
        if excess > 0.0 {
            high = t
        } else {
            low = t
        }
        let newton = t - excess / t_density(t, dof);
        let next = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
        let step = (next - t).abs();
        t = next;
        if step <= 1e-14 * t.abs().max(1e-3) {
            break;
        }
    }
    t
}

/// Density of the t distribution: Abramowitz and Stegun (1964), 26.7.2.
fn t_density(t: f64, dof: f64) -> f64 {
    let fall = (-0.5 * (dof + 1.0) * (t * t / dof).ln_1p()).exp();
    half_step_ratio(0.5 * dof) / (dof * PI).sqrt() * fall
}

/// I_x(a, b) where one of a, b is dof/2 and the other 1/2; `y` is 1 - x, given apart to keep its
/// digits. Continued fraction 8.17.22 of the NIST Digital Library of Mathematical Functions, by
/// Lentz's method; converges fast for x < (a + 1)/(a + b + 2), which the caller sees to.
fn incomplete_beta(x: f64, y: f64, a: f64, b: f64, dof: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    // 1/B(dof/2, 1/2) = Gamma(dof/2 + 1/2) / (Gamma(dof/2) sqrt(pi)).
    // The logarithm of a number near 1 through its complement, which has more digits.
    let ln = |v: f64, complement: f64| if v > 0.5 { (-complement).ln_1p() } else { v.ln() };
    let front = (a * ln(x, y) + b * ln(y, x)).exp() * half_step_ratio(0.5 * dof) / (PI.sqrt() * a);
    let tiny = 1e-300;
    let keep_off_zero = |v: f64| if v.abs() < tiny { tiny } else { v };
    let mut c = 1.0;
    let mut d = 1.0 / keep_off_zero(1.0 - (a + b) * x / (a + 1.0));
    let mut fraction = d;
    for step in 1..100_000 {
        let m = f64::from(step);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        let mut change = 1.0;
        for part in [even, odd] {
            d = 1.0 / keep_off_zero(1.0 + part * d);
            c = keep_off_zero(1.0 + part / c);
            change = c * d;
            fraction *= change;
        }
        if (change - 1.0).abs() < 1e-15 {
            break;
        }
    }
    front * fraction
}

/// Gamma(z + 1/2) / Gamma(z), z > 0: raised to z >= 50 by the recurrence of the gamma function, there
/// by the asymptotic series of Abramowitz and Stegun (1964), 6.1.47 (continued to z^-5: relative error below 1e-13).
fn half_step_ratio(z: f64) -> f64 {
    let (mut z, mut factor) = (z, 1.0);
    while z < 50.0 {
        factor *= z / (z + 0.5);
        z += 1.0;
    }
    let w = 1.0 / z;
    let terms = [1.0, -1.0 / 8.0, 1.0 / 128.0, 5.0 / 1024.0, -21.0 / 32768.0, -399.0 / 262_144.0, 0.0, 0.0];
    factor * z.sqrt() * horner(&terms, w)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantile_undoes_cumulative_probability() {
        for i in -60..=60 {
            let z = f64::from(i) * 0.1;
            let back = normal_quantile(normal_cdf(z));
            // Above the middle 1 - p loses digits: 1e-16 in p over the density there.
            let loss = 1e-15 + 2e-16 / (-0.5 * z * z).exp();
            assert!((back - z).abs() < loss * 10.0, "{z}: {back}");
        }
        for dof in [0.7, 1.0, 2.0, 3.5, 10.0, 100.0, 1e4, 9e5, 2e6, 1e9] {
            for p in [1e-6, 0.005, 0.025, 0.3, 0.5, 0.7, 0.975, 0.995] {
                let back = t_cdf(t_quantile(p, dof), dof);
                assert!((back - p).abs() < 1e-12, "{dof} {p}: {back}");
            }
        }
    }

    #[test]
    fn one_and_two_degrees_of_freedom_have_closed_forms() {
        // Cauchy: F = 1/2 + atan(t)/pi. Two: F = 1/2 + t / (2 sqrt(2 + t^2)).
        for t in [-30.0, -2.0, -0.1, 0.0, 0.4, 1.5, 50.0_f64] {
            assert!((t_cdf(t, 1.0) - (0.5 + t.atan() / PI)).abs() < 1e-13);
            assert!((t_cdf(t, 2.0) - (0.5 + t / (2.0 * (2.0 + t * t).sqrt()))).abs() < 1e-13);
        }
    }

    #[test]
    fn the_way_by_the_normal_distribution_joins_without_a_step() {
        for t in [-5.0, -1.96, -0.3, 0.8, 3.0] {
            let step = t_cdf(t, NEAR_NORMAL) - t_cdf(t, NEAR_NORMAL * (1.0 + 1e-12));
            assert!(step.abs() < 1e-11, "{t}: {step:e}");
        }
    }

    #[test]
    fn the_ends_are_infinite_and_never_nan() {
        assert_eq!(normal_quantile(0.0), f64::NEG_INFINITY);
        assert_eq!(normal_quantile(1.0), f64::INFINITY);
        assert_eq!(t_quantile(1.0, 4.0), f64::INFINITY);
        assert_eq!(t_quantile(0.975, f64::INFINITY), normal_quantile(0.975));
    }
}
