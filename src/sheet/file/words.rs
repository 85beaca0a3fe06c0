//! The words that some keys choose from.

use crate::card::Paper;
use crate::sheet::{Correction, Edge, Tone};

/// The words of `orifice.edge`.
pub(crate) const EDGES: &[(&str, Edge)] = &[
    ("sharp", Edge::Sharp),
    ("rounded", Edge::Rounded),
    ("short-tube", Edge::ShortTube),
    ("re-entrant", Edge::ReEntrant),
    ("nozzle", Edge::Nozzle),
];

/// The words of `stream.tone`.
pub(crate) const TONES: &[(&str, Tone)] = &[("bright", Tone::Bright), ("dark", Tone::Dark), ("either", Tone::Either)];

/// The words of `trajectory.corrections`.
pub(crate) const CORRECTIONS: &[(&str, Correction)] = &[
    ("surface-tension", Correction::SurfaceTension),
    ("air-drag", Correction::AirDrag),
    ("air-buoyancy", Correction::AirBuoyancy),
];

/// The words of `card.paper`.
pub(crate) const PAPERS: &[(&str, Paper)] = &[("A4", Paper::A4), ("A3", Paper::A3), ("Letter", Paper::Letter)];
