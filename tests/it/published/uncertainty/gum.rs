//! Worked examples of JCGM 100:2008, data from its printed tables. Where a figure below has more
//! digits than the Guide prints, it was recomputed from the printed data and says so.

use trajet::uncertainty::{Correlation, Input, budget, coverage_factor, effective_dof, second_order, whole_dof};

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// Covariance of two series of readings taken together: (17) divided by n, for their means.
fn covariance_of_means(a: &[f64], b: &[f64]) -> f64 {
    let n = a.len() as f64;
    let (a_mean, b_mean) = (mean(a), mean(b));
    a.iter().zip(b).map(|(a, b)| (a - a_mean) * (b - b_mean)).sum::<f64>() / (n * (n - 1.0))
}

fn close(what: &str, value: f64, expected: f64, within: f64) {
    assert!((value - expected).abs() <= within, "{what} = {value}, expected {expected} within {within}");
}

/// 4.4.3, table 1: twenty readings of a temperature in degC.
#[test]
fn repeated_temperatures_of_table_1() {
    let t = [
        96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07, 100.33, 100.42, 100.68, 100.95, 101.11,
        101.20, 101.57, 101.84, 102.36, 102.72,
    ];
    let u = covariance_of_means(&t, &t).sqrt();
    let input = Input::from_readings("temperature", mean(&t), u, 19.0, "degC");
    let out = budget(&[input], &Correlation::none(), 1, |x, y| {
        y[0] = x[0];
        true
    })
    .unwrap()
    .outputs
    .remove(0);
    // Printed: mean 100.145 (rounded there to 100.14), s 1.489, s/sqrt(20) 0.333.
    close("mean", out.value, 100.145, 5e-4);
    close("s", u * 20.0_f64.sqrt(), 1.489, 5e-4);
    close("u", out.u, 0.333, 5e-4);
    assert_eq!(whole_dof(out.dof), 19.0);
}

/// H.1: calibration of an end gauge, in nm. Model (H.3): l = l_s + d - l_s (da theta + alpha_s dtheta).
#[test]
fn end_gauge_of_example_h1() {
    let inputs = [
        Input::normal("length of the standard", 50_000_623.0, 25.0, "nm").with_dof(18.0),
        Input::normal("difference, repeated", 215.0, 5.8, "nm").with_dof(24.0),
        Input::normal("comparator, random", 0.0, 3.9, "nm").with_dof(5.0),
        Input::normal("comparator, systematic", 0.0, 6.7, "nm").with_dof(8.0),
        Input::rectangular("expansion of the standard", 11.5e-6, 2e-6, "1/degC"),
        Input::rectangular("difference of expansions", 0.0, 1e-6, "1/degC").with_dof(50.0),
        Input::rectangular("difference of temperatures", 0.0, 0.05, "degC").with_dof(2.0),
        // H.1.3.4 prints u(theta) = 0.41 degC: mean 0.2, cyclic variation 0.35; the root of their squares is 0.403.
        Input::normal("deviation of the bed", -0.1, 0.41, "degC"),
    ];
    let model = |x: &[f64], y: &mut [f64]| {
        let [l_s, d, d_random, d_systematic, alpha_s, d_alpha, d_theta, theta] = *x else {
            return false;
        };
        y[0] = l_s + d + d_random + d_systematic - l_s * (d_alpha * theta + alpha_s * d_theta);
        true
    };
    let linear = budget(&inputs, &Correlation::none(), 1, model).unwrap();
    let out = &linear.outputs[0];
    // Printed: l = 50.000 838 mm, u_c = 32 nm, nu_eff = 16 (cut), t99(16) = 2.92, U99 = 93 nm.
    close("l", out.value, 50_000_838.0, 0.5);
    // Recomputed from the printed data: 31.664, 16.75, 92.48.
    close("u_c", out.u, 31.664, 2e-3);
    close("nu_eff", out.dof, 16.75, 0.05);
    close("nu_eff, cut", whole_dof(out.dof), 16.0, 0.0);
    close("t99", coverage_factor(out.dof, 0.99), 2.920_78, 1e-5);
    close("U99", coverage_factor(out.dof, 0.99) * out.u, 92.48, 0.03);
    // Table H.1 prints the parts 25, 9.7 (of the difference), 2.9 and 16.6 nm.
    let part = |name: &str| out.rows.iter().find(|row| row.name == name).unwrap().contribution;
    close("standard", part("length of the standard"), 25.0, 1e-6);
    close("expansions", part("difference of expansions"), 2.9, 0.05);
    close("temperatures", part("difference of temperatures"), 16.6, 0.05);
    // H.1.7: 34 nm with the terms of second order (recomputed 33.85).
    let second = second_order(linear, &inputs, model).outputs[0].u;
    close("u_c of second order", second, 33.85, 0.01);
}

