//! The units a sheet may use, with exact factors.
//!
//! The factors are ours because `uom` rounds some of them (its gallon is 3.785412 L). Those of
//! inch, foot, yard, pound and US gallon are definitions: 25.4 mm exactly and its multiples, 0.453 592 37 kg,
//! 231 in^3 (NIST Special Publication 811, 2008, appendix B.8, "Factors for units listed alphabetically"); the imperial gallon is
//! 4.546 09 L (UK Weights and Measures Act 1985, schedule 1). The pound-force per square inch
//! follows from pound, inch and 9.806 65 m/s^2 (SP 811, B.8) and is the only rounded one. The place in the
//! act is cited from memory; the factors themselves are exact by definition.

use std::f64::consts::PI;

/// One unit: how it is written and what it is worth.
///
/// A number n of the unit is `(n + shift) * times * 10^ten` of the kind's SI unit; the shift
/// is left out for differences and uncertainties.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    /// As we write it.
    pub symbol: &'static str,
    /// Other spellings that are read.
    pub others: &'static [&'static str],
    /// Factor to the SI unit apart from the power of ten.
    pub times: f64,
    /// Power of ten of the factor.
    pub ten: i32,
    /// Added to the number first (temperatures).
    pub shift: f64,
    /// Whether a smaller unit may follow: `5 ft 2 in`, `1 min 23.4 s`, `5° 30'`.
    pub compound: bool,
}

