//! A burst: several photos of one steady jet, one centreline.
//!
//! ```text
//! each photo --register--> how it lies on the first
//!            --trace-----> its own stations, carried into the first photo's pixels
//! all        --place by place along the stream--> mean middle, scatter from photo to photo
//! ```
//! Waves run along the stream, so that each photo catches others of them: they average out, and what is left of
//! them shows in the scatter. The photos themselves are never resampled.

use super::Refused;
use super::dry::wet;
use crate::jet::{End, Prospect, Station, Trace};
use crate::notice::Notice;
use crate::photo::{Mix, Movement, Photo, register};
use crate::statistics;
use rayon::prelude::*;

/// Photos worked on at a time: each needs some ten times its pixels in bytes while it is traced.
const AT_A_TIME: usize = 2;
/// Places to either side of one over which the scatter between photos is pooled: a few photos alone tell it poorly.
const POOLED: usize = 8;
/// A middle farther than this many usual scatters from the photos' median at a place is left out. The usual scatter is
/// that of all places: of three to five photos, those of one place alone tell it too poorly.
const FAR: f64 = 4.0;
/// Least standard uncertainty of a station, px: that of a single photo's.
const LEAST_U_PX: f64 = 0.02;

/// What the photos of a burst gave together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Burst {
    /// How many photos went in.
    pub photos: usize,
    /// Standard uncertainty, px, of a shift that all stations share: the registration's, or that of the mean of the
    /// photos where the stream as a whole moves by more from one to the next.
    pub u_px: f64,
}

/// One photo's stream in the first photo's pixels.
struct View {
    /// Number of the photo, from 1.
    number: usize,
    movement: Movement,
    trace: Trace,
}

/// The stream of a burst, in the pixels of the first photo; no [`Burst`] where one photo alone is left.
///
/// Photos that do not match the first, show no stream, or show it elsewhere are left out, each with a notice.
///
/// # Errors
/// [`Refused`] where no photo shows a stream.
pub(crate) fn burst(
    photos: &[Photo],
    dry: Option<&Photo>,
    prospect: &Prospect,
    notices: &mut Vec<Notice>,
) -> Result<(Trace, Option<Burst>), Refused> {
    let (mut views, mut left_out) = (Vec::<View>::new(), Vec::new());
    let numbers: Vec<usize> = (1..=photos.len()).collect();
    // once one photo has shown the stream, the others are searched near it
    for few in std::iter::once(&numbers[..1]).chain(numbers[1..].chunks(AT_A_TIME)) {
        let near = match views.first() {
            Some(view) => prospect.near(&view.trace),
            None => prospect.clone(),
        };
        let few: Vec<_> = few.par_iter().map(|&number| view(photos, dry, number, &near)).collect();
        for seen in few {
            match seen {
                Ok((view, told)) => {
                    views.push(view);
                    // what is true of each photo is said once
                    told.into_iter().for_each(|n| {
                        if !notices.contains(&n) {
                            notices.push(n)
                        }
                    });
                }
                Err(why) => left_out.push(why),
            }
        }
    }
    if views.is_empty() {
        return Err(Refused { reasons: left_out });
    }
    notices.append(&mut left_out);
    let mut placed = Placed::new(views);
    placed.leave_out_strangers(notices);
    if placed.views.len() == 1 {
        return Ok((placed.views.remove(0).trace, None));
    }
    Ok(placed.combined(notices))
}

/// The stream in one photo, or why it is left out.
fn view(
    photos: &[Photo],
    dry: Option<&Photo>,
    number: usize,
    prospect: &Prospect,
) -> Result<(View, Vec<Notice>), Notice> {
    let (first, photo) = (&photos[0], &photos[number - 1]);
    let movement = match number {
        1 => Movement::none(first.width, first.height),
        _ => register(first, photo, Mix::LUMA).map_err(|e| {
            Notice::new("photo.files", format!("photo {number} of the burst is left out: {e}"))
                .hint("keep in photo.files only photos of the same bench and the same run")
        })?,
    };
    let found = wet(photo, dry, &prospect.moved(&movement)).map_err(|e| {
        Notice::new("photo.files", format!("photo {number} of the burst is left out: {}", e.reason)).hint(e.hint)
    })?;
    Ok((View { number, movement, trace: found.value.first_from_here(&movement) }, found.notices))
}

/// A view's middle and width at one place along the stream.
#[derive(Clone, Copy)]
struct Place {
    middle_px: f64,
    width_px: Option<f64>,
    u_px: f64,
    sound: bool,
}

/// The views side by side, at the same places along the stream of the view with the most stations.
struct Placed {
    views: Vec<View>,
    s_px: Vec<f64>,
    /// For each view, each place.
    places: Vec<Vec<Option<Place>>>,
}

