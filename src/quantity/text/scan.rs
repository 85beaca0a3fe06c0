//! From characters to numbers and unit spellings.

use super::error::{TextError, Why};

/// A number as written.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Number {
    /// Decimal text that Rust parses: kept so that a power of ten can be applied exactly.
    pub text: String,
    /// Its value.
    pub value: f64,
}

/// A number with the spelling of its unit (empty where none stands).
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Term {
    pub number: Number,
    pub unit: String,
    /// The `(3)` of `500.0(3)`, as a number of its own (GUM 7.2.2, second form).
    pub last_digits: Option<Number>,
}

/// Typographic forms to plain ones; `±` in all spellings to one sign.
pub(super) fn normalise(text: &str) -> String {
    let chars: Vec<char> = text.chars().collect();
    let digit_at = |i: Option<usize>| i.and_then(|i| chars.get(i)).is_some_and(char::is_ascii_digit);
    let mut plain = String::with_capacity(text.len());
    for (i, &c) in chars.iter().enumerate() {
        match c {
            '\u{2212}' | '\u{2010}' | '\u{2011}' | '\u{2012}' | '\u{2013}' => plain.push('-'),
            // Thin spaces between digits group them (SI brochure, 9th ed., 5.4.4).
            '\u{2009}' | '\u{202f}' if digit_at(i.checked_sub(1)) && digit_at(Some(i + 1)) => {}
            'µ' | 'μ' => plain.push('u'),
            '²' => plain.push_str("^2"),
            '³' => plain.push_str("^3"),
            '′' | '’' | '‘' => plain.push('\''),
            '″' | '”' | '“' => plain.push('"'),
            'º' | '˚' => plain.push('°'),
            '⁄' => plain.push('/'),
            '½' => plain.push_str(" 1/2"),
            '¼' => plain.push_str(" 1/4"),
            '¾' => plain.push_str(" 3/4"),
            '⅛' => plain.push_str(" 1/8"),
            '⅜' => plain.push_str(" 3/8"),
            '⅝' => plain.push_str(" 5/8"),
            '⅞' => plain.push_str(" 7/8"),
            c if c.is_whitespace() || c == '\u{feff}' => plain.push(' '),
            c => plain.push(c),
        }
    }
    let plain = plain.replace("+/-", "±").replace("+-", "±");
    plain.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// `(500 ± 0.3) mm` to `500 ± 0.3 mm`; other text unchanged.
pub(super) fn unwrap_brackets(plain: &str) -> String {
    match plain.strip_prefix('(').and_then(|rest| rest.split_once(')')) {
        Some((inner, unit)) if inner.contains('±') => format!("{} {}", inner.trim(), unit.trim()),
        _ => plain.to_owned(),
    }
}

/// The terms of one side of `±`: at least one.
pub(super) fn terms(side: &str, is_time: bool) -> Result<Vec<Term>, TextError> {
    let mut rest = side.trim();
    if is_time && rest.contains(':') {
        return clock(rest).map(|term| vec![term]);
    }
    let mut found = Vec::new();
    while found.is_empty() || !rest.is_empty() {
        let (number, last_digits, after) = number(rest)?;
        let (unit, after) = split_unit(after);
        found.push(Term { number, unit: tidy_unit(unit), last_digits });
        rest = after.trim_start();
    }
    Ok(found)
}

/// `1:23.4` and `1:02:03` as seconds.
fn clock(side: &str) -> Result<Term, TextError> {
    let refuse = || {
        Err(TextError::new(Why::NoNumber, side, format!("`{side}` is no time"))
            .hint("write min:s or h:min:s with minutes and seconds below 60, as in 1:23.4"))
    };
    let bare = side.trim_end_matches("h:min:s").trim_end_matches("min:s").trim();
    let parts: Vec<&str> = bare.split(':').collect();
    let well_formed = |part: &str| part.starts_with(|c: char| c.is_ascii_digit()) && !part.contains(['e', 'E']);
    if !(2..=3).contains(&parts.len()) || !parts.iter().all(|p| well_formed(p)) {
        return refuse();
    }
    let mut seconds = 0.0;
    for (i, part) in parts.iter().enumerate() {
        let is_last = i + 1 == parts.len();
        match part.parse::<f64>() {
            Ok(n) if (i == 0 || n < 60.0) && (is_last || !part.contains('.')) => seconds = seconds * 60.0 + n,
            _ => return refuse(),
        }
    }
    // Whole seconds and a decimal rest: round away the noise of the sum below a nanosecond.
    let seconds = (seconds * 1e9).round() / 1e9;
    let number = Number { text: format!("{seconds}"), value: seconds };
    Ok(Term { number, unit: "s".into(), last_digits: None })
}

fn digits(text: &str) -> (&str, &str) {
    text.split_at(text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len()))
}

