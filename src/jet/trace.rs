//! The loop: evidence, search, band, rims, edges, stations, until the curve is still.

use super::edges::best_sigma;
use super::evidence::Evidence;
use super::search::{Candidate, search};
use super::sketch::{Round, Sketch};
use super::view::View;
use super::{Areas, End, Ground, Path, Station};
use crate::notice::{Notice, Warned};
use crate::photo::{Beyond, Movement, Photo};
use crate::point::PixelPoint;
use crate::sheet::Tone;

/// What is known of the stream before it is looked for.
#[derive(Clone, Debug, PartialEq)]
pub struct Prospect {
    /// The orifice centre in the photo.
    pub orifice: PixelPoint,
    /// Unit vector of down in the photo.
    pub down: [f64; 2],
    /// Scale at the orifice.
    pub px_per_mm: f64,
    /// The orifice's diameter in px.
    pub diameter_px: f64,
    /// Width that is expected of the stream near the orifice, px.
    pub width_px: f64,
    /// Gravity.
    pub g_m_s2: f64,
    /// Slowest and fastest speed to consider.
    pub speeds_m_s: (f64, f64),
    /// Lowest and highest launch angle to consider, upward positive.
    pub angles_rad: (f64, f64),
    /// Which way the stream runs in the photo where that is known: true to the right.
    pub to_the_right: Option<bool>,
    /// Size of the photo.
    pub frame_px: (f64, f64),
    /// The stream's tone.
    pub tone: Tone,
    /// The level set by hand.
    pub level: Option<f64>,
    /// Kept-in and left-out areas.
    pub areas: Areas,
}

impl Prospect {
    /// What is known of the stream in another photo of the same bench, which lies on this one as `movement` tells.
    #[must_use]
    pub fn moved(&self, movement: &Movement) -> Self {
        let (sin, cos) = movement.angle_rad.sin_cos();
        let [x, y] = self.down;
        Self {
            orifice: movement.transform_from_first(self.orifice),
            down: [cos * x - sin * y, sin * x + cos * y],
            areas: self.areas.moved(|p| movement.transform_from_first(p)),
            ..self.clone()
        }
    }

    /// With speeds, angles and side narrowed to those around a stream already found in a photo of the same run.
    #[must_use]
    pub fn near(&self, found: &Trace) -> Self {
        let Some((angle, speed)) = found.launched else { return self.clone() };
        Self {
            to_the_right: Some(found.to_the_right),
            speeds_m_s: (self.speeds_m_s.0.max(0.8 * speed), self.speeds_m_s.1.min(1.25 * speed)),
            angles_rad: (self.angles_rad.0.max(angle - 0.1), self.angles_rad.1.min(angle + 0.1)),
            ..self.clone()
        }
    }

    pub(crate) fn sides(&self) -> &'static [f64] {
        match self.to_the_right {
            Some(true) => &[1.0],
            Some(false) => &[-1.0],
            None => &[1.0, -1.0],
        }
    }

    /// Longest way from the orifice to a corner of the frame.
    pub(crate) fn reach_px(&self) -> f64 {
        let (w, h) = self.frame_px;
        let dx = self.orifice.x.max(w - self.orifice.x);
        let dy = self.orifice.y.max(h - self.orifice.y);
        dx.hypot(dy)
    }
}

/// The stream as found in the photo.
#[derive(Clone, Debug, PartialEq)]
pub struct Trace {
    /// Stations in order from the orifice.
    pub stations: Vec<Station>,
    /// Whether the stream runs to the right in the photo.
    pub to_the_right: bool,
    /// Why the stations end.
    pub end: End,
    /// The curve that the stations were measured along.
    pub path: Path,
    /// Launch angle in rad, upward positive, and speed in m/s of the trajectory that the search took up, by the
    /// prospect's scale; `None` for stations placed by hand.
    pub launched: Option<(f64, f64)>,
}

impl Trace {
    /// The stream as it lies in the first photo of a burst, for one traced in a photo that lies on it as `movement` tells.
    #[must_use]
    pub fn first_from_here(&self, movement: &Movement) -> Self {
        let (sin, cos) = movement.angle_rad.sin_cos();
        let back = |[x, y]: [f64; 2]| [cos * x + sin * y, -sin * x + cos * y];
        let stations =
            self.stations.iter().map(|s| Station { at: movement.first_from_here(s.at), normal: back(s.normal), ..*s });
        let points = self.path.points.iter().map(|p| movement.first_from_here(*p)).collect();
        let normals = self.path.normals.iter().map(|n| back(*n)).collect();
        Self { stations: stations.collect(), path: Path { points, normals, ..self.path }, ..*self }
    }

