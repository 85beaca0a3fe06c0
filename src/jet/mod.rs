//! Plate -> stations: where the stream is in the photo, to a fraction of a pixel.
//!
//! A bare threshold fails on real jets: water is transparent, its rims are dark or bright, its
//! core shows what lies behind, glints break it into specks, and rulers are as bright. So the
//! threshold is only the first step of a loop:
//!
//! ```text
//! evidence  where something as fine as the stream stands out from what lies around it
//! search    thresholded evidence votes along every trajectory that leaves the orifice
//! band      the photo is sampled along normals of the best one: s along, n across
//! rims      the pair of edges, one stream's width apart, that the band bears best
//! edges     each rim to a fraction of a pixel
//! stations  the middle between the edges, with uncertainty; where the stream ends and why
//! ```
//! The last four are repeated along the curve that they found, until it is still.

mod areas;
mod attract;
mod band;
mod course;
mod curve;
mod edges;
mod evidence;
mod ground;
mod joined;
mod outline;
mod path;
mod rims;
mod search;
mod sketch;
mod stations;
mod trace;
mod view;
mod waves;

pub use areas::Areas;
pub use attract::attract;
pub use ground::{EvidencePlate, Ground};
pub use path::Path;
pub use stations::{End, Station};
pub use trace::{NoStream, Prospect, Trace, by_hand, still_there, trace, trace_beyond, trace_near, trace_on};
