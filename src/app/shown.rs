//! Numbers in the units that the user chose for results; the sheet keeps what was typed.
//!
//! Factors are those of [`crate::quantity::units`], rounding that of [`crate::quantity`]; nothing here adds its own.

use super::command::Units;
use crate::measure::Found;
use crate::quantity::units::{KINDS, Unit};
use crate::quantity::{show, show_interval};

/// A value with its standard uncertainty in the unit that it is shown in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shown<'a> {
    /// The value.
    pub value: f64,
    /// Its standard uncertainty; 0 where none is known.
    pub u: f64,
    /// The unit.
    pub unit: &'a str,
}

impl<'a> Shown<'a> {
    /// `value` and `u` of `unit` in the chosen units. A unit that has no customary one stays.
    pub fn new(value: f64, u: f64, unit: &'a str, units: Units) -> Self {
        let change = customary(unit).filter(|_| units == Units::UsCustomary);
        match change.and_then(|to| Some((to, change_of(unit, to)?))) {
            Some((to, (from_unit, to_unit))) => Self {
                value: to_unit.number(from_unit.si(value)),
                u: to_unit.number_of_difference(from_unit.si_difference(u)),
                unit: to,
            },
            None => Self { value, u, unit },
        }
    }

    /// A result in the chosen units.
    pub fn found(found: &'a Found, units: Units) -> Self {
        Self::new(found.value, found.u, &found.unit, units)
    }

    /// `10.000 mm ± 0.050 mm`.
    pub fn text(&self) -> String {
        show(self.value, self.u, self.unit)
    }
}

/// The 95 % interval of a result in the chosen units.
pub fn interval(found: &Found, units: Units) -> String {
    let end = |value| Shown::new(value, 0.0, &found.unit, units);
    let (lo, hi) = (end(found.lo), end(found.hi));
    show_interval(lo.value, hi.value, lo.unit)
}

/// How much a number of `unit` grows when it is shown in the chosen units, and what that unit is: for axes. Only for
/// units whose zeros agree.
pub fn factor(unit: &str, units: Units) -> (f64, &str) {
    let one = Shown::new(1.0, 0.0, unit, units);
    (one.value, one.unit)
}

/// The US customary unit that stands for a unit of the findings.
fn customary(unit: &str) -> Option<&'static str> {
    Some(match unit {
        "mm" | "cm" => "in",
        "m" => "ft",
        "m/s" => "ft/s",
        "m/s^2" => "ft/s^2",
        "m^2" => "ft^2",
        "m^3" | "L" => "gal (US)",
        "L/s" | "m^3/s" => "gpm (US)",
        "kg" => "lb",
        "degC" => "degF",
        _ => return None,
    })
}

/// The two units by their symbols, of one kind.
fn change_of(from: &str, to: &str) -> Option<(&'static Unit, &'static Unit)> {
    KINDS.iter().find_map(|(_, units)| {
        let by = |symbol: &str| units.iter().find(|u| u.symbol == symbol);
        Some((by(from)?, by(to)?))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn customary_units_by_their_definitions() {
        // 25.4 mm an inch, 3.785 411 784 L a US gallon, both exact (NIST Special Publication 811, 2008, appendix B.8);
        // 100 degC are 212 degF, and a difference of 5 K one of 9 degF
        for (value, u, unit, expected) in [
            (111.125, 0.254, "mm", (4.375, 0.01, "in")),
            (3.048, 0.3048, "m/s", (10.0, 1.0, "ft/s")),
            (3.785411784, 0.0, "L/s", (60.0, 0.0, "gpm (US)")),
            (100.0, 5.0, "degC", (212.0, 9.0, "degF")),
            (0.59, 0.01, "W", (0.59, 0.01, "W")),
            (0.97, 0.01, "", (0.97, 0.01, "")),
        ] {
            let shown = Shown::new(value, u, unit, Units::UsCustomary);
            let near = |a: f64, b: f64| (a - b).abs() <= 1e-12 * b.abs().max(1.0);
            assert!(near(shown.value, expected.0) && near(shown.u, expected.1), "{shown:?}");
            assert_eq!(shown.unit, expected.2);
            assert_eq!(Shown::new(value, u, unit, Units::Si), Shown { value, u, unit });
        }
    }

    #[test]
    fn an_interval_has_one_unit() {
        let found = Found { value: 10.0, u: 1.0, lo: 8.0, hi: 12.0, unit: "mm".into() };
        assert_eq!(interval(&found, Units::Si), "8.0 to 12.0 mm");
        assert_eq!(interval(&found, Units::UsCustomary), "0.315 to 0.472 in");
    }
}
