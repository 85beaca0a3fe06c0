//! The check of everything marked on the photo: scales, plane, vertical, straight edges, stream.

use super::{Check, assumed, defaults, given_quietly};
use crate::point::PixelPoint;
use crate::quantity::{Kind, Length, Ratio, Reading, show_plain, two_digits};
use crate::sheet::{Given, Origin, Placed, ScaleLine, ScaleMarks, Sheet};

/// A mark of a plane with its bench coordinates.
type PlaneMark = (Placed, [Given<Length>; 2]);

impl Check<'_> {
    pub(super) fn scales(&mut self, sheet: &Sheet, distance: Option<Given<Length>>) -> Vec<ScaleLine> {
        let paths = self.places.scales.clone();
        let several = sheet.scales.len() > 1;
        let path = |i: usize| {
            paths.get(i).cloned().unwrap_or_else(|| if several { format!("scale[{}]", i + 1) } else { "scale".into() })
        };
        let lines = sheet.scales.iter().enumerate().map(|(i, scale)| {
            let path = path(i);
            let (marks, is_pair) = match &scale.marks {
                ScaleMarks::Pair { marks, length } => (self.pair(*marks, *length, &path), true),
                ScaleMarks::Readings(readings) => (self.readings(readings, &path), false),
            };
            let behind_jet = self.behind_jet(scale.behind_jet, &format!("{path}.behind_jet"), "the scale", distance);
            ScaleLine { marks, is_pair, behind_jet }
        });
        let lines = lines.collect();
        for (about, marks) in &self.places.loose.pairs {
            self.mark_pair(*marks, about);
        }
        lines
    }

    fn mark_pair(&mut self, marks: [PixelPoint; 2], about: &str) -> [Placed; 2] {
        let placed = marks.map(|m| self.mark(m, about));
        self.apart(marks, about, "the two scale marks", "mark two graduations far apart");
        placed
    }

    fn pair(&mut self, marks: [PixelPoint; 2], length: Reading<Length>, path: &str) -> Vec<(Placed, Given<Length>)> {
        let placed = self.mark_pair(marks, &format!("{path}.marks"));
        let about = format!("{path}.length");
        self.is_positive(&length, &about, "the scale's length");
        let u_m = defaults::rule_limit_mm(length.value.si()) / 1000.0 / 3f64.sqrt();
        let length = self.given(length, &about, u_m, "mm");
        let zero = Length::from_si(0.0);
        let start = Given { value: zero, u: zero, origin: Origin::Typed, u_origin: length.u_origin };
        vec![(placed[0], start), (placed[1], length)]
    }

    fn readings(&mut self, readings: &[(PixelPoint, Reading<Length>)], path: &str) -> Vec<(Placed, Given<Length>)> {
        let about = format!("{path}.marks");
        if readings.len() < 2 {
            let says = format!("a ruler needs two readings or more, not {}", readings.len());
            self.fault(&about, says, "as in marks = [{ px = [1020.0, 310.5], at = \"0 mm\" }, ...]");
            return Vec::new();
        }
        self.rises_along(readings, &about);
        let positions = || readings.iter().map(|(_, at)| at.value.si());
        let (lo, hi) = positions().fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), x| (lo.min(x), hi.max(x)));
        // Such that the distance of any two readings is as uncertain as that of a pair.
        let u_m = defaults::rule_limit_mm(hi - lo) / 1000.0 / 6f64.sqrt();
        if readings.iter().any(|(_, at)| at.u.is_none()) {
            let says = format!(
                "readings without an uncertainty, ± {} assumed for each",
                show_plain(two_digits(1000.0 * u_m), "mm")
            );
            self.notice(&about, says, "state one, as in at = \"250 mm ± 0.1 mm\"");
        }
        let each = readings
            .iter()
            .enumerate()
            .map(|(i, (px, at))| (self.mark(*px, &format!("{about}[{}].px", i + 1)), given_quietly(*at, u_m)));
        each.collect()
    }

    /// Tells a fault unless readings rise, or fall, all along the line from the lowest to the highest.
    fn rises_along(&mut self, readings: &[(PixelPoint, Reading<Length>)], about: &str) {
        let mut sorted = readings.to_vec();
        sorted.sort_by(|a, b| a.1.value.si().total_cmp(&b.1.value.si()));
        let (Some(first), Some(last)) = (sorted.first(), sorted.last()) else { return };
        if !self.apart([first.0, last.0], about, "the ruler's first and last reading", "read it over a longer stretch")
        {
            return;
        }
        let direction = (last.0.x - first.0.x, last.0.y - first.0.y);
        let along = |p: PixelPoint| p.x * direction.0 + p.y * direction.1;
        for pair in sorted.windows(2) {
            let [(px, at), (next_px, next_at)] = pair else { continue };
            if at.value == next_at.value {
                let says = format!("{} is read at two places", show_plain(at.value.si() * 1000.0, "mm"));
                self.fault(about, says, "give each reading once");
                return;
            }
            if along(*next_px) <= along(*px) {
                let mm = |at: &Reading<Length>| show_plain(at.value.si() * 1000.0, "mm");
                let says = format!("{} and {} stand in the wrong order along the ruler", mm(at), mm(next_at));
                self.fault(about, says, "readings must rise steadily along a ruler");
                return;
            }
        }
    }

    pub(super) fn plane(&mut self, sheet: &Sheet, distance: Option<Given<Length>>) -> (Vec<PlaneMark>, Given<Length>) {
        let Some(plane) = &sheet.plane else {
            return (Vec::new(), assumed(0.0, defaults::IN_PLANE_U_M));
        };
        let about = "plane.marks";
        if plane.marks.len() < 4 {
            let says = format!("the plane has {} marks, at least four are needed", plane.marks.len());
            self.fault(about, says, "as in marks = [{ px = [210.0, 180.0], at = [\"0 mm\", \"0 mm\"] }, ...]");
        } else {
            let px: Vec<_> = plane.marks.iter().map(|(p, _)| (p.x, p.y)).collect();
            let at: Vec<_> = plane.marks.iter().map(|(_, [x, y])| (x.value.si(), y.value.si())).collect();
            let hint = "no three of four corner marks may lie on one line";
            if !spans_a_plane(&px) {
                self.fault(about, "the marks lie on one line in the photo, or too many of them do", hint);
            } else if !spans_a_plane(&at) {
                self.fault(about, "the marks lie on one line on the bench, or too many of them do", hint);
            }
        }
        let coordinates = || plane.marks.iter().flat_map(|(_, at)| at);
        let size = coordinates().fold(0.0, |size: f64, c| size.max(c.value.si().abs()));
        let u_m = defaults::rule_limit_mm(size) / 1000.0 / 6f64.sqrt();
        if coordinates().any(|c| c.u.is_none()) {
            let says = format!(
                "coordinates without an uncertainty, ± {} assumed for each",
                show_plain(two_digits(1000.0 * u_m), "mm")
            );
            self.notice(about, says, "state one, as in at = [\"900 mm ± 0.2 mm\", \"0 mm ± 0.2 mm\"]");
        }
        let each = plane.marks.iter().enumerate().map(|(i, (px, at))| {
            (self.mark(*px, &format!("{about}[{}].px", i + 1)), at.map(|c| given_quietly(c, u_m)))
        });
        let marks = each.collect();
        (marks, self.behind_jet(plane.behind_jet, "plane.behind_jet", "the plane", distance))
    }

    pub(super) fn behind_jet(
        &mut self,
        stated: Option<Reading<Length>>,
        about: &str,
        what: &str,
        distance: Option<Given<Length>>,
    ) -> Given<Length> {
        let Some(reading) = stated else {
            let u = show_plain(defaults::IN_PLANE_U_M * 1000.0, "mm");
            let says = format!("{what} is taken to stand in the jet's plane, ± {u}");
            self.notice(about, says, "measure how far behind the jet it stands: behind_jet = \"0 mm ± 1 mm\"");
            return assumed(0.0, defaults::IN_PLANE_U_M);
        };
        let behind = self.given(reading, about, defaults::BEHIND_JET_U_M, "mm");
        match distance {
            Some(distance) if behind.value.si() <= -distance.value.si() => {
                self.fault(about, format!("{what} would stand behind the camera"), "see camera.distance");
            }
            None if behind.value.si() != 0.0 => {
                let says = format!(
                    "{what} stands {} from the jet's plane, and no camera distance is stated: it is taken from the \
                     photo's metadata, which is doubtful",
                    show_plain(behind.value.si().abs() * 1000.0, "mm")
                );
                self.notice(about, says, "measure it: distance = \"1.8 m ± 0.02 m\" under [camera]");
            }
            _ => {}
        }
        behind
    }

    pub(super) fn plumb(&mut self, marks: [PixelPoint; 2]) -> Option<[Placed; 2]> {
        let about = "vertical.plumb";
        let [a, b] = marks.map(|m| self.mark(m, about));
        if !self.apart(marks, about, "the two marks of the plumb line", "mark its two ends") {
            return None;
        }
        let (dx, dy) = (b.at.x - a.at.x, b.at.y - a.at.y);
        if dx.abs() > dy.abs() {
            let hint = "something horizontal is marked as level = [...]; turn a photo that lies on its side";
            if dy == 0.0 {
                self.fault(
                    about,
                    "the plumb line lies level in the photo, so it does not tell which way is down",
                    hint,
                );
                return None;
            }
            self.notice(about, "the plumb line lies nearer to level than to upright", hint);
        }
        Some(if dy < 0.0 { [b, a] } else { [a, b] })
    }

    pub(super) fn level(&mut self, marks: [PixelPoint; 2]) -> Option<[Placed; 2]> {
        let about = "vertical.level";
        let placed = marks.map(|m| self.mark(m, about));
        if !self.apart(marks, about, "the two marks of the level line", "mark its two ends") {
            return None;
        }
        if (marks[1].y - marks[0].y).abs() > (marks[1].x - marks[0].x).abs() {
            let hint = "something vertical is marked as plumb = [...]; turn a photo that lies on its side";
            self.notice(about, "the level line lies nearer to upright than to level", hint);
        }
        Some(placed)
    }

    pub(super) fn straight(&mut self, sheet: &Sheet) -> Vec<Vec<Placed>> {
        let edges = sheet.straight.iter().enumerate().map(|(i, edge)| {
            let about = format!("lens.straight[{}]", i + 1);
            if edge.len() < 3 {
                let says = format!("a straight edge with {} points tells nothing of the lens", edge.len());
                self.fault(&about, says, "mark three points or more along it, best five");
            }
            edge.iter().map(|p| self.mark(*p, &about)).collect()
        });
        edges.collect()
    }

    pub(super) fn k1(&mut self, sheet: &Sheet) -> Option<Given<Ratio>> {
        let reading = sheet.k1?;
        if reading.value.si().abs() > 1.0 {
            self.fault("lens.k1", "a radial distortion beyond 1 is no photo", "common lenses lie between -0.3 and 0.3");
        }
        let u = defaults::K1_RELATIVE_U * reading.value.si().abs();
        Some(self.given(reading, "lens.k1", u, ""))
    }

    pub(super) fn stream(&mut self, sheet: &Sheet) {
        let stream = &sheet.stream;
        if stream.level.is_some_and(|level| !(0.0..=1.0).contains(&level)) {
            self.fault("stream.level", "the level is outside 0 to 1", "or level = \"auto\"");
        }
        if !stream.look_in.is_empty() {
            self.polygon(&stream.look_in, "stream.look_in");
        }
        for (i, area) in stream.leave_out.iter().enumerate() {
            self.polygon(area, &format!("stream.leave_out[{}]", i + 1));
        }
        if let Some(until) = &stream.until {
            self.is_positive(until, "stream.until", "the last x to use");
        }
        for (i, station) in stream.by_hand.iter().enumerate() {
            self.mark(*station, &format!("stream.by_hand[{}]", i + 1));
        }
    }

    /// Its points may lie outside the photo: an area may run over the edge.
    fn polygon(&mut self, points: &[PixelPoint], about: &str) {
        if points.len() < 3 {
            let says = format!("an area needs three points or more, not {}", points.len());
            self.fault(about, says, "as in [[x, y], [x, y], [x, y]]");
        } else if points.iter().any(|p| !(p.x.is_finite() && p.y.is_finite())) {
            self.fault(about, "a point is not finite", "");
        }
    }

    /// Tells a fault and gives false where two marks are nearer than clicks can tell apart.
    pub(super) fn apart(&mut self, marks: [PixelPoint; 2], about: &str, what: &str, hint: &str) -> bool {
        let distance_px = marks[0].distance(marks[1]);
        if distance_px >= defaults::NEAREST_MARKS_PX {
            return true;
        }
        let says = if distance_px == 0.0 {
            format!("{what} are the same point")
        } else {
            format!("{what} are only {} apart", show_plain(two_digits(distance_px), "px"))
        };
        self.fault(about, says, hint);
        false
    }
}