/// Reads one number from the start; gives it, the digits in brackets behind it, and the rest.
fn number(text: &str) -> Result<(Number, Option<Number>, &str), TextError> {
    let (sign, body) = match text.strip_prefix(['-', '+']) {
        Some(body) => (&text[..1], body.trim_start()),
        None => ("", text),
    };
    let (whole, mut rest) = digits(body);
    if !whole.is_empty() {
        if let Some((value, after)) = fraction(whole, rest)? {
            let value = if sign == "-" { -value } else { value };
            return Ok((Number { text: format!("{value}"), value }, None, after));
        }
        if let Some(after) = rest.strip_prefix(',') {
            let (decimals, _) = digits(after);
            let hint = match decimals.len() {
                0 => "write a decimal point where one is meant".into(),
                3 => format!("write {whole}.{decimals} or {whole}{decimals}"),
                _ => format!("write {whole}.{decimals}"),
            };
            let part = format!("{whole},{decimals}");
            let says = format!("`{part}` has a comma, which some read as a decimal point and some not");
            return Err(TextError::new(Why::DecimalComma, part, says).hint(hint));
        }
    }
    let mut decimals = "";
    if let Some(after) = rest.strip_prefix('.') {
        (decimals, rest) = digits(after);
    }
    if whole.is_empty() && decimals.is_empty() {
        return Err(no_number(text));
    }
    let mut exponent = "";
    if let Some(after) = rest.strip_prefix(['e', 'E']) {
        let signed = after.strip_prefix(['-', '+']).unwrap_or(after);
        let (power, behind) = digits(signed);
        if !power.is_empty() {
            exponent = &after[..after.len() - behind.len()];
            rest = behind;
        }
    }
    let power = if exponent.is_empty() { String::new() } else { format!("e{exponent}") };
    let minus = if sign == "-" { "-" } else { "" };
    let whole = if whole.is_empty() { "0" } else { whole };
    let point = if decimals.is_empty() { "" } else { "." };
    let text = format!("{minus}{whole}{point}{decimals}{power}");
    let value = text.parse().unwrap_or(f64::NAN);
    if !f64::is_finite(value) {
        return Err(TextError::new(Why::NotFinite, text.as_str(), format!("`{text}` is too large a number")));
    }
    let last_digits = rest.strip_prefix('(').and_then(|inner| {
        let (found, behind) = digits(inner);
        let behind = behind.strip_prefix(')').filter(|_| !found.is_empty())?;
        Some((found, behind))
    });
    let Some((found, behind)) = last_digits else {
        return Ok((Number { text, value }, None, rest));
    };
    let unscaled = Number { text: format!("{found}{power}"), value: 0.0 };
    let value_of_digits = shifted(&unscaled, -i32::try_from(decimals.len()).unwrap_or(i32::MAX));
    let last = Number { text: format!("{value_of_digits:e}"), value: value_of_digits };
    Ok((Number { text, value }, Some(last), behind))
}

fn no_number(text: &str) -> TextError {
    let part = text.split(' ').next().unwrap_or("");
    let bare = part.trim_start_matches(['-', '+']).to_lowercase();
    if ["nan", "inf", "infinity", "∞"].contains(&bare.as_str()) {
        return TextError::new(Why::NotFinite, part, format!("`{part}` is not a finite number"));
    }
    let says =
        if text.is_empty() { "a number is missing".into() } else { format!("`{text}` does not start with a number") };
    TextError::new(Why::NoNumber, text, says)
}

