//! The pixel half: from a checked sheet and its photo to the calibration and the stream's centreline.

use super::burst::{self, Burst};
use super::card;
use super::dry::wet;
use super::{Job, Refused};
use crate::calibration::card::FoundCard;
use crate::calibration::{Calibration, Direction, Frame, calibrate};
use crate::hydraulics::gravity::CONVENTIONAL_M_S2;
use crate::jet::{self, Areas, Ground, Prospect, Trace};
use crate::notice::Notice;
use crate::photo::Photo;
use crate::point::{BenchPoint, PixelPoint};
use crate::quantity::Kind;
use crate::sheet::{Checked, Edge};
use std::sync::Arc;

/// Shares of the ideal velocity between which a stream is looked for: below any orifice's Cv (a short tube's is
/// about 0.8), and above 1 by what a wrong scale may do.
const CV_LOOKED_FOR: (f64, f64) = (0.6, 1.06);
/// Speeds looked for where no head is known, m/s: 5 mm to 5 m of head.
const SPEEDS_LOOKED_FOR: (f64, f64) = (0.3, 10.0);
/// Launch angles looked for, degrees upward.
const ANGLES_LOOKED_FOR: (f64, f64) = (-45.0, 65.0);
/// Standard uncertainty across the stream of a station placed by hand, px.
const BY_HAND_U_PX: f64 = 1.0;

/// What the photo gave.
#[derive(Clone, Debug)]
pub struct Sight {
    /// The calibration.
    pub calibration: Calibration,
    /// The stream.
    pub trace: Trace,
    /// Size of the photo in px.
    pub frame: Frame,
    /// The scale card, where the sheet leaves it to be found.
    pub card: Option<FoundCard>,
    /// What several photos gave together; `None` for a single one.
    pub burst: Option<Burst>,
}

/// What is kept of a photo between two looks for the stream in it: worth its memory only where levels are tuned.
#[derive(Clone, Debug, Default)]
pub struct Kept {
    /// Its gradients, once the stream was looked for.
    pub ground: Option<Arc<Ground>>,
    /// A stream to begin from once instead of searching: sooner, and a preview, since a better one elsewhere is passed over.
    pub near: Option<Trace>,
}

impl Kept {
    /// The photo's gradients for a stream about this wide.
    fn ground(&mut self, photo: &Photo, width_px: f64) -> Arc<Ground> {
        match &self.ground {
            Some(ground) if ground.suits(width_px) => ground.clone(),
            _ => self.ground.insert(Arc::new(Ground::new(photo, width_px))).clone(),
        }
    }
}

/// Calibrates and finds the stream.
///
/// # Errors
/// See [`super::measure`].
pub fn sight(job: &Job, notices: &mut Vec<Notice>) -> Result<Sight, Refused> {
    sight_keeping(job, None, notices)
}

/// Like [`sight`], with what is kept of the job's only photo.
///
/// # Errors
/// See [`super::measure`].
pub(crate) fn sight_keeping(job: &Job, kept: Option<&mut Kept>, notices: &mut Vec<Notice>) -> Result<Sight, Refused> {
    let photo =
        job.photos.first().ok_or_else(|| Refused::because("photo.file", "no photo", "name one in [photo] file"))?;
    let frame = frame(photo);
    marks_in_photo(job.sheet, &frame)?;
    let card = card::found(job.sheet, photo, notices)?;
    let sheet = card::placed(job.sheet, card.as_ref());
    let (first, second) = (calibrate(&sheet, &frame, Direction::Right), calibrate(&sheet, &frame, Direction::Left));
    // plane marks know which way the jet runs; two scale marks do not, and then the stream tells
    let known = match (&first, &second) {
        (Ok(_), Ok(_)) => None,
        (Ok(_), Err(_)) => Some(true),
        (Err(_), Ok(_)) => Some(false),
        (Err(e), Err(_)) => {
            return Err(Refused::because(&e.about, e.reason.clone(), e.hint.clone()));
        }
    };
    let either = first.as_ref().ok().or(second.as_ref().ok());
    let Some(either) = either else { return Err(Refused::because("scale", "no calibration", "mark a scale")) };
    let (trace, burst) = find(job, kept, &either.value, known, &frame, notices)?;
    let calibrated = if trace.to_the_right { first } else { second };
    let calibrated = calibrated.map_err(|e| {
        let says = format!("the stream runs {}, the plane marks the other way", side(trace.to_the_right));
        Refused {
            reasons: vec![
                Notice::new("plane.marks", says).hint("plane.at: x grows along the jet"),
                Notice::new(e.about, e.reason).hint(e.hint),
            ],
        }
    })?;
    notices.extend(calibrated.notices);
    Ok(Sight { calibration: calibrated.value, trace, frame, card, burst })
}

