//! Tests of the calibration as a whole: sheets made from cameras of known truth.

#![allow(clippy::unwrap_used, reason = "tests: a failure here is a failed test")]

mod lens;
mod statistics;
mod told;

use proptest::prelude::*;
use trajet::calibration::lens::Radial;
use trajet::calibration::{Calibration, Direction, Frame, Pose, View, calibrate};
use trajet::notice::Warned;
use trajet::point::{BenchPoint, PixelPoint};
use trajet::quantity::{Angle, Celsius, Kind, Length, Ratio};
use trajet::sheet::{Checked, Edge, Given, Launch, Origin, Placed, ScaleLine, Stream};

const FRAME: Frame = Frame { width: 4000.0, height: 3000.0, focal_length_35mm: Some(27.0) };
const CLICK: f64 = 0.7;

fn given<Q: Kind>(value: f64, u: f64) -> Given<Q> {
    Given { value: Q::from_si(value), u: Q::from_si(u), origin: Origin::Typed, u_origin: Origin::Typed }
}

fn mm(value: f64, u: f64) -> Given<Length> {
    given(1e-3 * value, 1e-3 * u)
}

fn click(x: f64, y: f64) -> Placed {
    Placed { at: PixelPoint::new(x, y), u_px: CLICK }
}

/// A sheet with an orifice and nothing else.
fn bare() -> Checked {
    Checked {
        title: String::new(),
        photos: vec!["plate-a.jpg".into()],
        dry: None,
        scales: Vec::new(),
        plane: Vec::new(),
        plane_behind_jet: mm(0.0, 0.0),
        card: None,
        camera_distance: None,
        plumb: None,
        level: None,
        straight: Vec::new(),
        k1: None,
        orifice: click(700.0, 800.0),
        diameter: mm(10.0, 0.02),
        edge: Edge::Sharp,
        clearance: None,
        stream: Stream::default(),
        launch: Launch::Free,
        launch_u: Angle::from_si(0.0),
        corrections: Vec::new(),
        head: Vec::new(),
        surface: None,
        approach_area: None,
        flow_stated: None,
        flow: None,
        temperature: given::<Celsius>(20.0, 0.5),
        latitude: None,
        altitude: mm(0.0, 0.0),
        gravity: None,
    }
}

/// Two marks a length apart.
fn pair(a: Placed, b: Placed, length_mm: f64, u_mm: f64, behind: Given<Length>) -> ScaleLine {
    ScaleLine {
        marks: vec![(a, mm(0.0, 0.0)), (b, mm(length_mm, u_mm))],
        is_pair: true,
        behind_jet: behind,
        graduation: None,
    }
}

/// Two marks 500 mm and 1500 px apart, and a plumb line: what most sheets bring.
fn plain() -> Checked {
    let mut sheet = bare();
    sheet.scales.push(pair(click(900.0, 2500.0), click(2400.0, 2500.0), 500.0, 0.2, mm(0.0, 0.0)));
    sheet.plumb = Some([click(3000.0, 200.0), click(2970.0, 2200.0)]);
    sheet
}

/// A camera some degrees askew with a barrel lens; its orifice is at (700, 800).
fn askew(direction: Direction) -> Pose {
    let lens = Radial { centre: PixelPoint::new(2000.0, 1500.0), unit_px: 2500.0, k1: -0.03, k2: 0.0 };
    let x = if direction == Direction::Right { 700.0 } else { 3300.0 };
    Pose {
        orifice: PixelPoint::new(x, 800.0),
        scale_px_mm: 3.0,
        roll_rad: 0.02,
        yaw_rad: 0.05,
        pitch_rad: -0.04,
        focal_px: 3120.0,
        lens,
        direction,
    }
}

/// A camera that looks squarely through a perfect lens.
fn square() -> Pose {
    let pose = askew(Direction::Right);
    Pose { roll_rad: 0.0, yaw_rad: 0.0, pitch_rad: 0.0, lens: Radial { k1: 0.0, ..pose.lens }, ..pose }
}

