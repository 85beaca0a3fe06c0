//! Quantiles against published tables.

use trajet::statistics::{normal_cdf, normal_quantile, t_cdf, t_quantile};
use trajet::uncertainty::coverage_factor;

/// JCGM 100:2008, table G.2, as reprinted in NIST Technical Note 1297 (1994), table B.1: t_p(dof) for p = 68.27 %, 90 %,
/// 95 %, 95.45 %, 99 %, 99.73 %; printed to two decimals.
const GUM_TABLE_G2: [(f64, [f64; 6]); 9] = [
    (1.0, [1.84, 6.31, 12.71, 13.97, 63.66, 235.80]),
    (2.0, [1.32, 2.92, 4.30, 4.53, 9.92, 19.21]),
    (3.0, [1.20, 2.35, 3.18, 3.31, 5.84, 9.22]),
    (5.0, [1.11, 2.02, 2.57, 2.65, 4.03, 5.51]),
    (10.0, [1.05, 1.81, 2.23, 2.28, 3.17, 3.96]),
    (16.0, [1.03, 1.75, 2.12, 2.17, 2.92, 3.54]),
    (19.0, [1.03, 1.73, 2.09, 2.14, 2.86, 3.45]),
    (50.0, [1.01, 1.68, 2.01, 2.05, 2.68, 3.16]),
    (f64::INFINITY, [1.000, 1.645, 1.960, 2.000, 2.576, 3.000]),
];

#[test]
fn t_factors_of_the_guide() {
    // The note to the table: 68.27 %, 95.45 % and 99.73 % stand for one, two and three sigma of a normal quantity.
    let sigmas = |k: f64| 2.0 * normal_cdf(k) - 1.0;
    let probabilities = [sigmas(1.0), 0.90, 0.95, sigmas(2.0), 0.99, sigmas(3.0)];
    for (dof, printed) in GUM_TABLE_G2 {
        for (p, value) in probabilities.into_iter().zip(printed) {
            let half_digit = if dof.is_infinite() { 0.5e-3 } else { 0.5e-2 };
            let k = coverage_factor(dof, p);
            assert!((k - value).abs() <= half_digit + 1e-9, "t_{p}({dof}) = {k}, printed {value}");
        }
    }
}

#[test]
fn quantiles_to_ten_digits() {
    // Computed with SciPy 1.17 (Cephes and Boost routines), an independent implementation.
    for (p, dof, value) in [
        (0.025, 0.7, -36.611_415_031_588_706),
        (0.025, 3.5, -2.940_088_637_982_729_6),
        (0.975, 16.0, 2.119_905_299_221_254_6),
        (0.975, 19.0, 2.093_024_054_408_31),
        (0.025, 1e3, -1.962_339_080_826_408_5),
        (0.025, 1e6, -1.959_966_356_814_107_2),
        (0.025, 1e9, -1.959_963_986_912_325_3),
    ] {
        let t = t_quantile(p, dof);
        assert!((t / value - 1.0).abs() < 1e-10, "{dof}: {t}");
    }
    for (t, dof, value) in [
        (-2.5, 0.7, 0.159_852_181_340_636_95),
        (-2.5, 3.5, 0.037_847_321_904_745_01),
        (-2.5, 1e3, 0.006_289_283_900_545_403_6),
        (-2.5, 1e6, 0.006_209_744_751_081_627),
        (-2.5, 1e9, 0.006_209_665_405_201_246),
    ] {
        assert!((t_cdf(t, dof) - value).abs() < 1e-11, "{dof}: {}", t_cdf(t, dof));
    }
    for (p, z) in [
        (1e-12, -7.034_483_825_301_131),
        (1e-5, -4.264_890_793_922_825),
        (0.025, -1.959_963_984_540_054_5),
        (0.3, -0.524_400_512_708_041),
        (0.9, 1.281_551_565_544_600_4),
    ] {
        assert!((normal_quantile(p) / z - 1.0_f64).abs() < 1e-14, "{p}: {}", normal_quantile(p));
    }
    for (z, p) in [
        (-8.0, 6.220_960_574_271_74e-16),
        (-3.2, 0.000_687_137_937_915_847_1),
        (-2.9, 0.001_865_813_300_384_037_5),
        (1.3, 0.903_199_515_414_389_7),
    ] {
        assert!((normal_cdf(z) / p - 1.0_f64).abs() < 1e-13, "{z}: {:e}", normal_cdf(z));
    }
}