fn frame(photo: &Photo) -> Frame {
    Frame {
        width: photo.width as f64,
        height: photo.height as f64,
        focal_length_35mm: photo.metadata.focal_length_35mm,
    }
}

/// The same stations under the camera that the job's marks now tell.
///
/// # Errors
/// See [`super::see_again`].
pub fn again(job: &Job, seen: &Sight, notices: &mut Vec<Notice>) -> Result<Sight, Refused> {
    marks_in_photo(job.sheet, &seen.frame)?;
    let direction = if seen.trace.to_the_right { Direction::Right } else { Direction::Left };
    let sheet = card::placed(job.sheet, seen.card.as_ref());
    let calibrated = calibrate(&sheet, &seen.frame, direction)
        .map_err(|e| Refused::because(&e.about, e.reason.clone(), e.hint.clone()))?;
    notices.extend(calibrated.notices);
    Ok(Sight { calibration: calibrated.value, ..seen.clone() })
}

fn side(right: bool) -> &'static str {
    if right { "to the right" } else { "to the left" }
}

/// Every mark of the sheet lies in the photo; all that do not are told at once.
fn marks_in_photo(sheet: &Checked, frame: &Frame) -> Result<(), Refused> {
    let mut reasons = Vec::new();
    let mut look = |about: &str, p: PixelPoint| {
        if !(p.x >= 0.0 && p.y >= 0.0 && p.x <= frame.width && p.y <= frame.height) {
            let says = format!(
                "the mark at ({:.1}, {:.1}) px lies outside the photo of {:.0} x {:.0} px",
                p.x, p.y, frame.width, frame.height
            );
            let hint = "pixels count from the top-left corner of the photo as displayed: is it the right photo, turned the right way?";
            reasons.push(Notice::new(about, says).hint(hint));
        }
    };
    for scale in &sheet.scales {
        scale.marks.iter().for_each(|(m, _)| look("scale.marks", m.at));
    }
    sheet.plane.iter().for_each(|(m, _)| look("plane.marks", m.at));
    sheet.card.iter().flat_map(|c| &c.marks).for_each(|(_, m)| look("card.marks", m.at));
    sheet.plumb.iter().flatten().for_each(|m| look("vertical.plumb", m.at));
    sheet.level.iter().flatten().for_each(|m| look("vertical.level", m.at));
    sheet.straight.iter().flatten().for_each(|m| look("lens.straight", m.at));
    look("orifice.centre", sheet.orifice.at);
    sheet.stream.by_hand.iter().for_each(|p| look("stream.by_hand", *p));
    sheet.surface.iter().for_each(|m| look("head.surface", m.at));
    if reasons.is_empty() { Ok(()) } else { Err(Refused { reasons }) }
}

