//! The loop: evidence, search, band, rims, edges, stations, until the curve is still.

use super::band::Band;
use super::curve::Smooth;
use super::edges::{best_sigma, blur_px, edges};
use super::evidence::Evidence;
use super::rims::{Change, RimBounds, Rims, common_half_width, rims, strays};
use super::search::{Candidate, search};
use super::stations::{Middle, median, middles};
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
    let evidence = match ground.filter(|g| g.suits(prospect.width_px)) {
        Some(ground) => ground.evidence(prospect.level, &prospect.areas),
        None => Evidence::new(view, prospect.width_px, prospect.level, &prospect.areas),
    };
    let candidates = match near.and_then(|found| Some((found.launched?, found.to_the_right))) {
        Some((launched, to_the_right)) => Candidate::near(launched, to_the_right, &evidence, prospect),
        None => search(&evidence, prospect, 3),
    };
    let mut best: Option<(f64, Sketch, Candidate)> = None;
    for candidate in candidates {
        let path = candidate_path(&candidate, prospect);
        let Some(sketch) = Sketch::new(
            view,
            path,
            prospect,
            &candidate,
            &Round { freedom: 1.0, sigma: 1.0, stride: 2, half_px: None },
        ) else {
            continue;
        };
        let score = sketch.score;
        if best.as_ref().is_none_or(|(b, _, _)| score > *b) {
            best = Some((score, sketch, candidate));
        }
    }
    let Some((_, mut sketch, candidate)) = best else {
        return Err(no_stream(prospect));
    };
    for round in 1..=ROUNDS {
        let Some(smooth) = sketch.smooth(2 + round) else { return Err(no_stream(prospect)) };
        let last = sketch.last_px();
        let path = sketch.path.moved(|s| smooth.at(s.min(last + 20.0 * prospect.width_px)));
        // the round that measures is the last; those before only bring the curve there
        let moved = (0..=20).map(|i| smooth.at(last * f64::from(i) / 20.0).abs()).fold(0.0, f64::max);
        let measures = round == ROUNDS || moved < 0.12 * prospect.width_px;
        let sigma = if measures { best_sigma(sketch.blur_px, sketch.width_px()) } else { 1.0 };
        let stride = if measures { 1 } else { 2 };
        let how = Round { freedom: 0.45, sigma, stride, half_px: Some(sketch.half_px) };
        match Sketch::new(view, path, prospect, &candidate, &how) {
            Some(next) => sketch = next,
            None => return Err(no_stream(prospect)),
        }
        if measures {
            break;
        }
    }
    let stations = sketch.stations();
    if stations.len() < 8 {
        return Err(no_stream(prospect));
    }
    let notices: Vec<Notice> = Vec::new();
    Ok(Warned {
        value: Trace {
            stations,
            to_the_right: candidate.side > 0.0,
            end: sketch.end,
            path: sketch.path,
            launched: Some((candidate.angle_rad, candidate.speed_m_s)),
        },
        notices,
    })
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

/// Most rounds after the first.
const ROUNDS: usize = 4;

/// How a round goes about it.
struct Round {
    /// How far the middle may lie from the curve, in widths.
    freedom: f64,
    /// Width of the derivative that places the edges, px.
    sigma: f64,
    /// Every how many px along the curve the photo is read.
    stride: usize,
    /// Half width at the orifice where an earlier round found it, px.
    half_px: Option<f64>,
}

/// One round's picture of the stream: the band along a curve and what it bears.
struct Sketch {
    path: Path,
    middles: Vec<Middle>,
    score: f64,
    end: End,
    /// Blur of the edges as seen in this round.
    blur_px: f64,
    /// Half width at the orifice that most columns agree on.
    half_px: f64,
}