const fn unit(symbol: &'static str, others: &'static [&'static str], times: f64, ten: i32) -> Unit {
    Unit { symbol, others, times, ten, shift: 0.0, compound: false }
}

const fn compound(symbol: &'static str, others: &'static [&'static str], times: f64, ten: i32) -> Unit {
    Unit { symbol, others, times, ten, shift: 0.0, compound: true }
}

impl Unit {
    /// Whether the unit is written `spelling` (after normalising, see [`super::Reading`]).
    pub fn is_spelt(&self, spelling: &str) -> bool {
        self.symbol == spelling || self.others.contains(&spelling)
    }

    /// The SI value of `number` of this unit.
    pub fn si(&self, number: f64) -> f64 {
        self.si_difference(number + self.shift)
    }

    /// The SI value of a difference of `number` of this unit: no shift of the zero.
    pub fn si_difference(&self, number: f64) -> f64 {
        scale_ten(number * self.times, self.ten)
    }

    /// The number of this unit for the value `si` in the SI unit, to about one part in 1e16.
    pub fn number(&self, si: f64) -> f64 {
        self.number_of_difference(si) - self.shift
    }

    /// The number of this unit for a difference `si` in the SI unit.
    pub fn number_of_difference(&self, si: f64) -> f64 {
        scale_ten(si, -self.ten) / self.times
    }
}

/// `value * 10^ten` with one rounding: 10^|ten| is exact up to 22, dividing by it rounds once.
fn scale_ten(value: f64, ten: i32) -> f64 {
    if ten < 0 { value / 10f64.powi(-ten) } else { value * 10f64.powi(ten) }
}

/// Lengths.
pub const LENGTH: &[Unit] = &[
    unit("m", &["metre", "metres", "meter", "meters"], 1.0, 0),
    unit("mm", &["millimetre", "millimetres", "millimeter", "millimeters"], 1.0, -3),
    unit("cm", &["centimetre", "centimetres", "centimeter", "centimeters"], 1.0, -2),
    unit("um", &["micron", "microns"], 1.0, -6),
    unit("in", &["\"", "inch", "inches", "''"], 254.0, -4),
    compound("ft", &["'", "foot", "feet"], 3048.0, -4),
    compound("yd", &["yard", "yards"], 9144.0, -4),
];

/// Areas.
pub const AREA: &[Unit] = &[
    unit("m^2", &["m2", "sq m"], 1.0, 0),
    unit("mm^2", &["mm2", "sq mm"], 1.0, -6),
    unit("cm^2", &["cm2", "sq cm"], 1.0, -4),
    unit("in^2", &["in2", "sq in"], 64516.0, -8),
    unit("ft^2", &["ft2", "sq ft"], 9290304.0, -8),
];

/// Volumes.
pub const VOLUME: &[Unit] = &[
    unit("m^3", &["m3", "cu m"], 1.0, 0),
    unit("L", &["l", "litre", "litres", "liter", "liters", "dm^3", "dm3"], 1.0, -3),
    unit("ml", &["mL", "millilitre", "millilitres", "milliliter", "milliliters"], 1.0, -6),
    unit("cl", &["cL"], 1.0, -5),
    unit("cm^3", &["cm3", "cc"], 1.0, -6),
    unit("mm^3", &["mm3"], 1.0, -9),
    unit("in^3", &["in3", "cu in"], 16387064.0, -12),
    unit("ft^3", &["ft3", "cu ft"], 28316846592.0, -12),
    unit("gal (US)", &["gal(US)", "US gal", "gal US"], 3785411784.0, -12),
    unit("qt (US)", &["qt(US)", "US qt", "qt US"], 946352946.0, -12),
    unit("pt (US)", &["pt(US)", "US pt", "pt US"], 473176473.0, -12),
    unit("gal (imp)", &["gal(imp)", "imp gal", "gal imp", "gal (UK)", "gal(UK)"], 454609.0, -8),
    unit("qt (imp)", &["qt(imp)", "imp qt", "qt imp", "qt (UK)", "qt(UK)"], 1136522.5, -9),
    unit("pt (imp)", &["pt(imp)", "imp pt", "pt imp", "pt (UK)", "pt(UK)"], 56826125.0, -11),
];

/// Masses.
pub const MASS: &[Unit] = &[
    unit("kg", &["kilogram", "kilograms"], 1.0, 0),
    unit("g", &["gram", "grams"], 1.0, -3),
    unit("mg", &[], 1.0, -6),
    unit("t", &["tonne", "tonnes"], 1.0, 3),
    compound("lb", &["lbs", "pound", "pounds"], 45359237.0, -8),
    unit("oz", &["ounce", "ounces"], 28349523125.0, -12),
];

/// Times.
pub const TIME: &[Unit] = &[
    unit("s", &["sec", "second", "seconds"], 1.0, 0),
    unit("ms", &[], 1.0, -3),
    compound("min", &["minute", "minutes"], 60.0, 0),
    compound("h", &["hr", "hour", "hours"], 3600.0, 0),
];

/// Angles; the SI value is in radians.
pub const ANGLE: &[Unit] = &[
    unit("rad", &["radian", "radians"], 1.0, 0),
    unit("mrad", &[], 1.0, -3),
    compound("deg", &["°", "degree", "degrees"], PI / 180.0, 0),
    unit("arcmin", &["'"], PI / 10800.0, 0),
];

/// Velocities.
pub const VELOCITY: &[Unit] = &[
    unit("m/s", &[], 1.0, 0),
    unit("mm/s", &[], 1.0, -3),
    unit("cm/s", &[], 1.0, -2),
    unit("ft/s", &["fps"], 3048.0, -4),
];

/// Accelerations.
pub const ACCELERATION: &[Unit] = &[
    unit("m/s^2", &["m/s2"], 1.0, 0),
    unit("cm/s^2", &["cm/s2", "Gal"], 1.0, -2),
    unit("mGal", &[], 1.0, -5),
    unit("ft/s^2", &["ft/s2"], 3048.0, -4),
];

/// Discharges.
pub const DISCHARGE: &[Unit] = &[
    unit("m^3/s", &["m3/s"], 1.0, 0),
    unit("L/s", &["l/s"], 1.0, -3),
    unit("ml/s", &["mL/s", "cm^3/s", "cm3/s"], 1.0, -6),
    unit("L/min", &["l/min"], 1.0 / 60.0, -3),
    unit("L/h", &["l/h"], 1.0 / 3600.0, -3),
    unit("m^3/h", &["m3/h"], 1.0 / 3600.0, 0),
    unit("ft^3/s", &["ft3/s", "cfs"], 28316846592.0, -12),
    unit("gpm (US)", &["gpm(US)", "US gpm", "gal (US)/min", "gal(US)/min"], 3785411784.0 / 60.0, -12),
    unit("gpm (imp)", &["gpm(imp)", "imp gpm", "gal (imp)/min", "gal(imp)/min"], 454609.0 / 60.0, -8),
];

/// Pressures.
pub const PRESSURE: &[Unit] = &[
    unit("Pa", &[], 1.0, 0),
    unit("hPa", &["mbar"], 1.0, 2),
    unit("kPa", &[], 1.0, 3),
    unit("bar", &[], 1.0, 5),
    unit("psi", &[], 6894.757293168, 0),
];

/// Powers.
pub const POWER: &[Unit] = &[unit("W", &[], 1.0, 0), unit("mW", &[], 1.0, -3), unit("kW", &[], 1.0, 3)];

/// Temperatures; the "SI" value is in degrees Celsius.
pub const TEMPERATURE: &[Unit] = &[
    unit("degC", &["°C", "deg C", "° C", "C", "℃"], 1.0, 0),
    Unit { symbol: "K", others: &["kelvin"], times: 1.0, ten: 0, shift: -273.15, compound: false },
    Unit {
        symbol: "degF",
        others: &["°F", "deg F", "° F", "F", "℉"],
        times: 5.0 / 9.0,
        ten: 0,
        shift: -32.0,
        compound: false,
    },
];

/// Pure numbers.
pub const NUMBER: &[Unit] = &[unit("", &[], 1.0, 0), unit("%", &["percent"], 1.0, -2)];

/// Every kind with its units, to tell which kind a misplaced unit belongs to.
pub const KINDS: &[(&str, &[Unit])] = &[
    ("length", LENGTH),
    ("area", AREA),
    ("volume", VOLUME),
    ("mass", MASS),
    ("time", TIME),
    ("angle", ANGLE),
    ("velocity", VELOCITY),
    ("acceleration", ACCELERATION),
    ("discharge", DISCHARGE),
    ("pressure", PRESSURE),
    ("power", POWER),
    ("temperature", TEMPERATURE),
    ("number", NUMBER),
];

/// Names that stand for a US and an imperial measure alike, and are therefore refused alone.
pub const TWO_MEANINGS: &[&str] =
    &["gal", "gallon", "gallons", "qt", "quart", "quarts", "pt", "pint", "pints", "gpm", "gal/min"];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_spelling_stands_for_two_units_of_a_kind() {
        for (kind, units) in KINDS {
            let mut seen = std::collections::BTreeSet::new();
            for unit in *units {
                for spelling in unit.others.iter().chain([&unit.symbol]) {
                    assert!(seen.insert(*spelling), "{kind}: {spelling} twice");
                }
            }
        }
    }

    #[test]
    fn the_first_unit_of_a_kind_is_worth_one() {
        for (kind, units) in KINDS {
            assert_eq!((units[0].si(1.0), units[0].shift), (1.0, 0.0), "{kind}");
        }
    }
}
