//! The sheet with every default resolved: what the stages below work from.

use super::{Correction, Edge, Flow, Launch, Pitch, Stream};
use crate::card::Paper;
use crate::point::PixelPoint;
use crate::quantity::{Acceleration, Angle, Area, Celsius, Length, Ratio, Reading};

/// Where a value came from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Origin {
    /// Placed on the photo.
    Marked,
    /// Typed into the sheet.
    Typed,
    /// Taken from the photo's metadata.
    Metadata,
    /// A published value.
    Published,
    /// A default of ours.
    Assumed,
    /// Computed from others.
    Computed,
}

/// A value with a standard uncertainty (stated, or our default) and where each came from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Given<Q> {
    /// The value.
    pub value: Q,
    /// Its standard uncertainty.
    pub u: Q,
    /// Where the value came from.
    pub origin: Origin,
    /// Where the uncertainty came from: typed, or assumed by us.
    pub u_origin: Origin,
}

/// A mark with its standard uncertainty in each direction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    /// Where it was put.
    pub at: PixelPoint,
    /// Standard uncertainty of each coordinate in pixels.
    pub u_px: f64,
}

/// A ruler, or two marks: places in the photo with their true distance along one straight line.
#[derive(Clone, Debug, PartialEq)]
pub struct ScaleLine {
    /// The marks with their positions along the line. Two marks and a length read 0 and the length.
    pub marks: Vec<(Placed, Given<Length>)>,
    /// Whether it was stated as two marks and a length (its one uncertainty is then the length's).
    pub is_pair: bool,
    /// How far behind the jet's plane it stands.
    pub behind_jet: Given<Length>,
    /// Whether its graduation is to be read from the photo.
    pub graduation: Option<Pitch>,
}

/// A scale card in the photo.
#[derive(Clone, Debug, PartialEq)]
pub struct CheckedCard {
    /// Which card it is.
    pub paper: Paper,
    /// What its level check line measures.
    pub check_line: Given<Length>,
    /// What its upright check line measures, where it was measured.
    pub upright_line: Option<Given<Length>>,
    /// How far behind the jet's plane it stands.
    pub behind_jet: Given<Length>,
    /// Numbers of its marks and where their middles are; empty until they are found in the photo.
    pub marks: Vec<(usize, Placed)>,
}

/// The sheet after the check: complete as far as the sheet goes, nothing contradictory.
///
/// A field is `Option` only where the absence is an answer of its own (no flow: no Cd).
#[derive(Clone, Debug, PartialEq)]
pub struct Checked {
    /// Title, or the empty text.
    pub title: String,
    /// Photos, at least one.
    pub photos: Vec<String>,
    /// The dry photo.
    pub dry: Option<String>,
    /// At least one scale, unless `plane` has marks or there is a card.
    pub scales: Vec<ScaleLine>,
    /// Marks of a plane with their bench coordinates.
    pub plane: Vec<(Placed, [Given<Length>; 2])>,
    /// How far behind the jet's plane the plane marks stand.
    pub plane_behind_jet: Given<Length>,
    /// The scale card in the photo.
    pub card: Option<CheckedCard>,
    /// Distance of the camera to the jet's plane where the sheet states it.
    pub camera_distance: Option<Given<Length>>,
    /// Two marks, the direction of down between them resolved: from the first to the second is
    /// downwards. `None`: the photo's own vertical, doubtful (a notice says so).
    pub plumb: Option<[Placed; 2]>,
    /// Two marks of something horizontal.
    pub level: Option<[Placed; 2]>,
    /// Points along edges that are straight on the bench.
    pub straight: Vec<Vec<Placed>>,
    /// Radial distortion where stated.
    pub k1: Option<Given<Ratio>>,
    /// The orifice's centre.
    pub orifice: Placed,
    /// Its diameter.
    pub diameter: Given<Length>,
    /// Its edge.
    pub edge: Edge,
    /// Distance from its edge to the nearest wall, floor or surface of the tank, where the sheet states it.
    pub clearance: Option<Reading<Length>>,
    /// How the stream is to be found.
    pub stream: Stream,
    /// Launch; a stated one has an uncertainty.
    pub launch: Launch,
    /// Standard uncertainty of a stated launch angle.
    pub launch_u: Angle,
    /// Corrections to apply.
    pub corrections: Vec<Correction>,
    /// Head readings: none, one, or start and end.
    pub head: Vec<Given<Length>>,
    /// The water surface marked in the photo (only where no head was read).
    pub surface: Option<Placed>,
    /// Approach area.
    pub approach_area: Option<Given<Area>>,
    /// Flow as stated, every reading with an uncertainty (ours where none was stated).
    pub flow: Option<Flow>,
    /// The same as the sheet states it, so that a record can tell what was assumed of its readings.
    pub flow_stated: Option<Flow>,
    /// Water temperature.
    pub temperature: Given<Celsius>,
    /// Latitude where stated.
    pub latitude: Option<Given<Angle>>,
    /// Height above sea level.
    pub altitude: Given<Length>,
    /// Gravity where stated; the conventional one with a wide uncertainty where neither it nor a
    /// latitude is; `None` where it follows from latitude and height.
    pub gravity: Option<Given<Acceleration>>,
}