/// Readings every `step_mm` along a ruler from `from` towards `angle_deg`, as `view` shows them.
fn ruler(view: &View, from: [f64; 2], angle_deg: f64, step_mm: f64, count: usize, behind_mm: f64) -> ScaleLine {
    let (sin, cos) = angle_deg.to_radians().sin_cos();
    let marks = (0..count)
        .map(|i| {
            let at = step_mm * i as f64;
            let p = view.pixel_from_space(BenchPoint::new(from[0] + at * cos, from[1] + at * sin), behind_mm).unwrap();
            (Placed { at: p, u_px: CLICK }, mm(at, 0.1))
        })
        .collect();
    let behind_jet = if behind_mm == 0.0 { mm(0.0, 0.0) } else { mm(behind_mm, 1.0) };
    ScaleLine { marks, is_pair: false, behind_jet, graduation: None }
}

/// A whole sheet of what `view` shows: two rulers at right angles, six plane marks, a plumb line.
fn whole(view: &View) -> Checked {
    let seen = |x, y| view.pixel_from_bench(BenchPoint::new(x, y)).unwrap();
    let place = |x, y| Placed { at: seen(x, y), u_px: CLICK };
    let mut sheet = bare();
    sheet.orifice = Placed { at: view.pose().orifice, u_px: CLICK };
    sheet.scales.push(ruler(view, [50.0, 500.0], 1.0, 50.0, 15, 0.0));
    sheet.scales.push(ruler(view, [900.0, -100.0], 90.5, 50.0, 13, 0.0));
    sheet.plane = [[0.0, 400.0], [300.0, 410.0], [800.0, 390.0], [-50.0, -200.0], [400.0, -150.0], [900.0, -190.0]]
        .map(|[x, y]| (place(x, y), [mm(x, 0.1), mm(y, 0.1)]))
        .to_vec();
    sheet.plumb = Some([place(950.0, -150.0), place(950.0, 600.0)]);
    sheet
}

fn adjusted(sheet: &Checked) -> Warned<Calibration> {
    calibrate(sheet, &FRAME, Direction::Right).unwrap()
}

/// Greatest distance, mm, between what two views say of a grid of pixels.
fn apart_mm(a: &View, b: &View) -> f64 {
    let grid = (0..=8).flat_map(|i| (0..=6).map(move |k| PixelPoint::new(500.0 * f64::from(i), 500.0 * f64::from(k))));
    grid.map(|p| a.bench_from_pixel(p).unwrap().distance(b.bench_from_pixel(p).unwrap())).fold(0.0, f64::max)
}

/// Velocity, m/s, of the jet whose centreline is at `pixels`: y = c + b x + a x^2, V = sqrt(g (1 + b^2) / (2 a)).
fn velocity(view: &View, pixels: &[PixelPoint]) -> f64 {
    let points: Vec<_> = pixels.iter().map(|&p| view.bench_from_pixel(p).unwrap()).collect();
    let mut normal = nalgebra::Matrix3::<f64>::zeros();
    let mut right = nalgebra::Vector3::<f64>::zeros();
    for p in points {
        let (x, y) = (1e-3 * p.x_mm, 1e-3 * p.y_mm);
        let row = nalgebra::Vector3::new(1.0, x, x * x);
        normal += row * row.transpose();
        right += row * y;
    }
    let c = normal.try_inverse().unwrap() * right;
    (9.81 * (1.0 + c[1] * c[1]) / (2.0 * c[2])).sqrt()
}

/// The level jet of 2.5 m/s that `view` shows, to a drop of 250 mm.
fn jet(view: &View) -> Vec<PixelPoint> {
    (0..=50)
        .map(|i| {
            let x = 0.01129 * f64::from(i);
            view.pixel_from_bench(BenchPoint::new(1e3 * x, 1e3 * 9.81 * x * x / (2.0 * 2.5 * 2.5))).unwrap()
        })
        .collect()
}

/// Numbers of equal chance between 0 and 1 (Steele and Vigna 2021, SplitMix64), and normal ones by Box and Muller.
struct Draws(u64);

impl Draws {
    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        (-2.0 * (1.0 - self.uniform()).ln()).sqrt() * (std::f64::consts::TAU * self.uniform()).cos()
    }
}

fn estimate(c: &Calibration, name: &str) -> (f64, f64) {
    let e = c.estimates().iter().find(|e| e.name == name).unwrap();
    (e.value, e.u)
}

/// Half the change of f from minus to plus `deviations`: free of second order.
fn half_change(c: &Calibration, deviations: &[f64], f: impl Fn(&View) -> f64) -> f64 {
    let back: Vec<f64> = deviations.iter().map(|d| -d).collect();
    0.5 * (f(&c.view_at(deviations)) - f(&c.view_at(&back)))
}

