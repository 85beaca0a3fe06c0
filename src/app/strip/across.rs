//! The edges that the threshold looks for, across the stream, averaged along it.

use crate::jet::EvidencePlate;
use crate::measure::Findings;
use crate::quantity::show_plain;
use crate::report::figure::{Axis, Dash, Drawn, Figure, Frame, Ink, Layer};

/// How far to both sides is looked, in widths of the stream, and in how many steps to each side.
const WIDTHS: f64 = 2.0;
const STEPS: i32 = 60;

/// The mean gradient in deviations of the photo's noise against the distance from the stream's middle, with the level.
///
/// # Errors
/// Where the evidence is not there yet, or the stations have no direction or width.
pub fn figure(findings: &Findings, plate: Option<&EvidencePlate>, level: Option<f64>) -> Drawn {
    let plate = plate.ok_or("what the threshold sees is not there yet")?;
    let scale = findings.fit.get("px_per_mm").map(|f| f.value).filter(|s| *s > 0.0).ok_or("no scale")?;
    let widths: Vec<f64> = findings.stations.iter().filter_map(|s| s.width_mm).collect();
    if widths.is_empty() || findings.stations.len() < 3 {
        return Err("the stations have no width: they were placed by hand".to_owned());
    }
    let width = widths.iter().sum::<f64>() / widths.len() as f64;
    let reach = WIDTHS * width * scale;
    let places: Vec<([f64; 2], [f64; 2])> =
        findings.stations.windows(3).filter_map(|w| normal(&w[0].px, &w[1].px, &w[2].px)).collect();
    let points: Vec<[f64; 2]> = (-STEPS..=STEPS)
        .filter_map(|i| {
            let off = reach * f64::from(i) / f64::from(STEPS);
            let seen = places.iter().filter_map(|(at, n)| value(plate, at[0] + off * n[0], at[1] + off * n[1]));
            let (sum, count) = seen.fold((0.0, 0), |(sum, count), v| (sum + v, count + 1));
            (count > 0).then(|| [off / scale, sum / f64::from(count)])
        })
        .collect();
    let stated = level.unwrap_or(plate.automatic);
    let full = f64::from(EvidencePlate::full_at(stated));
    let x = Axis::over("distance across the stream, downwards / mm", points.iter().map(|p| p[0]));
    let y = Axis::over("edges, in deviations of the photo's noise", points.iter().map(|p| p[1]).chain([0.0, full]));
    let cut = vec![[x.lo, full], [x.hi, full]];
    let word = if level.is_some() { "level" } else { "level, automatic" };
    let half = 0.5 * width;
    let rims = [-half, half].map(|at| Layer::Line {
        name: (at > 0.0).then(|| "half the mean width".to_owned()),
        points: vec![[at, y.lo], [at, y.hi]],
        ink: Ink::Green,
        dash: Dash::Dots,
    });
    let mut layers = vec![
        Layer::Line { name: Some("mean along the stream".into()), points, ink: Ink::Blue, dash: Dash::Solid },
        Layer::Line {
            name: Some(format!("{word} {}", show_plain(stated, ""))),
            points: cut,
            ink: Ink::Orange,
            dash: Dash::Long,
        },
    ];
    layers.extend(rims);
    Ok(Figure {
        name: "across".into(),
        caption: "Edges across the stream, averaged along it, in deviations of the photo's noise, and the level that counts as an edge in full.".into(),
        description: format!("Mean edges across the stream against the distance from its middle, with the level at {}.", show_plain(full.round(), "")),
        frame: Frame::Axes { x, y, aspect: 0.36 },
        layers,
    })
}

/// The middle one of three stations and the direction square to the stream there, downwards in the photo.
fn normal(before: &[f64; 2], at: &[f64; 2], after: &[f64; 2]) -> Option<([f64; 2], [f64; 2])> {
    let along = [after[0] - before[0], after[1] - before[1]];
    let length = along[0].hypot(along[1]);
    let n = [-along[1] / length, along[0] / length];
    let down = if n[1] < 0.0 { [-n[0], -n[1]] } else { n };
    (length > 0.0).then_some((*at, down))
}

/// The gradient in the cell that holds a place of the photo.
fn value(plate: &EvidencePlate, x_px: f64, y_px: f64) -> Option<f64> {
    let cell = |v: f64| (v >= 0.0).then_some((v / plate.factor as f64) as usize);
    let (column, row) = (cell(x_px)?, cell(y_px)?);
    let inside = column < plate.width && row < plate.height;
    inside.then(|| plate.values.get(row * plate.width + column).copied().map(f64::from))?
}
