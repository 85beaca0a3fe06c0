//! Drawn jets with what benches add to them: things across the stream, glare, drops, reflections; apex and flat jets.
//! What is asked: the sound stations lie on the stream, and the velocity within its own interval.

use crate::support::drawn::{Drawn, Lots, measured};
use trajet::jet::trace;
use trajet::measure::Findings;
use trajet::point::PixelPoint;

fn scene() -> Drawn {
    Drawn { size: (800, 500), ..Drawn::default() }
}

/// Share of the used stations within a pixel of the truth.
fn on_stream(found: &Findings, drawn: &Drawn) -> f64 {
    let used: Vec<_> = found.stations.iter().filter(|s| s.used).collect();
    assert!(used.len() > 30, "{} stations used", used.len());
    used.iter().filter(|s| drawn.off_px(s.px.into()).0.abs() < 1.0).count() as f64 / used.len() as f64
}

fn holds(name: &str, drawn: &Drawn, paint: impl Fn(PixelPoint, f64) -> f64) {
    let found = measured(&drawn.sheet(""), &[drawn.photo_with(paint)], None).unwrap_or_else(|e| panic!("{name}: {e}"));
    let share = on_stream(&found, drawn);
    let v = found.velocity.as_ref().unwrap();
    eprintln!(
        "{name}: {:.2} of {} stations on the stream, V off by {:+.3} % of +- {:.3} %",
        share,
        found.stations.len(),
        100.0 * (v.value / drawn.speed_m_s - 1.0),
        100.0 * v.u / v.value
    );
    assert!(share > 0.97, "{name}: {share:.3} of the stations on the stream");
    assert!((v.value - drawn.speed_m_s).abs() < 2.0 * v.u, "{name}: {} +- {}", v.value, v.u);
}

#[test]
fn a_stand_and_a_hand_across_the_jet() {
    holds("stand", &scene(), |p, v| if (330.0..365.0).contains(&p.x) { 0.85 } else { v });
    // a hand: a blob three widths across, brighter than the jet, with a soft rim
    holds("hand", &scene(), |p, v| {
        let d = p.distance(PixelPoint::new(400.0, 180.0));
        if d < 45.0 { 0.75 + 0.05 * (p.x / 9.0).sin() } else { v }
    });
}

#[test]
fn glare_and_drops() {
    // glare: a bright veil that fades within 120 px, across the jet
    holds("glare", &scene(), |p, v| v + 0.3 * (-(p.distance(PixelPoint::new(350.0, 160.0)) / 60.0).powi(2)).exp());
    // beyond x = 560 the stream is broken into drops off its path
    let mut lots = Lots::new(8);
    let jet = scene();
    let drops: Vec<PixelPoint> = (0..24)
        .map(|_| {
            let x = 460.0 + 240.0 * lots.uniform();
            let y = 120.0 + Drawn::G / (2.0 * 2.1f64.powi(2) * 2000.0) * x * x;
            PixelPoint::new(100.0 + x, y + 14.0 * lots.normal())
        })
        .collect();
    holds("drops", &jet, |p, v| {
        if p.x < 560.0 {
            return v;
        }
        if drops.iter().any(|d| d.distance(p) < 7.0) { 0.65 } else { 0.25 }
    });
}

/// A board behind mirrors the jet: a fainter copy three widths below it.
#[test]
fn a_reflection_is_not_the_stream() {
    let jet = scene();
    holds("reflection", &jet, |p, v| {
        let (off, along) = jet.off_px(PixelPoint::new(p.x, p.y - 55.0));
        let copy = if along > 0.0 && off.abs() < 10.0 { 0.18 } else { 0.0 };
        (v + copy).min(0.65)
    });
}

#[test]
fn several_stretches_an_apex_and_a_flat_jet() {
    holds("stretches", &scene(), |p, v| {
        let hidden = [(200.0, 260.0), (340.0, 420.0), (520.0, 560.0)];
        if hidden.iter().any(|(a, b)| p.x > *a && p.x < *b) { 0.25 } else { v }
    });
    let apex = Drawn { angle_rad: 0.6, orifice: PixelPoint::new(60.0, 330.0), ..scene() };
    holds("apex", &apex, |_, v| v);
    let flat = Drawn { speed_m_s: 7.0, ..scene() };
    holds("flat", &flat, |_, v| v);
}

/// A faint silhouette with a line four times as strong inside its upper rim over half of its length, as refraction draws
/// them: neither the middle nor the width follows the line. Measured: 0.13 px off, since beside the line the rim is mostly
/// lost and the other one alone tells the middle; the width where both are seen 39.99 px.
#[test]
fn a_stronger_line_inside_is_not_the_rim() {
    let jet = Drawn { core: 0.33, width_px: 40.0, noise: 0.006, ..scene() };
    let lined = jet.photo_with(|p, v| {
        if (v - jet.background).abs() < 1e-3 {
            return v;
        }
        let (n, along) = jet.off_px(p);
        let line = (-0.5 * ((n + 13.0) / 1.2).powi(2)).exp();
        if (150.0..450.0).contains(&along) { v + 0.3 * line } else { v }
    });
    let found = trace(&lined, &jet.prospect()).unwrap().value;
    let on_line: Vec<_> = found.stations.iter().filter(|s| s.sound && (200.0..480.0).contains(&s.at.x)).collect();
    assert!(on_line.len() > 15, "{} stations", on_line.len());
    let count = on_line.len() as f64;
    let off = on_line.iter().map(|s| jet.off_px(s.at).0).sum::<f64>() / count;
    let widths: Vec<f64> = on_line.iter().filter_map(|s| s.width_px).collect();
    let width = widths.iter().sum::<f64>() / widths.len() as f64;
    eprintln!("middle off by {off:.3} px, width {width:.2} of 40 px");
    assert!(off.abs() < 0.25, "{off} px off");
    assert!((width - 40.0).abs() < 0.4, "{width} px wide");
}