/// Whether four of the points are in general position (no three on a line): enough to hold a
/// projective map. It fails exactly where all points but at most one lie on one line.
///
/// Such a line would pass two of any three points. So three that span the set are taken, the two
/// farthest apart and the one farthest from their line, and for each line through two of them the
/// points off it are counted. Farther than 1 % of the size counts as off.
fn spans_a_plane(points: &[(f64, f64)]) -> bool {
    let mut points = points.to_vec();
    points.sort_by(|p, q| p.0.total_cmp(&q.0).then(p.1.total_cmp(&q.1)));
    points.dedup();
    let distance = |a: (f64, f64), b: (f64, f64)| (a.0 - b.0).hypot(a.1 - b.1);
    let pairs = points.iter().enumerate().flat_map(|(i, a)| points[i + 1..].iter().map(move |b| (*a, *b)));
    let Some((a, b)) = pairs.max_by(|p, q| distance(p.0, p.1).total_cmp(&distance(q.0, q.1))) else {
        return false;
    };
    let limit = 0.01 * distance(a, b);
    let off = |p: (f64, f64), a: (f64, f64), b: (f64, f64)| {
        ((b.0 - a.0) * (p.1 - a.1) - (b.1 - a.1) * (p.0 - a.0)).abs() / distance(a, b).max(f64::MIN_POSITIVE)
    };
    let Some(c) = points.iter().copied().max_by(|p, q| off(*p, a, b).total_cmp(&off(*q, a, b))) else {
        return false;
    };
    [(a, b), (b, c), (c, a)]
        .iter()
        .all(|(from, to)| points.iter().filter(|p| off(**p, *from, *to) > limit).count() >= 2)
}

