//! The stream's width along the jet, beside what continuity asks for.

use super::{Axis, Dash, Drawn, Figure, Frame, Ink, Layer, Shape, named};
use crate::measure::Findings;
use crate::quantity::show;

/// Width at each station, and the width that a round stream of constant discharge has: as the water speeds up along
/// the path it thins as the inverse root of the speed (continuity, Q = V pi d^2 / 4).
///
/// # Errors
/// Where no station has a width: all were placed by hand.
pub fn width(findings: &Findings) -> Drawn {
    let of = |used| {
        findings
            .stations
            .iter()
            .filter(move |s| s.used == used)
            .filter_map(|s| Some(([s.x_mm, s.width_mm?], None)))
            .collect::<Vec<_>>()
    };
    let (used, unused): (Vec<_>, Vec<_>) = (of(true), of(false));
    if used.is_empty() && unused.is_empty() {
        return Err("the stations have no width: they were placed by hand".to_owned());
    }
    let continuity: Vec<[f64; 2]> = findings.stream_width.as_ref().map_or_else(Vec::new, |start| {
        findings.fitted.iter().map(|p| [p.x_mm, start.value / p.speed_up.sqrt()]).collect()
    });
    let all = used.iter().chain(&unused).map(|(p, _): &([f64; 2], Option<f64>)| *p).chain(continuity.iter().copied());
    let x = Axis::over("x / mm", all.clone().map(|[x, _]| x).chain([0.0]));
    let y = Axis::over("width of the stream / mm", all.map(|[_, y]| y));
    let count = used.len() + unused.len();
    let mut layers = vec![Layer::Marks { name: named("station"), points: used, shape: Shape::Disc, ink: Ink::Blue }];
    if !unused.is_empty() {
        layers.push(Layer::Marks {
            name: named("left out of the fit"),
            points: unused,
            shape: Shape::Ring,
            ink: Ink::Vermilion,
        });
    }
    if !continuity.is_empty() {
        let name = named("continuity, from the vena contracta");
        layers.push(Layer::Line { name, points: continuity, ink: Ink::Black, dash: Dash::Long });
    }
    let start = findings
        .stream_width
        .as_ref()
        .map_or(String::new(), |w| format!(" At the vena contracta it is {}.", show(w.value, w.u, &w.unit)));
    Ok(Figure {
        name: "width".into(),
        caption: format!(
            "Width of the stream across its own direction, beside the width that continuity asks of a round \
             stream.{start} A stream that widens is breaking up, or something beside it was taken for its edge."
        ),
        description: format!("Width of the stream at {count} stations against x, with the line of continuity.{start}"),
        frame: Frame::Axes { x, y, aspect: 0.36 },
        layers,
    })
}
