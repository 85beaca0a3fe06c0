//! What the calibration tells: marks that are off, what stays open, sheets that it refuses.

use super::*;
use trajet::calibration::Mark;

#[test]
fn a_mark_that_is_off_is_named() {
    let truth = View::new(askew(Direction::Right)).unwrap();
    let mut sheet = whole(&truth);
    sheet.scales[0].marks[6].0.at.x += 12.0;
    sheet.plane[4].0.at.y -= 15.0;
    let told = adjusted(&sheet);
    let says = |what: &str| told.notices.iter().any(|n| n.says.starts_with(what));
    assert!(says("the mark at 300 mm of scale 1 lies 12."), "{:?}", told.notices);
    assert!(says("plane mark 5 lies 15.") || says("plane mark 5 lies 14."), "{:?}", told.notices);
    assert!(says("the marks scatter"), "{:?}", told.notices);
}

#[test]
fn an_edge_that_bends_is_named() {
    let truth = View::new(askew(Direction::Right)).unwrap();
    let mut sheet = whole(&truth);
    for (k, y) in [-220.0, 550.0].into_iter().enumerate() {
        let points = (0..9)
            .map(|i| {
                let dent = if k == 1 && i == 4 { 3.0 } else { 0.0 };
                let p = BenchPoint::new(100.0 * f64::from(i), y + dent);
                Placed { at: truth.pixel_from_bench(p).unwrap(), u_px: CLICK }
            })
            .collect();
        sheet.straight.push(points);
    }
    let told = adjusted(&sheet);
    assert!(told.notices.iter().any(|n| n.says.contains("its point 5 lies")), "{:?}", told.notices);
}

#[test]
fn an_edge_too_bent_for_a_lens_is_told() {
    let mut sheet = plain();
    let arc = |i: i32| click(400.0 * f64::from(i), 300.0 + 12.0 * f64::from(i * (10 - i)));
    sheet.straight.push((0..=10).map(arc).collect());
    sheet.straight.push(vec![click(0.0, 0.0), click(100.0, 9.0)]);
    let notices = adjusted(&sheet).notices;
    assert!(notices.iter().any(|n| n.says.contains("make the lens distort by")), "{notices:?}");
    assert!(notices.iter().any(|n| n.says.starts_with("straight edge 2 has 2 points")), "{notices:?}");
}

#[test]
fn the_metadata_of_a_cropped_photo_are_set_aside() {
    // A 27 mm lens and 3 px/mm put the camera at 1.04 m; it stands at 2 m: the photo is the middle half of another.
    let mut sheet = plain();
    sheet.camera_distance = Some(mm(2000.0, 10.0));
    let told = adjusted(&sheet);
    let notice = told.notices.iter().find(|n| n.about == "camera.focal_length").unwrap();
    assert!(notice.says.ends_with("it is set aside"), "{notice:?}");
    assert!(!told.notices.iter().any(|n| n.says.contains("scatter")), "{:?}", told.notices);
    let (distance, u) = estimate(&told.value, "camera distance");
    assert!((distance - 2000.0).abs() < 1.0 && (u - 10.0).abs() < 0.1, "{distance} {u}");
}

/// A long lens sees hardly any perspective, so that nine clicks of a drawn plane, rounded to whole px, and a distance that is
/// stated as 1.8 m contradict each other; the adjustment comes to rest in a long valley all the same.
#[test]
fn marks_seen_from_far_away_come_to_rest() {
    let text = r#"format = 1
[photo]
file = "far.jpg"
[[scale]]
marks = [{ px = [116.0, 86.0], at = "0.000 mm" }, { px = [230.0, 87.0], at = "9.800 mm" }, { px = [347.0, 87.0], at = "19.600 mm" },
  { px = [461.0, 87.0], at = "29.399 mm" }, { px = [577.0, 86.0], at = "39.199 mm" }, { px = [692.0, 86.0], at = "48.999 mm" },
  { px = [807.0, 86.0], at = "58.799 mm" }, { px = [924.0, 86.0], at = "68.599 mm" }, { px = [1039.0, 87.0], at = "78.399 mm" }]
[plane]
marks = [{ px = [58.0, 52.0], at = ["-11.34 mm", "-10.17 mm"] }, { px = [57.0, 432.0], at = ["-12.23 mm", "22.13 mm"] },
  { px = [58.0, 813.0], at = ["-13.13 mm", "54.44 mm"] }, { px = [577.0, 51.0], at = ["32.75 mm", "-8.95 mm"] },
  { px = [576.0, 432.0], at = ["31.85 mm", "23.36 mm"] }, { px = [577.0, 813.0], at = ["30.96 mm", "55.66 mm"] },
  { px = [1097.0, 52.0], at = ["76.83 mm", "-7.73 mm"] }, { px = [1095.0, 432.0], at = ["75.93 mm", "24.58 mm"] },
  { px = [1096.0, 812.0], at = ["75.04 mm", "56.88 mm"] }]
[camera]
distance = "1.800 m ± 0.01 m"
[vertical]
plumb = [[577.9, 42.9], [598.1, 821.0]]
[lens]
straight = [[[116.0, 86.0], [230.0, 87.0], [347.0, 87.0], [461.0, 87.0], [577.0, 86.0], [692.0, 86.0], [807.0, 86.0], [924.0, 86.0],
  [1039.0, 87.0]]]
[orifice]
centre = [194.0, 168.0]
diameter = "8 mm"
edge = "sharp"
"#;
    let sheet = trajet::sheet::open(text).checked.unwrap();
    let frame = Frame { width: 1154.0, height: 865.0, focal_length_35mm: None };
    let told = calibrate(&sheet, &frame, Direction::Right).unwrap().value;
    assert!((told.px_per_mm() / 11.77 - 1.0).abs() < 2e-3, "{}", told.px_per_mm());
}

