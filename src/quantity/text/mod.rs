//! Text to [`Reading`] and back: the only place that knows how people write quantities.
//!
//! ```text
//! reading = side [ "±" side ]          also "+-", "+/-"; "(500 ± 0.3) mm"; "500.0(3) mm"
//! side    = number unit { number unit }           "12mm", "5 ft 2 in", "1 min 23.4 s", "1:23.4"
//! number  = "12", ".5", "1e-3", "3/8", "4 3/8", "4-3/8", "4½"
//! ```
//! `±` gives a *standard* uncertainty. `%` after `±` is relative to the value, unless the
//! value itself is a number in per cent. Typographic minus signs, spaces, primes and
//! superscripts are read as their plain forms. A decimal comma is refused: `1,013` could be
//! either of two numbers a thousand apart.

mod error;
mod scan;

pub use error::{TextError, Why};

use super::units::{KINDS, TWO_MEANINGS, Unit};
use super::{Kind, Reading};
use scan::Term;

/// Reads a quantity of kind `Q`.
///
/// # Errors
/// A [`TextError`] that names the offending part, why it is refused, and what is accepted.
/// Never a value that is not finite, never a negative uncertainty.
pub fn read<Q: Kind>(text: &str) -> Result<Reading<Q>, TextError> {
    let plain = scan::normalise(text);
    if plain.is_empty() {
        return Err(TextError::new(Why::Empty, "", format!("no {} is written", Q::NAME)).hint(accepted::<Q>()));
    }
    if plain.replace(' ', "").contains("k=") {
        let says = "± takes a standard uncertainty, without a coverage factor";
        return Err(
            TextError::new(Why::CoverageFactor, text.trim(), says).hint("divide the uncertainty by k, leave k out")
        );
    }
    let plain = scan::unwrap_brackets(&plain);
    let mut sides = plain.split('±');
    let (first, second, third) = (sides.next().unwrap_or(""), sides.next(), sides.next());
    if third.is_some() {
        return Err(TextError::new(Why::Unexpected, "±", "more than one ±"));
    }
    let is_time = Q::NAME == "time";
    let terms = |side| scan::terms(side, is_time).map_err(with_accepted::<Q>);
    let mut value_terms = terms(first)?;
    let u_terms = second.map(terms).transpose()?;
    if let (Some(u), [only]) = (&u_terms, value_terms.as_mut_slice())
        && let [u] = u.as_slice()
        && only.unit.is_empty()
        && u.unit != "%"
    {
        only.unit.clone_from(&u.unit); // `500 ± 0.3 mm`
    }
    let value = sum::<Q>(&value_terms, Part::Value)?;
    let concise = match value_terms.as_slice() {
        [only] => only.last_digits.clone().map(|number| Term { number, unit: only.unit.clone(), last_digits: None }),
        _ => None,
    };
    let u = match (u_terms, concise) {
        (Some(_), Some(_)) => {
            return Err(TextError::new(Why::Unexpected, "±", "an uncertainty in brackets and another after ±"));
        }
        (None, None) => None,
        (None, Some(term)) => Some(sum::<Q>(&[term], Part::Uncertainty)?),
        (Some(terms), None) => Some(uncertainty::<Q>(&terms, &value_terms, value)?),
    };
    Ok(Reading { value: Q::from_si(value), u: u.map(Q::from_si) })
}

#[derive(Clone, Copy, PartialEq)]
enum Part {
    Value,
    Uncertainty,
}

