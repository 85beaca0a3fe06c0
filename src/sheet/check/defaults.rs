//! What is assumed where the sheet is silent, each with its reason.
//!
//! Standard uncertainties throughout. A limit ±a that is all one knows counts as a
//! rectangular distribution, a/sqrt(3) (JCGM 100:2008, 4.3.7).

/// A mark clicked on a photo, each coordinate, in pixels: within 1.2 px of where it should be,
/// rectangular. Common practice, no source.
pub const CLICK_U_PX: f64 = 0.7;

/// An interval timed by a watch started and stopped by hand, s: net error N(0, 0.10^2), from 4304 timings
/// (Am. J. Phys. 87(2):110, 2019, abstract).
pub const INTERVAL_U_S: f64 = 0.10;
/// One press of such a watch at an event that is seen coming, s: presses scatter by 0.07 s about a mean delay of 0.11 s, which
/// all readings of one filling share (the same).
pub const PRESS_U_S: f64 = 0.07;

/// Limit of error of a common rule of length L, mm: 0.3 + 0.2 for each metre begun. The form
/// and the figures are those of accuracy class II for material measures of length in the European
/// Measuring Instruments Directive, annex MI-008; quoted from memory.
pub fn rule_limit_mm(length_m: f64) -> f64 {
    0.3 + 0.2 * length_m.abs().ceil().max(1.0)
}

/// How far a scale said nothing of may stand from the jet's plane, m (standard uncertainty):
/// put there by eye. Common practice, no source.
pub const IN_PLANE_U_M: f64 = 0.002;

/// A stated distance from the jet's plane, m: measured with a rule to the middle of a moving
/// stream, within 2 mm. Common practice, no source.
pub const BEHIND_JET_U_M: f64 = 0.001;

/// A check line of a card measured with a steel rule, m: each end within 0.2 mm. Common practice, no source.
pub const CHECK_LINE_U_M: f64 = 0.00015;

/// How true a print is that nobody measured, relative: "fit to page", which shrinks by 3 % and more, is not excluded.
/// Common practice, no source.
pub const PRINT_RELATIVE_U: f64 = 0.01;

/// A mark of a card that was found in the photo and written down, each coordinate, px. Found in rendered views of known
/// pose they scatter by 0.01 to 0.02 px, but a printed card is not quite flat. Common practice, no source.
pub const CARD_MARK_U_PX: f64 = 0.1;

/// The camera's distance, relative: to which point within the lens it counts is seldom known
/// better. Common practice, no source.
pub const CAMERA_DISTANCE_RELATIVE_U: f64 = 0.01;

/// An orifice diameter, m: a calliper in a bore, within 0.09 mm. Common practice, no source.
pub const DIAMETER_U_M: f64 = 0.00005;

/// A head read against a rule, m: within one millimetre, the meniscus included; 1 mm / sqrt(3).
pub const HEAD_U_M: f64 = 0.0006;

/// Area of the tank, relative. It enters the head by (A2/A1)^2 only. Common practice, no source.
pub const APPROACH_AREA_RELATIVE_U: f64 = 0.01;

/// A radial distortion coefficient, relative. Common practice, no source.
pub const K1_RELATIVE_U: f64 = 0.1;

/// A stated launch angle, degrees: a spirit level or protractor on the nozzle. Common practice,
/// no source.
pub const LAUNCH_U_DEG: f64 = 0.5;

/// Water nobody took the temperature of, °C: a laboratory's. Common practice, no source.
pub const TEMPERATURE_DEGC: f64 = 20.0;
/// Its standard uncertainty, K.
pub const TEMPERATURE_U_K: f64 = 3.0;
/// A thermometer reading without an uncertainty, K: within 0.9 K. Common practice, no source.
pub const THERMOMETER_U_K: f64 = 0.5;

/// Gravity nobody stated: the conventional value (3rd CGPM, 1901), exact by definition.
pub const GRAVITY_M_S2: f64 = 9.80665;
/// Its standard uncertainty: sea level from the equator, 9.7803 m/s^2, to the pole, 9.8322 m/s^2
/// (WGS84), as a rectangular distribution.
pub const GRAVITY_U_M_S2: f64 = 0.015;
/// A stated gravity without an uncertainty, m/s^2: the size of a local anomaly. Common practice,
/// no source.
pub const STATED_GRAVITY_U_M_S2: f64 = 0.0005;
/// A stated latitude, degrees: read off a map to the next tenth (11 km). Common practice, no source.
pub const LATITUDE_U_DEG: f64 = 0.1;
/// Height nobody stated, m above sea level, and its standard uncertainty: 300 m are
/// 0.001 m/s^2 (free air, 3.086e-6 per metre). Common practice, no source.
pub const ALTITUDE_M: f64 = 0.0;
/// See [`ALTITUDE_M`].
pub const ALTITUDE_U_M: f64 = 300.0;
/// A stated height, m. Common practice, no source.
pub const STATED_ALTITUDE_U_M: f64 = 10.0;

/// A volume read on a vessel, relative: within 1 %, rectangular. Common practice, no source.
pub const VOLUME_RELATIVE_U: f64 = 0.006;
/// A mass from a bench scale, relative. Common practice, no source.
pub const MASS_RELATIVE_U: f64 = 0.001;
/// A stated discharge, relative: a good meter. Common practice, no source.
pub const DISCHARGE_RELATIVE_U: f64 = 0.01;

/// Two marks nearer than this, px, say nothing: two clicks of [`CLICK_U_PX`] leave their
/// distance uncertain by 1 px, a tenth of it.
pub const NEAREST_MARKS_PX: f64 = 10.0;
