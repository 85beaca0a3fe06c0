//! The velocity that each station alone gives, beside the fitted one.

use super::{Axis, Dash, Drawn, Figure, Frame, Ink, Layer, Shape, named};
use crate::measure::{Findings, StationRow};
use crate::quantity::show;

/// Stations whose own velocity is more uncertain than this share of the fitted one would only stretch the axis: near the
/// orifice the drop is small against its uncertainty. They are counted, not drawn.
const WIDEST_SHARE: f64 = 0.02;

/// V of the square-and-yardstick formula at each station against x, beside the fitted value with its 95 % interval.
///
/// # Errors
/// Where there is no velocity, or no station gives one.
pub fn velocity(findings: &Findings) -> Drawn {
    let fitted = findings.velocity.as_ref().ok_or("no velocity was found")?;
    let value = |s: &StationRow| Some(([s.x_mm, s.velocity?], s.velocity_u));
    let of = |used| findings.stations.iter().filter(move |s| s.used == used).filter_map(value).collect::<Vec<_>>();
    let (used, unused) = (of(true), of(false));
    let count = used.len() + unused.len();
    let off = |p: &([f64; 2], Option<f64>)| (p.0[1] - fitted.value).abs();
    let reach = (1.5 * (fitted.hi - fitted.lo)).max(2.0 * ninth_tenth(used.iter().map(off).collect()));
    let told = |p: &([f64; 2], Option<f64>)| off(p) <= reach && p.1.is_none_or(|u| u <= WIDEST_SHARE * fitted.value);
    let used: Vec<_> = used.into_iter().filter(told).collect();
    let unused: Vec<_> = unused.into_iter().filter(told).collect();
    if used.is_empty() {
        return Err("no station is far enough from the orifice to give a velocity of its own".to_owned());
    }
    let all = used.iter().chain(&unused);
    let x = Axis::over("x / mm", all.clone().map(|([x, _], _)| *x).chain([0.0]));
    let y = Axis::over(
        "V at the vena contracta / (m/s)",
        all.flat_map(|([_, v], u)| [v - u.unwrap_or(0.0), v + u.unwrap_or(0.0)]).chain([fitted.lo, fitted.hi]),
    );
    let band = vec![[x.lo, fitted.lo], [x.hi, fitted.lo], [x.hi, fitted.hi], [x.lo, fitted.hi]];
    let line = vec![[x.lo, fitted.value], [x.hi, fitted.value]];
    let shown = used.len() + unused.len();
    let mut layers = vec![
        Layer::Band { name: named("95 % interval of the fit"), outline: band, ink: Ink::Sky },
        Layer::Line { name: named("fitted"), points: line, ink: Ink::Black, dash: Dash::Solid },
        Layer::Marks { name: named("single station, ± u"), points: used, shape: Shape::Disc, ink: Ink::Blue },
    ];
    if !unused.is_empty() {
        layers.push(Layer::Marks {
            name: named("left out of the fit"),
            points: unused,
            shape: Shape::Ring,
            ink: Ink::Vermilion,
        });
    }
    let hidden = match count - shown {
        0 => String::new(),
        n => {
            format!(" {n} of {count} stations are beyond the drawing or too uncertain, most of them near the orifice.")
        }
    };
    let v = show(fitted.value, fitted.u, &fitted.unit);
    Ok(Figure {
        name: "velocity".into(),
        caption: format!(
            "Velocity at the vena contracta from each station alone, with one standard uncertainty of its place, beside \
             the fitted {v} with its 95 % interval.{hidden} Were the calibration and the launch angle perfect, the stations \
             would scatter about the line without a trend."
        ),
        description: format!(
            "Velocity from {shown} single stations against x, and the fitted value {v} as a level line.{hidden}"
        ),
        frame: Frame::Axes { x, y, aspect: 0.42 },
        layers,
    })
}

/// The value that nine in ten do not exceed; 0 for none.
fn ninth_tenth(mut values: Vec<f64>) -> f64 {
    values.sort_unstable_by(f64::total_cmp);
    values.get(values.len() * 9 / 10).copied().unwrap_or(0.0)
}
