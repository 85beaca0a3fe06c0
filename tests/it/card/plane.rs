//! The plane that a found card gives, against the pose that its view was rendered with.

use crate::support::carded::Carded;
use crate::support::drawn::Lots;
use trajet::calibration::card::{FoundCard, find};
use trajet::calibration::{Calibration, Direction, Frame, calibrate};
use trajet::card::Paper;
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
    /// The card's upright lines against the plumb line, which is drawn along them, degrees off.
    pub upright_deg: f64,
    /// Tilt of the plane against the line of sight to the card's middle, degrees off.
    pub sight_deg: f64,
    /// Tilt of the plane in the camera's own frame, whose axis is the middle of the photo, degrees off; and its own standard
    /// uncertainty.
    pub tilt_deg: f64,
    pub tilt_u_deg: f64,
}

/// What is known besides the photo.
#[derive(Clone, Copy, Debug, Default)]
pub struct Known {
    /// Standard uncertainty of both check lines, mm.
    pub lines_u_mm: f64,
    /// Whether the photo's metadata tell its focal length, in whole millimetres (35 mm equivalent) as phones write it.
    pub focal: bool,
}

/// Lines measured with a steel rule and a magnifier, a photo without metadata.
const STATED: Known = Known { lines_u_mm: 0.02, focal: false };

/// The card found in the view's JPEG.
pub fn found(view: &Carded) -> Option<FoundCard> {
    let photo = photo::read(&view.jpeg(), Limits::default()).unwrap().value;
    find(&photo, None)
}

/// The adjustment by a sheet that states the card and what its lines measure, and nothing else but a plumb line.
pub fn calibrated(view: &Carded, found: &FoundCard, known: Known) -> Calibration {
    let placed = view.placed();
    let [a, b] = [[0.0, -100.0], [0.0, 100.0]].map(|p| placed.pixel(p));
    let orifice = placed.pixel([-60.0, -60.0]);
    let marks: String =
        found.marks.iter().map(|m| format!("{{ number = {}, px = [{}, {}] }}, ", m.number, m.at.x, m.at.y)).collect();
    let text = format!(
        "format = 1\n[photo]\nfile = \"c.jpg\"\n[card]\npaper = \"{}\"\ncheck_line = \"{} mm ± {u} mm\"\n\
         upright_line = \"{} mm ± {u} mm\"\nbehind_jet = \"0 mm ± 0 mm\"\nmarks = [{marks}]\n\
         [vertical]\nplumb = [[{}, {}], [{}, {}]]\n[orifice]\ncentre = [{}, {}]\ndiameter = \"12 mm\"\n",
        view.paper.name(),
        100.0 * view.print[0],
        100.0 * view.print[1],
        a[0],
        a[1],
        b[0],
        b[1],
        orifice[0],
        orifice[1],
        u = known.lines_u_mm,
    );
    let opened = sheet::open(&text);
    let mut checked = opened.checked.unwrap_or_else(|| panic!("{:?}", opened.faults));
    // as the measurement does with marks that it found itself
    checked.card.iter_mut().flat_map(|c| &mut c.marks).for_each(|(_, m)| m.u_px = found.u_px);
    let (width, height) = (view.size.0 as f64, view.size.1 as f64);
    // the diagonal of 36 mm x 24 mm over that of the photo (CIPA DCG-001)
    let focal_mm = (view.focal_px * 43.27 / width.hypot(height)).round();
    let frame = Frame { width, height, focal_length_35mm: known.focal.then_some(focal_mm) };
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
    let middle = placed.pixel([0.0, 0.0]);
    let seen = pose.lens.ideal_from_photo([middle[0] - pose.lens.centre.x, middle[1] - pose.lens.centre.y]).unwrap();
    let sight = [seen[0] / pose.focal_px, seen[1] / pose.focal_px, 1.0];
    let u = |name: &str| calibration.estimates().iter().find(|e| e.name == name).unwrap().u;
    Off {
        length: length(along, w).max(length(down, h)),
        angle_deg: (turn(down) - turn(along) - 90.0).abs(),
        upright_deg: (turn(down) - 90.0).abs(),
        sight_deg: between_deg(from_sight(normal, sight), from_sight(truth, placed.middle)),
        tilt_deg: between_deg(normal, truth),
        tilt_u_deg: u("yaw").hypot(u("pitch")),
    }
}