/// H.2: resistance, reactance, impedance from simultaneous readings; table H.2.
const VOLTS: [f64; 5] = [5.007, 4.994, 5.005, 4.990, 4.999];
const MILLIAMPERES: [f64; 5] = [19.663, 19.639, 19.640, 19.685, 19.678];
const RADIANS: [f64; 5] = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433];

fn impedance(x: &[f64], y: &mut [f64]) -> bool {
    let z = x[0] / (x[1] * 1e-3);
    y.copy_from_slice(&[z * x[2].cos(), z * x[2].sin(), z]);
    true
}

#[test]
fn impedance_of_example_h2_by_its_first_approach() {
    let series = [&VOLTS, &MILLIAMPERES, &RADIANS];
    let u: Vec<f64> = series.iter().map(|s| covariance_of_means(*s, *s).sqrt()).collect();
    let inputs: Vec<Input> = ["V", "I", "phi"]
        .iter()
        .zip(["V", "mA", "rad"])
        .enumerate()
        .map(|(k, (name, unit))| Input::from_readings(*name, mean(series[k]), u[k], 4.0, unit))
        .collect();
    let mut correlation = Correlation::none();
    for (i, j, printed) in [(0, 1, -0.36), (0, 2, 0.86), (1, 2, -0.65)] {
        let r = covariance_of_means(series[i], series[j]) / (u[i] * u[j]);
        close("correlation of inputs", r, printed, 5e-3);
        correlation.set(i, j, r);
    }
    let found = budget(&inputs, &correlation, 3, impedance).unwrap();
    // Table H.3 prints R 127.732 (71), X 219.847 (295), Z 254.260 (236), r -0.588, -0.485, 0.993;
    // the further digits of u and r are recomputed from table H.2 with exact derivatives. Steps of u leave
    // (u/x)^2/6, about 1e-7 relative.
    for (o, (value, u)) in
        [(127.732_170, 0.071_071_4), (219.846_512, 0.295_581_7), (254.259_702, 0.236_336_1)].into_iter().enumerate()
    {
        close("value", found.outputs[o].value, value, 1e-6);
        close("u", found.outputs[o].u, u, 2e-7);
        // All from five simultaneous readings: four degrees of freedom.
        close("dof", found.outputs[o].dof, 4.0, 1e-9);
    }
    for (a, b, r) in [(0, 1, -0.588_430), (0, 2, -0.485_259), (1, 2, 0.992_512)] {
        close("correlation of outputs", found.covariance.correlation(a, b).unwrap(), r, 2e-6);
    }
}

#[test]
fn impedance_of_example_h2_by_its_second_approach() {
    // R, X, Z of each set of readings, then their means: table H.4.
    let mut sets = [[0.0; 5]; 3];
    for k in 0..5 {
        let mut y = [0.0; 3];
        impedance(&[VOLTS[k], MILLIAMPERES[k], RADIANS[k]], &mut y);
        (0..3).for_each(|o| sets[o][k] = y[o]);
    }
    for (o, (value, u)) in
        [(127.731_630, 0.071_273_5), (219.846_895, 0.295_489_1), (254.260_050, 0.236_247_5)].into_iter().enumerate()
    {
        close("mean", mean(&sets[o]), value, 1e-6);
        close("u", covariance_of_means(&sets[o], &sets[o]).sqrt(), u, 1e-7);
    }
}