/// A jet too faint to see beside a stand and a scratch that no noise hides: they are no trajectory from the orifice, and
/// nothing is measured on them.
#[test]
fn what_is_no_trajectory_is_not_measured() {
    for (seed, core) in [(3, 0.25), (4, 0.3), (5, 0.35)] {
        let jet = Drawn { core, noise: 0.02, seed, ..scene() };
        let photo = jet.photo_with(|p, v| {
            let stand = (p.x - 420.0 - 0.03 * p.y).abs() < 9.0;
            let scratch = (p.y - 60.0 - 0.15 * p.x).abs() < 2.5 && p.x < 600.0;
            if stand || scratch { 0.9 } else { v }
        });
        match trace(&photo, &jet.prospect()) {
            Err(_) => assert!(core < 0.32, "a jet of {core} before {} is seen", jet.background),
            Ok(found) => {
                let off: Vec<f64> =
                    found.value.stations.iter().filter(|s| s.sound).map(|s| jet.off_px(s.at).0.abs()).collect();
                let near = off.iter().filter(|o| **o < 3.0).count();
                assert!(near * 10 > off.len() * 9, "core {core}: {near} of {} stations on the stream", off.len());
            }
        }
    }
}

/// Benches at random: what share is refused, followed wrongly, placed badly; whether stations and velocities lie where their
/// uncertainties say. The last measured numbers stand in DEVELOPERS.md.
#[test]
#[ignore = "statistics of 150 drawn scenes"]
fn benches_at_random() {
    let mut lots = Lots::new(20);
    let mut between = |lo: f64, hi: f64| lo + (hi - lo) * lots.uniform();
    let (mut refused, mut wrong, mut rough, mut inside, mut near, mut stations) = (0, 0, 0, 0, 0, 0);
    let mut rms = Vec::new();
    const SCENES: usize = 150;
    for seed in 0..SCENES as u64 {
        let size = (900, 640);
        let width_px = between(8f64.ln(), 60f64.ln()).exp();
        let to_the_right = between(0.0, 1.0) < 0.7;
        let x = between(60.0, 120.0);
        let (background, tone) = (between(0.2, 0.75), if between(0.0, 1.0) < 0.5 { 1.0 } else { -1.0 });
        let core = background + tone * between(0.04, 0.22);
        let angle_rad = between(-0.2, 0.5);
        let jet = Drawn {
            size,
            orifice: PixelPoint::new(if to_the_right { x } else { 900.0 - x }, between(0.2, 0.5) * 640.0),
            speed_m_s: between(1.5, 2.6),
            angle_rad,
            to_the_right,
            width_px,
            blur_px: between(0.6, 2.4),
            background,
            core: if between(0.0, 1.0) < 0.3 { background } else { core },
            rim: Some(core),
            noise: between(0.004, 0.02),
            wave_px: between(0.0, 0.02) * width_px,
            phase_rad: between(0.0, 6.0),
            seed,
            ..Drawn::default()
        };
        let (bar, thick, lean) = (between(250.0, 650.0), between(6.0, 40.0), between(-0.4, 0.4));
        let scratch = (between(0.0, 600.0), between(-0.5, 0.5));
        let (shelf, grey) = (between(100.0, 600.0), between(0.1, 0.9));
        let photo = jet.photo_with(|p, v| {
            let bar = (p.x - bar - lean * p.y).abs() < 0.5 * thick;
            let scratch = (p.y - scratch.0 - scratch.1 * p.x).abs() < 1.3;
            let shelf = (p.y - shelf).abs() < 5.0 && (v - background).abs() < 0.01;
            if bar || scratch || shelf { grey } else { v }
        });
        let Ok(found) = measured(&jet.sheet(""), &[photo], None) else {
            refused += 1;
            continue;
        };
        let used: Vec<_> = found.stations.iter().filter(|s| s.used).collect();
        let off: Vec<f64> = used.iter().map(|s| jet.off_px(s.px.into()).0.abs()).collect();
        let gross = off.iter().filter(|o| **o > (0.25 * width_px).max(3.0)).count();
        if gross * 20 > off.len() {
            wrong += 1;
            eprintln!("{seed}: {gross} of {} stations off a stream {width_px:.0} px wide", off.len());
            continue;
        }
        let scene_rms = (off.iter().map(|o| o * o).sum::<f64>() / off.len() as f64).sqrt();
        rough += usize::from(scene_rms > (0.05 * width_px).max(0.8));
        rms.push(scene_rms);
        stations += off.len();
        near += off.iter().zip(&used).filter(|(o, s)| **o <= 2.0 * s.u_px).count();
        let v = found.velocity.as_ref().unwrap();
        inside += usize::from(v.lo <= jet.speed_m_s && jet.speed_m_s <= v.hi);
    }
    rms.sort_unstable_by(f64::total_cmp);
    let share = |n: usize, of: usize| n as f64 / of as f64;
    eprintln!(
        "refused {refused}, wrong {wrong}, rough {rough} of {SCENES}; rms median {:.3}, 90 % {:.3} px; within 2 u {:.3}; V inside {:.3}",
        rms[rms.len() / 2],
        rms[rms.len() * 9 / 10],
        share(near, stations),
        share(inside, rms.len())
    );
    assert!(share(wrong, SCENES) < 0.03 && share(rough, SCENES) < 0.05);
    assert!(share(inside, rms.len()) > 0.93);
}
