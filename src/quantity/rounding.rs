//! Rounding a value to what its uncertainty deserves, and the one place that prints the
//! numbers a person sees.
//!
//! The rule: a standard uncertainty is given to two significant digits, and the value to the
//! same decimal place (JCGM 100:2008, 7.2.6: "at most two significant digits", the value
//! "consistent" with it). Uncertainties are rounded to the nearest, not up: 7.2.6 leaves both
//! open, and rounding up would add as much as 5 % to what was found.

/// Significant digits that an uncertainty is shown to (JCGM 100:2008, 7.2.6).
pub const UNCERTAINTY_DIGITS: i32 = 2;

/// Significant digits of a value whose uncertainty is zero or unknown.
const DIGITS_WITHOUT_UNCERTAINTY: usize = 6;

/// From here up, and below the second, a power of ten is written apart.
const POWER_FROM: f64 = 1e7;
const POWER_BELOW: f64 = 1e-4;

/// A value and its uncertainty as texts of the same decimal place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rounded {
    /// The value.
    pub value: String,
    /// Its standard uncertainty; `None` where it is zero or not a finite number.
    pub u: Option<String>,
    /// Power of ten that both are still to be multiplied by; 0 for everyday sizes.
    pub ten: i32,
}

/// Rounds `value` to the decimal place that `u`, of the same unit, deserves.
///
/// Without a usable `u` (zero, negative, not finite, or finer than a double can tell at this
/// value) the value gets six significant digits.
/// A value that is not finite comes back as the text "none". Negative zero loses its sign.
pub fn round(value: f64, u: f64) -> Rounded {
    if !value.is_finite() {
        return Rounded { value: "none".into(), u: None, ten: 0 };
    }
    let u = if u.is_finite() && u > value.abs() * f64::EPSILON { u } else { 0.0 };
    let size = value.abs().max(u);
    let ten = if size >= POWER_FROM || (size > 0.0 && size < POWER_BELOW) { decade(size) } else { 0 };
    if u == 0.0 {
        return Rounded { value: significant(value, ten), u: None, ten };
    }
    // The place of the last digit: two digits of u, after rounding (0.0996 is 0.10, not 0.100).
    let last = decade(u) + 1 - UNCERTAINTY_DIGITS;
    Rounded { value: at_place(value, last, ten), u: Some(at_place(u, last, ten)), ten }
}

/// The decade of `x > 0` after rounding it to [`UNCERTAINTY_DIGITS`]: 2 for 120 and for 99.6.
fn decade(x: f64) -> i32 {
    let text = format!("{:.*e}", (UNCERTAINTY_DIGITS - 1) as usize, x);
    text.split_once('e').and_then(|(_, power)| power.parse().ok()).unwrap_or(0)
}

/// `x / 10^ten` rounded so that its last digit stands at `10^last` of `x`.
fn at_place(x: f64, last: i32, ten: i32) -> String {
    // Rounding by decimal text is exact; dividing by a power of ten first could tip a tie.
    let leading = if x == 0.0 { last } else { exact_decade(x) };
    let digits = leading - last;
    let text = if digits >= 0 {
        format!("{:.*e}", digits.min(340) as usize, x)
    } else if digits == -1 && x.abs() >= 5.0 * 10f64.powi(leading) {
        format!("{}1e{last}", if x < 0.0 { "-" } else { "" })
    } else {
        format!("0e{last}")
    };
    fixed(&text, last, ten)
}

fn exact_decade(x: f64) -> i32 {
    format!("{:e}", x.abs()).split_once('e').and_then(|(_, power)| power.parse().ok()).unwrap_or(0)
}

/// `d.ddde±n` as a fixed-point text of `x / 10^ten` whose last digit stands at `10^last` of x.
fn fixed(scientific: &str, last: i32, ten: i32) -> String {
    let (mantissa, power) = scientific.split_once('e').unwrap_or((scientific, "0"));
    let power = power.parse::<i32>().unwrap_or(0) - ten;
    let decimals = (ten - last).max(0) as usize;
    let figures: String = mantissa.chars().filter(char::is_ascii_digit).collect();
    let is_zero = figures.chars().all(|c| c == '0');
    let (whole, mut rest) = if power >= 0 {
        let needed = power as usize + 1;
        let padded = format!("{figures}{}", "0".repeat(needed.saturating_sub(figures.len())));
        (padded[..needed].to_owned(), padded[needed..].to_owned())
    } else {
        ("0".to_owned(), format!("{}{figures}", "0".repeat((-power - 1) as usize)))
    };
    rest.push_str(&"0".repeat(decimals.saturating_sub(rest.len())));
    rest.truncate(decimals);
    let whole = if is_zero { "0".to_owned() } else { whole };
    let minus = if mantissa.starts_with('-') && !is_zero { "-" } else { "" };
    if rest.is_empty() { format!("{minus}{whole}") } else { format!("{minus}{whole}.{rest}") }
}

