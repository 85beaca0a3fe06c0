//! The fit on stations of known truth, on outliers, and on what cannot be fitted.

use super::*;
use crate::trajectory::coverage::Noise;
use crate::trajectory::refit;

const TRUTH: [f64; 3] = [0.8, -0.03, 1.1e-3];

/// Stations every 4 mm along the true path with white noise of `sd_mm` across it.
fn stations(n: usize, sd_mm: f64, seed: u64) -> Vec<Station> {
    let mut noise = Noise::new(seed);
    (0..n)
        .map(|i| {
            let x = 10.0 + 4.0 * i as f64;
            let slope = TRUTH[1] + 2.0 * TRUTH[2] * x;
            let (n, off) = ((1.0 + slope * slope).sqrt(), sd_mm * noise.normal());
            let y = TRUTH[0] + x * (TRUTH[1] + TRUTH[2] * x);
            Station { x_mm: x - off * slope / n, y_mm: y + off / n, u_mm: 0.1 }
        })
        .collect()
}

fn free() -> FitOptions {
    FitOptions { x_vc_mm: 6.0, ..FitOptions::default() }
}

fn truth_velocity() -> f64 {
    let slope = TRUTH[1] + 2.0 * TRUTH[2] * 6.0;
    (9.81 / (2.0 * TRUTH[2] * 1e3) * (1.0 + slope * slope)).sqrt()
}

#[test]
fn exact_stations_give_the_curve_back() {
    for launch in [Launch::Free, Launch::Stated { angle_rad: 0.0168, u_rad: 1.0 }] {
        let fit = fit(&stations(100, 0.0, 1), &FitOptions { launch, ..free() }).unwrap();
        assert!((fit.velocity_m_s(9.81).unwrap() / truth_velocity() - 1.0).abs() < 1e-9, "{launch:?}");
        assert!(fit.used.iter().all(|u| *u) && fit.rms_mm < 1e-8);
    }
}

#[test]
fn one_regression_with_the_final_weights_is_the_fit_again() {
    for launch in [Launch::Free, Launch::Level, Launch::Stated { angle_rad: 0.02, u_rad: 0.002 }] {
        let mut data = stations(90, 0.15, 5);
        data.reverse();
        data.swap(3, 70);
        for s in &mut data[20..30] {
            s.y_mm += 9.0;
        }
        let fit = fit(&data, &FitOptions { launch, ..free() }).unwrap();
        let xs: Vec<f64> = data.iter().map(|s| s.x_mm).collect();
        let ys: Vec<f64> = data.iter().map(|s| s.y_mm).collect();
        let (c, b, a) = refit(&xs, &ys, &fit.weight, launch, 6.0).unwrap();
        assert!(
            (c - fit.c_mm).abs() < 1e-9 && (b - fit.b).abs() < 1e-11 && (a - fit.a_per_mm).abs() < 1e-13,
            "{launch:?}"
        );
        assert!(fit.used[20..30].iter().all(|u| !u));
    }
}

#[test]
fn a_third_that_follows_a_ruler_does_not_pull() {
    let clean = fit(&stations(120, 0.1, 9), &free()).unwrap();
    let mut data = stations(120, 0.1, 9);
    for s in &mut data[60..96] {
        s.y_mm = 90.0 + 0.05 * (s.x_mm - 250.0); // a straight edge across the stream
    }
    let fit = fit(&data, &free()).unwrap();
    let (v, u) = (fit.velocity_m_s(9.81).unwrap(), fit.velocity_u_m_s(9.81).unwrap());
    assert!((v - truth_velocity()).abs() < 3.0 * u, "{v} +- {u}, truth {}", truth_velocity());
    assert!(u < 2.5 * clean.velocity_u_m_s(9.81).unwrap());
    let used = fit.used[60..96].iter().filter(|u| **u).count();
    assert!(used <= 5, "{used} stations of the ruler were used"); // where it crosses the stream they agree
}

#[test]
fn a_level_launch_is_level_at_the_vena_contracta() {
    let apex = -TRUTH[1] / (2.0 * TRUTH[2]);
    let options = FitOptions { launch: Launch::Level, x_vc_mm: apex, ..free() };
    let level = fit(&stations(60, 0.1, 3), &options).unwrap();
    assert!(level.launch_angle_rad().abs() < 1e-12);
    let free = fit(&stations(60, 0.1, 3), &free()).unwrap();
    assert!(level.velocity_u_m_s(9.81).unwrap() < 0.5 * free.velocity_u_m_s(9.81).unwrap());
}

