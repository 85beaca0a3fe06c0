//! The curves of a series over the head.

use super::super::figure::{Axis, Dash, Drawn, Figure, Frame, Ink, Layer, Shape};
use super::symbol;
use crate::measure::Found;
use crate::measure::series::{Law, Pooled, RunRow, SeriesFindings};
use crate::quantity::{show, show_plain};

/// Points of a drawn curve.
const CURVE_POINTS: usize = 60;

type Points = Vec<([f64; 2], Option<f64>)>;

/// Where a result stands in a row.
fn of<'a>(run: &'a RunRow, key: &str) -> Option<&'a Found> {
    match key {
        "cv" => run.cv.as_ref(),
        "cd" => run.cd.as_ref(),
        "cc" => run.cc.as_ref(),
        _ => None,
    }
}

/// A coefficient of each run against the head, beside the pooled value and its trend.
///
/// # Errors
/// Where no run has both.
pub fn against_head(found: &SeriesFindings, key: &str) -> Drawn {
    let trend = found.trends.get(key).filter(|law| law.significant);
    coefficient(found, key, ("head", "H / mm"), |run| run.head.as_ref(), trend)
}

/// A coefficient of each run against the jet's Reynolds number, beside the pooled value.
///
/// # Errors
/// Where no run has both.
pub fn against_reynolds(found: &SeriesFindings, key: &str) -> Drawn {
    coefficient(found, key, ("reynolds", "Re"), |run| run.reynolds.as_ref(), None)
}

fn coefficient(
    found: &SeriesFindings,
    key: &str,
    (name, label): (&str, &str),
    across: fn(&RunRow) -> Option<&Found>,
    trend: Option<&Law>,
) -> Drawn {
    let c = symbol(key);
    let point = |run: &RunRow| Some(([across(run)?.value, of(run, key)?.value], Some(of(run, key)?.u)));
    let outlying = |run: &&RunRow| run.outlying.iter().any(|k| k == key);
    let borne: Points = found.runs.iter().filter(|r| !outlying(r)).filter_map(point).collect();
    let off: Points = found.runs.iter().filter(outlying).filter_map(point).collect();
    let all: Points = borne.iter().chain(&off).copied().collect();
    if all.is_empty() {
        return Err(format!("no run has a {c} and a {}", if name == "head" { "head" } else { "Reynolds number" }));
    }
    let pooled = found.pooled.get(key).map(|p: &Pooled| &p.found);
    let x = Axis::over(label, all.iter().map(|(p, _)| p[0]));
    let y = Axis::over(c, ends(&all).chain(pooled.iter().flat_map(|f| [f.lo, f.hi])));
    let mut layers = Vec::new();
    if let Some(f) = pooled {
        let outline = vec![[x.lo, f.lo], [x.hi, f.lo], [x.hi, f.hi], [x.lo, f.hi]];
        layers.push(Layer::Band { name: Some("95 % interval of the pooled value".into()), outline, ink: Ink::Sky });
        let points = vec![[x.lo, f.value], [x.hi, f.value]];
        layers.push(Layer::Line { name: Some("pooled".into()), points, ink: Ink::Black, dash: Dash::Solid });
    }
    if let Some(law) = trend {
        // the trend is told per 100 mm
        let at = |h: f64| [h, law.at_zero + law.found.value * h / 100.0];
        let points = vec![at(x.lo), at(x.hi)];
        layers.push(Layer::Line { name: Some("trend".into()), points, ink: Ink::Purple, dash: Dash::Long });
    }
    layers.extend(marks(borne, off));
    let value = pooled.map_or(String::new(), |f| format!(" The pooled value is {}.", show(f.value, f.u, "")));
    let what = if name == "head" { "the head H" } else { "the Reynolds number Re of the jet" };
    let told = format!("{c} of each run against {what}, with one standard uncertainty.{value}");
    Ok(Figure {
        name: format!("{key}-{name}"),
        caption: format!(
            "{told} What the runs share, such as the orifice's diameter, moves all of them together and is in the bars too."
        ),
        description: format!("{} runs. {told}", all.len()),
        frame: Frame::Axes { x, y, aspect: 0.42 },
        layers,
    })
}

/// Ends of the bars.
fn ends(points: &Points) -> impl Iterator<Item = f64> {
    points.iter().flat_map(|(p, u)| [p[1] - u.unwrap_or(0.0), p[1] + u.unwrap_or(0.0)])
}

