//! The lens from drawn edges of known distortion: as many of its numbers as the edges bear, the rest stays with its prior.

use super::*;

/// Edges across the picture at these heights (and upright ones at these places), eleven exact points each.
fn drawn(truth: &View, level: &[f64], upright: &[f64]) -> Checked {
    let mut sheet = plain();
    let point = |x: f64, y: f64| {
        let p = truth.pixel_from_bench(BenchPoint::new(x, y)).unwrap();
        Placed { at: p, u_px: CLICK }
    };
    let tenth = |i: i32, from: f64, to: f64| from + (to - from) * f64::from(i) / 10.0;
    sheet.straight = level
        .iter()
        .map(|y| (0..=10).map(|i| point(tenth(i, -150.0, 1000.0), *y)).collect())
        .chain(upright.iter().map(|x| (0..=10).map(|i| point(*x, tenth(i, -220.0, 650.0))).collect()))
        .collect();
    sheet
}

fn lens(k1: f64, k2: f64, centre: PixelPoint) -> View {
    let lens = Radial { k1, k2, centre, unit_px: 2500.0 };
    View::new(Pose { lens, ..askew(Direction::Right) }).unwrap()
}

#[test]
fn one_two_or_more_numbers_come_out_as_the_edges_bear_them() {
    let truth = lens(-0.06, 0.004, PixelPoint::new(2030.0, 1480.0));
    let few = adjusted(&drawn(&truth, &[560.0], &[])).value;
    let many = adjusted(&drawn(&truth, &[-220.0, 100.0, 400.0, 640.0], &[-140.0, 250.0, 600.0, 980.0])).value;
    for c in [&few, &many] {
        for (name, known) in [("k1", -0.06), ("k2", 0.004), ("axis x", 2030.0), ("axis y", 1480.0)] {
            let (found, u) = estimate(c, name);
            assert!((found - known).abs() < 2.0 * u, "{name}: {found} ± {u}, drawn {known}");
        }
    }
    let u = |c: &Calibration, name| estimate(c, name).1;
    eprintln!(
        "one edge: k1 ± {:.4}, k2 ± {:.4}, axis ± {:.1}, {:.1} px; eight: ± {:.4}, ± {:.4}, ± {:.1}, {:.1} px",
        u(&few, "k1"),
        u(&few, "k2"),
        u(&few, "axis x"),
        u(&few, "axis y"),
        u(&many, "k1"),
        u(&many, "k2"),
        u(&many, "axis x"),
        u(&many, "axis y")
    );
    // one edge tells of k1 alone: k2 (0.003) and the axis (25 px) stay what is assumed of them
    assert!(u(&few, "k1") < 0.01 && u(&few, "k2") > 0.0025 && u(&few, "axis x") > 20.0);
    // eight fix the axis too, and k1 far better
    assert!(u(&many, "k1") < 0.7 * u(&few, "k1") && u(&many, "axis x") < 15.0 && u(&many, "axis y") < 15.0);
}

#[test]
fn what_edges_leave_bent_is_told_in_pixels() {
    let truth = lens(-0.04, 0.0, PixelPoint::new(2000.0, 1500.0));
    let straight = adjusted(&drawn(&truth, &[-220.0, 560.0], &[]));
    let residuals = straight.value.straightness();
    assert_eq!(residuals.len(), 2);
    assert!(residuals.iter().all(|e| e.rms_px < 0.05 && e.largest_px < 0.1), "{residuals:?}");
    // nothing of the lens: its possible size stays among the observations
    let none = adjusted(&plain()).value;
    let (k1, u) = estimate(&none, "k1");
    assert!(k1.abs() < 1e-6 && (u - 0.03).abs() < 1e-3, "{k1} ± {u}");
}