fn group_sum(c: &Calibration, name: &str, f: impl Fn(&View) -> f64) -> f64 {
    let groups = c.groups();
    let group = groups.iter().find(|g| g.name == name).unwrap();
    group.deviations.iter().map(|d| half_change(c, d, &f).powi(2)).sum::<f64>().sqrt()
}

#[test]
fn two_marks_and_a_plumb_line_are_a_similarity() {
    let c = adjusted(&plain()).value;
    let k = 500.0 / 1500.0;
    let down = [-30.0, 2000.0].map(|v| v / 30f64.hypot(2000.0));
    for p in [PixelPoint::new(0.0, 0.0), PixelPoint::new(3999.0, 10.0), PixelPoint::new(1234.0, 2999.0)] {
        let q = [p.x - 700.0, p.y - 800.0];
        let expected = BenchPoint::new(k * (q[0] * down[1] - q[1] * down[0]), k * (q[0] * down[0] + q[1] * down[1]));
        assert!(c.bench_from_pixel(p).unwrap().distance(expected) < 1e-6, "{p:?}");
    }
    assert!((c.px_per_mm() - 3.0).abs() < 1e-9);
}

#[test]
fn a_calibration_goes_between_threads() {
    let c = adjusted(&plain()).value;
    let there = c.clone();
    let far = std::thread::spawn(move || there.px_per_mm()).join().unwrap();
    assert_eq!(far, c.px_per_mm());
}

#[test]
fn a_level_line_serves_as_a_plumb_line_does() {
    let mut sheet = plain();
    sheet.plumb = None;
    sheet.level = Some([click(3000.0, 230.0), click(1000.0, 200.0)]);
    let level = adjusted(&sheet).value.view();
    assert!(apart_mm(&level, &adjusted(&plain()).value.view()) < 1e-6);
}

#[test]
fn a_jet_to_the_left_has_positive_x() {
    let c = calibrate(&plain(), &FRAME, Direction::Left).unwrap().value;
    assert!(c.bench_from_pixel(PixelPoint::new(100.0, 800.0)).unwrap().x_mm > 0.0);
    assert!(c.bench_from_pixel(PixelPoint::new(700.0, 900.0)).unwrap().y_mm > 0.0);
}

#[test]
fn two_clicks_cost_root_two_u_over_their_distance() {
    // physics.md A: u(k)/k = sqrt2 u/L.
    let c = adjusted(&plain()).value;
    let length = |v: &View| {
        let at = |x, y| v.bench_from_pixel(PixelPoint::new(x, y)).unwrap();
        at(900.0, 2500.0).distance(at(2400.0, 2500.0))
    };
    let u = group_sum(&c, "scale.marks", length) / 500.0;
    assert!((u / (2f64.sqrt() * CLICK / 1500.0) - 1.0).abs() < 1e-3, "{u}");
    let u = group_sum(&c, "scale.length", length);
    assert!((u - 0.2).abs() < 1e-3, "{u}");
}

#[test]
fn a_scale_behind_the_jet_is_corrected_by_s_over_d() {
    // physics.md A: lengths by a scale at distance D with the jet s behind it read too small by s/D, so by a scale
    // b behind the jet too large by b/(D + b).
    // About the middle of the photo, where squareness has no say in the first order.
    let mut sheet = bare();
    sheet.orifice = click(2000.0, 1500.0);
    sheet.scales.push(pair(click(1250.0, 1500.0), click(2750.0, 1500.0), 500.0, 0.2, mm(40.0, 1.0)));
    sheet.plumb = Some([click(2000.0, 500.0), click(2000.0, 2500.0)]);
    sheet.camera_distance = Some(mm(1000.0, 10.0));
    let c = adjusted(&sheet).value;
    // 1e-5: the metadata's focal length, 0.003 % off that of this distance, pulls by its small weight.
    assert!((c.px_per_mm() - 3.0 * 1040.0 / 1000.0).abs() < 1e-5, "{}", c.px_per_mm());
    let scale = |v: &View| v.px_per_mm();
    let (behind, distance) = (group_sum(&c, "scale.behind_jet", scale), group_sum(&c, "camera.distance", scale));
    assert!((behind / 3.0 - 0.001).abs() < 2e-5, "{behind}");
    assert!((distance / 3.0 - 0.0004).abs() < 2e-5, "{distance}");
}