/// The angle between two unit vectors, degrees.
fn between_deg(a: [f64; 3], b: [f64; 3]) -> f64 {
    let cross = [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
    cross.iter().map(|c| c * c).sum::<f64>().sqrt().asin().to_degrees()
}

/// A vector as one sees it who turns from the camera's axis to look along `sight`, the shortest way.
fn from_sight(v: [f64; 3], sight: [f64; 3]) -> [f64; 3] {
    let length = sight.iter().map(|s| s * s).sum::<f64>().sqrt();
    let [x, y, z] = sight.map(|s| s / length);
    // the turn about (y, -x, 0) that takes the sight to the axis
    let k = (x * v[0] + y * v[1]) / (1.0 + z);
    [v[0] - x * (v[2] + k), v[1] - y * (v[2] + k), x * v[0] + y * v[1] + z * v[2]]
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
        let off = off(&view, &calibrated(&view, &found, STATED));
        println!("seed {seed}: {off:?}");
        assert!(off.length < 5e-4 && off.angle_deg < 0.02 && off.upright_deg < 0.01, "seed {seed}: {off:?} {view:?}");
        assert!(off.tilt_deg < 3.0 * off.tilt_u_deg, "seed {seed}: {off:?}");
    }
}

/// A print that is 3 % too small and a little higher than wide, as its two lines tell.
#[test]
fn the_check_lines_say_how_it_was_printed() {
    let view = Carded { print: [0.97, 0.975], yaw: 20.0, roll: 3.0, ..Carded::default() };
    let off = off(&view, &calibrated(&view, &found(&view).unwrap(), STATED));
    assert!(off.length < 1e-3 && off.angle_deg < 0.05, "{off:?}");
}

/// The statistic behind the promise: 200 views drawn by lot (seeds 1001 to 1200).
///
/// "Within 0.05 deg" holds for angles in the plane, for the card's upright lines against the plumb line, and, where the print's
/// size and the focal length of the metadata are known, for the tilt of the plane against the line of sight. The tilt in the
/// camera's own frame it cannot: turning the camera and shifting its lens' centre look nearly alike. By the normal matrix of the
/// adjustment, with the scatter that the marks have (0.010 px in the median), 1.96 u of that tilt is above 0.05 deg in all 200
/// views while the centre is known to 1 % of the half-diagonal as real cameras are, and in none where centre and lens are
/// known. A fit to the same marks that holds the centre at the photo's middle, where the renderer has it, and leaves focal
/// length, k1 and k2 free comes within 0.05 deg in 200 of 200: it is not the marks that limit.
#[test]
#[ignore = "slow; last measured, of 200: all found; lengths within 0.02 %, right angle within 0.011 deg, upright within 0.001 deg in all; \
            tilt against the line of sight within 0.05 deg in 194, in the camera's frame in 96; without metadata 160 and 53"]
fn two_hundred_views() {
    let told = Known { lines_u_mm: 0.0, focal: true };
    let one = |seed: u64| {
        let view = drawn(seed);
        let Some(found) = found(&view) else {
            println!("seed {seed}: not found: {view:?}");
            return None;
        };
        let with = |known| off(&view, &calibrated(&view, &found, known));
        Some([with(told), with(Known { lines_u_mm: 0.02, ..told }), with(Known { focal: false, ..told }), with(STATED)])
    };
    let all: Vec<Option<[Off; 4]>> = (1001..=1200).map(one).collect();
    let n = all.len();
    println!("found {} of {n}", all.iter().flatten().count());
    for (i, known) in
        ["print and focal length known", "print known to 0.02 mm", "print known", "print known to 0.02 mm, alone"]
            .into_iter()
            .enumerate()
    {
        let count = |holds: fn(&Off) -> bool| all.iter().flatten().filter(|o| holds(&o[i])).count();
        println!(
            "{known}: lengths within 0.1 % {}, right angle within 0.05 deg {}, upright {}, tilt against the line of sight {}, in \
             the camera's frame {}, there within its own 95 % {}",
            count(|o| o.length < 1e-3),
            count(|o| o.angle_deg < 0.05),
            count(|o| o.upright_deg < 0.05),
            count(|o| o.sight_deg < 0.05),
            count(|o| o.tilt_deg < 0.05),
            count(|o| o.tilt_deg < 2.45 * o.tilt_u_deg / std::f64::consts::SQRT_2)
        );
    }
    let in_plane = |o: &&[Off; 4]| o.iter().all(|o| o.length < 1e-3 && o.angle_deg < 0.05 && o.upright_deg < 0.05);
    let in_plane = all.iter().flatten().filter(in_plane).count();
    let to_sight = all.iter().flatten().filter(|o| o[0].sight_deg < 0.05).count();
    assert!(20 * in_plane >= 19 * n && 20 * to_sight >= 19 * n, "{in_plane}, {to_sight} of {n}");
}
