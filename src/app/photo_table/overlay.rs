//! What lies on the photo, in pixels of the photo: a plain list, which [`super::paint`] draws.

use crate::app::command::Layer;
use crate::app::guide;
use crate::app::line::Line;
use crate::app::marks::{Mark, MarkKind};
use crate::app::measurer::Measured;
use crate::app::state::State;
use crate::calibration::Calibration;
use crate::measure::PathPoint;
use crate::point::{BenchPoint, PixelPoint};
use crate::quantity::{Kind, show};

/// One thing on the photo.
#[derive(Clone, Debug, PartialEq)]
pub enum Item {
    /// A line through points, closed or open.
    Line {
        /// Its points.
        points: Vec<PixelPoint>,
        /// What it tells.
        role: Role,
        /// Whether the last point is joined to the first.
        closed: bool,
    },
    /// A station of the stream's middle line.
    Station {
        /// Where it is.
        at: PixelPoint,
        /// Unit normal of the stream.
        normal: [f64; 2],
        /// Its standard uncertainty along the normal.
        u_px: f64,
        /// Whether the fit used it.
        used: bool,
    },
    /// A mark of the sheet.
    Mark {
        /// The mark.
        mark: Mark,
        /// Whether it is in hand.
        in_hand: bool,
        /// Whether its kind belongs to the line in hand.
        of_line: bool,
    },
    /// About where the guide has the next mark.
    Near(PixelPoint),
    /// Something found in the photo that waits for consent.
    Found(PixelPoint),
    /// A short text beside a place.
    Label {
        /// The place.
        at: PixelPoint,
        /// The text.
        text: String,
        /// What it belongs to.
        role: Role,
    },
}

/// What a line or a label tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Role {
    /// The plumb line.
    Plumb,
    /// The level line.
    Level,
    /// A ruler.
    Scale,
    /// A straight edge.
    Straight,
    /// The orifice to scale.
    Orifice,
    /// The only area to look in.
    LookIn,
    /// A left-out area.
    LeaveOut,
    /// A rim of the stream.
    Edge,
    /// The fitted trajectory between its ends.
    Fitted,
    /// The fitted trajectory beyond the stations.
    FittedBeyond,
    /// The path without loss.
    Predicted,
}

/// Everything on the photo, what lies lowest first.
pub fn items(state: &State, size_px: [f64; 2]) -> Vec<Item> {
    let mut items = Vec::new();
    let shown = |layer| state.layers.contains(&layer);
    let measured = state.live.measured.as_deref();
    if let Some(measured) = measured {
        if shown(Layer::Edges) {
            edges(measured, &mut items);
        }
        if shown(Layer::Predicted) {
            predicted(measured, size_px, &mut items);
        }
        if shown(Layer::Stations) {
            stations(measured, &mut items);
        }
        if shown(Layer::Fitted) {
            path(&measured.findings.fitted, Role::Fitted, &mut items);
        }
    }
    if shown(Layer::Marks) {
        let marks = state.marks();
        lines(state, marks, &mut items);
        if let Some(measured) = measured {
            graduations(measured, &mut items);
            orifice(&measured.seen.sight.calibration, measured, &mut items);
        }
        let of_line = |m: &Mark| m.kind.line() == state.line;
        let is_in_hand = |m: &Mark| state.mark.as_deref() == Some(m.key.as_str());
        let put = |mark: Mark| Item::Mark { in_hand: is_in_hand(&mark), of_line: of_line(&mark), mark };
        let (hand, others): (Vec<_>, Vec<_>) = marks.iter().cloned().partition(is_in_hand);
        items.extend(others.into_iter().chain(hand).map(put));
    }
    if state.line == Line::Scale
        && let Some(card) = state.card_offered()
    {
        items.extend(card.marks.iter().map(|m| Item::Found(m.at)));
    }
    items.extend(guide::near(state).map(Item::Near));
    items
}