#[test]
fn plane_marks_on_a_line_serve_beside_a_scale() {
    let truth = View::new(askew(Direction::Right)).unwrap();
    let mut sheet = whole(&truth);
    sheet.scales.truncate(1);
    sheet.plane = (0..4)
        .map(|i| {
            let p = BenchPoint::new(900.0, 150.0 * f64::from(i) - 100.0);
            (Placed { at: truth.pixel_from_bench(p).unwrap(), u_px: CLICK }, [mm(p.x_mm, 0.1), mm(p.y_mm, 0.1)])
        })
        .collect();
    let v = velocity(&adjusted(&sheet).value.view(), &jet(&truth));
    assert!((v / 2.5 - 1.0).abs() < 1e-3, "{v}");
}

#[test]
fn residuals_are_told_mark_by_mark() {
    let mut sheet = whole(&View::new(askew(Direction::Right)).unwrap());
    sheet.scales[1].marks[5].0.at.x += 9.0;
    let c = adjusted(&sheet).value;
    let worst = c.mark_residuals().iter().max_by(|a, b| a.residual_px[0].total_cmp(&b.residual_px[0])).unwrap();
    assert_eq!(worst.mark, Mark::Scale { scale: 1, mark: 5 });
    assert!(worst.residual_px[0] > 7.0 && worst.normalised.unwrap() > 3.0, "{worst:?}");
    assert_eq!(c.mark_residuals().len(), 15 + 13 + 6 + 1);
}

#[test]
fn what_stays_open_is_told() {
    let mut sheet = plain();
    sheet.plumb = None;
    let about: Vec<String> = adjusted(&sheet).notices.into_iter().map(|n| n.about).collect();
    assert_eq!(about, ["vertical", "camera.squareness", "lens"]);
}

fn refusal(change: impl Fn(&mut Checked)) -> String {
    let mut sheet = whole(&View::new(askew(Direction::Right)).unwrap());
    change(&mut sheet);
    let refused = calibrate(&sheet, &FRAME, Direction::Right).unwrap_err();
    assert!(!refused.hint.is_empty());
    format!("{}: {}", refused.about, refused.reason)
}

#[test]
fn sheets_that_give_no_calibration_say_why() {
    type Change = fn(&mut Checked);
    let table: [(&str, Change); 11] = [
        ("scale.behind_jet: the scale cannot stand -2000 mm behind", |s| {
            s.plane.clear();
            s.scales.truncate(1);
            s.scales[0].behind_jet = mm(-2000.0, 1.0);
            s.camera_distance = Some(mm(1000.0, 10.0));
        }),
        ("vertical.plumb: the two marks of the line are 0.0 px apart", |s| {
            s.plumb = Some([click(5.0, 9.0), click(5.0, 9.0)])
        }),
        ("scale: nothing in the sheet tells the size of a pixel", |s| {
            s.scales.clear();
            s.plane.clear();
        }),
        ("scale.marks: scale 1 has 1 mark, and two are needed", |s| s.scales[0].marks.truncate(1)),
        ("scale.marks: the marks of scale 2 are 0.0 px apart", |s| {
            let first = s.scales[1].marks[0].0;
            s.scales[1].marks.truncate(2);
            s.scales[1].marks[1].0 = first;
        }),
        ("scale.marks: the first and last mark of scale 2 have the same reading", |s| {
            s.scales[1].marks.truncate(2);
            s.scales[1].marks[1].1 = s.scales[1].marks[0].1;
        }),
        ("scale.marks: marks of scale 1 cross", |s| {
            let (a, b) = (s.scales[0].marks[3].1, s.scales[0].marks[8].1);
            s.scales[0].marks[3].1 = b;
            s.scales[0].marks[8].1 = a;
        }),
        ("plane.marks: 3 plane marks do not fix a plane", |s| {
            s.scales.clear();
            s.plane.truncate(3);
        }),
        ("plane.marks: the plane marks lie on one line", |s| {
            s.scales.clear();
            let view = View::new(askew(Direction::Right)).unwrap();
            for (i, (placed, at)) in s.plane.iter_mut().enumerate() {
                let x = 100.0 * i as f64;
                placed.at = view.pixel_from_bench(BenchPoint::new(x, 20.0)).unwrap();
                *at = [mm(x, 0.1), mm(20.0, 0.1)];
            }
        }),
        ("plane.marks: the plane marks cross", |s| {
            s.plane = vec![s.plane[0], s.plane[2], s.plane[3], s.plane[5]];
            let (a, b) = (s.plane[0].0, s.plane[1].0);
            s.plane[0].0 = b;
            s.plane[1].0 = a;
        }),
        ("plane.marks: the plane marks are mirrored", |s| {
            for (_, [x, _]) in &mut s.plane {
                *x = mm(-1e3 * x.value.si(), 0.1);
            }
        }),
    ];
    for (says, change) in table {
        let told = refusal(change);
        assert!(told.starts_with(says), "{told}");
    }
}
