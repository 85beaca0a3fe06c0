//! Where the adjustment starts, and the sheets that offer no start: too few marks, equal
//! marks, marks on one line, marks that cross.

pub(super) mod card;

use super::judgement::short_mm;
use super::lens::Radial;
use super::model::line_angle_deg;
use super::plane::{picture_from_plane, roundness};
use super::view::Pose;
use super::{Direction, Frame, NoCalibration};
use crate::point::PixelPoint;
use crate::quantity::Kind;
use crate::sheet::{Checked, ScaleLine};
use nalgebra::{Matrix3, Vector3};

/// Focal length to start from where nothing is known, in half-diagonals: a common lens.
const START_FOCAL: f64 = 1.8;
/// Plane marks whose spread across is less than this share of their spread along count as lying on one line.
const LINE: f64 = 0.02;

/// The start: a homography of the plane marks where they fix one, else the similarity that the longest scale
/// and the vertical give, seen squarely.
pub(super) fn pose(sheet: &Checked, frame: &Frame, direction: Direction) -> Result<Pose, NoCalibration> {
    for (i, scale) in sheet.scales.iter().enumerate() {
        refuse_scale(scale, i, sheet.scales.len())?;
    }
    for (name, marks) in [("vertical.plumb", &sheet.plumb), ("vertical.level", &sheet.level)] {
        let Some([a, b]) = marks else { continue };
        let apart_px = a.at.distance(b.at);
        if apart_px <= 3.0 * a.u_px.hypot(b.u_px) {
            return Err(NoCalibration {
                reason: format!(
                    "the two marks of the line are {apart_px:.1} px apart, no more than a click is uncertain"
                ),
                about: name.into(),
                hint: "mark two points of it as far apart as the photo shows".into(),
            });
        }
    }
    let plane = plane_pairs(sheet);
    refuse_plane(&plane, sheet)?;
    let centre = PixelPoint::new(frame.width / 2.0, frame.height / 2.0);
    let k1 = sheet.k1.as_ref().map_or(0.0, |k| k.value.si());
    let lens = Radial { centre, unit_px: frame.half_diagonal_px(), k1, k2: 0.0 };
    let focal_px = frame.focal_length_35mm.map(|mm| frame.focal_px(mm));
    let distance_mm = sheet.camera_distance.as_ref().map(|d| 1e3 * d.value.si());
    let similar = similarity(sheet, lens, focal_px, distance_mm, direction);
    let fixed = plane.len() >= 4 && roundness(&plane.iter().map(|p| p.0).collect::<Vec<_>>()) > LINE;
    if !fixed && let Some(pose) = card::pose(sheet, frame, lens, marked_roll(sheet), direction)? {
        return Ok(pose);
    }
    let focal_px = similar.as_ref().map_or(focal_px.unwrap_or(START_FOCAL * lens.unit_px), |p| p.focal_px);
    if let (None, Some(scale)) = (&similar, sheet.scales.first().filter(|_| plane.len() < 4)) {
        return Err(NoCalibration {
            reason: format!(
                "the scale cannot stand {} mm behind the jet: the camera is not that far",
                short_mm(scale.behind_jet.value)
            ),
            about: "scale.behind_jet".into(),
            hint:
                "behind_jet is how far the scale stands behind the jet, negative in front of it; state camera.distance"
                    .into(),
        });
    }
    if !fixed {
        return similar.ok_or_else(|| NoCalibration {
            reason: "nothing in the sheet tells the size of a pixel".into(),
            about: "scale".into(),
            hint: "mark two points of known distance, or four points of the jet's plane, or stand a scale card in it"
                .into(),
        });
    }
    let ideal: Option<Vec<_>> = plane
        .iter()
        .map(|(bench, p)| Some((*bench, lens.ideal_from_photo([p.x - centre.x, p.y - centre.y])?)))
        .collect();
    let Some(h) = ideal.as_ref().and_then(|pairs| picture_from_plane(pairs)) else {
        return similar.ok_or_else(|| marks_on_a_line("three of every four plane marks lie on one line"));
    };
    let depths = plane.iter().map(|(b, _)| (h * Vector3::new(b[0], b[1], 1.0))[2]);
    if depths.fold(f64::INFINITY, f64::min) <= 0.0 {
        return Err(crossed(
            "plane.marks",
            "the plane marks cross: their order around the plane is not that in the photo",
        ));
    }
    if h.determinant() * direction.sign() < 0.0 {
        return Err(crossed(
            "plane.marks",
            "the plane marks are mirrored: x does not grow along the jet, or y not downwards",
        ));
    }
    let behind_mm = 1e3 * sheet.plane_behind_jet.value.si();
    Ok(decompose(&h, behind_mm, Pose { orifice: sheet.orifice.at, focal_px, lens, direction, ..SQUARE }))
}