impl Sketch {
    fn new(view: View, path: Path, p: &Prospect, candidate: &Candidate, how: &Round) -> Option<Self> {
        let Round { freedom, sigma, stride, half_px } = *how;
        let width = p.width_px;
        let reach = (1.1 * width + freedom * width + 6.0).ceil() as usize;
        let column_px = ((width / 7.0).round() as usize).max(2);
        let band = Band::new(view, &path, column_px, stride, reach, &p.areas);
        if band.columns.len() < 8 {
            return None;
        }
        let change = Change::new(&band, 1.0, 1.0 * width);
        let ratio = p.diameter_px / 2.0;
        let mut bounds = RimBounds {
            middle_px: freedom * width,
            half_px: (0.4 * ratio, 1.1 * ratio),
            expected_px: 0.82 * ratio,
            half_at: 0.0,
            tone: p.tone,
        }
        .adapted_to_band(&band, &change, width);
        let v0 = candidate.speed_m_s;
        let px_per_m = p.px_per_mm * 1000.0;
        let drop = |s: f64| {
            let q = path.at(s, 0.0);
            (q.x - p.orifice.x) * p.down[0] + (q.y - p.orifice.y) * p.down[1]
        };
        let thinning = |s: f64| (1.0 + 2.0 * p.g_m_s2 * (drop(s) / px_per_m).max(0.0) / (v0 * v0)).powf(-0.25);
        let mut half = half_px;
        let mut found = Vec::new();
        if half.is_none() {
            found = rims(&band, &change, &bounds, thinning, |_| 0.15);
            half = common_half_width(&band, &found, thinning);
            bounds = bounds.adapted_to_rims(&band, &change, &found);
        }
        if let Some(half) = half {
            bounds.expected_px = half;
            found = rims(&band, &change, &bounds, thinning, |_| 0.13);
            bounds = bounds.adapted_to_rims(&band, &change, &found);
            let stretch = (6.0 * width / column_px as f64).ceil() as usize;
            let stray = strays(&band, &found, |s| half * thinning(s), stretch);
            if stray.iter().any(|d| d.abs() > 0.06) {
                found = rims(&band, &change, &bounds, thinning, |i| if stray[i].abs() > 0.06 { 0.04 } else { 0.13 });
            }
        }
        let half_px = common_half_width(&band, &found, thinning).or(half).unwrap_or(0.5 * width);
        let (first, last, end) = extent(&band, &found, p);
        let seen: f64 = found[first..=last].iter().map(|r| f64::from(r.quality)).sum::<f64>();
        let near = ((width / 12.0).round() as usize).max(2);
        let placing = if sigma > 1.0 { &Change::new(&band, sigma, width) } else { &change };
        let mut all = edges(&band, placing, &found, near.max(sigma.ceil() as usize), 2.5);
        for (i, e) in all.iter_mut().enumerate() {
            if i < first || i > last {
                *e = None;
            }
        }
        let blur_px = blur_px(&all, sigma).unwrap_or(0.0);
        let group = ((width / 3.0 / column_px as f64).round() as usize).max(1);
        Some(Self {
            path,
            middles: middles(&all, group),
            score: seen * column_px as f64 / width,
            end,
            blur_px,
            half_px,
        })
    }

    /// Narrow end of the stream's width: what the edges' derivative must fit into.
    fn width_px(&self) -> f64 {
        let mut widths: Vec<f64> = self.middles.iter().map(|m| m.width_px).collect();
        if widths.is_empty() { 0.0 } else { median(&mut widths) }
    }

    fn last_px(&self) -> f64 {
        self.middles.last().map_or(0.0, |m| m.s_px)
    }

    fn smooth(&self, degree: usize) -> Option<Smooth> {
        let points: Vec<_> = self.middles.iter().map(|m| (m.s_px, m.offset_px, 1.0)).collect();
        if points.len() < 8 { None } else { Smooth::fit(&points, degree, 0.1) }
    }

    fn stations(&self) -> Vec<Station> {
        let course = self.smooth(6);
        let scale = course.as_ref().map_or(f64::INFINITY, |course| {
            let mut off: Vec<f64> = self.middles.iter().map(|m| (m.offset_px - course.at(m.s_px)).abs()).collect();
            1.4826 * median(&mut off)
        });
        let sound = |m: &Middle| {
            course.as_ref().is_none_or(|course| (m.offset_px - course.at(m.s_px)).abs() <= (4.0 * scale).max(0.3))
        };
        self.middles
            .iter()
            .map(|m| {
                let i = ((m.s_px / self.path.step_px).round() as usize).min(self.path.len() - 1);
                Station {
                    at: self.path.at(m.s_px, m.offset_px),
                    normal: self.path.normals[i],
                    s_px: m.s_px,
                    u_px: m.u_px,
                    width_px: Some(m.width_px),
                    by_hand: false,
                    sound: sound(m),
                }
            })
            .collect()
    }
}

/// First and last column of the stream: the stretch that collects most quality above a third of its usual value.
fn extent(band: &Band, found: &[Rims], p: &Prospect) -> (usize, usize, End) {
    let mut sorted: Vec<f64> = found.iter().map(|r| f64::from(r.quality)).collect();
    let usual = {
        sorted.sort_unstable_by(f64::total_cmp);
        sorted[sorted.len() * 7 / 10]
    };
    let first = band.columns.iter().position(|c| c.s_px > 0.9 * p.diameter_px).unwrap_or(0);
    let (mut sum, mut best, mut last) = (0.0, f64::MIN, first);
    for (i, r) in found.iter().enumerate().skip(first) {
        sum += f64::from(r.quality) - 0.4 * usual.max(0.3);
        if sum > best {
            best = sum;
            last = i;
        }
    }
    let beyond = band.columns.get(last + 2).or(band.columns.last());
    let end = match beyond {
        Some(c) if !c.seen || last + 3 >= found.len() => End::Frame,
        _ => End::Lost,
    };
    (first, last.max(first), end)
}