#[test]
fn a_distance_from_the_metadata_is_taken_with_a_notice() {
    let mut sheet = plain();
    sheet.scales[0].behind_jet = mm(40.0, 1.0);
    let told = adjusted(&sheet);
    // f = 27 mm x 5000 px / 43.27 mm = 3119.9 px; the scale stands at f / 3 px/mm. 7 % of focal length, of the
    // scale's distance, and 2.5 deg of squareness over the way from the orifice to the scale.
    let (distance, u) = estimate(&told.value, "camera distance");
    assert!(
        (distance - (3119.9 / 3.0 - 40.0)).abs() < 0.1 && (0.07..0.085).contains(&(u / distance)),
        "{distance} {u}"
    );
    assert!(told.notices.iter().any(|n| n.about == "camera.distance"));
}

#[test]
fn a_yawed_plane_costs_what_the_cosine_says() {
    // physics.md A, yaw of 5 deg without perspective: by a vertical ruler V cos(yaw), -0.381 %; by a horizontal
    // ruler in the jet's plane V sqrt(cos(yaw)), -0.190 %.
    let far = 1e4; // a camera so far that perspective vanishes
    let pose = Pose { yaw_rad: 5f64.to_radians(), focal_px: far * 3120.0, ..square() };
    let view = View::new(pose).unwrap();
    let frame = Frame { focal_length_35mm: Some(far * 27.0), ..FRAME };
    for (from, to, percent) in [([300.0, 0.0], [300.0, 500.0], -0.381), ([0.0, 300.0], [800.0, 300.0], -0.190)] {
        let place = |p: [f64; 2]| Placed { at: view.pixel_from_bench(BenchPoint::from(p)).unwrap(), u_px: CLICK };
        let mut sheet = bare();
        let length = BenchPoint::from(from).distance(BenchPoint::from(to));
        sheet.scales.push(pair(place(from), place(to), length, 0.2, mm(0.0, 0.0)));
        sheet.plumb = Some([place([500.0, 0.0]), place([500.0, 400.0])]);
        let c = calibrate(&sheet, &frame, Direction::Right).unwrap().value;
        let off = 100.0 * (velocity(&c.view(), &jet(&view)) / 2.5 - 1.0);
        assert!((off - percent).abs() < 0.001, "{off} for {percent}");
    }
}

#[test]
fn whole_marks_without_error_give_the_camera_back() {
    let truth = View::new(askew(Direction::Right)).unwrap();
    let told = adjusted(&whole(&truth));
    // The priors (square, no distortion) pull by their share of the weight: 0.03 mm at the photo's corners.
    let apart = apart_mm(&told.value.view(), &truth);
    assert!(apart < 0.2, "{apart}");
    let v = velocity(&told.value.view(), &jet(&truth));
    assert!((v / 2.5 - 1.0).abs() < 1e-4, "{v}");
    assert!(told.notices.is_empty(), "{:?}", told.notices);
}

#[test]
fn two_rulers_in_different_planes_serve() {
    let truth = View::new(askew(Direction::Right)).unwrap();
    let mut sheet = whole(&truth);
    sheet.plane.clear();
    sheet.scales[1] = ruler(&truth, [900.0, -100.0], 90.5, 50.0, 13, 60.0);
    sheet.camera_distance = Some(mm(truth.distance_mm(), 10.0));
    let c = adjusted(&sheet).value;
    let v = velocity(&c.view(), &jet(&truth));
    assert!((v / 2.5 - 1.0).abs() < 5e-4, "{v}");
}

#[test]
fn linear_and_exact_readjustment_agree() {
    let truth = View::new(askew(Direction::Right)).unwrap();
    for sheet in [plain(), whole(&truth)] {
        let c = adjusted(&sheet).value;
        for i in 0..c.observations().len() {
            let mut deviations = vec![0.0; c.observations().len()];
            deviations[i] = 0.1 * c.observations()[i].u;
            let (linear, exact) = (c.view_at(&deviations), c.readjusted(&deviations).unwrap());
            let moved = apart_mm(&exact, &c.view());
            // Gauss and Newton leave out the model's curvature times the residuals. The priors' residuals are the
            // large ones here (2.9 deg of yaw against 0 +- 2.5): measured 8.4 % for the focal length, which moves
            // the picture by 0.015 mm, under 2 % for all others.
            let left = apart_mm(&linear, &exact);
            let share = if c.observations()[i].assumed || c.observations()[i].name == "camera.focal_length" {
                0.1
            } else {
                0.02
            };
            assert!(left < share * moved + 1e-4, "{i} {} {left} of {moved}", c.observations()[i].name);
        }
    }
}

