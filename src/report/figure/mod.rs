//! Figures as data: lines, bands, marks, bars and labels in the units of their axes.
//!
//! A figure knows neither SVG nor PDF nor pixels of a screen; [`crate::report::svg`] draws it. Every figure carries its
//! caption and a description for those who cannot see it. Colours are the eight of M. Okabe and K. Ito (2008, Color
//! Universal Design), and every layer differs from its neighbours in shape or dash too, so that a grey print reads.

mod budget;
mod photo;
mod residuals;
mod ticks;
mod velocity;
mod width;

pub use budget::budget;
pub use photo::{close_up, photo};
pub use residuals::residuals;
pub use ticks::ticks;
pub use velocity::velocity;
pub use width::width;

/// A figure, or why there is none: lower case, no full stop.
pub type Drawn = Result<Figure, String>;

/// One figure.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// Name of its file, without an ending.
    pub name: String,
    /// What it shows, as a sentence or two below it.
    pub caption: String,
    /// The same in words, for a reader who does not see it.
    pub description: String,
    /// What it is drawn in.
    pub frame: Frame,
    /// What is drawn, lowest first.
    pub layers: Vec<Layer>,
}

/// What a figure is drawn in.
#[derive(Clone, Debug, PartialEq)]
pub enum Frame {
    /// Two axes.
    Axes {
        /// Across.
        x: Axis,
        /// Upwards.
        y: Axis,
        /// Height over width of the plot.
        aspect: f64,
    },
    /// A cut of the photo; layers count in pixels of the whole photo.
    Photo {
        /// Left, top, width and height of the cut in px.
        cut: [f64; 4],
        /// The cut as a picture.
        picture: Picture,
        /// Its largest height in points.
        tallest_pt: f64,
    },
}

/// A picture as a JPEG file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    /// The file.
    pub jpeg: Vec<u8>,
    /// Its width in px.
    pub width: u32,
    /// Its height in px.
    pub height: u32,
}

/// One axis.
#[derive(Clone, Debug, PartialEq)]
pub struct Axis {
    /// What it counts, with the unit: `x / mm`.
    pub label: String,
    /// Its lower end.
    pub lo: f64,
    /// Its upper end.
    pub hi: f64,
    /// Where it is marked and with what text.
    pub ticks: Vec<(f64, String)>,
}

impl Axis {
    /// An axis over all of `values`, with room at both ends, marked at round numbers; 0 to 1 for no finite value.
    pub fn over(label: &str, values: impl IntoIterator<Item = f64>) -> Self {
        let finite = values.into_iter().filter(|v| v.is_finite());
        let (lo, hi) = finite.fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), v| (lo.min(v), hi.max(v)));
        let (lo, hi) = if lo > hi { (0.0, 1.0) } else { (lo, hi) };
        let room = if hi > lo { 0.05 * (hi - lo) } else { (0.05 * hi.abs()).max(1e-9) };
        let (lo, hi) = (lo - room, hi + room);
        Self { label: label.to_owned(), lo, hi, ticks: ticks(lo, hi) }
    }
}

/// A colour of Okabe and Ito, or white.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ink {
    /// Black.
    Black,
    /// Middle grey, for what only helps to read.
    Grey,
    /// Orange.
    Orange,
    /// Sky blue.
    Sky,
    /// Bluish green.
    Green,
    /// Yellow.
    Yellow,
    /// Blue.
    Blue,
    /// Vermilion.
    Vermilion,
    /// Reddish purple.
    Purple,
}

impl Ink {
    /// As six hexadecimal digits behind a `#`.
    pub fn hex(self) -> &'static str {
        match self {
            Self::Black => "#000000",
            Self::Grey => "#767676",
            Self::Orange => "#e69f00",
            Self::Sky => "#56b4e9",
            Self::Green => "#009e73",
            Self::Yellow => "#f0e442",
            Self::Blue => "#0072b2",
            Self::Vermilion => "#d55e00",
            Self::Purple => "#cc79a7",
        }
    }
}

/// How a line is broken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dash {
    /// Not.
    Solid,
    /// Long dashes.
    Long,
    /// Dots.
    Dots,
}

/// The shape of a mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// A filled disc, small: one of hundreds.
    Disc,
    /// A filled disc that stands out from a line through it: one of few.
    Bead,
    /// An open ring: what is shown but not used.
    Ring,
    /// An upright cross.
    Plus,
    /// A slanting cross.
    Cross,
    /// An open square.
    Square,
    /// An open diamond.
    Diamond,
}

/// One thing drawn. A `name` puts it into the legend.
#[derive(Clone, Debug, PartialEq)]
pub enum Layer {
    /// A line through points.
    Line {
        /// Name in the legend.
        name: Option<String>,
        /// Its points.
        points: Vec<[f64; 2]>,
        /// Its colour.
        ink: Ink,
        /// How it is broken.
        dash: Dash,
    },
    /// The area between two lines.
    Band {
        /// Name in the legend.
        name: Option<String>,
        /// The outline: along the one line and back along the other.
        outline: Vec<[f64; 2]>,
        /// Its colour; it lets through what lies below.
        ink: Ink,
    },
    /// Marks, each with a bar of uncertainty where one is given.
    Marks {
        /// Name in the legend.
        name: Option<String>,
        /// Their places, and the half length of the upright bar.
        points: Vec<([f64; 2], Option<f64>)>,
        /// Their shape.
        shape: Shape,
        /// Their colour.
        ink: Ink,
    },
    /// Level bars from 0 to a length, each 0.7 thick about its height.
    Bars {
        /// Length and height of each.
        bars: Vec<[f64; 2]>,
        /// Their colour.
        ink: Ink,
    },
    /// A text that begins a little to the right of a place.
    Label {
        /// The place.
        at: [f64; 2],
        /// The text.
        text: String,
        /// Its colour.
        ink: Ink,
    },
}

impl Layer {
    /// Its name in the legend.
    pub fn name(&self) -> Option<&str> {
        match self {
            Self::Line { name, .. } | Self::Band { name, .. } | Self::Marks { name, .. } => name.as_deref(),
            Self::Bars { .. } | Self::Label { .. } => None,
        }
    }
}

fn named(text: &str) -> Option<String> {
    Some(text.to_owned())
}

/// "none is left out" or "3 are left out", for descriptions.
fn left_out(count: usize) -> String {
    match count {
        0 => "all are used".to_owned(),
        1 => "one is left out of the fit".to_owned(),
        n => format!("{n} are left out of the fit"),
    }
}