/// A camera that looks squarely, to be filled in.
const SQUARE: Pose = Pose {
    orifice: PixelPoint::new(0.0, 0.0),
    scale_px_mm: 1.0,
    roll_rad: 0.0,
    yaw_rad: 0.0,
    pitch_rad: 0.0,
    focal_px: 1.0,
    lens: Radial { centre: PixelPoint::new(0.0, 0.0), unit_px: 1.0, k1: 0.0, k2: 0.0 },
    direction: Direction::Right,
};

/// The longest scale's pixels per mm brought to the jet's plane, and the marked vertical as roll.
fn similarity(
    sheet: &Checked,
    lens: Radial,
    focal_px: Option<f64>,
    distance_mm: Option<f64>,
    direction: Direction,
) -> Option<Pose> {
    let length_of = |s: &ScaleLine| {
        let (first, last) = (s.marks.first()?, s.marks.last()?);
        Some((first.0.at.distance(last.0.at), 1e3 * (last.1.value.si() - first.1.value.si()).abs()))
    };
    let scales = sheet.scales.iter().filter_map(|s| Some((length_of(s)?, &s.behind_jet)));
    let cards = sheet.card.iter().filter_map(|c| Some((card::longest(c)?, &c.behind_jet)));
    let ((length_px, length_mm), behind) = scales.chain(cards).max_by(|a, b| a.0.0.total_cmp(&b.0.0))?;
    let there_px_mm = length_px / length_mm;
    let behind_mm = 1e3 * behind.value.si();
    let focal_px = match (focal_px, distance_mm) {
        (Some(focal), _) => focal,
        (None, Some(distance)) => there_px_mm * (distance + behind_mm),
        (None, None) => START_FOCAL * lens.unit_px,
    };
    let distance_mm = distance_mm.unwrap_or(focal_px / there_px_mm - behind_mm);
    let scale_px_mm = there_px_mm * (distance_mm + behind_mm) / distance_mm;
    let roll_rad = marked_roll(sheet);
    let pose = Pose { orifice: sheet.orifice.at, scale_px_mm, roll_rad, focal_px, lens, direction, ..SQUARE };
    (scale_px_mm.is_finite() && scale_px_mm > 0.0 && roll_rad.is_finite()).then_some(pose)
}

/// The turn of the photo that the plumb line, else the level line tells; 0 without either.
fn marked_roll(sheet: &Checked) -> f64 {
    match (&sheet.plumb, &sheet.level) {
        (Some([a, b]), _) => line_angle_deg(a.at, b.at, 1).to_radians(),
        (None, Some([a, b])) => line_angle_deg(a.at, b.at, 0).to_radians(),
        (None, None) => 0.0,
    }
}

/// The camera from a homography (ideal picture from bench, of the plane `behind_mm` behind the jet's) when the
/// focal length is known: the first two columns of K^-1 H are the plane's axes, the third its origin.
fn decompose(h: &Matrix3<f64>, behind_mm: f64, known: Pose) -> Pose {
    let f = known.focal_px;
    let m = Matrix3::from_diagonal(&Vector3::new(1.0 / f, 1.0 / f, 1.0)) * h;
    let size = (m.column(0).norm() * m.column(1).norm()).sqrt();
    let x = (m.column(0) * known.direction.sign()).normalize();
    let y = m.column(1) - x * x.dot(&m.column(1));
    let y = y.normalize();
    let z = x.cross(&y);
    let orifice = m.column(2) / size - z * behind_mm;
    Pose {
        scale_px_mm: f / orifice[2],
        roll_rad: (-y[0]).atan2(y[1]),
        pitch_rad: y[2].clamp(-1.0, 1.0).asin(),
        yaw_rad: (-x[2]).atan2(z[2]),
        ..known
    }
}

