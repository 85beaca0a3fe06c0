//! The plane that a found card gives, against the pose that its view was rendered with.

use crate::support::carded::Carded;
use crate::support::drawn::Lots;
use trajet::calibration::card::{FoundCard, find};
use trajet::calibration::{Calibration, Direction, Frame, calibrate};
use trajet::card::{Card, Paper};
use trajet::photo::{self, Limits};
use trajet::point::PixelPoint;
use trajet::sheet;

/// How the plane came out.
#[derive(Clone, Copy, Debug)]
pub struct Off {
    /// Lengths about the card, along its x and its y: measured over true, less 1; the larger.
    pub length: f64,
    /// The right angle between both, degrees off.
    pub angle_deg: f64,
    /// Tilt of the plane, degrees off, and its own standard uncertainty.
    pub tilt_deg: f64,
    pub tilt_u_deg: f64,
}

/// The card found in the view's JPEG.
pub fn found(view: &Carded) -> Option<FoundCard> {
    let photo = photo::read(&view.jpeg(), Limits::default()).unwrap().value;
    find(&photo, None)
}

/// The adjustment by a sheet that states the card and what its lines measure, and nothing else but a plumb line.
pub fn calibrated(view: &Carded, found: &FoundCard) -> Calibration {
    let placed = view.placed();
    let [a, b] = [[0.0, -100.0], [0.0, 100.0]].map(|p| placed.pixel(p));
    let orifice = placed.pixel([-60.0, -60.0]);
    let marks: String =
        found.marks.iter().map(|m| format!("{{ number = {}, px = [{}, {}] }}, ", m.number, m.at.x, m.at.y)).collect();
    let text = format!(
        "format = 1\n[photo]\nfile = \"c.jpg\"\n[card]\npaper = \"{}\"\ncheck_line = \"{} mm ± 0.02 mm\"\n\
         upright_line = \"{} mm ± 0.02 mm\"\nbehind_jet = \"0 mm ± 0 mm\"\nmarks = [{marks}]\n\
         [vertical]\nplumb = [[{}, {}], [{}, {}]]\n[orifice]\ncentre = [{}, {}]\ndiameter = \"12 mm\"\n",
        view.paper.name(),
        100.0 * view.print[0],
        100.0 * view.print[1],
        a[0],
        a[1],
        b[0],
        b[1],
        orifice[0],
        orifice[1]
    );
    let opened = sheet::open(&text);
    let mut checked = opened.checked.unwrap_or_else(|| panic!("{:?}", opened.faults));
    // as the measurement does with marks that it found itself
    checked.card.iter_mut().flat_map(|c| &mut c.marks).for_each(|(_, m)| m.u_px = found.u_px);
    let (width, height) = (view.size.0 as f64, view.size.1 as f64);
    let frame = Frame { width, height, focal_length_35mm: None };
    calibrate(&checked, &frame, Direction::Right).unwrap_or_else(|e| panic!("{e} {view:?}")).value
}

/// The adjusted plane against the true one.
pub fn off(view: &Carded, calibration: &Calibration) -> Off {
    let placed = view.placed();
    let bench = |at: [f64; 2]| {
        let p = placed.pixel(at);
        let b = calibration.bench_from_pixel(PixelPoint::new(p[0], p[1])).unwrap();
        [b.x_mm, b.y_mm]
    };
    let [w, h] = view.paper.size_mm().map(|s| 0.4 * s);
    let between = |a: [f64; 2], b: [f64; 2]| {
        let (a, b) = (bench(a), bench(b));
        [b[0] - a[0], b[1] - a[1]]
    };
    let (along, down) = (between([-w, 0.0], [w, 0.0]), between([0.0, -h], [0.0, h]));
    let length = |v: [f64; 2], of: f64| (v[0].hypot(v[1]) / (2.0 * of) - 1.0).abs();
    let turn = |v: [f64; 2]| v[1].atan2(v[0]).to_degrees();
    let pose = *calibration.view().pose();
    let normal = {
        // the third column of Rz(roll) Rx(pitch) Ry(yaw)
        let (sy, cy) = pose.yaw_rad.sin_cos();
        let (sp, cp) = pose.pitch_rad.sin_cos();
        let (sr, cr) = pose.roll_rad.sin_cos();
        let [x, y, z] = [sy, -sp * cy, cp * cy];
        [cr * x - sr * y, sr * x + cr * y, z]
    };
    let truth = placed.axes[2];
    let cross = [
        normal[1] * truth[2] - normal[2] * truth[1],
        normal[2] * truth[0] - normal[0] * truth[2],
        normal[0] * truth[1] - normal[1] * truth[0],
    ];
    let u = |name: &str| calibration.estimates().iter().find(|e| e.name == name).unwrap().u;
    Off {
        length: length(along, w).max(length(down, h)),
        angle_deg: (turn(down) - turn(along) - 90.0).abs(),
        tilt_deg: cross.iter().map(|c| c * c).sum::<f64>().sqrt().asin().to_degrees(),
        tilt_u_deg: u("yaw").hypot(u("pitch")),
    }
}

