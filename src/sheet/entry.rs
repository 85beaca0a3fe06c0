//! Single entries of a sheet's text, by their dotted key: what stands there, put another, take it away.
//!
//! The window edits the text itself, so that a value keeps the spelling its user gave it (`4 3/8 in`), also one that is
//! still faulty or half of a pair. Keys are those that faults and notices speak of, positions in lists from 1:
//! `orifice.diameter`, `scale[2].marks[1]`, `flow.timed[3].time`. One table stands for a list of one, and one value too:
//! `scale[1].length` finds `[scale]`, `head.reading[1]` finds `reading = "412 mm"`.

use toml_edit::{Array, DocumentMut, InlineTable, Item, Table, TableLike, Value};

use crate::point::PixelPoint;

/// What stands at a key.
#[derive(Clone, Debug, PartialEq)]
pub enum Entry {
    /// A quantity, a word or a name.
    Text(String),
    /// A bare number.
    Number(f64),
    /// A point of the photo.
    Point(PixelPoint),
    /// Something that holds others: how many.
    Group(usize),
}

/// Why an entry cannot be put: the text is no TOML, or something else stands in the way.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{0}")]
pub struct NotPut(pub String);

/// One step of a dotted key.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Step<'a> {
    Key(&'a str),
    /// From 0.
    At(usize),
}

/// The steps of a dotted key; `None` where it is malformed.
fn steps(key: &str) -> Option<Vec<Step<'_>>> {
    let mut all = Vec::new();
    for part in key.split('.') {
        let (name, mut rest) = part.split_at(part.find('[').unwrap_or(part.len()));
        if name.is_empty() {
            return None;
        }
        all.push(Step::Key(name));
        while !rest.is_empty() {
            let (number, after) = rest.strip_prefix('[')?.split_once(']')?;
            all.push(Step::At(number.parse::<usize>().ok()?.checked_sub(1)?));
            rest = after;
        }
    }
    Some(all)
}

/// A sheet's text, read once for many looks; empty where the text is no TOML.
#[derive(Debug)]
pub struct Entries(DocumentMut);

impl Entries {
    /// Reads a text.
    pub fn of(text: &str) -> Self {
        Self(text.parse().unwrap_or_default())
    }

    /// What stands at `key`; `None` where nothing does.
    pub fn entry(&self, key: &str) -> Option<Entry> {
        let mut at = At::Table(self.0.as_table());
        for step in steps(key)? {
            at = at.step(step)?;
        }
        at.entry()
    }

    /// Every point with its key, in the order of the text.
    pub fn points(&self) -> Vec<(String, PixelPoint)> {
        let mut found = Vec::new();
        At::Table(self.0.as_table()).gather("", &mut found);
        found
    }
}

/// What stands at `key` in `text`; `None` where nothing does, or the text is no TOML. For more than one look at a text:
/// [`Entries`].
pub fn entry(text: &str, key: &str) -> Option<Entry> {
    Entries::of(text).entry(key)
}

/// Every point of the text with its key, in the order of the text.
pub fn points(text: &str) -> Vec<(String, PixelPoint)> {
    Entries::of(text).points()
}