#[test]
fn a_stated_angle_counts_by_its_uncertainty() {
    let data = stations(60, 0.1, 3);
    let angle = |u_rad| {
        let launch = Launch::Stated { angle_rad: 0.0168, u_rad };
        let fit = fit(&data, &FitOptions { launch, ..free() }).unwrap();
        (fit.launch_angle_rad(), fit.velocity_u_m_s(9.81).unwrap())
    };
    let alone = fit(&data, &free()).unwrap();
    assert!((angle(0.0).0 - 0.0168).abs() < 1e-12);
    assert!((angle(10.0).0 - alone.launch_angle_rad()).abs() < 1e-8);
    assert!(angle(0.0).1 < angle(1e-3).1 && angle(1e-3).1 < angle(10.0).1);
}

#[test]
fn scatter_rules_where_the_stated_uncertainty_is_wrong() {
    let data = stations(150, 0.1, 11);
    let u = |factor: f64| {
        let told: Vec<Station> = data.iter().map(|s| Station { u_mm: s.u_mm * factor, ..*s }).collect();
        fit(&told, &free()).unwrap().velocity_u_m_s(9.81).unwrap()
    };
    assert!((u(0.1) / u(1.0) - 1.0).abs() < 0.1, "{} {}", u(0.1), u(1.0));
    assert!((1.0..2.0).contains(&(u(3.0) / u(1.0))), "{}", u(3.0) / u(1.0));
}

#[test]
fn a_few_stations_by_hand_are_fitted_with_what_they_state() {
    let data = stations(4, 0.0, 1);
    let fit = fit(&data, &free()).unwrap();
    assert!((fit.chi2_per_dof) < 1e-12 && fit.dof > 100.0);
    assert!(fit.velocity_u_m_s(9.81).unwrap() > 0.01);
}

#[test]
fn what_cannot_be_fitted_says_why() {
    let say = |data: &[Station], launch| fit(data, &FitOptions { launch, ..free() }).unwrap_err().reason;
    let good = stations(30, 0.1, 1);
    assert_eq!(say(&good[..3], Launch::Free), "3 stations, but at least 4 are needed for this trajectory");
    assert_eq!(say(&[], Launch::Level), "0 stations, but at least 3 are needed for this trajectory");
    let changed = |change: &dyn Fn(&mut Station)| {
        let mut data = good.clone();
        data.iter_mut().for_each(change);
        data
    };
    assert!(say(&changed(&|s| s.y_mm = f64::NAN), Launch::Free).contains("station 1 is not finite"));
    assert!(say(&changed(&|s| s.u_mm = 0.0), Launch::Free).contains("must be positive"));
    assert!(say(&changed(&|s| s.x_mm = 7.0), Launch::Free).contains("1 distinct x"));
    assert!(say(&changed(&|s| s.x_mm = (s.x_mm * 0.01).floor()), Launch::Level).contains("distinct x"));
    assert!(say(&good, Launch::Stated { angle_rad: f64::NAN, u_rad: 0.1 }).contains("launch"));
    assert!(say(&good, Launch::Stated { angle_rad: 0.1, u_rad: -0.1 }).contains("launch"));
}

#[test]
fn extreme_magnitudes_fit_or_refuse_but_never_give_a_false_number() {
    let plain = fit(&stations(40, 0.1, 2), &free()).unwrap().velocity_m_s(9.81).unwrap();
    for factor in [1e-9, 1e-6, 1e6, 1e9, 1e150, 1e-150, 1e300] {
        let data: Vec<Station> = stations(40, 0.1, 2)
            .iter()
            .map(|s| Station { x_mm: s.x_mm * factor, y_mm: s.y_mm * factor, u_mm: s.u_mm * factor })
            .collect();
        if let Ok(fit) = fit(&data, &FitOptions { x_vc_mm: 6.0 * factor, ..free() }) {
            let v = fit.velocity_m_s(9.81).unwrap() / factor.sqrt();
            assert!((v / plain - 1.0).abs() < 1e-6, "{factor}: {v}");
        } else {
            assert!(!(1e-9..=1e9).contains(&factor), "{factor} refused");
        }
    }
}
