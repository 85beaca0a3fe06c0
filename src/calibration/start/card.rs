//! The start from a scale card: a homography of its marks, which fixes the plane but not which way is down.

use super::{LINE, START_FOCAL};
use crate::calibration::lens::Radial;
use crate::calibration::plane::{picture_from_plane, roundness};
use crate::calibration::view::Pose;
use crate::calibration::{Direction, Frame, NoCalibration};
use crate::card::Card;
use crate::point::PixelPoint;
use crate::quantity::Kind;
use crate::sheet::{Checked, CheckedCard};
use nalgebra::{Matrix3, Rotation3, Vector3};

/// How well the two axes of a card have to come out square and of one length for a focal length to be believed.
const SQUARE_WITHIN: f64 = 0.003;
/// What is expected of a focal length, as the standard deviation of its logarithm.
const LN_FOCAL_U: f64 = 0.5;

/// A mark of a card: mm from the middle of those that are seen, as printed, and where it is.
pub(in crate::calibration) fn pairs(card: &CheckedCard) -> Vec<([f64; 2], PixelPoint)> {
    let layout = Card::new(card.paper);
    let marks = card.marks.iter().filter_map(|(number, placed)| Some((layout.mark(*number)?.centre_mm, placed.at)));
    let mut pairs: Vec<([f64; 2], PixelPoint)> = marks.collect();
    let n = pairs.len().max(1) as f64;
    let middle = pairs.iter().fold([0.0; 2], |m, (mm, _)| [m[0] + mm[0] / n, m[1] + mm[1] / n]);
    pairs.iter_mut().for_each(|(mm, _)| *mm = [mm[0] - middle[0], mm[1] - middle[1]]);
    pairs
}

/// Its two marks farthest apart in the photo: their distance in px and in mm.
pub(super) fn longest(card: &CheckedCard) -> Option<(f64, f64)> {
    let pairs = pairs(card);
    let print = card.check_line.value.si() / 0.1;
    let all = pairs.iter().enumerate().flat_map(|(i, a)| pairs[i + 1..].iter().map(move |b| (a, b)));
    let apart = all.map(|(a, b)| (a.1.distance(b.1), print * (a.0[0] - b.0[0]).hypot(a.0[1] - b.0[1])));
    apart.max_by(|a, b| a.0.total_cmp(&b.0)).filter(|(px, mm)| *px > 0.0 && *mm > 0.0)
}

/// The pose that the card's marks fix, turned so that the bench's vertical has the roll `roll_rad`; `None` for fewer than
/// four marks, or marks on one line.
///
/// # Errors
/// Marks that lie as a mirror shows them: a card is not seen from behind.
pub(super) fn pose(
    sheet: &Checked,
    frame: &Frame,
    lens: Radial,
    roll_rad: f64,
    direction: Direction,
) -> Result<Option<Pose>, NoCalibration> {
    match seen(sheet, frame, lens, roll_rad, direction) {
        Some((_, true)) => Err(NoCalibration {
            reason: "the card's marks are mirrored: their numbers run the other way in the photo than on the card"
                .into(),
            about: "card.marks".into(),
            hint: "check which number belongs to which mark, or leave card.marks out: they are looked for each time"
                .into(),
        }),
        found => Ok(found.map(|f| f.0)),
    }
}

/// The pose, and whether it looks at the card from behind.
fn seen(sheet: &Checked, frame: &Frame, lens: Radial, roll_rad: f64, direction: Direction) -> Option<(Pose, bool)> {
    let card = sheet.card.as_ref()?;
    let print = card.check_line.value.si() / 0.1;
    let sign = direction.sign();
    let ideal = |(mm, px): &([f64; 2], PixelPoint)| {
        let picture = lens.ideal_from_photo([px.x - lens.centre.x, px.y - lens.centre.y])?;
        Some(([print * sign * mm[0], print * mm[1]], picture))
    };
    let pairs: Vec<_> = pairs(card).iter().map(ideal).collect::<Option<_>>()?;
    if pairs.len() < 4 || roundness(&pairs.iter().map(|p| p.0).collect::<Vec<_>>()) <= LINE {
        return None;
    }
    let h = picture_from_plane(&pairs)?;
    let focal_px = match frame.focal_length_35mm {
        Some(mm) => frame.focal_px(mm),
        None => focal(&h, START_FOCAL * lens.unit_px),
    };
    let m = Matrix3::from_diagonal(&Vector3::new(1.0 / focal_px, 1.0 / focal_px, 1.0)) * h;
    let size = (m.column(0).norm() * m.column(1).norm()).sqrt();
    let x = (m.column(0) * sign).normalize();
    let y = (m.column(1) - x * x.dot(&m.column(1))).normalize();
    let z = x.cross(&y);
    let mut axes = Matrix3::from_columns(&[x, y, z]);
    // the card may lie turned in its plane: turn it back until the vertical is where it is marked
    for _ in 0..4 {
        let roll = (-axes[(0, 1)]).atan2(axes[(1, 1)]);
        axes *= *Rotation3::from_axis_angle(&Vector3::z_axis(), roll_rad - roll).matrix();
    }
    let behind_mm = 1e3 * card.behind_jet.value.si();
    let in_plane = m.column(2) / size - z * behind_mm;
    let seen = [sheet.orifice.at.x - lens.centre.x, sheet.orifice.at.y - lens.centre.y];
    let [qx, qy] = lens.ideal_from_photo(seen)?;
    let ray = Vector3::new(qx / focal_px, qy / focal_px, 1.0);
    let depth = z.dot(&in_plane) / z.dot(&ray);
    let pose = Pose {
        orifice: sheet.orifice.at,
        scale_px_mm: focal_px / depth,
        roll_rad: (-axes[(0, 1)]).atan2(axes[(1, 1)]),
        pitch_rad: axes[(2, 1)].clamp(-1.0, 1.0).asin(),
        yaw_rad: (-axes[(2, 0)]).atan2(axes[(2, 2)]),
        focal_px,
        lens,
        direction,
    };
    (depth.is_finite() && depth > 0.0).then(|| (pose, z.dot(&in_plane) <= 0.0))
}

/// The focal length with which the two axes of a plane come out square and of one length, as far as they tell.
fn focal(h: &Matrix3<f64>, expected_px: f64) -> f64 {
    let doubt = |ln: &f64| {
        let f = expected_px * ln.exp();
        let axis = |k: usize| Vector3::new(h[(0, k)] / f, h[(1, k)] / f, h[(2, k)]);
        let (a, b) = (axis(0), axis(1));
        let length = (a.norm() * b.norm()).sqrt();
        let skew = ((a.norm() - b.norm()) / length).powi(2) + (a.dot(&b) / (length * length)).powi(2);
        skew / SQUARE_WITHIN.powi(2) + (ln / LN_FOCAL_U).powi(2)
    };
    let tried = (-30..=30).map(|i| 0.05 * f64::from(i));
    let best = tried.min_by(|a, b| doubt(a).total_cmp(&doubt(b))).unwrap_or(0.0);
    expected_px * best.exp()
}