#[test]
fn a_groups_deviations_carry_what_its_members_do() {
    let truth = View::new(askew(Direction::Right)).unwrap();
    let c = adjusted(&whole(&truth)).value;
    let pixels = jet(&truth);
    let groups = c.groups();
    assert_eq!(groups.iter().map(|g| g.members.len()).sum::<usize>(), c.observations().len());
    for group in groups {
        let apart: f64 = group
            .members
            .iter()
            .map(|&i| {
                let mut deviations = vec![0.0; c.observations().len()];
                deviations[i] = c.observations()[i].u;
                half_change(&c, &deviations, |v| velocity(v, &pixels)).powi(2)
            })
            .sum();
        let together = group_sum(&c, group.name, |v| velocity(v, &pixels)).powi(2);
        assert!((together / apart - 1.0).abs() < 0.02 || together < 1e-14, "{}: {together} {apart}", group.name);
        assert!(group.deviations.len() <= 11);
    }
}

#[test]
fn a_stated_lens_is_used() {
    let truth = View::new(askew(Direction::Right)).unwrap();
    let mut sheet = whole(&truth);
    sheet.k1 = Some(given::<Ratio>(-0.05, 1e-5));
    let (k1, _) = estimate(&adjusted(&sheet).value, "k1");
    assert!((k1 + 0.05).abs() < 1e-3);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn no_sheet_brings_it_down(numbers in prop::collection::vec(-5000.0..5000.0f64, 40), whole in any::<bool>(), far in 0..3) {
        let mut next = numbers.iter().map(|n| n * [1.0, 1e-3, 1e6][far as usize]).cycle();
        let mut number = || next.next().unwrap();
        let mut sheet = bare();
        let marks = (0..4).map(|_| (click(number(), number()), mm(number(), 0.1))).collect();
        sheet.scales.push(ScaleLine { marks, is_pair: false, behind_jet: mm(number(), 1.0), graduation: None });
        sheet.scales.push(pair(click(number(), number()), click(number(), number()), number(), 0.1, mm(0.0, 0.0)));
        sheet.plumb = Some([click(number(), number()), click(number(), number())]);
        if whole {
            sheet.scales.clear();
            sheet.plane = (0..5).map(|_| (click(number(), number()), [mm(number(), 0.1), mm(number(), 0.1)])).collect();
        }
        if let Ok(told) = calibrate(&sheet, &FRAME, Direction::Left) {
            prop_assert!(told.value.estimates().iter().all(|e| e.value.is_finite() && e.u.is_finite()));
            prop_assert!(told.value.px_per_mm().is_finite());
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn a_mirrored_photo_measures_the_same(seed in any::<u64>()) {
        let mut draws = Draws(seed);
        let mut sheet = whole(&View::new(askew(Direction::Right)).unwrap());
        for (p, _) in sheet.scales.iter_mut().flat_map(|s| &mut s.marks) {
            p.at.x += draws.normal();
            p.at.y += draws.normal();
        }
        let mut mirrored = sheet.clone();
        let flip = |p: &mut Placed| p.at.x = 4000.0 - p.at.x;
        mirrored.scales.iter_mut().flat_map(|s| &mut s.marks).for_each(|(p, _)| flip(p));
        mirrored.plane.iter_mut().for_each(|(p, _)| flip(p));
        mirrored.plumb.iter_mut().flatten().for_each(flip);
        flip(&mut mirrored.orifice);
        let right = adjusted(&sheet).value;
        let left = calibrate(&mirrored, &FRAME, Direction::Left).unwrap().value;
        for (x, y) in [(100.0, 200.0), (2000.0, 1500.0), (3900.0, 2900.0)] {
            let a = right.bench_from_pixel(PixelPoint::new(x, y)).unwrap();
            let b = left.bench_from_pixel(PixelPoint::new(4000.0 - x, y)).unwrap();
            prop_assert!(a.distance(b) < 1e-4, "{a:?} {b:?}");
        }
    }
}