/// The stream: found, placed by hand, or both.
fn find(
    job: &Job,
    kept: Option<&mut Kept>,
    calibration: &Calibration,
    to_the_right: Option<bool>,
    frame: &Frame,
    notices: &mut Vec<Notice>,
) -> Result<(Trace, Option<Burst>), Refused> {
    let sheet = job.sheet;
    let stream = &sheet.stream;
    let only_by_hand = !stream.by_hand.is_empty()
        && stream.tone.is_none()
        && stream.level.is_none()
        && stream.look_in.is_empty()
        && stream.leave_out.is_empty();
    let (mut trace, burst) = if only_by_hand {
        (jet::by_hand(&stream.by_hand, BY_HAND_U_PX, sheet.orifice.at), None)
    } else {
        let prospect = prospect(sheet, calibration, to_the_right, frame);
        let (mut trace, burst) = match job.photos {
            [photo] => {
                let found = match (job.dry, kept) {
                    (None, Some(kept)) => {
                        let ground = kept.ground(photo, prospect.width_px);
                        match kept.near.take() {
                            Some(near) => jet::trace_near(photo, &ground, &prospect, &near),
                            None => jet::trace_on(photo, &ground, &prospect),
                        }
                    }
                    (dry, _) => wet(photo, dry, &prospect),
                };
                let found = found.map_err(|e| Refused::because("stream", e.reason, e.hint))?;
                notices.extend(found.notices);
                (found.value, None)
            }
            photos => burst::burst(photos, job.dry, &prospect, notices)?,
        };
        if !stream.by_hand.is_empty() {
            trace.insert_by_hand(&stream.by_hand, BY_HAND_U_PX);
        }
        (trace, burst)
    };
    if let Some(until) = stream.until {
        let until_mm = until.value.si() * 1000.0;
        let sign = if trace.to_the_right { 1.0 } else { -1.0 };
        let before = trace.stations.len();
        // the calibration at hand may be the mirrored one: its x then has the other sign
        let towards = match calibration.bench_from_pixel(PixelPoint::new(sheet.orifice.at.x + sign, sheet.orifice.at.y))
        {
            Some(p) if p.x_mm < 0.0 => -1.0,
            _ => 1.0,
        };
        trace.stations.retain(|s| calibration.bench_from_pixel(s.at).is_some_and(|p| towards * p.x_mm <= until_mm));
        if trace.stations.len() < before {
            trace.end = jet::End::Until;
        }
    }
    Ok((trace, burst))
}

/// What was known of the stream that was found.
pub fn prospect_of(sheet: &Checked, seen: &Sight) -> Prospect {
    prospect(sheet, &seen.calibration, Some(seen.trace.to_the_right), &seen.frame)
}

/// What is known of the stream before it is looked for.
fn prospect(sheet: &Checked, calibration: &Calibration, to_the_right: Option<bool>, frame: &Frame) -> Prospect {
    let orifice = sheet.orifice.at;
    let below =
        calibration.pixel_from_bench(BenchPoint::new(0.0, 10.0)).unwrap_or(PixelPoint::new(orifice.x, orifice.y + 1.0));
    let length = orifice.distance(below).max(1e-9);
    let down = [(below.x - orifice.x) / length, (below.y - orifice.y) / length];
    let px_per_mm = calibration.px_per_mm();
    let diameter_px = sheet.diameter.value.si() * 1000.0 * px_per_mm;
    let g_m_s2 = sheet.gravity.map_or(CONVENTIONAL_M_S2, |g| g.value.si());
    let head_m = match (sheet.head.first(), sheet.surface) {
        (Some(h), _) => Some(h.value.si()),
        (None, Some(mark)) => calibration.bench_from_pixel(mark.at).map(|p| -p.y_mm / 1000.0).filter(|h| *h > 0.0),
        (None, None) => None,
    };
    let speeds_m_s = head_m.map_or(SPEEDS_LOOKED_FOR, |h| {
        let ideal = (2.0 * g_m_s2 * h).sqrt();
        (CV_LOOKED_FOR.0 * ideal, CV_LOOKED_FOR.1 * ideal)
    });
    let contraction = match sheet.edge {
        Edge::Sharp => 0.8,
        Edge::ReEntrant => 0.75,
        Edge::Rounded | Edge::ShortTube | Edge::Nozzle => 0.95,
    };
    let angles_rad = match sheet.launch {
        crate::sheet::Launch::Level => (-0.1, 0.1),
        crate::sheet::Launch::Stated(a) => (a.value.si() - 0.1, a.value.si() + 0.1),
        crate::sheet::Launch::Free => (ANGLES_LOOKED_FOR.0.to_radians(), ANGLES_LOOKED_FOR.1.to_radians()),
    };
    Prospect {
        orifice,
        down,
        px_per_mm,
        diameter_px,
        width_px: contraction * diameter_px,
        g_m_s2,
        speeds_m_s,
        angles_rad,
        to_the_right,
        frame_px: (frame.width, frame.height),
        tone: sheet.stream.tone.unwrap_or_default(),
        level: sheet.stream.level,
        areas: Areas::new(&sheet.stream.look_in, &sheet.stream.leave_out),
    }
}