/// H.3: calibration of a thermometer, correction b = y1 + y2 (t - 20 degC), predicted at 30 degC; table H.6.
#[test]
fn thermometer_of_example_h3() {
    let t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511];
    let b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160];
    let n = t.len() as f64;
    let theta: Vec<f64> = t.iter().map(|t| t - 20.0).collect();
    let sum = |f: &dyn Fn(usize) -> f64| (0..t.len()).map(f).sum::<f64>();
    let (s1, s2) = (sum(&|k| theta[k]), sum(&|k| theta[k] * theta[k]));
    let det = n * s2 - s1 * s1;
    let (sb, stb) = (sum(&|k| b[k]), sum(&|k| theta[k] * b[k]));
    let (y1, y2) = ((sb * s2 - stb * s1) / det, (n * stb - sb * s1) / det);
    let s = (sum(&|k| (b[k] - y1 - y2 * theta[k]).powi(2)) / (n - 2.0)).sqrt();
    let inputs = [
        Input::normal("line", y1, s * (s2 / det).sqrt(), "degC").with_dof(n - 2.0),
        Input::normal("line", y2, s * (n / det).sqrt(), "").with_dof(n - 2.0),
    ];
    let mut correlation = Correlation::none();
    correlation.set(0, 1, -s1 / (n * s2).sqrt());
    let found = budget(&inputs, &correlation, 3, |x, y| {
        y.copy_from_slice(&[x[0], x[1], x[0] + x[1] * 10.0]);
        true
    })
    .unwrap();
    // Printed: y1 -0.1712 (29), y2 0.00218 (67), r -0.930, s 0.0035, b(30) -0.1494 (41), 9 degrees of freedom;
    // the further digits are recomputed from the printed data.
    let out = &found.outputs;
    close("y1", out[0].value, -0.171_203_79, 1e-8);
    close("y2", out[1].value, 0.002_182_7, 1e-7);
    close("u(y1)", out[0].u, 0.002_877_6, 1e-7);
    close("u(y2)", out[1].u, 0.000_667_94, 1e-8);
    close("s", s, 0.003_497_56, 1e-8);
    close("r", found.covariance.correlation(0, 1).unwrap(), -0.930_429_6, 1e-7);
    close("b(30)", out[2].value, -0.149_376_81, 1e-8);
    close("u(b(30))", out[2].u, 0.004_138_60, 1e-8);
    close("dof", out[2].dof, 9.0, 1e-9);
    // One fit, one row, and all of the variance, although the two inputs nearly cancel.
    assert_eq!(out[2].rows.len(), 1);
    close("share", out[2].rows[0].share, 1.0, 1e-12);
}

/// G.4.2: a product of three inputs with relative uncertainties 0.25 %, 0.57 %, 0.82 % from 10, 5, 15 readings.
#[test]
fn effective_degrees_of_freedom_of_g_4_2() {
    let parts = [(0.25, 9.0), (0.57, 4.0), (0.82, 14.0)];
    close("nu_eff", effective_dof(parts), 18.9987, 1e-4);
    let inputs = parts.map(|(u, dof)| Input::normal(format!("x{dof}"), 100.0, u, "").with_dof(dof));
    let out = budget(&inputs, &Correlation::none(), 1, |x, y| {
        y[0] = x[0] * x[1] * x[2];
        true
    })
    .unwrap()
    .outputs
    .remove(0);
    let percent = 100.0 / out.value;
    // Printed: u 1.03 %, nu_eff 19.0, t95(19) 2.09, U95 2.2 %; further digits recomputed.
    close("u", out.u * percent, 1.029_465_9, 1e-6);
    close("nu_eff", out.dof, 19.0, 0.05);
    close("t95", coverage_factor(19.0, 0.95), 2.093_024_1, 1e-7);
    close("U95", coverage_factor(19.0, 0.95) * out.u * percent, 2.154_7, 1e-4);
}