/// Plane marks as pairs of bench mm and pixels.
fn plane_pairs(sheet: &Checked) -> Vec<([f64; 2], PixelPoint)> {
    sheet.plane.iter().map(|(p, [x, y])| ([1e3 * x.value.si(), 1e3 * y.value.si()], p.at)).collect()
}

fn refuse_scale(scale: &ScaleLine, index: usize, of: usize) -> Result<(), NoCalibration> {
    let name = if of > 1 { format!("scale {}", index + 1) } else { "the scale".to_owned() };
    let refuse =
        |reason: String, hint: &str| Err(NoCalibration { reason, about: "scale.marks".into(), hint: hint.to_owned() });
    let [(first, at_first), .., (last, at_last)] = scale.marks.as_slice() else {
        return refuse(
            format!("{name} has {} mark, and two are needed", scale.marks.len()),
            "mark a second point of it",
        );
    };
    let (span_px, span_mm) = (first.at.distance(last.at), 1e3 * (at_last.value.si() - at_first.value.si()));
    if span_px <= 3.0 * first.u_px.hypot(last.u_px) {
        return refuse(
            format!("the marks of {name} are {span_px:.1} px apart, no more than a click is uncertain"),
            "mark two points of the ruler as far apart as the photo shows",
        );
    }
    if span_mm == 0.0 {
        return refuse(
            format!("the first and last mark of {name} have the same reading"),
            "state a reading for each mark",
        );
    }
    let along = |p: PixelPoint| {
        ((p.x - first.at.x) * (last.at.x - first.at.x) + (p.y - first.at.y) * (last.at.y - first.at.y)) / span_px
    };
    let mut order: Vec<usize> = (0..scale.marks.len()).collect();
    order.sort_by(|&a, &b| (scale.marks[a].1.value.si()).total_cmp(&scale.marks[b].1.value.si()));
    if span_mm < 0.0 {
        order.reverse();
    }
    for pair in order.windows(2) {
        let [(a, at_a), (b, at_b)] = [&scale.marks[pair[0]], &scale.marks[pair[1]]];
        if along(b.at) - along(a.at) <= 0.0 {
            let (at_a, at_b) = (short_mm(at_a.value), short_mm(at_b.value));
            let reason = format!(
                "marks of {name} cross: in the photo the mark at {at_b} mm does not come after the one at {at_a} mm"
            );
            return refuse(reason, "check which reading belongs to which mark");
        }
    }
    Ok(())
}

fn marks_on_a_line(reason: &str) -> NoCalibration {
    NoCalibration {
        reason: reason.to_owned(),
        about: "plane.marks".into(),
        hint: "mark points that span an area, or state the marks as a scale with readings".into(),
    }
}

fn crossed(about: &str, reason: &str) -> NoCalibration {
    NoCalibration {
        reason: reason.to_owned(),
        about: about.into(),
        hint: "check which coordinates belong to which mark; x runs along the jet, y downwards".into(),
    }
}

fn refuse_plane(plane: &[([f64; 2], PixelPoint)], sheet: &Checked) -> Result<(), NoCalibration> {
    if plane.is_empty() {
        return Ok(());
    }
    for (i, (bench_a, a)) in plane.iter().enumerate() {
        for (j, (bench_b, b)) in plane.iter().enumerate().skip(i + 1) {
            if bench_a == bench_b || a == b {
                return Err(NoCalibration {
                    reason: format!("plane marks {} and {} are the same point", i + 1, j + 1),
                    about: "plane.marks".into(),
                    hint: "give each mark its own place in the photo and on the bench".into(),
                });
            }
        }
    }
    let bench: Vec<_> = plane.iter().map(|p| p.0).collect();
    let photo: Vec<_> = plane.iter().map(|p| [p.1.x, p.1.y]).collect();
    if plane.len() < 4 && sheet.scales.is_empty() {
        return Err(NoCalibration {
            reason: format!("{} plane marks do not fix a plane, four are needed", plane.len()),
            about: "plane.marks".into(),
            hint: "add marks, no three of them on one line, or a scale".into(),
        });
    }
    if plane.len() >= 3 && (roundness(&bench) <= LINE || roundness(&photo) <= LINE) {
        return if sheet.scales.is_empty() { Err(marks_on_a_line("the plane marks lie on one line")) } else { Ok(()) };
    }
    Ok(())
}