impl Placed {
    fn new(mut views: Vec<View>) -> Self {
        // the view that reaches farthest leads: its curve and its stations are the common places
        let reach = |i: usize| views[i].trace.stations.last().map_or(0.0, |s| s.s_px);
        let longest = (0..views.len()).rev().max_by(|&a, &b| reach(a).total_cmp(&reach(b))).unwrap_or(0);
        let first = views.remove(longest);
        views.insert(0, first);
        let base = &views[0].trace;
        let s_px: Vec<f64> = base.stations.iter().map(|s| s.s_px).collect();
        let places = views.iter().map(|view| places(&view.trace.stations, base, &s_px)).collect();
        Self { views, s_px, places }
    }

    /// Middles, widths and soundness of all views that see the place `k`.
    fn at(&self, k: usize) -> Vec<Place> {
        self.places.iter().filter_map(|p| p[k]).collect()
    }

    /// A photo whose stream lies a width from the others' over a quarter of its length shows something else: one at another head
    /// begins where they do and leaves them slowly.
    fn leave_out_strangers(&mut self, notices: &mut Vec<Notice>) {
        if self.views.len() < 3 {
            return;
        }
        let medians: Vec<f64> = (0..self.s_px.len()).map(|k| median(self.at(k).iter().map(|p| p.middle_px))).collect();
        let width = median((0..self.s_px.len()).flat_map(|k| self.at(k)).filter_map(|p| p.width_px));
        let mut keep = Vec::new();
        for (view, places) in self.views.iter().zip(&self.places) {
            let mut off: Vec<f64> =
                places.iter().zip(&medians).filter_map(|(p, m)| p.map(|p| (p.middle_px - m).abs())).collect();
            off.sort_unstable_by(f64::total_cmp);
            let off = off.get(off.len() * 3 / 4).copied().unwrap_or(f64::NAN);
            keep.push(off.is_finite() && off <= width);
            if !keep[keep.len() - 1] {
                let says = if off.is_finite() {
                    format!(
                        "photo {} of the burst is left out: its stream lies {off:.0} px from the others'",
                        view.number
                    )
                } else {
                    format!(
                        "photo {} of the burst is left out: its stream shares no stretch with the others'",
                        view.number
                    )
                };
                notices.push(
                    Notice::new("photo.files", says).hint("was it taken at another head? give it a sheet of its own"),
                );
            }
        }
        if keep.iter().filter(|k| **k).count() == 0 || keep.iter().all(|k| *k) {
            return;
        }
        let mut kept = keep.iter();
        let views: Vec<View> = self.views.drain(..).filter(|_| kept.next() == Some(&true)).collect();
        *self = Self::new(views);
    }

    fn combined(self, notices: &mut Vec<Notice>) -> (Trace, Option<Burst>) {
        let n = self.views.len();
        let base = &self.views[0].trace;
        let usual = median((0..self.s_px.len()).filter_map(|k| {
            let all: Vec<f64> = self.at(k).iter().filter(|p| p.sound).map(|p| p.middle_px).collect();
            let mean = all.iter().sum::<f64>() / all.len() as f64;
            (all.len() > 1)
                .then(|| (all.iter().map(|m| (m - mean).powi(2)).sum::<f64>() / (all.len() as f64 - 1.0)).sqrt())
        }));
        let far_px = (FAR * usual).max(0.5);
        let mut means: Vec<Option<(Station, f64, usize)>> = Vec::new();
        for (k, station) in base.stations.iter().enumerate() {
            let all = self.at(k);
            let sound: Vec<Place> = all.iter().copied().filter(|p| p.sound).collect();
            let is_sound = 2 * sound.len() >= all.len();
            let used = if is_sound { without_far(sound, far_px) } else { all.clone() };
            if 2 * all.len() < n || used.is_empty() {
                means.push(None);
                continue;
            }
            let count = used.len() as f64;
            let middle = used.iter().map(|p| p.middle_px).sum::<f64>() / count;
            let scatter2 = used.iter().map(|p| (p.middle_px - middle).powi(2)).sum::<f64>();
            let widths: Vec<f64> = used.iter().filter_map(|p| p.width_px).collect();
            let width_px = (!widths.is_empty()).then(|| widths.iter().sum::<f64>() / widths.len() as f64);
            let own = used.iter().map(|p| p.u_px * p.u_px).sum::<f64>().sqrt() / count;
            let at = base.path.at(self.s_px[k], middle);
            means.push(Some((Station { at, u_px: own, width_px, sound: is_sound, ..*station }, scatter2, used.len())));
        }
        let mut stations = Vec::new();
        for (k, mean) in means.iter().enumerate() {
            let Some((station, _, count)) = mean else { continue };
            let near = means[k.saturating_sub(POOLED)..(k + POOLED + 1).min(means.len())].iter().flatten();
            let (sum, dof) = near.filter(|m| m.0.sound).fold((0.0, 0), |(s, d), m| (s + m.1, d + m.2 - 1));
            let scatter = if dof > 0 { (sum / dof as f64).sqrt() } else { 0.0 };
            // the scatter holds each photo's own noise already; the larger counts, not both
            let u_px = (scatter / (*count as f64).sqrt()).max(station.u_px).max(LEAST_U_PX);
            stations.push(Station { u_px, ..*station });
        }
        let burst = self.told(&means, notices);
        let frames = self.views.iter().filter(|v| v.trace.end == End::Frame).count();
        let end = if 2 * frames > n { End::Frame } else { base.end };
        (Trace { stations, end, ..base.clone() }, Some(burst))
    }