/// A view within the range that the card is made for, drawn by lot.
pub fn drawn(seed: u64) -> Carded {
    let mut lots = Lots::new(seed);
    let mut from = |lo: f64, hi: f64| lo + (hi - lo) * lots.uniform();
    let px_per_mm = from(1.8, 3.6);
    Carded {
        size: (1600, 1200),
        paper: Paper::A4,
        yaw: from(-45.0, 45.0),
        pitch: from(-20.0, 20.0),
        roll: from(-10.0, 10.0),
        focal_px: from(1200.0, 2400.0),
        px_per_mm,
        middle: [from(600.0, 1000.0), from(520.0, 680.0)],
        k1: from(-0.03, 0.03),
        // a blur beyond a cell's width leaves nothing of the cells
        blur_px: from(0.5, (1.2 * px_per_mm).min(3.0)),
        noise: from(0.0, 0.02),
        quality: from(60.0, 95.0) as u8,
        light: [from(0.25, 1.0), from(0.25, 1.0)],
        hidden: if from(0.0, 1.0) < 0.5 { from(0.0, 0.5) } else { 0.0 },
        one_by_one: from(0.0, 1.0) < 0.7,
        print: [1.0, 1.0],
        seed,
    }
}

#[test]
fn a_few_views_give_the_plane() {
    for seed in 1..=4 {
        let view = drawn(seed);
        let found = found(&view).unwrap_or_else(|| panic!("seed {seed}: {view:?}"));
        let off = off(&view, &calibrated(&view, &found));
        assert!(off.length < 1.5e-3 && off.angle_deg < 0.08, "seed {seed}: {off:?} {view:?}");
        assert!(off.tilt_deg < 3.0 * off.tilt_u_deg, "seed {seed}: {off:?}");
    }
}

/// A print that is 3 % too small and a little higher than wide, as its two lines tell.
#[test]
fn the_check_lines_say_how_it_was_printed() {
    let view = Carded { print: [0.97, 0.975], yaw: 20.0, roll: 3.0, ..Carded::default() };
    let off = off(&view, &calibrated(&view, &found(&view).unwrap()));
    assert!(off.length < 1e-3 && off.angle_deg < 0.05, "{off:?}");
}

/// The statistic behind the promise: 200 views drawn by lot (seeds 1001 to 1200).
#[test]
#[ignore = "slow; last measured of the first 58, by hand: all found, lengths within 0.06 %, right angle within 0.014 deg"]
fn two_hundred_views() {
    let one = |seed: u64| {
        let view = drawn(seed);
        let card = Card::new(view.paper);
        let open = view.open(&card).len();
        let Some(found) = found(&view) else {
            println!("seed {seed}: not found, {open} open: {view:?}");
            return None;
        };
        let off = off(&view, &calibrated(&view, &found));
        println!(
            "seed {seed}: {} of {open}, u {:.3} px; {off:?}; blur {:.1} yaw {:.0} scale {:.1}",
            found.marks.len(),
            found.u_px,
            view.blur_px,
            view.yaw,
            view.px_per_mm
        );
        Some(off)
    };
    let all: Vec<Option<Off>> = (1001..=1200).map(one).collect();
    let count = |holds: fn(&Off) -> bool| all.iter().flatten().filter(|o| holds(o)).count();
    let (n, seen) = (all.len(), all.iter().flatten().count());
    let (length, angle) = (count(|o| o.length < 1e-3), count(|o| o.angle_deg < 0.05));
    let both = count(|o| o.length < 1e-3 && o.angle_deg < 0.05);
    let tilt = count(|o| o.tilt_deg < 0.05);
    let told = count(|o| o.tilt_deg < 2.45 * o.tilt_u_deg / std::f64::consts::SQRT_2);
    println!(
        "found {seen} of {n}; lengths within 0.1 %: {length}, right angle within 0.05 deg: {angle}, both: {both}; tilt within \
         0.05 deg: {tilt}, within its 95 %: {told}"
    );
    assert!(20 * both >= 19 * n, "{both} of {n}");
}
