//! A tree of values as new TOML text.

use super::wanted::{Keys, Wanted};

/// Lists of points or tables with more items than this stand one item a line.
const LONGEST_ON_ONE_LINE: usize = 3;

/// A whole sheet.
pub(super) fn text(keys: &Keys) -> String {
    let mut text = String::from("format = 1\n");
    for (key, value) in keys {
        match value {
            Wanted::Table(_) => text.push_str(&format!("\n{}", section(key, value, false))),
            Wanted::List(items) if items.iter().all(|item| matches!(item, Wanted::Table(_))) => {
                let several = items.len() > 1;
                items.iter().for_each(|item| text.push_str(&format!("\n{}", section(key, item, several))));
            }
            _ => text.push_str(&format!("{}\n", line(key, value))),
        }
    }
    text
}

/// `[name]`, or `[[name]]`, and its keys.
pub(super) fn section(name: &str, value: &Wanted, is_list: bool) -> String {
    let header = if is_list { format!("[[{name}]]\n") } else { format!("[{name}]\n") };
    let Wanted::Table(keys) = value else { return header };
    keys.iter().fold(header, |text, (key, value)| format!("{text}{}\n", line(key, value)))
}

/// `key = value`
pub(super) fn line(key: &str, value: &Wanted) -> String {
    if let Wanted::List(items) = value
        && items.len() > LONGEST_ON_ONE_LINE
        && items.iter().any(|item| !matches!(item, Wanted::Text(_) | Wanted::Number(_)))
    {
        let items = items.iter().fold(String::new(), |text, item| format!("{text}  {},\n", inline(item)));
        return format!("{key} = [\n{items}]");
    }
    format!("{key} = {}", inline(value))
}

/// The value on one line.
pub(super) fn inline(value: &Wanted) -> String {
    let joined = |items: Vec<String>| items.join(", ");
    match value {
        Wanted::Text(text) => quoted(text),
        Wanted::Number(number) => format!("{number:?}"),
        Wanted::Whole(number) => number.to_string(),
        Wanted::List(items) => format!("[{}]", joined(items.iter().map(inline).collect())),
        Wanted::Table(keys) => {
            let keys = keys.iter().map(|(key, value)| format!("{key} = {}", inline(value)));
            format!("{{ {} }}", joined(keys.collect()))
        }
    }
}

/// A basic TOML string (TOML 1.0, "String").
pub(in crate::sheet) fn quoted(text: &str) -> String {
    let mut quoted = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => quoted.push_str("\\\""),
            '\\' => quoted.push_str("\\\\"),
            '\n' => quoted.push_str("\\n"),
            '\t' => quoted.push_str("\\t"),
            '\r' => quoted.push_str("\\r"),
            c if c.is_ascii_control() => quoted.push_str(&format!("\\u{:04X}", u32::from(c))),
            c => quoted.push(c),
        }
    }
    quoted.push('"');
    quoted
}
