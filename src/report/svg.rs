//! A figure as SVG 1.1: shapes and text, no style sheet, no script, no reference to anything outside.

use super::figure::{Axis, Dash, Figure, Frame, Ink, Layer, Picture, Shape};
use crate::quantity::show_plain;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use std::fmt::Write;

/// Where a figure's text is shown, and with what around it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// A file of its own.
    File,
    /// Inside an HTML page, which names the namespace itself.
    Html,
    /// Over a picture that is drawn apart: the photo itself is left out.
    Over,
}

/// Width of every figure in points; text is 9 pt.
pub const WIDTH_PT: f64 = 480.0;
const TEXT_PT: f64 = 9.0;
const LEGEND_ROW_PT: f64 = 14.0;

/// What the figure measures in points, and where its drawing lies in it: left, top, width, height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Layout {
    /// Width and height of the whole.
    pub size: [f64; 2],
    /// The drawing without axis texts and legend.
    pub plot: [f64; 4],
}

/// The room that a figure takes.
pub fn layout(figure: &Figure) -> Layout {
    let legend = legend_rows(figure).len() as f64 * LEGEND_ROW_PT;
    match &figure.frame {
        Frame::Axes { y, aspect, .. } => {
            let widest = y.ticks.iter().map(|(_, t)| text_width(t)).fold(0.0, f64::max);
            let left = widest + if y.label.is_empty() { 12.0 } else { 30.0 };
            let (width, height) = (WIDTH_PT - left - 10.0, WIDTH_PT * aspect);
            let top = legend + 6.0;
            Layout { size: [WIDTH_PT, top + height + 34.0], plot: [left, top, width, height] }
        }
        Frame::Photo { cut: [_, _, w, h], tallest_pt, .. } => {
            let scale = (WIDTH_PT / w).min(tallest_pt / h);
            let (width, height) = (w * scale, h * scale);
            let top = legend + if legend > 0.0 { 4.0 } else { 0.0 };
            Layout { size: [WIDTH_PT, top + height], plot: [0.5 * (WIDTH_PT - width), top, width, height] }
        }
    }
}

/// The figure as SVG text.
pub fn svg(figure: &Figure, place: Place) -> String {
    let layout = layout(figure);
    // also the legend's samples: a yellow line on white paper is lost without its rim
    let photo = matches!(figure.frame, Frame::Photo { .. });
    let mut pen = Pen { out: String::new(), map: Map::new(figure, &layout), photo };
    let [w, h] = layout.size.map(n);
    let namespace = if place == Place::Html { "" } else { " xmlns=\"http://www.w3.org/2000/svg\"" };
    let title = format!("{}-title", figure.name);
    pen.put(format_args!(
        "<svg{namespace} role=\"img\" aria-labelledby=\"{title}\" viewBox=\"0 0 {w} {h}\" width=\"{w}pt\" height=\"{h}pt\" \
         font-family=\"'DejaVu Sans Condensed', 'DejaVu Sans', Arial, sans-serif\" font-size=\"{TEXT_PT}\">\n<title id=\"{title}\">{}</title>\n",
        escape(&figure.description)
    ));
    pen.legend(figure);
    let [left, top, width, height] = layout.plot.map(n);
    pen.put(format_args!(
        "<clipPath id=\"{0}-clip\"><rect x=\"{left}\" y=\"{top}\" width=\"{width}\" height=\"{height}\"/></clipPath>\n",
        figure.name
    ));
    match &figure.frame {
        Frame::Axes { x, y, .. } => pen.axes(x, y, layout.plot),
        Frame::Photo { picture, .. } => {
            if place != Place::Over {
                pen.put(format_args!(
                    "<image x=\"{left}\" y=\"{top}\" width=\"{width}\" height=\"{height}\" preserveAspectRatio=\"none\" href=\"{}\"/>\n",
                    data_uri(picture)
                ));
            }
        }
    }
    pen.put(format_args!("<g clip-path=\"url(#{}-clip)\">\n", figure.name));
    figure.layers.iter().for_each(|layer| pen.layer(layer));
    pen.put(format_args!("</g>\n</svg>\n"));
    pen.out
}

/// A picture as a `data:` address.
pub fn data_uri(picture: &Picture) -> String {
    format!("data:image/jpeg;base64,{}", STANDARD.encode(&picture.jpeg))
}

/// Text fit to stand in XML: markup escaped, control characters (not allowed in XML 1.0) left out.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' => out.push(' '),
            '\u{fffe}' | '\u{ffff}' => {}
            c if c.is_control() => {}
            c => out.push(c),
        }
    }
    out
}

/// A coordinate in points, to a hundredth.
fn n(value: f64) -> String {
    show_plain((value * 100.0).round() / 100.0, "")
}

/// About how wide a text is in points: wide enough for every script we know of at 9 pt condensed.
fn text_width(text: &str) -> f64 {
    0.52 * TEXT_PT * text.chars().count() as f64
}