/// `x / 10^ten` to six significant digits, trailing zeros dropped.
fn significant(x: f64, ten: i32) -> String {
    if x == 0.0 {
        return "0".into();
    }
    let text = format!("{:.*e}", DIGITS_WITHOUT_UNCERTAINTY - 1, x);
    let power = text.split_once('e').and_then(|(_, p)| p.parse::<i32>().ok()).unwrap_or(0);
    let fixed = fixed(&text, power + 1 - DIGITS_WITHOUT_UNCERTAINTY as i32, ten);
    if fixed.contains('.') { fixed.trim_end_matches('0').trim_end_matches('.').into() } else { fixed }
}

fn with_unit(number: String, unit: &str) -> String {
    match unit {
        "" => number,
        "°" => number + unit,
        unit => format!("{number} {unit}"),
    }
}

fn power(ten: i32) -> String {
    if ten == 0 { String::new() } else { format!("e{ten}") }
}

/// `2.1440 m/s ± 0.0061 m/s`: value and standard uncertainty, each with the unit.
///
/// `value` and `u` are in `unit` already. Without a usable `u` only the value is shown.
pub fn show(value: f64, u: f64, unit: &str) -> String {
    let rounded = round(value, u);
    let part = |text: &str| with_unit(format!("{text}{}", power(rounded.ten)), unit);
    match &rounded.u {
        Some(u) => format!("{} ± {}", part(&rounded.value), part(u)),
        None => part(&rounded.value),
    }
}

/// `2.1440 m/s`: the value alone, still rounded to what `u` deserves.
pub fn show_value(value: f64, u: f64, unit: &str) -> String {
    let rounded = round(value, u);
    with_unit(format!("{}{}", rounded.value, power(rounded.ten)), unit)
}

/// `+0.133 % ± 0.019 %`: a change or a difference, as [`show`] writes it, with the sign of what is above zero.
pub fn show_change(value: f64, u: f64, unit: &str) -> String {
    let text = show(value, u, unit);
    if value > 0.0 { format!("+{text}") } else { text }
}

/// `+1.4 u`: a difference in units of its own standard uncertainty, which is 1 of them; hence to a tenth.
pub fn show_in_u(difference: f64) -> String {
    let text = show_value(difference, 1.0, "u");
    if text.starts_with('-') || text == show_value(0.0, 1.0, "u") { text } else { format!("+{text}") }
}

/// A number that only tells a size (an uncertainty, a rms), to [`UNCERTAINTY_DIGITS`] significant digits.
pub fn two_digits(value: f64) -> f64 {
    format!("{value:.1e}").parse().unwrap_or(value)
}

/// `412 mm`: a number that has no uncertainty, to six significant digits.
pub fn show_plain(value: f64, unit: &str) -> String {
    show_value(value, 0.0, unit)
}

/// `2.132 to 2.156 m/s`: an interval, its ends rounded to two digits of a quarter of its width,
/// which is the standard uncertainty of a 95 % interval.
pub fn show_interval(lo: f64, hi: f64, unit: &str) -> String {
    let u = (hi - lo) / 4.0;
    let larger = if hi.abs() > lo.abs() { hi } else { lo };
    let shared = round(larger, u).ten;
    let end = |x: f64| {
        if !(x.is_finite() && u.is_finite() && u > 0.0) {
            return significant_or_none(x, shared);
        }
        at_place(x, decade(u) + 1 - UNCERTAINTY_DIGITS, shared) + &power(shared)
    };
    with_unit(format!("{} to {}", end(lo), end(hi)), unit)
}

fn significant_or_none(x: f64, ten: i32) -> String {
    if x.is_finite() { significant(x, ten) + &power(ten) } else { "none".into() }
}