fn uncertainty<Q: Kind>(terms: &[Term], of: &[Term], value_si: f64) -> Result<f64, TextError> {
    let refuse = |why, part: &str, says: String| Err(TextError::new(why, part, says));
    if let Some(negative) = terms.iter().find(|t| t.number.value < 0.0) {
        let says = format!("the uncertainty {} is negative", negative.number.text);
        return refuse(Why::NegativeUncertainty, &negative.number.text, says);
    }
    let of_unit = of.last().map_or("", |t| t.unit.as_str());
    match terms {
        [u] if u.unit == "%" && of_unit != "%" => {
            if Q::NAME == "temperature" {
                return refuse(Why::RelativeUncertainty, "%", "a temperature has no uncertainty in per cent".into());
            }
            if value_si == 0.0 && u.number.value > 0.0 {
                return refuse(Why::RelativeUncertainty, "%", "per cent of zero is no uncertainty".into());
            }
            let relative = scan::shifted(&u.number, -2);
            finite::<Q>(value_si.abs() * relative, &u.number.text)
        }
        [u] if u.unit.is_empty() && !of_unit.is_empty() => {
            let says = format!("the uncertainty {} has no unit", u.number.text);
            Err(TextError::new(Why::NoUnit, &u.number.text, says).hint(format!("write ± {} {of_unit}", u.number.text)))
        }
        _ => sum::<Q>(terms, Part::Uncertainty),
    }
}

/// Adds the terms of one side up, in the SI unit. A minus before the first counts for all.
fn sum<Q: Kind>(terms: &[Term], part: Part) -> Result<f64, TextError> {
    let mut total = 0.0;
    let mut before: Option<&Unit> = None;
    for term in terms {
        let unit = unit_of::<Q>(term)?;
        if let Some(larger) = before {
            let falls = larger.compound && unit.si_difference(1.0) < larger.si_difference(1.0);
            if !falls || term.number.text.starts_with('-') {
                let part = format!("{} {}", term.number.text, term.unit);
                let says = format!("`{part}` does not continue a value in {}", larger.symbol);
                return Err(TextError::new(Why::Unexpected, part.as_str(), says));
            }
        }
        let number = &term.number;
        let si = if unit.shift != 0.0 && part == Part::Value {
            unit.si(number.value)
        } else if unit.times == 1.0 {
            scan::shifted(number, unit.ten)
        } else {
            unit.si_difference(number.value)
        };
        let si = finite::<Q>(si, &number.text)?;
        total += if before.is_some() && terms[0].number.text.starts_with('-') { -si } else { si };
        before = Some(unit);
    }
    Ok(total)
}

fn finite<Q: Kind>(si: f64, part: &str) -> Result<f64, TextError> {
    if si.is_finite() {
        Ok(si)
    } else {
        Err(TextError::new(Why::NotFinite, part, format!("`{part}` is not a finite {}", Q::NAME)))
    }
}

fn unit_of<Q: Kind>(term: &Term) -> Result<&'static Unit, TextError> {
    let spelling = term.unit.as_str();
    if let Some(unit) = Q::UNITS.iter().find(|u| u.is_spelt(spelling)) {
        return Ok(unit);
    }
    if spelling.is_empty() {
        let number = &term.number.text;
        return Err(TextError::new(Why::NoUnit, number, format!("{number} has no unit")).hint(accepted::<Q>()));
    }
    let kind_has_gallons = Q::UNITS.iter().any(|u| u.symbol.contains("(US)"));
    if TWO_MEANINGS.contains(&spelling) && kind_has_gallons {
        let says = format!("`{spelling}` may be US or imperial, which differ by 20 %");
        return Err(
            TextError::new(Why::TwoMeanings, spelling, says).hint(format!("write {spelling} (US) or {spelling} (imp)"))
        );
    }
    let known = |name: &str| Q::UNITS.iter().find(|u| u.is_spelt(name));
    if let Some(unit) = known(&spelling.to_lowercase()).or_else(|| known(&spelling.to_uppercase())) {
        let says = format!("`{spelling}` is not a unit");
        return Err(TextError::new(Why::UnknownUnit, spelling, says).hint(format!("write {}", unit.symbol)));
    }
    let other = KINDS.iter().find(|(_, units)| units.iter().any(|u| u.is_spelt(spelling)));
    let error = match other {
        Some((kind, _)) => {
            let says = format!("`{spelling}` is a unit of {kind}, not of {}", Q::NAME);
            TextError::new(Why::OtherKind(kind), spelling, says)
        }
        None => TextError::new(Why::UnknownUnit, spelling, format!("`{spelling}` is not a unit of {}", Q::NAME)),
    };
    Err(error.hint(accepted::<Q>()))
}

