//! The bench sheet: what the user states about one photo (or burst) of one run.
//!
//! [`Sheet`] is the whole document; [`Checked`] is the same with every default resolved
//! and every fault told. [`open`] is the way from text to both, [`write`](fn@write) the way back.

mod fault;
mod keys;
mod file;
mod check;
mod write;
pub mod entry;
mod starter;
mod checked;
pub mod series;
mod what;

pub use check::defaults;
pub use checked::{Checked, CheckedCard, Given, Origin, Placed, ScaleLine};
pub use fault::Fault;
pub use keys::{KEYS, KnownKey};
pub use starter::{PhotoFacts, starter};
pub use what::{What, what_is};
pub use write::write;

use crate::card::Paper;
use crate::notice::Notice;
use crate::point::PixelPoint;
use crate::quantity::{Acceleration, Angle, Area, Celsius, Length, Mass, Ratio, Reading, Time, Volume, VolumeRate};

/// A sheet that was opened: what it states, what that amounts to, and what is wrong with it.
#[derive(Clone, Debug, PartialEq)]
pub struct Opened {
    /// What could be read.
    pub sheet: Sheet,
    /// The same with every default resolved: exactly when there is no fault.
    pub checked: Option<Checked>,
    /// Every fault of the text and of what it states, in the order of the text.
    pub faults: Vec<Fault>,
    /// Unknown keys, and the defaults that matter.
    pub notices: Vec<Notice>,
}

/// Opens the text of a sheet. Never fails: what is wrong is in [`Opened::faults`].
pub fn open(text: &str) -> Opened {
    finish(file::read(text))
}

/// Checks what a text holds.
fn finish(read: file::FromText) -> Opened {
    let is_toml = !read.faults.iter().any(|fault| fault.about.is_empty());
    let mut opened = Opened { sheet: read.sheet, checked: None, faults: read.faults, notices: read.notices };
    if is_toml {
        let text_is_sound = opened.faults.is_empty();
        let verdict = check::check(&opened.sheet, &read.places);
        opened.checked = verdict.checked.filter(|_| text_is_sound);
        opened.faults.extend(verdict.faults);
        opened.notices.extend(verdict.notices);
    }
    // What is missing altogether has no line, and comes last.
    opened.faults.sort_by_key(|fault| (fault.line == 0, fault.line, fault.column));
    opened
}

/// Checks a sheet that has no text (yet): as [`open`], its faults without places.
pub fn check(sheet: Sheet) -> Opened {
    let verdict = check::check(&sheet, &file::Places::default());
    Opened { sheet, checked: verdict.checked, faults: verdict.faults, notices: verdict.notices }
}

/// What the user states, field by field as in the TOML file; `None` or empty where nothing is stated.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Sheet {
    /// `title`
    pub title: Option<String>,
    /// `[photo]` `file` or `files`, relative to the sheet.
    pub photos: Vec<String>,
    /// `[photo]` `dry`
    pub dry: Option<String>,
    /// `[scale]` or `[[scale]]`
    pub scales: Vec<Scale>,
    /// `[plane]`
    pub plane: Option<Plane>,
    /// `[card]`
    pub card: Option<ScaleCard>,
    /// `[camera]` `distance` to the jet's plane.
    pub camera_distance: Option<Reading<Length>>,
    /// `[vertical]`
    pub vertical: Option<Vertical>,
    /// `[lens]` `straight`: points along edges that are straight on the bench.
    pub straight: Vec<Vec<PixelPoint>>,
    /// `[lens]` `k1`: radial distortion with radii in half-diagonals.
    pub k1: Option<Reading<Ratio>>,
    /// `[orifice]` `centre`
    pub orifice_centre: Option<PixelPoint>,
    /// `[orifice]` `diameter`
    pub diameter: Option<Reading<Length>>,
    /// `[orifice]` `edge`
    pub edge: Option<Edge>,
    /// `[orifice]` `clearance`: from its edge to the nearest wall, floor or surface of the tank.
    pub clearance: Option<Reading<Length>>,
    /// `[stream]`
    pub stream: Stream,
    /// `[trajectory]` `launch`
    pub launch: Option<Launch>,
    /// `[trajectory]` `corrections`, applied only when listed.
    pub corrections: Vec<Correction>,
    /// `[head]` `reading`: one, or the start's and the end's.
    pub head: Vec<Reading<Length>>,
    /// `[head]` `surface`: the water surface marked in the photo.
    pub surface: Option<PixelPoint>,
    /// `[head]` `approach_area`
    pub approach_area: Option<Reading<Area>>,
    /// `[flow]`
    pub flow: Option<Flow>,
    /// `[water]` `temperature`
    pub temperature: Option<Reading<Celsius>>,
    /// `[site]` `latitude`
    pub latitude: Option<Reading<Angle>>,
    /// `[site]` `altitude`
    pub altitude: Option<Reading<Length>>,
    /// `[site]` `gravity`
    pub gravity: Option<Reading<Acceleration>>,
}