/// Lines through marks of one kind, and areas.
fn lines(state: &State, marks: &[Mark], items: &mut Vec<Item>) {
    let mut kinds: Vec<MarkKind> = Vec::new();
    for mark in marks {
        if !kinds.contains(&mark.kind) {
            kinds.push(mark.kind);
        }
    }
    for kind in kinds {
        let points: Vec<PixelPoint> = marks.iter().filter(|m| m.kind == kind).map(|m| m.at).collect();
        let (role, closed) = match kind {
            MarkKind::Plumb => (Role::Plumb, false),
            MarkKind::Level => (Role::Level, false),
            MarkKind::Scale(_) => (Role::Scale, false),
            MarkKind::Straight(_) => (Role::Straight, false),
            MarkKind::LookIn => (Role::LookIn, true),
            MarkKind::LeaveOut(_) => (Role::LeaveOut, true),
            MarkKind::Plane | MarkKind::Card | MarkKind::Orifice | MarkKind::ByHand | MarkKind::Surface => continue,
        };
        if points.len() < 2 {
            continue;
        }
        if let MarkKind::Scale(n) = kind {
            let middle = between(points[0], points[points.len() - 1], 0.5);
            let text = scale_says(state, n, points.len());
            items.push(Item::Label { at: middle, text, role });
        } else if closed {
            items.push(Item::Label { at: points[0], text: kind.name(), role });
        }
        items.push(Item::Line { points, role, closed: closed && kind != MarkKind::Plumb });
    }
}

/// `300 mm ± 0.2 mm`, as it was typed; a ruler's first and last reading.
fn scale_says(state: &State, n: usize, marks: usize) -> String {
    let typed = |key: String| Some(state.typed(&key)).filter(|t| !t.is_empty());
    let single = |key: &str| (n == 1).then(|| typed(format!("scale.{key}"))).flatten();
    let length = typed(format!("scale[{n}].length")).or_else(|| single("length"));
    let reading = |i: usize| typed(format!("scale[{n}].marks[{i}].at")).or_else(|| single(&format!("marks[{i}].at")));
    match (length, reading(1), reading(marks)) {
        (Some(length), ..) => length,
        (None, Some(first), Some(last)) => format!("{first} to {last}"),
        _ => "length not typed yet".into(),
    }
}

/// The lines of each ruler that was read, as far across as half their distance.
fn graduations(measured: &Measured, items: &mut Vec<Item>) {
    for ruler in measured.seen.sight.rulers.iter().flatten() {
        let Ok(found) = &ruler.found else { continue };
        let lines = found.value.lines();
        let (_, [ax, ay]) = found.value.line();
        let apart = lines.first().zip(lines.get(1)).map_or(0.0, |(a, b)| a.distance(*b));
        let half = (0.5 * apart).clamp(3.0, 12.0);
        items.extend(lines.iter().map(|p| Item::Line {
            points: vec![
                PixelPoint::new(p.x + half * ay, p.y - half * ax),
                PixelPoint::new(p.x - half * ay, p.y + half * ax),
            ],
            role: Role::Scale,
            closed: false,
        }));
    }
}

/// The orifice as large as it is, where the camera is known.
fn orifice(calibration: &Calibration, measured: &Measured, items: &mut Vec<Item>) {
    let diameter = measured.sheet.diameter;
    let (mm, u_mm) = (diameter.value.si() * 1000.0, diameter.u.si() * 1000.0);
    let around = (0..48).map(|i| f64::from(i) * std::f64::consts::TAU / 48.0);
    let circle: Option<Vec<_>> =
        around.map(|a| calibration.pixel_from_bench(BenchPoint::new(0.5 * mm * a.cos(), 0.5 * mm * a.sin()))).collect();
    let Some(points) = circle else { return };
    let top = points.iter().copied().min_by(|a, b| a.y.total_cmp(&b.y));
    if let Some(at) = top {
        items.push(Item::Label { at, text: format!("d {}", show(mm, u_mm, "mm")), role: Role::Orifice });
    }
    items.push(Item::Line { points, role: Role::Orifice, closed: true });
}

/// Both rims of the stream, from the stations' widths.
fn edges(measured: &Measured, items: &mut Vec<Item>) {
    for side in [-0.5, 0.5] {
        let rim = measured.seen.sight.trace.stations.iter().filter_map(|s| {
            let off = side * s.width_px?;
            Some(PixelPoint::new(s.at.x + off * s.normal[0], s.at.y + off * s.normal[1]))
        });
        items.push(Item::Line { points: rim.collect(), role: Role::Edge, closed: false });
    }
}