#[cfg(test)]
mod tests {
    use super::spans_a_plane;

    #[test]
    fn four_marks_in_general_position_are_needed() {
        let square = [(0.0, 0.0), (9.0, 0.0), (9.0, 7.0), (0.0, 7.0)];
        // Two rulers that meet in a corner: two marks of each, without the corner, hold the plane.
        let corner = [(0.0, 0.0), (5.0, 0.0), (9.0, 0.0), (0.0, 4.0), (0.0, 8.0)];
        assert!(spans_a_plane(&square) && spans_a_plane(&corner));
        for too_few in [
            vec![(0.0, 0.0), (1.0, 1.0), (2.0, 2.0), (3.0, 3.0)],
            vec![(0.0, 0.0), (1.0, 1.0), (2.0, 2.0), (3.0, 0.0)],
            vec![(0.0, 0.0), (0.0, 0.0), (9.0, 0.0), (9.0, 7.0)],
            vec![(0.0, 0.0), (4.5, 0.01), (9.0, 0.0), (9.0, 7.0)],
            vec![(3.0, 3.0); 4],
            vec![(0.0, 0.0), (0.0, 0.0), (9.0, 0.0), (9.0, 0.0), (9.0, 7.0), (9.0, 7.0)],
        ] {
            assert!(!spans_a_plane(&too_few), "{too_few:?}");
        }
    }
}