/// `3/8` or the ` 3/8` of `4 3/8` and `4-3/8`, given the digits before.
fn fraction<'a>(whole: &str, rest: &'a str) -> Result<Option<(f64, &'a str)>, TextError> {
    let (base, over, after) = if let Some(after) = rest.strip_prefix('/') {
        ("0", whole, after)
    } else if let Some(after) = rest.strip_prefix([' ', '-']) {
        let (over, after) = digits(after);
        match after.strip_prefix('/') {
            Some(after) if !over.is_empty() => (whole, over, after),
            _ => return Ok(None),
        }
    } else {
        return Ok(None);
    };
    let (under, behind) = digits(after);
    if under.is_empty() {
        return Ok(None);
    }
    match (base.parse::<f64>(), over.parse::<f64>(), under.parse::<f64>()) {
        (Ok(base), Ok(over), Ok(under)) if under != 0.0 => Ok(Some((base + over / under, behind))),
        _ => {
            let part = format!("{over}/{under}");
            Err(TextError::new(Why::NotFinite, part.as_str(), format!("`{part}` divides by zero")))
        }
    }
}

/// Splits off the unit: up to a space before a number, or a prime or degree sign before a digit.
fn split_unit(text: &str) -> (&str, &str) {
    let mut before = ' ';
    for (i, c) in text.char_indices() {
        let starts_number = c.is_ascii_digit()
            || (matches!(c, '.' | '-' | '+') && text[i + 1..].starts_with(|d: char| d.is_ascii_digit()));
        if starts_number && (before == ' ' || matches!(before, '\'' | '"' | '°')) {
            return text.split_at(i);
        }
        before = c;
    }
    (text, "")
}

fn tidy_unit(unit: &str) -> String {
    let mut tidy = unit.trim().trim_end_matches('.').to_owned();
    for sign in ["/", "^"] {
        tidy = tidy.split(sign).map(str::trim).collect::<Vec<_>>().join(sign);
    }
    tidy.replace("( ", "(").replace(" )", ")")
}

/// `number * 10^ten`, applied to the decimal text, so that `0.3 mm` is the double next to
/// 0.0003 and not a product rounded twice.
pub(super) fn shifted(number: &Number, ten: i32) -> f64 {
    let (mantissa, power) = number.text.split_once('e').unwrap_or((&number.text, "0"));
    // A power that does not fit in 32 bits means zero or infinity already.
    let power = power.parse::<i32>().unwrap_or(if power.starts_with('-') { -100_000 } else { 100_000 });
    format!("{mantissa}e{}", power.saturating_add(ten)).parse().unwrap_or(f64::NAN)
}

/// Writes `d.ddde±n` times `10^ten` without an exponent where that is not longer than some
/// twenty characters.
pub(super) fn plain_decimal(scientific: &str, ten: i32) -> String {
    let (mantissa, power) = scientific.split_once('e').unwrap_or((scientific, "0"));
    let power = power.parse::<i32>().unwrap_or(0) + ten;
    let (minus, mantissa) = mantissa.strip_prefix('-').map_or(("", mantissa), |m| ("-", m));
    let figures: String = mantissa.chars().filter(char::is_ascii_digit).collect();
    let figures = match figures.trim_end_matches('0') {
        "" => return format!("{minus}0"),
        figures => figures,
    };
    let count = i32::try_from(figures.len()).unwrap_or(i32::MAX);
    let text = match power {
        p if !(-7..=15).contains(&p) => {
            let (first, others) = figures.split_at(1);
            let point = if others.is_empty() { "" } else { "." };
            format!("{first}{point}{others}e{p}")
        }
        p if p < 0 => format!("0.{}{figures}", "0".repeat((-p - 1) as usize)),
        p if p + 1 >= count => format!("{figures}{}", "0".repeat((p + 1 - count) as usize)),
        p => {
            let (whole, decimals) = figures.split_at((p + 1) as usize);
            format!("{whole}.{decimals}")
        }
    };
    format!("{minus}{text}")
}