/// What sets an ink off from a photo beneath.
fn rim(ink: Ink) -> &'static str {
    match ink {
        Ink::Yellow | Ink::Orange | Ink::Sky => "#000000",
        Ink::Black | Ink::Grey | Ink::Green | Ink::Blue | Ink::Vermilion | Ink::Purple => "#ffffff",
    }
}

/// Names of the legend in rows that fit the width: index of the layer, and where its sample begins.
fn legend_rows(figure: &Figure) -> Vec<Vec<(usize, f64)>> {
    let mut rows: Vec<Vec<(usize, f64)>> = Vec::new();
    let mut at = WIDTH_PT;
    for (i, name) in figure.layers.iter().enumerate().filter_map(|(i, l)| Some((i, l.name()?))) {
        let width = 24.0 + text_width(name) + 12.0;
        if at + width > WIDTH_PT {
            rows.push(Vec::new());
            at = 6.0;
        }
        if let Some(row) = rows.last_mut() {
            row.push((i, at));
        }
        at += width;
    }
    rows
}

/// From a figure's own coordinates to points.
#[derive(Clone, Copy)]
struct Map {
    scale: [f64; 2],
    shift: [f64; 2],
}

impl Map {
    fn new(figure: &Figure, layout: &Layout) -> Self {
        let [left, top, width, height] = layout.plot;
        match &figure.frame {
            Frame::Axes { x, y, .. } => {
                let scale = [width / (x.hi - x.lo), -height / (y.hi - y.lo)];
                Self { scale, shift: [left - x.lo * scale[0], top + height - y.lo * scale[1]] }
            }
            Frame::Photo { cut, .. } => {
                let scale = [width / cut[2], height / cut[3]];
                Self { scale, shift: [left - cut[0] * scale[0], top - cut[1] * scale[1]] }
            }
        }
    }

    fn at(&self, p: [f64; 2]) -> [f64; 2] {
        [self.shift[0] + self.scale[0] * p[0], self.shift[1] + self.scale[1] * p[1]]
    }
}

struct Pen {
    out: String,
    map: Map,
    /// Whether a photo lies beneath: then marks have a rim that sets them off.
    photo: bool,
}

impl Pen {
    fn put(&mut self, text: std::fmt::Arguments) {
        // writing to a String does not fail
        let _ = self.out.write_fmt(text);
    }

    fn text(&mut self, [x, y]: [f64; 2], anchor: &str, ink: Ink, text: &str) {
        let (x, y, fill) = (n(x), n(y), ink.hex());
        self.put(format_args!(
            "<text x=\"{x}\" y=\"{y}\" text-anchor=\"{anchor}\" fill=\"{fill}\">{}</text>\n",
            escape(text)
        ));
    }

    fn axes(&mut self, x: &Axis, y: &Axis, [left, top, width, height]: [f64; 4]) {
        let bottom = top + height;
        for (value, text) in &x.ticks {
            let at = self.map.at([*value, 0.0])[0];
            self.put(format_args!(
                "<path d=\"M{0} {1}V{2}\" stroke=\"#dddddd\" stroke-width=\"0.5\"/>\n",
                n(at),
                n(top),
                n(bottom)
            ));
            self.text([at, bottom + 11.0], "middle", Ink::Black, text);
        }
        for (value, text) in &y.ticks {
            let at = self.map.at([0.0, *value])[1];
            if !y.label.is_empty() {
                self.put(format_args!(
                    "<path d=\"M{0} {1}H{2}\" stroke=\"#dddddd\" stroke-width=\"0.5\"/>\n",
                    n(left),
                    n(at),
                    n(left + width)
                ));
            }
            self.text([left - 4.0, at + 3.0], "end", Ink::Black, text);
        }
        let [l, t, w, h] = [left, top, width, height].map(n);
        self.put(format_args!(
            "<rect x=\"{l}\" y=\"{t}\" width=\"{w}\" height=\"{h}\" fill=\"none\" stroke=\"#000000\" stroke-width=\"0.7\"/>\n"
        ));
        self.text([left + 0.5 * width, bottom + 26.0], "middle", Ink::Black, &x.label);
        if !y.label.is_empty() {
            let (cx, cy) = (n(10.0), n(top + 0.5 * height));
            self.put(format_args!(
                "<text transform=\"translate({cx} {cy}) rotate(-90)\" text-anchor=\"middle\">{}</text>\n",
                escape(&y.label)
            ));
        }
    }

    fn legend(&mut self, figure: &Figure) {
        for (row, names) in legend_rows(figure).into_iter().enumerate() {
            let y = 8.0 + row as f64 * LEGEND_ROW_PT;
            for (i, x) in names {
                let layer = &figure.layers[i];
                match layer {
                    Layer::Line { ink, dash, .. } => self.stroke(&[[x, y], [x + 18.0, y]], *ink, *dash),
                    Layer::Band { ink, .. } => {
                        let corners = [[x, y - 4.0], [x + 18.0, y - 4.0], [x + 18.0, y + 4.0], [x, y + 4.0]];
                        self.area(&corners, *ink);
                    }
                    Layer::Marks { shape, ink, .. } => self.mark([x + 9.0, y], *shape, *ink),
                    Layer::Bars { .. } | Layer::Label { .. } => {}
                }
                self.text([x + 22.0, y + 3.0], "start", Ink::Black, layer.name().unwrap_or_default());
            }
        }
    }