    /// Puts stations placed by hand among the found ones; found ones within two widths of one give way to it.
    pub fn insert_by_hand(&mut self, points: &[PixelPoint], u_px: f64) {
        for &at in points {
            let near = |s: &Station| s.at.distance(at);
            let Some(nearest) = self.stations.iter().copied().min_by(|a, b| near(a).total_cmp(&near(b))) else {
                continue;
            };
            let give_way = 2.0 * nearest.width_px.unwrap_or(0.0);
            self.stations.retain(|s| s.by_hand || near(s) > give_way);
            let tangent = [nearest.normal[1], -nearest.normal[0]];
            let s_px = nearest.s_px + (at.x - nearest.at.x) * tangent[0] + (at.y - nearest.at.y) * tangent[1];
            let station = Station { at, s_px, u_px, width_px: None, by_hand: true, sound: true, ..nearest };
            let place = self.stations.partition_point(|s| s.s_px < s_px);
            self.stations.insert(place, station);
        }
    }
}

/// Why no stream was found.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{reason}")]
pub struct NoStream {
    /// What is the case.
    pub reason: String,
    /// What to do.
    pub hint: String,
}

/// Stations placed by hand, taken as they are.
pub fn by_hand(points: &[PixelPoint], u_px: f64, orifice: PixelPoint) -> Trace {
    let to_the_right = points.iter().map(|p| p.x - orifice.x).sum::<f64>() >= 0.0;
    let mut points = points.to_vec();
    points.sort_by(|a, b| orifice.distance(*a).total_cmp(&orifice.distance(*b)));
    let line: Vec<_> = std::iter::once(orifice).chain(points.iter().copied()).collect();
    let path = Path::from_polyline(&line, 1.0);
    let mut gone = 0.0;
    let mut last = orifice;
    let stations = points
        .iter()
        .map(|&at| {
            gone += last.distance(at);
            last = at;
            let i = (gone as usize).min(path.len().saturating_sub(1));
            let normal = path.normals.get(i).copied().unwrap_or([0.0, 1.0]);
            Station { at, normal, s_px: gone, u_px, width_px: None, by_hand: true, sound: true }
        })
        .collect();
    Trace { stations, to_the_right, end: End::ByHand, path, launched: None }
}

/// Finds the stream that leaves `prospect.orifice` and measures its centreline.
///
/// # Errors
/// [`NoStream`] where no trajectory from the orifice bears a stream, or fewer than eight stations of it are seen.
pub fn trace(photo: &Photo, prospect: &Prospect) -> Result<Warned<Trace>, NoStream> {
    trace_in(View::Plain(photo), prospect, None, None)
}

/// Like [`trace`], with the photo's gradients kept from before: the same result sooner. A ground that does not suit
/// the prospect's width is not used.
///
/// # Errors
/// See [`trace`].
pub fn trace_on(photo: &Photo, ground: &Ground, prospect: &Prospect) -> Result<Warned<Trace>, NoStream> {
    trace_in(View::Plain(photo), prospect, Some(ground), None)
}

/// Like [`trace_on`], beginning from a stream found before instead of searching for one: sooner, but a better stream
/// elsewhere is passed over. The whole search where the one before was placed by hand.
///
/// # Errors
/// See [`trace`].
pub fn trace_near(
    photo: &Photo,
    ground: &Ground,
    prospect: &Prospect,
    found: &Trace,
) -> Result<Warned<Trace>, NoStream> {
    trace_in(View::Plain(photo), prospect, Some(ground), Some(found))
}

/// Like [`trace`], in what a photo shows beyond its dry photo: what stands on the bench without the jet is no evidence.
///
/// # Errors
/// See [`trace`].
pub fn trace_beyond(beyond: &Beyond, prospect: &Prospect) -> Result<Warned<Trace>, NoStream> {
    trace_in(View::Beyond(beyond), prospect, None, None)
}

/// Whether the stream found before is, at the prospect's level, still the best about it. A level decides which stream is
/// found; the stations along it are measured on the photo itself and do not depend on it.
pub fn still_there(ground: &Ground, prospect: &Prospect, found: &Trace) -> bool {
    let evidence = ground.evidence(prospect.level, &prospect.areas);
    found.launched.is_some_and(|l| Candidate::is_still_best(l, found.to_the_right, &evidence, prospect))
}

fn trace_in(
    view: View,
    prospect: &Prospect,
    ground: Option<&Ground>,
    near: Option<&Trace>,
) -> Result<Warned<Trace>, NoStream> {
    let mut evidence = match ground.filter(|g| g.suits(prospect.width_px)) {
        Some(ground) => ground.evidence(prospect.level, &prospect.areas),
        None => Evidence::new(view, prospect.width_px, prospect.level, &prospect.areas),
    };
    let before = near.and_then(|found| Some((found.launched?, found.to_the_right)));
    for attempt in 0..ATTEMPTS {
        let candidates = match before {
            Some((launched, to_the_right)) => Candidate::near(launched, to_the_right, &evidence, prospect),
            None => search(&evidence, prospect, 3),
        };
        let Some((sketch, candidate, rival)) = best_of(candidates, view, prospect) else { break };
        let mut followed = sketch.seen_points();
        if let Some(sketch) = refined(sketch, &candidate, view, prospect) {
            let stations = sketch.stations();
            if stations.len() >= 8 && sketch.is_trajectory(prospect) {
                let value = Trace {
                    stations,
                    to_the_right: candidate.side > 0.0,
                    end: sketch.end,
                    path: sketch.path,
                    launched: Some((candidate.angle_rad, candidate.speed_m_s)),
                };
                return Ok(Warned { value, notices: doubts(attempt > 0, rival) });
            }
            followed.extend(sketch.seen_points());
        }
        // a ruler, a stand, a scratch: what it shows is taken out, and the stream looked for in the rest
        evidence.forget(&followed, 1.6 * prospect.width_px);
    }
    Err(no_stream(prospect))
}

