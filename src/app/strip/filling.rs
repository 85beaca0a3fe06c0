//! Volume caught against time, beside the discharge that was found.

use crate::measure::Findings;
use crate::quantity::{Kind, show};
use crate::report::figure::{Axis, Dash, Drawn, Figure, Frame, Ink, Layer, Shape};
use crate::sheet::{Caught, Filling, Flow};

/// Each filling, or each mark of one filling, as a point; the line has the slope of the discharge.
///
/// # Errors
/// Where no filling is stated.
pub fn figure(flow: Option<&Flow>, findings: &Findings) -> Drawn {
    let (fillings, name) = match flow {
        Some(Flow::Timed(fillings)) => (fillings, "filling, ± u"),
        Some(Flow::Running(marks)) => (marks, "mark of the filling, ± u"),
        Some(Flow::Discharge(_)) => return Err("the discharge was typed: there is no filling to show".to_owned()),
        None => return Err("no filling is stated".to_owned()),
    };
    let weighed = fillings.iter().all(|f| matches!(f.caught, Caught::Mass(_)));
    let points: Vec<_> = fillings.iter().filter_map(|f| point(f, weighed)).collect();
    if points.is_empty() {
        return Err("no filling is stated".to_owned());
    }
    let through_origin = matches!(flow, Some(Flow::Timed(_)));
    let x = Axis::over("time / s", points.iter().map(|([t, _], _)| *t).chain([0.0]));
    let what = if weighed { "mass caught / kg" } else { "volume caught / L" };
    let ends = points.iter().flat_map(|([_, v], u)| [v - u.unwrap_or(0.0), v + u.unwrap_or(0.0)]);
    let y = Axis::over(what, ends.chain([0.0]));
    let mut layers = Vec::new();
    let found = findings.discharge.as_ref().filter(|_| !weighed);
    if let Some(q) = found {
        // a running filling may have begun before the watch
        let start = if through_origin { 0.0 } else { middle(&points, 1) - q.value * middle(&points, 0) };
        let line = [x.lo.max(0.0), x.hi].map(|t| [t, start + q.value * t]).to_vec();
        layers.push(Layer::Line {
            name: Some("discharge found".into()),
            points: line,
            ink: Ink::Black,
            dash: Dash::Long,
        });
    }
    let count = points.len();
    layers.push(Layer::Marks { name: Some(name.into()), points, shape: Shape::Bead, ink: Ink::Blue });
    let q = findings
        .discharge
        .as_ref()
        .map_or(String::new(), |q| format!(" The discharge is {}.", show(q.value, q.u, &q.unit)));
    Ok(Figure {
        name: "filling".into(),
        caption: format!("What was caught against the time it took.{q}"),
        description: format!("{count} points of what was caught against time.{q}"),
        frame: Frame::Axes { x, y, aspect: 0.42 },
        layers,
    })
}

fn middle(points: &[([f64; 2], Option<f64>)], i: usize) -> f64 {
    points.iter().map(|(p, _)| p[i]).sum::<f64>() / points.len() as f64
}

/// Time in s against L, or kg where all were weighed.
fn point(filling: &Filling, weighed: bool) -> Option<([f64; 2], Option<f64>)> {
    let time = filling.time.value.si();
    match filling.caught {
        Caught::Volume(v) => Some(([time, 1e3 * v.value.si()], v.u.map(|u| 1e3 * u.si()))),
        Caught::Mass(m) if weighed => Some(([time, m.value.si()], m.u.map(Kind::si))),
        Caught::Mass(_) => None,
    }
}