fn marks(borne: Points, off: Points) -> Vec<Layer> {
    let mut layers = Vec::new();
    for (points, name, shape, ink) in
        [(borne, "run, ± u", Shape::Bead, Ink::Blue), (off, "outlying run, ± u", Shape::Diamond, Ink::Vermilion)]
    {
        if !points.is_empty() {
            layers.push(Layer::Marks { name: Some(name.into()), points, shape, ink });
        }
    }
    layers
}

/// The discharge of each run against the head, and the power of the head that it follows.
///
/// # Errors
/// Where no run has both.
pub fn discharge(found: &SeriesFindings) -> Drawn {
    let point = |run: &RunRow| {
        let (h, q) = (run.head.as_ref()?, run.discharge.as_ref()?);
        Some(([h.value, q.value], Some(q.u)))
    };
    let points: Points = found.runs.iter().filter_map(point).collect();
    if points.is_empty() {
        return Err("no run has a head and a discharge".to_owned());
    }
    let count = points.len();
    let x = Axis::over("H / mm", points.iter().map(|(p, _)| p[0]));
    let unit = found.runs.iter().find_map(|r| r.discharge.as_ref()).map_or("", |q| q.unit.as_str());
    let y = Axis::over(&format!("Q / ({unit})"), ends(&points));
    let mut layers = Vec::new();
    let mut told = String::new();
    if let Some(law) = &found.exponent {
        let at = |h: f64| [h, (law.at_zero + law.found.value * h.ln()).exp()];
        let curve = steps(x.lo.max(f64::MIN_POSITIVE), x.hi).map(at).collect();
        let name = Some("power of the head that fits best".into());
        layers.push(Layer::Line { name, points: curve, ink: Ink::Black, dash: Dash::Solid });
        let n = show(law.found.value, law.found.u, "");
        told = format!(" Q goes with H to the power {n}; a constant Cd would make it {}.", show_plain(0.5, ""));
    }
    layers.extend(marks(points, Vec::new()));
    let says = format!("Discharge Q of each run against the head H, with one standard uncertainty.{told}");
    Ok(Figure {
        name: "discharge-head".into(),
        caption: says.clone(),
        description: format!("{count} runs. {says}"),
        frame: Frame::Axes { x, y, aspect: 0.42 },
        layers,
    })
}

/// V^2/(2g) of each run, as Cv^2 H, against the head, with the fitted line and that of a jet without loss.
///
/// # Errors
/// Where no run has a head and Cv.
pub fn velocity_head(found: &SeriesFindings) -> Drawn {
    let point = |run: &RunRow| {
        let (h, cv, v) = (run.head.as_ref()?, run.cv.as_ref()?, run.velocity.as_ref()?);
        let height = cv.value.powi(2) * h.value;
        Some(([h.value, height], Some(2.0 * height * v.u / v.value)))
    };
    let points: Points = found.runs.iter().filter_map(point).collect();
    if points.is_empty() {
        return Err("no run has a head and a Cv".to_owned());
    }
    let count = points.len();
    let x = Axis::over("H / mm", points.iter().map(|(p, _)| p[0]));
    let y = Axis::over("V² / (2 g) / mm", ends(&points).chain([x.lo, x.hi]));
    let without_loss = vec![[x.lo, x.lo], [x.hi, x.hi]];
    let mut layers = vec![Layer::Line {
        name: Some("without loss".into()),
        points: without_loss,
        ink: Ink::Orange,
        dash: Dash::Long,
    }];
    let mut told = String::new();
    if let Some(line) = &found.head_line {
        let at = |h: f64| [h, line.slope.value * (h + line.datum_error.value)];
        let points = vec![at(x.lo), at(x.hi)];
        layers.push(Layer::Line { name: Some("line of the runs".into()), points, ink: Ink::Black, dash: Dash::Solid });
        let (cv, datum) = (&line.cv, &line.datum_error);
        told = format!(
            " The slope of the line is Cv², and gives Cv = {} whatever error all heads share; the line meets zero where {} \
             are added to the heads.",
            show(cv.value, cv.u, ""),
            show(datum.value, datum.u, &datum.unit)
        );
    }
    layers.extend(marks(points, Vec::new()));
    let says = format!("V² against the head H, V² as the height V²/(2g), with one standard uncertainty of V.{told}");
    Ok(Figure {
        name: "velocity-head".into(),
        caption: says.clone(),
        description: format!("{count} runs. {says}"),
        frame: Frame::Axes { x, y, aspect: 0.5 },
        layers,
    })
}

/// Places along an axis.
fn steps(lo: f64, hi: f64) -> impl Iterator<Item = f64> {
    (0..=CURVE_POINTS).map(move |i| lo + (hi - lo) * i as f64 / CURVE_POINTS as f64)
}
