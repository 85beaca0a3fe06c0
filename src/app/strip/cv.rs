//! Cv from each station alone, beside the fitted one.

use crate::measure::Findings;
use crate::quantity::show;
use crate::report::figure::{self, Dash, Drawn, Figure, Frame, Ink, Layer};

/// The figure of V by station over the ideal velocity; the band is that of Cv itself.
///
/// # Errors
/// Where there is no Cv, or no station gives a velocity.
pub fn figure(findings: &Findings) -> Drawn {
    let fitted = findings.cv.as_ref().ok_or("there is no Cv without a head")?;
    let ideal = findings.ideal_velocity.as_ref().map(|v| v.value).filter(|v| *v > 0.0);
    let ideal = ideal.ok_or("there is no Cv without a head")?;
    let of_velocity = figure::velocity(findings)?;
    let Frame::Axes { x, y, aspect } = of_velocity.frame else { return Err("no axes".to_owned()) };
    let mut values = vec![fitted.lo, fitted.hi];
    let layers = of_velocity.layers.into_iter().map(|layer| match layer {
        Layer::Band { name, ink, .. } => Layer::Band {
            name,
            outline: vec![[x.lo, fitted.lo], [x.hi, fitted.lo], [x.hi, fitted.hi], [x.lo, fitted.hi]],
            ink,
        },
        Layer::Line { name, .. } => Layer::Line {
            name,
            points: vec![[x.lo, fitted.value], [x.hi, fitted.value]],
            ink: Ink::Black,
            dash: Dash::Solid,
        },
        Layer::Marks { name, points, shape, ink } => {
            let points: Vec<_> = points.into_iter().map(|([x, v], u)| ([x, v / ideal], u.map(|u| u / ideal))).collect();
            values.extend(points.iter().flat_map(|([_, cv], u)| [cv - u.unwrap_or(0.0), cv + u.unwrap_or(0.0)]));
            Layer::Marks { name, points, shape, ink }
        }
        other => other,
    });
    let layers = layers.collect();
    let label = y.label.replace("V at the vena contracta / (m/s)", "Cv");
    let cv = show(fitted.value, fitted.u, "");
    Ok(Figure {
        name: "cv".into(),
        caption: format!("Cv from each station alone, beside the fitted {cv} with its 95 % interval."),
        description: format!("Cv from single stations against x, and the fitted value {cv} as a level line."),
        frame: Frame::Axes { x, y: figure::Axis::over(&label, values), aspect },
        layers,
    })
}