/// The candidate about which the band bears most, and what share of that another one bears that lies elsewhere.
fn best_of(candidates: Vec<Candidate>, view: View, prospect: &Prospect) -> Option<(Sketch, Candidate, f64)> {
    let first = Round { freedom: 1.0, sigma: 1.0, stride: 2, half_px: None, degree: 3 };
    let sketched = candidates.into_iter().filter_map(|candidate| {
        let sketch = Sketch::new(view, candidate_path(&candidate, prospect), prospect, &candidate, &first)?;
        Some((sketch, candidate))
    });
    let mut all: Vec<(Sketch, Candidate)> = sketched.collect();
    // the first of equals stays first: the order is that of the search
    all.sort_by(|a, b| b.0.score.total_cmp(&a.0.score));
    let mut all = all.into_iter();
    let (sketch, candidate) = all.next()?;
    let rival =
        all.filter(|(s, _)| s.lies_beside(&sketch, prospect.width_px)).map(|(s, _)| s.score).fold(0.0, f64::max);
    let share = if sketch.score > 0.0 { rival / sketch.score } else { 1.0 };
    Some((sketch, candidate, share))
}

/// What there is to say where the stream was not the only thing that could be followed.
fn doubts(passed_over: bool, rival: f64) -> Vec<Notice> {
    let says = if passed_over {
        "what stands out most on the way from the orifice is no trajectory (a ruler, a stand, a scratch?) and was passed over"
            .to_owned()
    } else if rival > RIVAL {
        format!("another path from the orifice bears {:.0} % of what the stream's does", 100.0 * rival)
    } else {
        return Vec::new();
    };
    let hint = "see whether the stations lie on the stream; stream.look_in or stream.leave_out settles it";
    vec![Notice::new("stream", says).hint(hint)]
}

/// The sketch repeated along the curve that it found, until that is still.
fn refined(mut sketch: Sketch, candidate: &Candidate, view: View, prospect: &Prospect) -> Option<Sketch> {
    for round in 1..=ROUNDS {
        let smooth = sketch.smooth(2 + round)?;
        let last = sketch.last_px();
        let path = sketch.path.moved(|s| smooth.at(s.min(last + 20.0 * prospect.width_px)));
        // the round that measures is the last; those before only bring the curve there
        let moved = (0..=20).map(|i| smooth.at(last * f64::from(i) / 20.0).abs()).fold(0.0, f64::max);
        let measures = round == ROUNDS || moved < 0.12 * prospect.width_px;
        let sigma = if measures { best_sigma(sketch.blur_px, sketch.width_px()) } else { 1.0 };
        let stride = if measures { 1 } else { 2 };
        let how = Round { freedom: 0.45, sigma, stride, half_px: Some(sketch.half_px), degree: (3 + round).min(5) };
        sketch = Sketch::new(view, path, prospect, candidate, &how)?;
        if measures {
            break;
        }
    }
    Some(sketch)
}

fn no_stream(p: &Prospect) -> NoStream {
    NoStream {
        reason: format!(
            "no stream leaves the orifice at ({:.0}, {:.0}) px along any trajectory of {:.2} to {:.2} m/s",
            p.orifice.x, p.orifice.y, p.speeds_m_s.0, p.speeds_m_s.1
        ),
        hint: "check orifice.centre, scale and head; set stream.tone or stream.look_in, or place stations in stream.by_hand"
            .into(),
    }
}

fn candidate_path(candidate: &Candidate, p: &Prospect) -> Path {
    let mut line = Vec::new();
    let most = (candidate.length_px * 1.3).max(candidate.length_px + 12.0 * p.width_px);
    let mut gone = 0.0;
    let margin = p.width_px;
    candidate.walk(p, 2.0, |q, _| {
        line.push(q);
        gone += 2.0;
        gone < most && q.x > -margin && q.y > -margin && q.x < p.frame_px.0 + margin && q.y < p.frame_px.1 + margin
    });
    Path::from_polyline(&line, 1.0)
}

/// How often the stream is looked for anew after something else was found.
const ATTEMPTS: usize = 6;
/// Share of the stream's score from which on another path is told: on 23 drawn and rendered photos where the stream was found
/// it was 0.65 at most, on three where something else was taken for it 0.76, 0.77 and 1.00.
const RIVAL: f64 = 0.7;
/// Most rounds after the first.
const ROUNDS: usize = 4;
