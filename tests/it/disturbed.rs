//! Drawn jets with what benches add to them: things across the stream, glare, drops, reflections; apex and flat jets.
//! What is asked: the sound stations lie on the stream, and the velocity within its own interval.

use crate::support::drawn::{Drawn, Lots, measured};
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
