//! [`Findings`]: everything that is shown or exported starts here.

use super::PathPoint;
use crate::notice::Notice;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// What was found from one sheet: the one value that table, JSON, CSV, report and window start from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, Default, JsonSchema)]
pub struct Findings {
    /// Version of this format: 1.
    pub format: u32,
    /// The sheet's file name, without its folder.
    pub sheet: String,
    /// The sheet's title.
    #[serde(default)]
    pub title: String,
    /// The jet's speed at the vena contracta.
    pub velocity: Option<Found>,
    /// Launch angle at the vena contracta, upwards positive.
    pub launch_angle: Option<Found>,
    /// Coefficient of velocity.
    pub cv: Option<Found>,
    /// Coefficient of discharge.
    pub cd: Option<Found>,
    /// Coefficient of contraction.
    pub cc: Option<Found>,
    /// Coefficient of loss, 1/Cv^2 - 1.
    pub k: Option<Found>,
    /// Ideal velocity, sqrt(2 g H) (with the velocity of approach where an area is stated).
    pub ideal_velocity: Option<Found>,
    /// Head above the orifice centre.
    pub head: Option<Found>,
    /// Discharge.
    pub discharge: Option<Found>,
    /// Reynolds number of the jet.
    pub reynolds: Option<Found>,
    /// Weber number of the jet.
    pub weber: Option<Found>,
    /// Head lost.
    pub head_lost: Option<Found>,
    /// Power of the jet.
    pub jet_power: Option<Found>,
    /// Width of the stream at the vena contracta, from the photo.
    #[serde(default)]
    pub stream_width: Option<Found>,
    /// Every station of the centreline, in order from the orifice.
    pub stations: Vec<StationRow>,
    /// The fitted trajectory from the vena contracta to the last station.
    #[serde(default)]
    pub fitted: Vec<PathPoint>,
    /// The path that the ideal velocity would take from the same start; empty where no head is known.
    #[serde(default)]
    pub predicted: Vec<PathPoint>,
    /// Budget of uncertainty for each result, largest share first.
    pub budget: BTreeMap<String, Vec<BudgetRow>>,
    /// How well the trajectory fits: `stations used`, `rms`, `effective stations`, `waviness` ... as named numbers with units.
    #[serde(default)]
    pub fit: BTreeMap<String, Found>,
    /// What the user should know.
    pub notices: Vec<Notice>,
    /// What went in: hashes of photo and sheet, version, seed.
    pub inputs: BTreeMap<String, String>,
}

/// One result with its standard uncertainty and 95 % coverage interval.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Found {
    /// The value.
    pub value: f64,
    /// Its standard uncertainty.
    pub u: f64,
    /// Lower end of the 95 % coverage interval.
    pub lo: f64,
    /// Upper end.
    pub hi: f64,
    /// The unit; empty for a pure number.
    pub unit: String,
}

/// One station of the stream's centreline.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct StationRow {
    /// Where it is in the photo.
    pub px: [f64; 2],
    /// Bench x in mm.
    pub x_mm: f64,
    /// Drop in mm.
    pub y_mm: f64,
    /// Standard uncertainty across the stream, in pixels.
    pub u_px: f64,
    /// Width of the stream in mm.
    pub width_mm: Option<f64>,
    /// Signed distance from the fitted trajectory in mm, positive below it.
    pub off_mm: f64,
    /// Whether the fit used it.
    pub used: bool,
    /// Velocity that this station alone gives, m/s.
    pub velocity: Option<f64>,
    /// Its standard uncertainty, m/s.
    #[serde(default)]
    pub velocity_u: Option<f64>,
    /// Cv that this station alone gives.
    pub cv: Option<f64>,
}

/// One row of a budget of uncertainty.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct BudgetRow {
    /// Name of the input: `scale.length`.
    pub input: String,
    /// Its value as text with unit.
    pub value: String,
    /// Its standard uncertainty as text with unit.
    pub u: String,
    /// Derivative of the result by the input, in result unit per input unit.
    pub sensitivity: f64,
    /// Share of the variance, 0 to 1.
    pub share: f64,
}
