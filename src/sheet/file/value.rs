//! Single values: a tree node to a number, a point, a quantity, or a fault.

use std::collections::BTreeSet;

use super::Loose;
use super::tree::{Holds, Node};
use crate::point::PixelPoint;
use crate::quantity::{self, Kind, Reading};
use crate::sheet::fault::{Fault, place};

/// Reads nodes and gathers what is wrong with them.
pub(in crate::sheet) struct Reader<'a> {
    text: &'a str,
    pub faults: Vec<Fault>,
    pub faulty: BTreeSet<String>,
    pub loose: Loose,
}

impl<'a> Reader<'a> {
    pub fn new(text: &'a str) -> Self {
        Self { text, faults: Vec::new(), faulty: BTreeSet::new(), loose: Loose::default() }
    }

    /// Tells a fault about `node`.
    pub fn fault(&mut self, node: &Node, says: impl Into<String>, hint: impl Into<Option<String>>) {
        self.fault_at(node, node.span.start, says, hint);
    }

    fn fault_at(&mut self, node: &Node, at: usize, says: impl Into<String>, hint: impl Into<Option<String>>) {
        let found = place(self.text, node.span.clone()).found;
        let place = place(self.text, at..at);
        self.faulty.insert(node.path.clone());
        self.faults.push(Fault {
            line: place.line,
            column: place.column,
            about: node.path.clone(),
            found,
            says: says.into(),
            hint: hint.into(),
        });
    }

    /// Tells that `key` is missing from the table `node`.
    pub fn missing(&mut self, node: &Node, key: &str, says: impl Into<String>, hint: impl Into<Option<String>>) {
        let at = place(self.text, node.span.clone());
        let about = format!("{}.{key}", node.path);
        self.faulty.insert(about.clone());
        self.faults.push(Fault {
            line: at.line,
            column: at.column,
            about,
            found: String::new(),
            says: says.into(),
            hint: hint.into(),
        });
    }

    fn wrong_kind<T>(&mut self, node: &Node, wanted: &str, example: &str) -> Option<T> {
        self.fault(node, format!("{} where {wanted} belongs", node.kind()), format!("as in {example}"));
        None
    }

    pub fn text(&mut self, node: &Node) -> Option<String> {
        match &node.holds {
            Holds::Text(text) => Some(text.clone()),
            _ => self.wrong_kind(node, "text", "\"c-run2.jpg\""),
        }
    }

    /// A finite number.
    pub fn number(&mut self, node: &Node) -> Option<f64> {
        match node.holds {
            Holds::Number(number) if number.is_finite() => Some(number),
            Holds::Number(number) => {
                self.fault(node, format!("{number} is not a finite number"), None);
                None
            }
            _ => self.wrong_kind(node, "a number", "812.4"),
        }
    }

    /// A list, each item read by `one`. All or nothing: with one faulty item there is no list.
    pub fn list<T>(
        &mut self,
        node: &Node,
        example: &str,
        mut one: impl FnMut(&mut Self, &Node) -> Option<T>,
    ) -> Option<Vec<T>> {
        let Holds::List(items) = &node.holds else {
            return self.wrong_kind(node, "a list", example);
        };
        let read: Vec<Option<T>> = items.iter().map(|item| one(self, item)).collect();
        read.into_iter().collect()
    }

    /// `[x, y]`
    pub fn point(&mut self, node: &Node) -> Option<PixelPoint> {
        const EXAMPLE: &str = "[812.4, 630.9]";
        match self.list(node, EXAMPLE, Self::number)?.as_slice() {
            [x, y] => Some(PixelPoint::new(*x, *y)),
            numbers => {
                let says = format!("a point has two numbers, x and y, not {}", numbers.len());
                self.fault(node, says, format!("as in {EXAMPLE}"));
                None
            }
        }
    }

    /// `[[x, y], ...]`
    pub fn points(&mut self, node: &Node) -> Option<Vec<PixelPoint>> {
        const EXAMPLE: &str = "[[402.0, 210.0], [415.5, 2710.0]]";
        if is_list_of_numbers(node) {
            let hint = format!("put each point in brackets of its own, as in {EXAMPLE}");
            self.fault(node, "a list of numbers where a list of points belongs", hint);
            return None;
        }
        self.list(node, EXAMPLE, Self::point)
    }

    /// `[[[x, y], ...], ...]`
    pub fn lines(&mut self, node: &Node) -> Option<Vec<Vec<PixelPoint>>> {
        if let Holds::List(items) = &node.holds
            && items.iter().any(is_list_of_numbers)
        {
            let hint = "put the points in one more pair of brackets, as in [ [[10, 20], [30, 40], [50, 10]] ]";
            self.fault(node, "one list of points where a list of such lists belongs", hint.to_owned());
            return None;
        }
        self.list(node, "[ [[10, 20], [30, 40], [50, 10]] ]", Self::points)
    }

    /// `[[x, y], [x, y]]`
    pub fn two_points(&mut self, node: &Node) -> Option<[PixelPoint; 2]> {
        match self.points(node)?.as_slice() {
            [a, b] => Some([*a, *b]),
            points => {
                let says = format!("two points are needed, not {}", points.len());
                self.fault(node, says, "as in [[402.0, 210.0], [415.5, 2710.0]]".to_owned());
                None
            }
        }
    }

    /// A quantity as text; a pure number may also stand bare.
    pub fn quantity<Q: Kind>(&mut self, node: &Node) -> Option<Reading<Q>> {
        let text = match &node.holds {
            Holds::Text(text) => text,
            Holds::Number(number) if Q::NAME == "number" && number.is_finite() => {
                return Some(Reading::exact(Q::from_si(*number)));
            }
            Holds::Number(number) => {
                let unit = Q::UNITS.get(1).or(Q::UNITS.first()).map_or("", |u| u.symbol);
                let says = format!("a bare number where a {} with its unit belongs", Q::NAME);
                self.fault(node, says, format!("write it as text, as in \"{number} {unit}\""));
                return None;
            }
            _ => {
                let unit = Q::UNITS.get(1).or(Q::UNITS.first()).map_or("", |u| u.symbol);
                return self.wrong_kind(node, &format!("a {}", Q::NAME), &format!("\"12 {unit}\""));
            }
        };
        match quantity::read(text) {
            Ok(reading) => Some(reading),
            Err(error) => {
                let raw = self.text.get(node.span.clone()).unwrap_or("");
                let offset = if error.part.is_empty() { 0 } else { raw.find(&error.part).unwrap_or(0) };
                self.fault_at(node, node.span.start + offset, error.to_string(), error.hint);
                None
            }
        }
    }

    /// One of a few words.
    pub fn choice<T: Copy>(&mut self, node: &Node, words: &[(&str, T)]) -> Option<T> {
        let text = self.text(node)?;
        if let Some((_, choice)) = words.iter().find(|(word, _)| *word == text) {
            return Some(*choice);
        }
        let accepted: Vec<_> = words.iter().map(|(word, _)| *word).collect();
        self.fault(
            node,
            format!("`{text}` is none of the words known here"),
            format!("one of {}", accepted.join(", ")),
        );
        None
    }
}

fn is_list_of_numbers(node: &Node) -> bool {
    matches!(&node.holds, Holds::List(items) if items.iter().any(|i| matches!(i.holds, Holds::Number(_))))
}