/// A place in the document, read only.
#[derive(Clone, Copy)]
enum At<'a> {
    Table(&'a dyn TableLike),
    Tables(&'a toml_edit::ArrayOfTables),
    Value(&'a Value),
}

impl<'a> At<'a> {
    fn of(item: &'a Item) -> Option<Self> {
        match item {
            Item::None => None,
            Item::Value(value) => Some(Self::of_value(value)),
            Item::Table(table) => Some(Self::Table(table)),
            Item::ArrayOfTables(tables) => Some(Self::Tables(tables)),
        }
    }

    fn of_value(value: &'a Value) -> Self {
        match value {
            Value::InlineTable(table) => Self::Table(table),
            other => Self::Value(other),
        }
    }

    fn step(self, step: Step) -> Option<Self> {
        match (self, step) {
            (Self::Table(table), Step::Key(key)) => Self::of(table.get(key)?),
            // `scale.length` finds the first of several rulers too
            (Self::Tables(tables), Step::Key(key)) => Self::of(tables.get(0)?.get(key)?),
            (Self::Tables(tables), Step::At(i)) => tables.get(i).map(|t| Self::Table(t)),
            (Self::Value(Value::Array(list)), Step::At(i)) => list.get(i).map(Self::of_value),
            (alone, Step::At(0)) => Some(alone),
            _ => None,
        }
    }

    fn entry(self) -> Option<Entry> {
        Some(match self {
            Self::Table(table) => Entry::Group(table.len()),
            Self::Tables(tables) => Entry::Group(tables.len()),
            Self::Value(value) => match (point(value), value) {
                (Some(p), _) => Entry::Point(p),
                (None, Value::Array(list)) => Entry::Group(list.len()),
                (None, Value::String(s)) => Entry::Text(s.value().clone()),
                (None, Value::Integer(n)) => Entry::Number(*n.value() as f64),
                (None, Value::Float(n)) => Entry::Number(*n.value()),
                _ => return None,
            },
        })
    }

    fn gather(self, path: &str, into: &mut Vec<(String, PixelPoint)>) {
        match self {
            Self::Table(table) => {
                for (key, item) in table.iter() {
                    let path = if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") };
                    if let Some(at) = Self::of(item) {
                        at.gather(&path, into);
                    }
                }
            }
            Self::Tables(tables) => {
                for (i, table) in tables.iter().enumerate() {
                    Self::Table(table).gather(&format!("{path}[{}]", i + 1), into);
                }
            }
            Self::Value(value) => match (point(value), value) {
                (Some(p), _) => into.push((path.to_owned(), p)),
                (None, Value::Array(list)) => {
                    for (i, value) in list.iter().enumerate() {
                        Self::of_value(value).gather(&format!("{path}[{}]", i + 1), into);
                    }
                }
                _ => {}
            },
        }
    }
}

fn number(value: &Value) -> Option<f64> {
    value.as_float().or_else(|| value.as_integer().map(|n| n as f64))
}

fn point(value: &Value) -> Option<PixelPoint> {
    let list = value.as_array()?;
    match (list.len(), list.get(0).and_then(number), list.get(1).and_then(number)) {
        (2, Some(x), Some(y)) => Some(PixelPoint::new(x, y)),
        _ => None,
    }
}

/// `text` with `entry` at `key`; sections and lists that lead there are made, a list grows by one at its end.
/// A number or a text takes the place of whatever stood there; comments and spacing around stay.
///
/// # Errors
/// [`NotPut`] where the text is no TOML, the key is malformed or skips a place of a list, or a value stands where a
/// section would have to.
pub fn put(text: &str, key: &str, entry: &Entry) -> Result<String, NotPut> {
    let value = match entry {
        Entry::Text(s) => Value::from(s.as_str()),
        Entry::Number(n) => Value::from(*n),
        // hundredths of a pixel: finer than any hand
        Entry::Point(p) => {
            let round = |v: f64| (v * 100.0).round() / 100.0;
            Value::Array(Array::from_iter([round(p.x), round(p.y)]))
        }
        Entry::Group(_) => return Err(NotPut(format!("{key}: a group is put entry by entry"))),
    };
    change(text, key, Some(value))
}

/// `text` without the entry at `key`. A list left empty goes too, and so does an inline table; a section keeps its
/// header and comments. Nothing changes where nothing stands there.
///
/// # Errors
/// [`NotPut`] where the text is no TOML or the key is malformed.
pub fn remove(text: &str, key: &str) -> Result<String, NotPut> {
    if entry(text, key).is_none() {
        return Ok(text.to_owned());
    }
    change(text, key, None)
}

fn change(text: &str, key: &str, value: Option<Value>) -> Result<String, NotPut> {
    let mut document: DocumentMut =
        text.parse().map_err(|e: toml_edit::TomlError| NotPut(format!("the sheet is no TOML: {}", e.message())))?;
    let steps = steps(key).ok_or_else(|| NotPut(format!("{key}: no such entry")))?;
    let in_the_way = || NotPut(format!("{key}: something else stands there in the sheet's text"));
    if let [Step::Key(section), ..] = steps.as_slice() {
        give_place(&mut document, section, &steps);
    }
    in_table(document.as_table_mut(), &steps, value).ok_or_else(in_the_way)?;
    Ok(document.to_string())
}

/// A second ruler turns `[scale]` into `[[scale]]`.
fn give_place(document: &mut DocumentMut, section: &str, steps: &[Step]) {
    if let Some(Step::At(1..)) = steps.get(1)
        && let Some(Item::Table(_)) = document.get(section)
        && let Some((key, Item::Table(table))) = document.remove_entry(section)
    {
        let mut tables = toml_edit::ArrayOfTables::new();
        tables.push(table);
        document.insert_formatted(&key, Item::ArrayOfTables(tables));
    }
}

/// Sets or removes within a table; `None` where something is in the way.
fn in_table(table: &mut dyn TableLike, steps: &[Step], value: Option<Value>) -> Option<()> {
    let [Step::Key(key), rest @ ..] = steps else { return None };
    if rest.is_empty() {
        match value {
            None => {
                table.remove(key);
            }
            Some(value) => set(table, key, value),
        }
        return Some(());
    }
    if table.get(key).is_none_or(Item::is_none) {
        value.as_ref()?;
        table.insert(key, fresh(rest)?);
    }
    let item = table.get_mut(key)?;
    match (rest, &mut *item) {
        (_, Item::ArrayOfTables(tables)) => {
            let (i, rest) = match rest {
                [Step::At(i), rest @ ..] => (*i, rest),
                rest => (0, rest),
            };
            if rest.is_empty() {
                return value.is_none().then(|| drop(tables.remove(i)));
            }
            if i == tables.len() && value.is_some() {
                tables.push(Table::new());
            }
            in_table(tables.get_mut(i)?, rest, value)
        }
        ([Step::At(0)], Item::Table(_)) if value.is_none() => {
            table.remove(key);
            Some(())
        }
        ([Step::At(0), rest @ ..], Item::Table(inner)) => in_table(inner, rest, value),
        (rest, Item::Table(inner)) => in_table(inner, rest, value),
        (rest, Item::Value(inner)) => {
            let emptied = in_value(inner, rest, value)?;
            if emptied {
                table.remove(key);
            }
            Some(())
        }
        (_, Item::None) => None,
    }
}

/// Replaces a value, with the spaces and the comment around it kept.
fn set(table: &mut dyn TableLike, key: &str, mut value: Value) {
    match table.get_mut(key).and_then(Item::as_value_mut) {
        Some(old) => {
            *value.decor_mut() = old.decor().clone();
            *old = value;
        }
        None => {
            table.insert(key, Item::Value(value));
        }
    }
}

/// Sets or removes within a value; tells whether nothing is left of it.
fn in_value(value: &mut Value, steps: &[Step], new: Option<Value>) -> Option<bool> {
    match (steps, &mut *value) {
        ([], _) => {
            let Some(mut new) = new else { return Some(true) };
            *new.decor_mut() = value.decor().clone();
            *value = new;
            Some(false)
        }
        ([Step::At(i), rest @ ..], Value::Array(list)) if point_at(list).is_none() => {
            if *i == list.len() {
                let mut item = if rest.is_empty() { new.clone()? } else { fresh_value(rest)? };
                if list.iter().any(|v| v.decor().prefix().and_then(|p| p.as_str()).is_some_and(|p| p.contains('\n'))) {
                    // one item a line goes on so
                    item.decor_mut().set_prefix("\n  ");
                    list.push_formatted(item);
                } else {
                    list.push(item);
                }
                if rest.is_empty() {
                    return Some(false);
                }
            }
            if in_value(list.get_mut(*i)?, rest, new)? {
                list.remove(*i);
            }
            Some(list.is_empty())
        }
        ([Step::Key(_), ..], Value::InlineTable(table)) => {
            let before = table.len();
            in_table(table, steps, new)?;
            if table.len() != before {
                table.fmt();
            }
            Some(table.is_empty())
        }
        ([Step::At(0), rest @ ..], _) => in_value(value, rest, new),
        // one value becomes the first of two
        ([Step::At(1)], Value::String(_)) => {
            let second = new?;
            let mut first = value.clone();
            first.decor_mut().clear();
            *value = Value::Array(Array::from_iter([first, second]));
            Some(false)
        }
        _ => None,
    }
}

fn point_at(list: &Array) -> Option<PixelPoint> {
    point(&Value::Array(list.clone()))
}

/// What leads to the steps that follow a new key: a section, or a list.
fn fresh(steps: &[Step]) -> Option<Item> {
    match steps {
        [Step::Key(_), ..] => Some(Item::Table(Table::new())),
        // `scale[1].marks[1]`: the first ruler is a section
        [Step::At(0), Step::Key("marks" | "length" | "behind_jet" | "graduation"), ..] => {
            Some(Item::Table(Table::new()))
        }
        _ => fresh_value(steps).map(Item::Value),
    }
}

fn fresh_value(steps: &[Step]) -> Option<Value> {
    match steps {
        [Step::At(0), ..] => Some(Value::Array(Array::new())),
        [Step::Key(_), ..] => Some(Value::InlineTable(InlineTable::new())),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(s: &str) -> Entry {
        Entry::Text(s.into())
    }

    fn at(x: f64, y: f64) -> Entry {
        Entry::Point(PixelPoint::new(x, y))
    }

    const GROWN: &str = r#"format = 1

[photo]
file = "d.jpg" # plate C

[scale]
marks = [[10.0, 20.0], [910.0, 21.26]]
length = "300 mm"

[orifice]
centre = [5.0, 6.0]
diameter = "3/8 in"

[flow]
timed = [{ volume = "5 L", time = "47.3 s" }, { volume = "5 L" }]

[head]
reading = ["251 mm", "250 mm"]

[stream]
leave_out = [[[1.0, 2.0], [3.0, 2.0]]]
level = 0.25
"#;

    const TWO_RULERS: &str = r#"[[scale]] # steel
length = "300 mm"

[[scale]]
marks = [{ px = [1.0, 2.0], at = "0 mm" }]
"#;

    #[test]
    fn a_sheet_grows_entry_by_entry() {
        let mut sheet = "format = 1\n\n[photo]\nfile = \"c.jpg\" # plate C\n".to_owned();
        for (key, entry) in [
            ("scale[1].marks[1]", at(10.0, 20.0)),
            ("scale[1].marks[2]", at(910.0, 21.256)),
            ("scale[1].length", text("300 mm")),
            ("orifice.centre", at(5.0, 6.0)),
            ("orifice.diameter", text("3/8 in")),
            ("flow.timed[1].volume", text("5 L")),
            ("flow.timed[1].time", text("47.3 s")),
            ("flow.timed[2].volume", text("5 L")),
            ("head.reading", text("251 mm")),
            ("head.reading[2]", text("250 mm")),
            ("stream.leave_out[1][1]", at(1.0, 2.0)),
            ("stream.leave_out[1][2]", at(3.0, 2.0)),
            ("stream.level", Entry::Number(0.25)),
            ("photo.file", text("d.jpg")),
        ] {
            sheet = put(&sheet, key, &entry).unwrap();
            if key != "head.reading" && key != "scale[1].marks[2]" {
                assert_eq!(super::entry(&sheet, key).as_ref(), Some(&entry), "{key}\n{sheet}");
            }
        }
        assert_eq!(sheet, GROWN);
        assert_eq!(super::entry(&sheet, "scale.length"), Some(text("300 mm")));
        let marks: Vec<String> = points(&sheet).into_iter().map(|(key, _)| key).collect();
        assert_eq!(
            marks,
            ["scale.marks[1]", "scale.marks[2]", "orifice.centre", "stream.leave_out[1][1]", "stream.leave_out[1][2]"]
        );
    }

    #[test]
    fn a_second_ruler_makes_a_list_of_sections() {
        let sheet = "[scale] # steel\nlength = \"300 mm\"\n";
        let sheet = put(sheet, "scale[2].marks[1].px", &at(1.0, 2.0)).unwrap();
        let sheet = put(&sheet, "scale[2].marks[1].at", &text("0 mm")).unwrap();
        assert_eq!(sheet, TWO_RULERS);
        assert_eq!(points(&sheet), [("scale[2].marks[1].px".to_owned(), PixelPoint::new(1.0, 2.0))]);
        let sheet = remove(&sheet, "scale[2]").unwrap();
        assert_eq!(entry(&sheet, "scale[2].marks[1].at"), None);
        assert_eq!(entry(&sheet, "scale[1].length"), Some(text("300 mm")));
    }

    #[test]
    fn what_is_taken_away_leaves_no_empty_list() {
        let sheet = "[vertical]\nplumb = [[1.0, 2.0], [3.0, 4.0]] # the string\n";
        let one = remove(sheet, "vertical.plumb[1]").unwrap();
        assert_eq!(points(&one), [("vertical.plumb[1]".to_owned(), PixelPoint::new(3.0, 4.0))]);
        let none = remove(&one, "vertical.plumb[1]").unwrap();
        assert_eq!(none, "[vertical]\n");
        assert_eq!(remove(&none, "vertical.plumb[1]").unwrap(), none);
    }

    #[test]
    fn what_cannot_be_put_is_told_and_changes_nothing() {
        for (sheet, key) in [
            ("title = ", "orifice.diameter"),
            ("orifice = 3", "orifice.diameter"),
            ("[vertical]\n", "vertical.plumb[3]"),
            ("", "orifice..diameter"),
            ("", "flow.timed[0].time"),
        ] {
            assert!(put(sheet, key, &text("1 mm")).is_err(), "{key}");
        }
    }
}
