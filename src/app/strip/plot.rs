//! Draws a figure as a plot that answers to the pointer.

use super::units::unit_of;
use crate::app::sheet_panel::ink::ink;
use crate::quantity::{show, show_plain};
use crate::report::figure::{Axis, Dash, Figure, Frame, Ink, Layer, Shape, ticks};
use eframe::egui::{Color32, Rangef, Role, Stroke, Ui, Vec2, WidgetInfo};
use egui_plot::{
    AxisHints, GridInput, GridMark, HoverPosition, Line, LineStyle, MarkerShape, Plot, PlotPoints, PlotUi, Points,
    Polygon,
};

/// Points of a layer with their uncertainty.
type Marked = Vec<([f64; 2], Option<f64>)>;

/// Draws the figure in the room that is left.
pub fn plot(ui: &mut Ui, figure: &Figure) {
    let Frame::Axes { x, y, .. } = &figure.frame else { return };
    let black = ui.visuals().text_color();
    let colour = |i: Ink| if i == Ink::Black { black } else { ink(ui, i) };
    let colours: Vec<Color32> = figure.layers.iter().map(|l| colour(ink_of(l))).collect();
    let marked: Vec<(String, Marked)> = figure.layers.iter().filter_map(marks_of).collect();
    let (x_axis, y_axis) = (x.clone(), y.clone());
    let number = |mark: GridMark, _: &std::ops::RangeInclusive<f64>| show_plain(mark.value, "");
    let shown = Plot::new(("strip", &figure.name, &x.label, &y.label))
        .include_x(x.lo)
        .include_x(x.hi)
        .include_y(y.lo)
        .include_y(y.hi)
        .set_margin_fraction(Vec2::ZERO)
        .x_axis_formatter(number)
        // a low strip shows its numbers too: they are as high as a line of text
        .custom_y_axes(vec![AxisHints::new_y().formatter(number).label_spacing(Rangef::new(9.0, 14.0))])
        .grid_spacing(Rangef::new(18.0, 60.0))
        // the rules of the sheet, all alike: they only help to read
        .grid_color(ui.visuals().widgets.noninteractive.bg_stroke.color)
        .grid_fade(0.0)
        .x_grid_spacer(marks)
        .y_grid_spacer(marks)
        .allow_scroll(false)
        .show_background(false)
        .label_formatter(move |position| told(position, &marked, &x_axis, &y_axis))
        .show(ui, |plot| {
            for (i, (layer, colour)) in figure.layers.iter().zip(&colours).enumerate() {
                draw(plot, layer, *colour, i);
            }
        });
    let says = figure.description.clone();
    shown.response.widget_info(move || WidgetInfo::labeled(Role::Image, true, &says));
}

/// Round numbers along an axis, at least as far apart as the smallest step that can be read.
fn marks(input: GridInput) -> Vec<GridMark> {
    let (lo, hi) = input.bounds;
    // the step of a half: about ten over the whole
    let half = ticks(lo, 0.5 * (lo + hi));
    let step = half.windows(2).map(|pair| pair[1].0 - pair[0].0).next().unwrap_or(hi - lo);
    if !(step.is_finite() && step > 0.0) {
        return Vec::new();
    }
    const ROUND: [f64; 9] = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0];
    let every = ROUND.into_iter().find(|n| n * step >= input.base_step_size).unwrap_or(1000.0);
    let step = step * every;
    let (first, last) = ((lo / step).ceil() as i64, (hi / step).floor() as i64);
    (first..=last).map(|i| GridMark { value: i as f64 * step, step_size: step }).collect()
}

/// The ink of a layer.
pub fn ink_of(layer: &Layer) -> Ink {
    match layer {
        Layer::Line { ink, .. }
        | Layer::Band { ink, .. }
        | Layer::Marks { ink, .. }
        | Layer::Bars { ink, .. }
        | Layer::Label { ink, .. } => *ink,
    }
}

fn marks_of(layer: &Layer) -> Option<(String, Marked)> {
    match layer {
        Layer::Marks { name, points, .. } => Some((name.clone().unwrap_or_default(), points.clone())),
        _ => None,
    }
}

fn draw(plot: &mut PlotUi, layer: &Layer, colour: Color32, i: usize) {
    let line = |points: &[[f64; 2]], dash: Dash| {
        let style = match dash {
            Dash::Solid => LineStyle::Solid,
            Dash::Long => LineStyle::dashed_loose(),
            Dash::Dots => LineStyle::dotted_dense(),
        };
        Line::new("", PlotPoints::from(points.to_vec())).color(colour).style(style).allow_hover(false)
    };
    match layer {
        Layer::Line { points, dash, .. } => plot.line(line(points, *dash).width(1.2).id(("line", i))),
        Layer::Band { outline, .. } => plot.polygon(
            Polygon::new("", PlotPoints::from(outline.clone()))
                .fill_color(colour.gamma_multiply(0.3))
                .stroke(Stroke::NONE)
                .allow_hover(false)
                .id(("band", i)),
        ),
        Layer::Marks { name, points, shape, .. } => {
            for (j, ([x, y], u)) in points.iter().enumerate() {
                if let Some(u) = u {
                    let bar = [[*x, y - u], [*x, y + u]];
                    plot.line(line(&bar, Dash::Solid).color(colour.gamma_multiply(0.45)).width(1.0).id(("bar", i, j)));
                }
            }
            let (marker, filled) = match shape {
                Shape::Disc | Shape::Bead => (MarkerShape::Circle, true),
                Shape::Ring => (MarkerShape::Circle, false),
                Shape::Plus => (MarkerShape::Plus, false),
                Shape::Cross => (MarkerShape::Cross, false),
                Shape::Square => (MarkerShape::Square, false),
                Shape::Diamond => (MarkerShape::Diamond, false),
            };
            let places: Vec<[f64; 2]> = points.iter().map(|(p, _)| *p).collect();
            let name = name.clone().unwrap_or_default();
            let points = Points::new(name, PlotPoints::from(places)).shape(marker).filled(filled);
            plot.points(points.radius(if *shape == Shape::Disc { 2.2 } else { 3.2 }).color(colour).id(("marks", i)));
        }
        Layer::Bars { .. } | Layer::Label { .. } => {}
    }
}

/// What is told of the mark under the pointer: its numbers with uncertainty and unit.
fn told(position: &HoverPosition, marked: &[(String, Marked)], x: &Axis, y: &Axis) -> Option<String> {
    let HoverPosition::NearDataPoint { plot_name, index, .. } = position else { return None };
    let ([at, value], u) = marked.iter().find(|(name, _)| name == plot_name)?.1.get(*index)?;
    let name = |axis: &Axis| axis.label.split(" / ").next().unwrap_or("").to_owned();
    let value = match u {
        Some(u) => show(*value, *u, unit_of(&y.label)),
        None => show_plain(*value, unit_of(&y.label)),
    };
    Some(format!("{} {}\n{} {value}", name(x), show_plain(*at, unit_of(&x.label)), name(y)))
}
