//! Several photos of one jet through the whole job: drawn bursts and dry photos of known truth.

use crate::support::drawn::{Drawn, Lots, Things, measured};
use trajet::measure::Findings;
use trajet::photo::Photo;
use trajet::point::PixelPoint;

fn scene() -> Drawn {
    Drawn { size: (800, 500), ..Drawn::default() }
}

/// One photo of a waving jet before things that stand still; `shift` is how the camera moved.
fn taken(number: u64, shift: [f64; 2]) -> (Drawn, Photo) {
    let orifice = PixelPoint::new(100.0 + shift[0], 120.0 + shift[1]);
    let phase_rad = std::f64::consts::TAU * Lots::new(50 + number).uniform();
    let drawn = Drawn { orifice, wave_px: 3.0, phase_rad, seed: 20 + number, ..scene() };
    // the jet hides what stands behind it
    let things = Things::new(7);
    let photo = drawn.photo_with(|p, v| {
        let behind = 1.0 - ((v - 0.25) / 0.4).clamp(0.0, 1.0);
        v + behind * things.at(PixelPoint::new(p.x - shift[0], p.y - shift[1]))
    });
    (drawn, photo)
}

const SHIFTS: [[f64; 2]; 5] = [[0.0, 0.0], [3.3, -1.7], [-2.4, 4.1], [0.6, 0.3], [-5.2, -2.9]];

fn rms_off(found: &Findings, drawn: &Drawn) -> f64 {
    let off: Vec<f64> =
        found.stations.iter().filter(|s| s.used).map(|s| drawn.off_parabola_px(s.px.into()).0.powi(2)).collect();
    assert!(off.len() > 30, "{} stations", off.len());
    (off.iter().sum::<f64>() / off.len() as f64).sqrt()
}

fn says(found: &Findings, words: &str) -> bool {
    found.notices.iter().any(|n| n.says.contains(words))
}

/// Waves of random phase in n photos average out as 1/sqrt(n): 0.45 for five; and the uncertainty tells it.
#[test]
fn waves_average_out_and_the_uncertainty_says_so() {
    let shots: Vec<(Drawn, Photo)> = SHIFTS.iter().enumerate().map(|(i, s)| taken(i as u64, *s)).collect();
    let (drawn, photos): (Vec<_>, Vec<_>) = shots.into_iter().unzip();
    let sheet = drawn[0].sheet("");
    let single = measured(&sheet, &photos[..1], None).unwrap();
    let burst = measured(&sheet, &photos, None).unwrap();
    let (one, five) = (rms_off(&single, &drawn[0]), rms_off(&burst, &drawn[0]));
    eprintln!("rms from the parabola: single {one:.3} px, burst {five:.3} px");
    assert!(five < 0.65 * one, "{five} after {one} px");
    let share = |f: &Findings| {
        f.budget["velocity"].iter().find(|r| r.input == "stream.stations").map_or(0.0, |r| r.share)
            * f.velocity.as_ref().unwrap().u.powi(2)
    };
    eprintln!("variance of V from the stations: single {:.3e}, burst {:.3e}", share(&single), share(&burst));
    assert!(share(&burst) < 0.5 * share(&single));
    let v = burst.velocity.as_ref().unwrap();
    assert!((v.value - drawn[0].speed_m_s).abs() < 2.0 * v.u, "{} +- {}", v.value, v.u);
    assert!(says(&burst, "5 photos count together"), "{:?}", burst.notices);
    assert!(says(&burst, "what differs from photo to photo leaves ± 0."), "{:?}", burst.notices);
    assert!(!says(&single, "what differs from photo to photo"));
}

/// A photo of another bench and one of another size are left out, by number and reason; the rest is measured.
#[test]
fn strangers_are_left_out_and_told() {
    let (drawn, first) = taken(0, SHIFTS[0]);
    let (_, second) = taken(1, SHIFTS[1]);
    let others = Things::new(99);
    let stranger = drawn.photo_with(|p, _| 0.4 + others.at(p));
    let small = Drawn { size: (600, 400), ..drawn.clone() }.photo();
    let found = measured(&drawn.sheet(""), &[first, stranger, second, small], None).unwrap();
    assert!(says(&found, "photo 2 of the burst is left out: it does not show the same view"), "{:?}", found.notices);
    assert!(says(&found, "photo 4 of the burst is left out: it is 600 x 400 pixels"), "{:?}", found.notices);
    assert!(says(&found, "2 photos count together"), "{:?}", found.notices);
}

/// A photo taken at another head shows the stream elsewhere: it does not enter the mean.
#[test]
fn another_head_is_no_part_of_the_burst() {
    let shots: Vec<(Drawn, Photo)> = SHIFTS[..3].iter().enumerate().map(|(i, s)| taken(i as u64, *s)).collect();
    let (drawn, mut photos): (Vec<_>, Vec<_>) = shots.into_iter().unzip();
    let slow = Drawn { speed_m_s: 1.75, ..drawn[0].clone() };
    let things = Things::new(7);
    photos.push(slow.photo_with(|p, v| v + (1.0 - ((v - 0.25) / 0.4).clamp(0.0, 1.0)) * things.at(p)));
    let found = measured(&drawn[0].sheet(""), &photos, None).unwrap();
    assert!(says(&found, "photo 4 of the burst is left out: its stream"), "{:?}", found.notices);
    let v = found.velocity.unwrap();
    assert!((v.value / 2.1 - 1.0).abs() < 0.01, "{}", v.value);
}

/// A jet hardly brighter than a board full of things: the dry photo brings it out, within its own uncertainty of truth.
#[test]
fn the_dry_photo_clears_the_background() {
    let jet = Drawn { core: 0.33, noise: 0.008, ..scene() };
    let things = Things::crowded(7);
    let wet = jet.photo_with(|p, v| v + 0.9 * things.at(p));
    let shift = [2.3, -1.6];
    let dry = Drawn { core: 0.25, seed: 31, ..jet.clone() }
        .photo_with(|p, v| 1.06 * (v + 0.9 * things.at(PixelPoint::new(p.x - shift[0], p.y - shift[1]))) + 0.01);
    let sheet = jet.sheet("");
    let single = measured(&sheet, std::slice::from_ref(&wet), None).map(|f| rms_off(&f, &jet));
    let pair = measured(&sheet, std::slice::from_ref(&wet), Some(&dry)).unwrap();
    let off = rms_off(&pair, &jet);
    eprintln!("rms from truth: single {single:?}, pair {off:.3} px");
    assert!(says(&pair, "beyond the dry photo"), "{:?}", pair.notices);
    assert!(off < 0.25, "{off} px");
    assert!(single.is_err() || single.is_ok_and(|s| off < 0.8 * s));
}

/// A dry photo of another bench is told and left out; one before a plain board helps nothing, and that is told.
#[test]
fn a_dry_photo_that_does_not_serve_is_told() {
    let (drawn, photo) = taken(0, SHIFTS[0]);
    let others = Things::new(99);
    let stranger = drawn.photo_with(|p, _| 0.4 + others.at(p));
    let sheet = drawn.sheet("");
    let alone = measured(&sheet, std::slice::from_ref(&photo), None).unwrap();
    let found = measured(&sheet, std::slice::from_ref(&photo), Some(&stranger)).unwrap();
    assert!(says(&found, "the dry photo does not match"), "{:?}", found.notices);
    assert_eq!(found.velocity, alone.velocity);
}