    fn layer(&mut self, layer: &Layer) {
        let map = self.map;
        match layer {
            Layer::Line { points, ink, dash, .. } => {
                let points: Vec<_> = points.iter().map(|p| map.at(*p)).collect();
                self.stroke(&points, *ink, *dash);
            }
            Layer::Band { outline, ink, .. } => {
                let corners: Vec<_> = outline.iter().map(|p| map.at(*p)).collect();
                self.area(&corners, *ink);
            }
            Layer::Marks { points, shape, ink, .. } => {
                for (p, bar) in points {
                    let [x, y] = map.at(*p);
                    if let Some(half) = bar {
                        let half = (half * map.scale[1]).abs();
                        self.put(format_args!(
                            "<path d=\"M{} {}V{}\" stroke=\"{}\" stroke-width=\"0.6\"/>\n",
                            n(x),
                            n(y - half),
                            n(y + half),
                            ink.hex()
                        ));
                    }
                    self.mark([x, y], *shape, *ink);
                }
            }
            Layer::Bars { bars, ink } => {
                for [length, at] in bars {
                    let ([x0, y0], [x1, y1]) = (map.at([0.0, at + 0.35]), map.at([*length, at - 0.35]));
                    let [x, y, w, h] = [x0, y0, x1 - x0, y1 - y0].map(n);
                    self.put(format_args!(
                        "<rect x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" fill=\"{}\"/>\n",
                        ink.hex()
                    ));
                }
            }
            Layer::Label { at, text, ink } => {
                let [x, y] = map.at(*at);
                self.text([x + 4.0, y + 3.0], "start", *ink, text);
            }
        }
    }

    fn stroke(&mut self, points: &[[f64; 2]], ink: Ink, dash: Dash) {
        if points.len() < 2 {
            return;
        }
        let mut d = String::new();
        for (i, [x, y]) in points.iter().enumerate() {
            let _ = write!(d, "{}{} {}", if i == 0 { "M" } else { "L" }, n(*x), n(*y));
        }
        let dashes = match dash {
            Dash::Solid => "",
            Dash::Long => " stroke-dasharray=\"6 3\"",
            Dash::Dots => " stroke-dasharray=\"1.5 2.5\"",
        };
        if self.photo {
            self.put(format_args!(
                "<path d=\"{d}\" fill=\"none\" stroke=\"{}\" stroke-opacity=\"0.7\" stroke-width=\"2.2\"/>\n",
                rim(ink)
            ));
        }
        self.put(format_args!(
            "<path d=\"{d}\" fill=\"none\" stroke=\"{}\" stroke-width=\"1.1\"{dashes}/>\n",
            ink.hex()
        ));
    }

    fn area(&mut self, corners: &[[f64; 2]], ink: Ink) {
        let points: Vec<String> = corners.iter().map(|[x, y]| format!("{},{}", n(*x), n(*y))).collect();
        self.put(format_args!(
            "<polygon points=\"{}\" fill=\"{}\" fill-opacity=\"0.35\"/>\n",
            points.join(" "),
            ink.hex()
        ));
    }

    fn mark(&mut self, [x, y]: [f64; 2], shape: Shape, ink: Ink) {
        let [cx, cy] = [x, y].map(n);
        let hex = ink.hex();
        let path = |d: &str| format!("<path transform=\"translate({cx} {cy})\" d=\"{d}\" fill=\"none\"");
        let open = match shape {
            Shape::Disc | Shape::Bead => {
                let r = if shape == Shape::Bead { "3" } else { "1.5" };
                let rim = if self.photo { " stroke=\"#000000\" stroke-width=\"0.4\"" } else { "" };
                self.put(format_args!("<circle cx=\"{cx}\" cy=\"{cy}\" r=\"{r}\" fill=\"{hex}\"{rim}/>\n"));
                return;
            }
            Shape::Ring => format!("<circle cx=\"{cx}\" cy=\"{cy}\" r=\"2.2\" fill=\"none\""),
            Shape::Plus => path("M-4 0H4M0 -4V4"),
            Shape::Cross => path("M-4 -4L4 4M-4 4L4 -4"),
            Shape::Square => path("M-3.5 -3.5H3.5V3.5H-3.5Z"),
            Shape::Diamond => path("M-4.5 0L0 -4.5L4.5 0L0 4.5Z"),
        };
        if self.photo {
            self.put(format_args!("{open} stroke=\"{}\" stroke-opacity=\"0.7\" stroke-width=\"2.4\"/>\n", rim(ink)));
        }
        self.put(format_args!("{open} stroke=\"{hex}\" stroke-width=\"1.1\"/>\n"));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn markup_and_control_characters_stay_text() {
        assert_eq!(escape("<a b=\"c\">&'\u{0}\u{1b}\n"), "&lt;a b=&quot;c&quot;&gt;&amp;&#39; ");
    }
}