fn stations(measured: &Measured, items: &mut Vec<Item>) {
    let rows = &measured.findings.stations;
    for (i, s) in measured.seen.sight.trace.stations.iter().enumerate() {
        let used = rows.get(i).is_some_and(|row| row.used);
        items.push(Item::Station { at: s.at, normal: s.normal, u_px: s.u_px, used });
    }
}

/// The path without loss, and the fitted one beyond its stations, both to the frame's border.
fn predicted(measured: &Measured, size_px: [f64; 2], items: &mut Vec<Item>) {
    let calibration = &measured.seen.sight.calibration;
    let findings = &measured.findings;
    path(&findings.predicted, Role::Predicted, items);
    for (points, role) in [(&findings.predicted, Role::Predicted), (&findings.fitted, Role::FittedBeyond)] {
        let on = beyond(points, calibration, size_px);
        if on.len() > 1 {
            items.push(Item::Line { points: on, role, closed: false });
        }
    }
    if let Some(last) = findings.predicted.last() {
        items.push(Item::Label { at: last.px.into(), text: "without loss".into(), role: Role::Predicted });
    }
}

fn path(points: &[PathPoint], role: Role, items: &mut Vec<Item>) {
    if points.len() > 1 {
        items.push(Item::Line { points: points.iter().map(|p| p.px.into()).collect(), role, closed: false });
    }
}

/// A path of the findings from its last point on, until it leaves the photo: the same parabola in x, which three of
/// its points tell.
fn beyond(points: &[PathPoint], calibration: &Calibration, size_px: [f64; 2]) -> Vec<PixelPoint> {
    let (Some(first), Some(middle), Some(last)) = (points.first(), points.get(points.len() / 2), points.last()) else {
        return Vec::new();
    };
    let (x0, x1, x2) = (first.x_mm, middle.x_mm, last.x_mm);
    let step = (x2 - x0) / 60.0;
    if !(x1 > x0 && x2 > x1) {
        return Vec::new();
    }
    let y = |x: f64| {
        first.y_mm * (x - x1) * (x - x2) / ((x0 - x1) * (x0 - x2))
            + middle.y_mm * (x - x0) * (x - x2) / ((x1 - x0) * (x1 - x2))
            + last.y_mm * (x - x0) * (x - x1) / ((x2 - x0) * (x2 - x1))
    };
    let inside = |p: &PixelPoint| p.x >= 0.0 && p.y >= 0.0 && p.x <= size_px[0] && p.y <= size_px[1];
    let mut out = Vec::new();
    for i in 0..600 {
        let x = x2 + step * f64::from(i);
        let Some(p) = calibration.pixel_from_bench(BenchPoint::new(x, y(x))) else { break };
        out.push(p);
        if !inside(&p) {
            break;
        }
    }
    out
}

