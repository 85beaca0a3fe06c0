//! A figure in the units that the user chose.

use crate::app::command::Units;
use crate::app::shown::factor;
use crate::report::figure::{Axis, Figure, Frame, Layer, ticks};

/// Unit of an axis by its label: `x / mm`, `V / (m/s)`; empty where there is none.
pub fn unit_of(label: &str) -> &str {
    let Some((_, unit)) = label.split_once(" / ") else { return "" };
    match unit.strip_prefix('(') {
        Some(inside) => inside.split(')').next().unwrap_or(""),
        None => {
            let remark = unit.find(" (").filter(|at| !unit[*at..].starts_with(" (US)"));
            &unit[..remark.unwrap_or(unit.len())]
        }
    }
}

/// The figure with both axes in the chosen units.
pub fn in_units(mut figure: Figure, units: Units) -> Figure {
    let Frame::Axes { x, y, .. } = &mut figure.frame else { return figure };
    let by = [change(x, units), change(y, units)];
    let move_to = |p: &mut [f64; 2]| (0..2).for_each(|i| p[i] *= by[i]);
    for layer in &mut figure.layers {
        match layer {
            Layer::Line { points, .. } | Layer::Band { outline: points, .. } => points.iter_mut().for_each(move_to),
            Layer::Marks { points, .. } => {
                for (p, u) in points {
                    move_to(p);
                    *u = u.map(|u| u * by[1]);
                }
            }
            Layer::Bars { .. } | Layer::Label { .. } => {}
        }
    }
    figure
}

fn change(axis: &mut Axis, units: Units) -> f64 {
    let unit = unit_of(&axis.label).to_owned();
    let (by, to) = factor(&unit, units);
    if by == 1.0 && to == unit {
        return 1.0;
    }
    let written = if to.contains('/') { format!("({to})") } else { to.to_owned() };
    let old = if axis.label.contains(&format!("({unit})")) { format!("({unit})") } else { unit };
    axis.label = axis.label.replacen(&format!(" / {old}"), &format!(" / {written}"), 1);
    (axis.lo, axis.hi) = (axis.lo * by, axis.hi * by);
    axis.ticks = ticks(axis.lo, axis.hi);
    by
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::figure::{Ink, Shape};

    #[test]
    fn axes_marks_and_bars_change_together() {
        let points = vec![([254.0, 3.048], Some(0.3048))];
        let layers = vec![Layer::Marks { name: None, points, shape: Shape::Disc, ink: Ink::Blue }];
        let (x, y) = (Axis::over("x / mm", [0.0, 254.0]), Axis::over("V at the vena contracta / (m/s)", [3.0, 3.1]));
        let frame = Frame::Axes { x, y, aspect: 0.4 };
        let figure = Figure { name: "v".into(), caption: String::new(), description: String::new(), frame, layers };
        let us = in_units(figure.clone(), Units::UsCustomary);
        let Frame::Axes { x, y, .. } = &us.frame else { panic!("axes stay axes") };
        assert_eq!((x.label.as_str(), y.label.as_str()), ("x / in", "V at the vena contracta / (ft/s)"));
        let Layer::Marks { points, .. } = &us.layers[0] else { panic!("marks stay marks") };
        // 25.4 mm are one inch and 0.3048 m one foot, exact by definition
        let ([x, y], u) = points[0];
        assert!((x - 10.0).abs() < 1e-12 && (y - 10.0).abs() < 1e-12 && (u.unwrap() - 1.0).abs() < 1e-12);
        assert_eq!(in_units(figure.clone(), Units::Si), figure);
        assert_eq!(unit_of("volume caught / gal (US)"), "gal (US)");
        assert_eq!(unit_of("distance from the trajectory / mm (positive: below)"), "mm");
    }
}
