//! Drawn jets of known truth: what the extraction finds against what was drawn.

use crate::support::drawn::{Drawn, Lots};
use trajet::jet::{NoStream, attract, trace};
use trajet::photo::Pixels;
use trajet::point::PixelPoint;

/// Distances of all stations from the drawn middle, with the number of px along the stream that each stands for.
fn offsets(drawn: &Drawn) -> (Vec<f64>, f64) {
    let found = trace(&drawn.photo(), &drawn.prospect()).unwrap().value;
    assert_eq!(found.to_the_right, drawn.to_the_right);
    let off: Vec<f64> = found.stations.iter().filter(|s| s.sound).map(|s| drawn.off_px(s.at).0).collect();
    assert!(off.len() > 40, "{} stations", off.len());
    let s: Vec<f64> = found.stations.iter().map(|s| s.s_px).collect();
    let mut steps: Vec<f64> = s.windows(2).map(|w| w[1] - w[0]).collect();
    steps.sort_unstable_by(f64::total_cmp);
    (off, steps[steps.len() / 2])
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

fn deviation(values: &[f64]) -> f64 {
    let m = mean(values);
    (values.iter().map(|v| (v - m).powi(2)).sum::<f64>() / (values.len() - 1) as f64).sqrt()
}

/// The centreline's bias stays under 0.02 px whatever the look: the drawn truth is the check.
#[test]
fn the_middle_has_no_bias() {
    let looks = [
        ("bright", Drawn::default()),
        ("dark", Drawn { background: 0.7, core: 0.3, ..Drawn::default() }),
        ("transparent, bright rims", Drawn { core: 0.26, rim: Some(0.6), ..Drawn::default() }),
        ("transparent, dark rims", Drawn { background: 0.7, core: 0.69, rim: Some(0.4), ..Drawn::default() }),
        ("waves", Drawn { wave_px: 0.6, ..Drawn::default() }),
        ("upward", Drawn { angle_rad: 0.35, orifice: PixelPoint::new(90.0, 420.0), ..Drawn::default() }),
        (
            "to the left",
            Drawn { to_the_right: false, orifice: PixelPoint::new(1100.0, 120.0), seed: 5, ..Drawn::default() },
        ),
    ];
    for (name, drawn) in looks {
        let (off, _) = offsets(&drawn);
        let bias = mean(&off);
        assert!(bias.abs() < 0.02, "{name}: bias {bias:.4} px over {} stations", off.len());
    }
}

/// Scatter within 1.4 of the Cramer-Rao bound of the middle of two edges, (n/A) sqrt(2 sqrt(pi) s_e) / sqrt(2) for one
/// row of pixels, s_e^2 = s^2 + 1/12 (own derivation, checked by the exact discrete Fisher information to 0.3 % for
/// s >= 0.5 px).
#[test]
fn scatter_is_near_the_cramer_rao_bound() {
    for blur in [0.7, 1.0, 1.5, 2.0] {
        let drawn = Drawn { blur_px: blur, noise: 0.02, width_px: 30.0, seed: 11, ..Drawn::default() };
        let (off, length_px) = offsets(&drawn);
        let contrast = drawn.core - drawn.background;
        let s_e = (blur * blur + 1.0 / 12.0).sqrt();
        let bound = drawn.noise / contrast * (std::f64::consts::PI.sqrt() * s_e).sqrt() / length_px.sqrt();
        let ratio = deviation(&off) / bound;
        eprintln!("blur {blur}: scatter {:.4} px, {ratio:.2} of the bound", deviation(&off));
        assert!(ratio < 1.4, "blur {blur}: {ratio:.2} times the bound");
        assert!(ratio > 0.7, "blur {blur}: below the bound by far ({ratio:.2}): the test is wrong");
    }
}

/// A straight bar as strong as the jet crosses it, and another starts beside the orifice: the jet still wins.
#[test]
fn bars_and_stands_are_not_the_stream() {
    let drawn = Drawn { core: 0.45, ..Drawn::default() };
    let mut photo = drawn.photo();
    let w = photo.width;
    if let Pixels::Grey16(v) = &mut photo.pixels {
        for y in 0..photo.height {
            for x in 500..522 {
                v[y * w + x] = 60000;
            }
        }
        for x in 0..w {
            let y = 140 + x / 3;
            for dy in 0..24 {
                if y + dy < photo.height {
                    v[(y + dy) * w + x] = 52000;
                }
            }
        }
    }
    let found = trace(&photo, &drawn.prospect()).unwrap().value;
    let off: Vec<f64> = found.stations.iter().filter(|s| s.sound).map(|s| drawn.off_px(s.at).0.abs()).collect();
    let near = off.iter().filter(|o| **o < 1.0).count();
    assert!(near * 10 > off.len() * 8, "{near} of {} stations on the stream", off.len());
    assert!(off.len() > 60);
}

/// Noise alone has no stream.
#[test]
fn noise_alone_is_refused() {
    let drawn = Drawn { core: 0.25, noise: 0.03, ..Drawn::default() };
    let refused: NoStream = trace(&drawn.photo(), &drawn.prospect()).unwrap_err();
    assert!(refused.reason.contains("no stream"), "{refused}");
}

#[test]
fn the_drawing_itself_is_true() {
    let drawn = Drawn::default();
    let mut lots = Lots::new(3);
    for _ in 0..50 {
        let x = 800.0 * lots.uniform();
        let k = Drawn::G / (2.0 * 2.1f64.powi(2) * 2000.0);
        let p = PixelPoint::new(100.0 + x, 120.0 + k * x * x);
        assert!(drawn.off_px(p).0.abs() < 1e-6);
    }
}

/// A station put a few pixels beside the stream goes to its middle; one put far from it stays.
#[test]
fn a_station_by_hand_is_drawn_to_the_stream() {
    let drawn = Drawn { size: (800, 500), ..Drawn::default() };
    let photo = drawn.photo();
    let k = Drawn::G / (2.0 * 2.1f64.powi(2) * 2000.0);
    for (x, beside) in [(120.0, 5.0), (250.0, -6.0), (380.0, 0.0), (500.0, 7.0)] {
        let put = PixelPoint::new(100.0 + x, 120.0 + k * x * x + beside);
        let station = attract(&photo, put, &drawn.prospect()).unwrap();
        let off = drawn.off_px(station.at).0;
        assert!(off.abs() < 0.1, "put {beside} px beside at {x}: {off} px off");
        assert!(station.by_hand && (station.width_px.unwrap() - 20.0).abs() < 0.5, "{station:?}");
    }
    assert!(attract(&photo, PixelPoint::new(600.0, 120.0), &drawn.prospect()).is_none());
}