/// One scale in the photo.
#[derive(Clone, Debug, PartialEq)]
pub struct Scale {
    /// Its marks.
    pub marks: ScaleMarks,
    /// How far behind the jet's plane it stands (negative: in front).
    pub behind_jet: Option<Reading<Length>>,
    /// Whether its graduation is to be read from the photo.
    pub graduation: Option<Pitch>,
}

/// The graduation of a ruler that is to be read from the photo.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Pitch {
    /// To be found; a usual one must come out.
    Auto,
    /// From line to line, or the length of one block.
    Stated(Reading<Length>),
}

/// How a scale is marked.
#[derive(Clone, Debug, PartialEq)]
pub enum ScaleMarks {
    /// Two marks a stated length apart.
    Pair {
        /// The two marks.
        marks: [PixelPoint; 2],
        /// The true distance between them.
        length: Reading<Length>,
    },
    /// Two or more readings along one ruler.
    Readings(Vec<(PixelPoint, Reading<Length>)>),
}

/// Marks of the jet's plane whose bench coordinates are known.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Plane {
    /// Each mark with its bench coordinates: x along the jet, y downwards.
    pub marks: Vec<(PixelPoint, [Reading<Length>; 2])>,
    /// How far behind the jet's plane the marks stand.
    pub behind_jet: Option<Reading<Length>>,
}

/// A scale card that stands in the photo.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct ScaleCard {
    /// Which card it is.
    pub paper: Option<Paper>,
    /// What its level check line measures.
    pub check_line: Option<Reading<Length>>,
    /// What its upright check line measures.
    pub upright_line: Option<Reading<Length>>,
    /// How far behind the jet's plane it stands.
    pub behind_jet: Option<Reading<Length>>,
    /// Numbers of its marks, from 1, and where their middles are; none: they are found in the photo.
    pub marks: Vec<(usize, PixelPoint)>,
}

/// What tells which way is down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Vertical {
    /// Two points on something vertical.
    Plumb([PixelPoint; 2]),
    /// Two points on something horizontal.
    Level([PixelPoint; 2]),
    /// Both are marked.
    Both {
        /// Two points on something vertical.
        plumb: [PixelPoint; 2],
        /// Two points on something horizontal.
        level: [PixelPoint; 2],
    },
}

/// The orifice's edge.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Edge {
    /// Sharp-edged plate.
    Sharp,
    /// Rounded or bell-mouthed.
    Rounded,
    /// Short cylindrical tube outside the tank.
    ShortTube,
    /// Tube that projects into the tank.
    ReEntrant,
    /// Converging nozzle.
    Nozzle,
}

/// How the stream is to be found.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Stream {
    /// Its tone against what lies behind it.
    pub tone: Option<Tone>,
    /// The threshold on the evidence, 0 to 1; `None` for automatic.
    pub level: Option<f64>,
    /// The only area to look in, a polygon.
    pub look_in: Vec<PixelPoint>,
    /// Areas to leave out, polygons.
    pub leave_out: Vec<Vec<PixelPoint>>,
    /// Last bench x to use.
    pub until: Option<Reading<Length>>,
    /// Stations placed by hand; alone, they replace the threshold.
    pub by_hand: Vec<PixelPoint>,
}

/// The stream's tone against its background.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Tone {
    /// Brighter than what lies behind it.
    Bright,
    /// Darker than what lies behind it.
    Dark,
    /// Either, or both by turns.
    #[default]
    Either,
}

/// What is known of the launch angle.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub enum Launch {
    /// To be found by the fit.
    #[default]
    Free,
    /// Horizontal at the vena contracta.
    Level,
    /// Stated, upwards positive.
    Stated(Reading<Angle>),
}

/// A second-order effect that may be corrected for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Correction {
    /// Tension along the jet's path, and the capillary pressure at its start.
    SurfaceTension,
    /// Drag of the still air.
    AirDrag,
    /// Buoyancy of the air.
    AirBuoyancy,
}

/// How the discharge was had.
#[derive(Clone, Debug, PartialEq)]
pub enum Flow {
    /// Repeats of a timed filling.
    Timed(Vec<Filling>),
    /// One filling, read at marks as it fills: cumulative.
    Running(Vec<Filling>),
    /// Stated.
    Discharge(Reading<VolumeRate>),
}

/// A volume or a mass caught in a time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Filling {
    /// What was caught.
    pub caught: Caught,
    /// In what time.
    pub time: Reading<Time>,
}

/// What was caught.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Caught {
    /// Read on a vessel.
    Volume(Reading<Volume>),
    /// Weighed.
    Mass(Reading<Mass>),
}
