//! What lies on the photo, in pixels of the photo: a plain list, which [`super::paint`] draws.

use crate::app::command::Layer;
use crate::app::guide;
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
        lines(state, &marks, &mut items);
        if let Some(measured) = measured {
            orifice(&measured.seen.sight.calibration, measured, &mut items);
        }
        let of_line = |m: &Mark| m.kind.line() == state.line;
        let is_in_hand = |m: &Mark| state.mark.as_deref() == Some(m.key.as_str());
        let put = |mark: Mark| Item::Mark { in_hand: is_in_hand(&mark), of_line: of_line(&mark), mark };
        let (hand, others): (Vec<_>, Vec<_>) = marks.into_iter().partition(is_in_hand);
        items.extend(others.into_iter().chain(hand).map(put));
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
            MarkKind::Plane | MarkKind::Orifice | MarkKind::ByHand | MarkKind::Surface => continue,
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