/// What is accepted, where no number was found and no better advice is given.
fn with_accepted<Q: Kind>(error: TextError) -> TextError {
    match (error.why, &error.hint) {
        (Why::NoNumber, None) if Q::NAME == "number" => error.hint(format!("write {}", accepted::<Q>())),
        (Why::NoNumber, None) => error.hint(format!("write a number and its unit; {}", accepted::<Q>())),
        _ => error,
    }
}

fn accepted<Q: Kind>() -> String {
    let symbols: Vec<_> = Q::UNITS.iter().map(|u| u.symbol).filter(|s| !s.is_empty()).collect();
    match Q::NAME {
        "number" => "a plain number, or one in %".into(),
        name => format!("units of {name}: {}", symbols.join(", ")),
    }
}

/// Writes a reading in the unit `symbol`: the shortest text that [`read`] turns back into
/// exactly the same reading.
///
/// Metric units always can. In others a value with up to six digits in that unit always did (none
/// of 200 000 missed, in each of seven units), but of doubles with all their bits at random 5 to
/// 25 % have no such number (nearly all in degF); these, and kinds that have no such unit, are written in the
/// kind's SI unit.
pub fn write<Q: Kind>(reading: &Reading<Q>, symbol: &str) -> String {
    let chosen = Q::UNITS.iter().find(|u| u.is_spelt(symbol)).unwrap_or(&Q::UNITS[0]);
    written(reading, chosen).or_else(|| written(reading, &Q::UNITS[0])).unwrap_or_default()
}

fn written<Q: Kind>(reading: &Reading<Q>, unit: &Unit) -> Option<String> {
    let mut text = number_text(reading.value.si(), unit, Part::Value)?;
    let with_unit = |text: &mut String| {
        if !unit.symbol.is_empty() {
            text.push(' ');
            text.push_str(unit.symbol);
        }
    };
    with_unit(&mut text);
    if let Some(u) = reading.u {
        text.push_str(" ± ");
        text.push_str(&number_text(u.si(), unit, Part::Uncertainty)?);
        with_unit(&mut text);
    }
    Some(text)
}

fn number_text(si: f64, unit: &Unit, part: Part) -> Option<String> {
    let shifts = unit.shift != 0.0 && part == Part::Value;
    if unit.times == 1.0 && !shifts {
        return Some(scan::plain_decimal(&format!("{si:e}"), -unit.ten));
    }
    let (number, back): (f64, fn(&Unit, f64) -> f64) =
        if shifts { (unit.number(si), Unit::si) } else { (unit.number_of_difference(si), Unit::si_difference) };
    let reads_back = |text: &String| text.parse().is_ok_and(|n| back(unit, n) == si);
    let short = (0..17).map(|digits| format!("{number:.digits$e}"));
    let near = [number, number.next_up(), number.next_down()].map(|n| format!("{n:e}"));
    short.chain(near).find(reads_back).map(|text| scan::plain_decimal(&text, 0))
}

impl<Q: Kind> std::str::FromStr for Reading<Q> {
    type Err = TextError;
    /// The same as [`read`].
    fn from_str(text: &str) -> Result<Self, TextError> {
        read(text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Length, Ratio};

    #[test]
    fn a_written_reading_is_the_shortest_one() {
        let table: &[(f64, Option<f64>, &str, &str)] = &[
            (0.012, Some(0.00002), "mm", "12 mm ± 0.02 mm"),
            (0.5, Some(0.0003), "mm", "500 mm ± 0.3 mm"),
            (0.1, None, "m", "0.1 m"),
            (0.3048, None, "ft", "1 ft"),
            (0.111125, None, "in", "4.375 in"),
            (-0.0, None, "mm", "-0 mm"),
            (1e-30, None, "mm", "1e-27 mm"),
            (1.0, None, "furlong", "1 m"),
        ];
        for (si, u, unit, expected) in table {
            let reading = Reading { value: Length::from_si(*si), u: u.map(Length::from_si) };
            assert_eq!(write(&reading, unit), *expected);
        }
        assert_eq!(write(&Reading::exact(Ratio::from_si(-0.031)), ""), "-0.031");
    }
}