/// The point a `share` of the way from `a` to `b`.
fn between(a: PixelPoint, b: PixelPoint, share: f64) -> PixelPoint {
    PixelPoint::new(a.x + share * (b.x - a.x), a.y + share * (b.y - a.y))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::document::Document;
    use crate::app::measurer::{Measurer, Request};
    use std::path::Path;

    /// A shipped sample, measured.
    fn sample() -> (State, [f64; 2]) {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples");
        let path = folder.join("old-print-run11.toml");
        let mut state = State::default();
        state.show(Document::open(&path, &std::fs::read_to_string(&path).unwrap()));
        let document = state.document.as_ref().unwrap();
        let (revision, version) = (document.revision(), document.now().clone());
        let mut answers = Vec::new();
        let request = Request { revision, version, name: "s.toml".into(), folder };
        Measurer::default().answer(&request, &|| false, &mut |a| answers.push(a));
        answers.into_iter().for_each(|a| state.hear(a));
        let photo = &state.live.pictures.as_ref().unwrap().set.photos[0];
        let size = [photo.width as f64, photo.height as f64];
        (state, size)
    }

    fn lines(items: &[Item], role: Role) -> Vec<&[PixelPoint]> {
        let line = |item| match item {
            &Item::Line { ref points, role: r, .. } if r == role => Some(points.as_slice()),
            _ => None,
        };
        items.iter().filter_map(line).collect()
    }

    #[test]
    fn everything_found_lies_where_it_was_found() {
        let (mut state, size) = sample();
        state.layers.insert(Layer::Edges);
        let items = items(&state, size);
        let measured = state.live.measured.clone().unwrap();
        let (sight, findings) = (&measured.seen.sight, &measured.findings);

        let stations = items.iter().filter(|i| matches!(i, Item::Station { .. })).count();
        let used = items.iter().filter(|i| matches!(i, Item::Station { used: true, .. })).count();
        assert_eq!(stations, findings.stations.len());
        assert_eq!(used, findings.stations.iter().filter(|s| s.used).count());

        let rims = lines(&items, Role::Edge);
        assert_eq!(rims.len(), 2);
        // a station of which only one rim was seen has no width
        let both: Vec<_> = sight.trace.stations.iter().filter_map(|s| Some((s.at, s.width_px?))).collect();
        assert_eq!([rims[0].len(), rims[1].len()], [both.len(); 2]);
        assert!(2 * both.len() > stations, "{} of {stations} stations show both rims", both.len());
        for ((a, b), (at, width_px)) in rims[0].iter().zip(rims[1]).zip(both) {
            assert!((a.distance(*b) - width_px).abs() < 1e-9);
            assert!(between(*a, *b, 0.5).distance(at) < 1e-9);
        }

        // the orifice is as wide in the photo as its diameter is by the scale there
        let [circle] = lines(&items, Role::Orifice)[..] else { panic!("one orifice") };
        let width =
            circle.iter().map(|p| p.x).fold(f64::MIN, f64::max) - circle.iter().map(|p| p.x).fold(f64::MAX, f64::min);
        let expected = measured.sheet.diameter.value.si() * 1000.0 * sight.calibration.px_per_mm();
        assert!((width / expected - 1.0).abs() < 0.02, "{width} {expected}: a camera a few degrees askew");

        // beyond its last station the trajectory goes on without a bend, to the frame
        let [fitted] = lines(&items, Role::Fitted)[..] else { panic!("one trajectory") };
        for beyond in lines(&items, Role::FittedBeyond) {
            assert!(beyond[0].distance(*fitted.last().unwrap()) < 1e-6);
            let end = beyond.last().unwrap();
            assert!(end.x <= 0.0 || end.y >= size[1] || end.x >= size[0], "{end:?}");
            let along = |a: PixelPoint, b: PixelPoint| (b.y - a.y).atan2(b.x - a.x);
            let before = along(fitted[fitted.len() - 2], fitted[fitted.len() - 1]);
            assert!((along(beyond[0], beyond[1]) - before).abs() < 0.05);
        }
        assert!(!lines(&items, Role::Predicted).is_empty());
    }

    #[test]
    fn layers_and_the_mark_in_hand_are_heeded() {
        let (mut state, size) = sample();
        let key = state.marks()[0].key.clone();
        state.apply(crate::app::command::Command::TakeMark(Some(key.clone())));
        let all = items(&state, size);
        assert!(matches!(all.last(), Some(Item::Mark { in_hand: true, mark, .. }) if mark.key == key), "on top");
        assert_eq!(all.iter().filter(|i| matches!(i, Item::Mark { .. })).count(), state.marks().len());
        state.layers.clear();
        assert!(items(&state, size).is_empty());
    }

    #[test]
    fn areas_are_closed_and_lengths_are_told_as_typed() {
        let text = "format = 1\n[photo]\nfile = \"c.jpg\"\n[scale]\nmarks = [[1, 2], [301, 2]]\nlength = \"12 in\"\n\
                    [stream]\nleave_out = [[[0, 0], [9, 0], [9, 9]]]\n";
        let mut state = State::default();
        state.show(Document::open(Path::new("c.toml"), text));
        let items = items(&state, [400.0, 300.0]);
        assert!(
            items
                .iter()
                .any(|i| matches!(i, Item::Line { role: Role::LeaveOut, closed: true, points } if points.len() == 3))
        );
        let middle = PixelPoint::new(151.0, 2.0);
        assert!(items.contains(&Item::Label { at: middle, text: "12 in".into(), role: Role::Scale }));
        assert!(items.iter().any(|i| matches!(i, Item::Line { role: Role::Scale, closed: false, .. })));
    }
}