    /// Tells how camera and stream moved from photo to photo, and what all stations share of it.
    fn told(&self, means: &[Option<(Station, f64, usize)>], notices: &mut Vec<Notice>) -> Burst {
        let n = self.views.len() as f64;
        let base = &self.views[0].trace;
        let (sum, dof) =
            means.iter().flatten().filter(|m| m.0.sound).fold((0.0, 0), |(s, d), m| (s + m.1, d + m.2 - 1));
        let scatter = (sum / dof.max(1) as f64).sqrt();
        // how far each photo's stream lies from the mean as a whole: over all places, and over the last third
        let mut whole = Vec::new();
        let mut far_end: Option<(usize, f64)> = None;
        for (view, places) in self.views.iter().zip(&self.places) {
            let off: Vec<f64> = places
                .iter()
                .zip(means)
                .filter_map(|(p, m)| {
                    let (place, mean) = (p.as_ref()?, m.as_ref()?);
                    let (_, middle) = base.path.locate(mean.0.at)?;
                    (place.sound && mean.0.sound).then_some(place.middle_px - middle)
                })
                .collect();
            if off.len() < 8 {
                continue;
            }
            whole.push(off.iter().sum::<f64>() / off.len() as f64);
            let last = &off[off.len() * 2 / 3..];
            let mean = last.iter().sum::<f64>() / last.len() as f64;
            if far_end.is_none_or(|(_, worst)| mean.abs() > worst.abs()) {
                far_end = Some((view.number, mean));
            }
        }
        let registration = self.views.iter().map(|v| v.movement.u_px.powi(2)).sum::<f64>().sqrt() / n;
        let spread = (whole.iter().map(|m| m * m).sum::<f64>() / (whole.len() as f64 - 1.0).max(1.0)).sqrt();
        let shake = self.views.iter().map(|v| v.movement.shift_px[0].hypot(v.movement.shift_px[1])).fold(0.0, f64::max);
        let says = format!(
            "{} photos count together: the camera moved by up to {shake:.1} px, each station by {scatter:.2} px from photo to photo",
            self.views.len()
        );
        notices.push(Notice::new("photo.files", says).aside());
        if let Some((number, off)) = far_end.filter(|(_, off)| off.abs() > (2.0 * scatter).max(1.0)) {
            let says = format!(
                "the far part of the stream lies {:.1} px from the mean in photo {number}: it moved as a whole between the photos",
                off.abs()
            );
            notices.push(Notice::new("photo.files", says).doubt().hint("let the head settle, or leave that photo out"));
        }
        Burst { photos: self.views.len(), u_px: registration.max(spread / n.sqrt()) }
    }
}

/// The stations of one view at the places `s_px` along the curve of `base`, between neighbours by a straight line.
fn places(stations: &[Station], base: &Trace, s_px: &[f64]) -> Vec<Option<Place>> {
    let mut own: Vec<(f64, f64, Station)> =
        stations.iter().filter_map(|s| base.path.locate(s.at).map(|(along, across)| (along, across, *s))).collect();
    own.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    let mut steps: Vec<f64> = s_px.windows(2).map(|w| w[1] - w[0]).collect();
    steps.sort_unstable_by(f64::total_cmp);
    let most = 2.5 * steps.get(steps.len() / 2).copied().unwrap_or(1.0);
    s_px.iter()
        .map(|&s| {
            let i = own.partition_point(|o| o.0 < s);
            let (before, after) = (i.checked_sub(1).and_then(|j| own.get(j)), own.get(i));
            match (before, after) {
                (Some(a), Some(b)) if b.0 - a.0 <= most => {
                    let t = (s - a.0) / (b.0 - a.0).max(1e-9);
                    Some(Place {
                        middle_px: a.1 + t * (b.1 - a.1),
                        width_px: a.2.width_px.zip(b.2.width_px).map(|(a, b)| a + t * (b - a)),
                        u_px: (a.2.u_px * (1.0 - t)).hypot(b.2.u_px * t),
                        sound: a.2.sound && b.2.sound,
                    })
                }
                // the first and the last station stand for themselves
                (None, Some(o)) | (Some(o), None) if (o.0 - s).abs() <= 0.2 * most => {
                    Some(Place { middle_px: o.1, width_px: o.2.width_px, u_px: o.2.u_px, sound: o.2.sound })
                }
                _ => None,
            }
        })
        .collect()
}

/// Without what lies `far_px` from the median of three photos and more.
fn without_far(mut all: Vec<Place>, far_px: f64) -> Vec<Place> {
    if all.len() >= 3 {
        let middle = median(all.iter().map(|p| p.middle_px));
        all.retain(|p| (p.middle_px - middle).abs() <= far_px);
    }
    all
}

/// Median; NaN of nothing.
fn median(values: impl Iterator<Item = f64>) -> f64 {
    statistics::median(&mut values.collect::<Vec<_>>()).unwrap_or(f64::NAN)
}
