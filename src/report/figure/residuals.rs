//! What the fitted trajectory leaves over at each station.

use super::{Axis, Dash, Drawn, Figure, Frame, Ink, Layer, Shape, left_out, named};
use crate::measure::Findings;
use crate::quantity::{show_plain, two_digits};

/// Distance of each station from the fitted trajectory against x, with its standard uncertainty as a bar.
///
/// # Errors
/// Where there is no station.
pub fn residuals(findings: &Findings) -> Drawn {
    if findings.stations.is_empty() {
        return Err("no stations".to_owned());
    }
    // the stations' uncertainty is in px; on the bench it is told by the photo's scale
    let px_per_mm = findings.fit.get("px_per_mm").map(|f| f.value).filter(|s| *s > 0.0);
    let point = |s: &crate::measure::StationRow| ([s.x_mm, s.off_mm], px_per_mm.map(|scale| s.u_px / scale));
    let of = |used| findings.stations.iter().filter(move |s| s.used == used).map(point).collect::<Vec<_>>();
    let (used, unused) = (of(true), of(false));
    let all = used.iter().chain(&unused);
    let y = Axis::over(
        "distance from the trajectory / mm (positive: below)",
        all.clone().flat_map(|([_, y], u)| [y - u.unwrap_or(0.0), y + u.unwrap_or(0.0)]).chain([0.0]),
    );
    let x = Axis::over("x / mm", all.map(|([x, _], _)| *x).chain([0.0]));
    let zero = vec![[x.lo, 0.0], [x.hi, 0.0]];
    let mut layers = vec![
        Layer::Line { name: named("fitted trajectory"), points: zero, ink: Ink::Black, dash: Dash::Solid },
        Layer::Marks { name: named("station, ± u"), points: used, shape: Shape::Disc, ink: Ink::Blue },
    ];
    let out = unused.len();
    if out > 0 {
        layers.push(Layer::Marks {
            name: named("left out of the fit"),
            points: unused,
            shape: Shape::Ring,
            ink: Ink::Vermilion,
        });
    }
    let rms = findings.fit.get("rms_off").map_or(String::new(), |f| {
        format!(" The used stations lie {} (rms) from the trajectory.", show_plain(two_digits(f.value), &f.unit))
    });
    Ok(Figure {
        name: "residuals".into(),
        caption: format!(
            "Residuals: distance of each station from the fitted trajectory, square to it, with one standard \
             uncertainty of its own.{rms} A trend or a bow here is a fault of lens, camera or vertical, not of the water."
        ),
        description: format!(
            "Residuals of {} stations against x in millimetres; {}.{rms}",
            findings.stations.len(),
            left_out(out)
        ),
        frame: Frame::Axes { x, y, aspect: 0.42 },
        layers,
    })
}
