//! Two traces of one stream made one: what each misplaces for reasons of its own averages out.
//!
//! A photo, and what it shows beyond its dry photo, bear the same waves and the same noise, but not the same mistakes: lines
//! inside a clear stream, and things behind it, lead the two astray at different places.

use super::stations::median;
use super::{Station, Trace};

/// Standard uncertainties of their difference beyond which two stations are not of one and the same thing.
const APART: f64 = 4.0;
/// Spacings of its stations over which the other trace is followed from one to the next.
const GAP: f64 = 2.5;

impl Trace {
    /// Moves each sound station to the mean with where `other` has the stream there, each counting by 1/u^2. Where the other has
    /// no stations about, or has it elsewhere, a station stays as it is.
    ///
    /// Both see the same photo, so the mean is taken to be no more certain than the weighted mean of the two uncertainties.
    #[must_use]
    pub fn joined(mut self, other: &Trace) -> Self {
        let path = &self.path;
        let placed = |s: &Station| path.locate(s.at).map(|(along, across)| (along, across, s.u_px));
        let mut beside: Vec<(f64, f64, f64)> =
            other.stations.iter().filter(|s| s.sound && !s.by_hand).filter_map(placed).collect();
        beside.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut spacing: Vec<f64> = beside.windows(2).map(|pair| pair[1].0 - pair[0].0).collect();
        if spacing.is_empty() {
            return self;
        }
        let gap = GAP * median(&mut spacing);
        for station in self.stations.iter_mut().filter(|s| s.sound && !s.by_hand) {
            let Some((along, across)) = path.locate(station.at) else { continue };
            let after = beside.partition_point(|b| b.0 < along);
            let (Some(a), Some(b)) = (after.checked_sub(1).map(|i| beside[i]), beside.get(after)) else { continue };
            if b.0 - a.0 > gap {
                continue;
            }
            let t = (along - a.0) / (b.0 - a.0).max(1e-9);
            let [there, u_there] = [a.1 + t * (b.1 - a.1), a.2 + t * (b.2 - a.2)];
            if (there - across).abs() > APART * u_there.hypot(station.u_px) {
                continue;
            }
            let share = station.u_px.powi(2) / (station.u_px.powi(2) + u_there.powi(2));
            let [nx, ny] = station.normal;
            station.at.x += share * (there - across) * nx;
            station.at.y += share * (there - across) * ny;
            station.u_px += share * (u_there - station.u_px);
        }
        self
    }
}

#[cfg(test)]
mod tests {
    use super::super::{End, Path};
    use super::*;
    use crate::point::PixelPoint;

    /// A level stream with a station every `every` px, off by `off(x)` downwards.
    fn level(every: usize, u_px: f64, off: impl Fn(f64) -> f64) -> Trace {
        let station = |i: usize| {
            let x = (i * every) as f64;
            let at = PixelPoint::new(x, 50.0 + off(x));
            Station { at, normal: [0.0, 1.0], s_px: x, u_px, width_px: None, by_hand: false, sound: true }
        };
        let path = Path::from_polyline(&[PixelPoint::new(0.0, 50.0), PixelPoint::new(400.0, 50.0)], 1.0);
        let stations = (1..400 / every).map(station).collect();
        Trace { stations, to_the_right: true, end: End::Frame, path, launched: None }
    }

    #[test]
    fn the_mean_of_both_by_their_uncertainties() {
        let own = level(10, 0.2, |_| 0.3);
        let joined = own.clone().joined(&level(7, 0.4, |_| -0.2));
        // ends beyond the other's first and last station stay
        for (before, after) in own.stations.iter().zip(&joined.stations) {
            let inside = (7.0..=392.0).contains(&before.at.x);
            let (y, u) = if inside { (50.2, 0.24) } else { (50.3, 0.2) };
            assert!((after.at.y - y).abs() < 1e-9 && (after.u_px - u).abs() < 1e-9, "{after:?}");
        }
    }

    /// Beyond x = 200 the other follows a ruler, and from 100 to 150 it sees nothing.
    #[test]
    fn where_the_other_is_elsewhere_or_blind_the_own_stands() {
        let own = level(10, 0.2, |_| 0.3);
        let mut other = level(7, 0.2, |x| if x > 200.0 { 12.0 } else { -0.3 });
        other.stations.retain(|s| !(100.0..150.0).contains(&s.at.x));
        let joined = own.clone().joined(&other);
        for (before, after) in own.stations.iter().zip(&joined.stations) {
            let alone = before.at.x > 196.0 || (98.0..154.0).contains(&before.at.x);
            assert!((after.at.y - if alone { 50.3 } else { 50.0 }).abs() < 1e-9, "{after:?}");
        }
        assert_eq!(own.clone().joined(&Trace { stations: Vec::new(), ..own.clone() }), own);
    }
}
