//! Marks on the photo: which there are, and where the next one of a kind goes in the sheet.
//!
//! A mark is known by the dotted key of its entry in the sheet's text (`scale[1].marks[2]`), the same that faults and
//! notices speak of.

use super::line::Line;
use crate::point::PixelPoint;
use crate::sheet::entry::{Entries, Entry};

/// A mark of the sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// Its entry: `vertical.plumb[2]`.
    pub key: String,
    /// What it is.
    pub kind: MarkKind,
    /// Where it is.
    pub at: PixelPoint,
}

/// What a mark is. Positions count from 1, as in keys.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum MarkKind {
    /// On something vertical.
    Plumb,
    /// On something horizontal.
    Level,
    /// On the ruler of this position.
    Scale(usize),
    /// In the bench plane.
    Plane,
    /// On the scale card.
    Card,
    /// Along the straight edge of this position.
    Straight(usize),
    /// The orifice's centre.
    Orifice,
    /// A corner of the only area to look in.
    LookIn,
    /// A corner of the left-out area of this position.
    LeaveOut(usize),
    /// A station by hand.
    ByHand,
    /// The water surface.
    Surface,
}

impl MarkKind {
    /// The line of the sheet that it belongs to.
    pub fn line(self) -> Line {
        match self {
            Self::Plumb | Self::Level => Line::Down,
            Self::Scale(_) | Self::Plane | Self::Card | Self::Straight(_) => Line::Scale,
            Self::Orifice => Line::Orifice,
            Self::LookIn | Self::LeaveOut(_) | Self::ByHand => Line::Stream,
            Self::Surface => Line::Head,
        }
    }

    /// What a person calls it.
    pub fn name(self) -> String {
        match self {
            Self::Plumb => "plumb line".into(),
            Self::Level => "level line".into(),
            Self::Scale(1) => "scale".into(),
            Self::Scale(n) => format!("scale {n}"),
            Self::Plane => "bench plane".into(),
            Self::Card => "scale card".into(),
            Self::Straight(n) => format!("straight edge {n}"),
            Self::Orifice => "orifice centre".into(),
            Self::LookIn => "area to look in".into(),
            Self::LeaveOut(n) => format!("area left out {n}"),
            Self::ByHand => "station by hand".into(),
            Self::Surface => "water surface".into(),
        }
    }

    /// What to click next, where `placed` marks of the kind are there.
    pub fn prompt(self, placed: usize) -> &'static str {
        match (self, placed) {
            (Self::Plumb, 0) => "click the plumb line, high up",
            (Self::Plumb, _) => "now click it low down",
            (Self::Level, 0) => "click the level line, at its left end",
            (Self::Level, _) => "now click its right end",
            (Self::Scale(_), 0) => "click a graduation of the ruler",
            (Self::Scale(_), 1) => "now click one far from it",
            (Self::Scale(_), _) => "click another graduation",
            (Self::Plane, _) => "click a point whose place is known",
            (Self::Card, _) => "click the middle of a mark of the card",
            (Self::Straight(_), _) => "click point after point along the edge",
            (Self::Orifice, _) => "click the middle of the orifice",
            (Self::LookIn | Self::LeaveOut(_), _) => "click corner after corner of the area",
            (Self::ByHand, _) => "click along the middle of the stream",
            (Self::Surface, _) => "click the water surface",
        }
    }

    /// How many marks of this kind make it complete; `None` where there may be any number.
    pub fn whole(self) -> Option<usize> {
        match self {
            Self::Plumb | Self::Level => Some(2),
            Self::Orifice | Self::Surface => Some(1),
            _ => None,
        }
    }

    /// The kind of the mark at a key; `None` where the key is no mark's.
    pub fn of_key(key: &str) -> Option<Self> {
        let position = |list: &str| -> Option<usize> {
            let rest = key.strip_prefix(list)?.strip_prefix('[')?;
            rest.split(']').next()?.parse().ok()
        };
        Some(match key.split(['[']).next()? {
            "vertical.plumb" => Self::Plumb,
            "vertical.level" => Self::Level,
            "scale.marks" => Self::Scale(1),
            "scale" => Self::Scale(position("scale")?),
            "plane.marks" => Self::Plane,
            "card.marks" => Self::Card,
            "lens.straight" => Self::Straight(position("lens.straight")?),
            "orifice.centre" => Self::Orifice,
            "stream.look_in" => Self::LookIn,
            "stream.leave_out" => Self::LeaveOut(position("stream.leave_out")?),
            "stream.by_hand" => Self::ByHand,
            "head.surface" => Self::Surface,
            _ => return None,
        })
    }

    /// The key of the next mark of this kind in a sheet. A ruler whose marks carry readings (`{ px, at }`) goes
    /// on with such; its reading is then still to be typed.
    pub fn next_key(self, entries: &Entries) -> String {
        let after = |list: &str| match entries.entry(list) {
            Some(Entry::Group(n)) => n + 1,
            _ => 1,
        };
        match self {
            Self::Plumb => format!("vertical.plumb[{}]", after("vertical.plumb")),
            Self::Level => format!("vertical.level[{}]", after("vertical.level")),
            Self::Scale(n) => {
                let list = format!("scale[{n}].marks");
                let next = after(&list);
                let with_readings = matches!(entries.entry(&format!("{list}[1]")), Some(Entry::Group(_)));
                format!("{list}[{next}]{}", if with_readings { ".px" } else { "" })
            }
            Self::Plane => format!("plane.marks[{}].px", after("plane.marks")),
            Self::Card => format!("card.marks[{}].px", after("card.marks")),
            Self::Straight(n) => format!("lens.straight[{n}][{}]", after(&format!("lens.straight[{n}]"))),
            Self::Orifice => "orifice.centre".into(),
            Self::LookIn => format!("stream.look_in[{}]", after("stream.look_in")),
            Self::LeaveOut(n) => format!("stream.leave_out[{n}][{}]", after(&format!("stream.leave_out[{n}]"))),
            Self::ByHand => format!("stream.by_hand[{}]", after("stream.by_hand")),
            Self::Surface => "head.surface".into(),
        }
    }
}

/// All marks of a sheet, in the order of its text.
pub fn marks(entries: &Entries) -> Vec<Mark> {
    let known = |(key, at): (String, PixelPoint)| MarkKind::of_key(&key).map(|kind| Mark { key, kind, at });
    entries.points().into_iter().filter_map(known).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::entry::put;

    fn marks_in(text: &str) -> Vec<Mark> {
        marks(&Entries::of(text))
    }

    const SHEET: &str = "[scale]\nmarks = [[1.0, 2.0], [3.0, 4.0]]\n[stream]\nleave_out = [[[0.0, 0.0], [9.0, 0.0]]]\n";

    #[test]
    fn each_kind_finds_its_own_next_place() {
        for kind in [
            MarkKind::Plumb,
            MarkKind::Level,
            MarkKind::Scale(1),
            MarkKind::Scale(2),
            MarkKind::Plane,
            MarkKind::Card,
            MarkKind::Straight(1),
            MarkKind::Orifice,
            MarkKind::LookIn,
            MarkKind::LeaveOut(1),
            MarkKind::LeaveOut(2),
            MarkKind::ByHand,
            MarkKind::Surface,
        ] {
            let mut text = SHEET.to_owned();
            let before = marks_in(&text).iter().filter(|m| m.kind == kind).count();
            for i in 0..2 {
                let at = PixelPoint::new(50.0 + f64::from(i), 60.0);
                text = put(&text, &kind.next_key(&Entries::of(&text)), &Entry::Point(at)).unwrap();
                assert!(marks_in(&text).iter().any(|m| m.kind == kind && m.at == at), "{kind:?}\n{text}");
            }
            let expected = if kind.whole() == Some(1) { 1 } else { before + 2 };
            assert_eq!(marks_in(&text).iter().filter(|m| m.kind == kind).count(), expected, "{kind:?}\n{text}");
        }
    }

    #[test]
    fn a_ruler_with_readings_goes_on_with_readings() {
        let text = "[[scale]]\nmarks = [{ px = [1.0, 2.0], at = \"0 mm\" }]\n";
        assert_eq!(MarkKind::Scale(1).next_key(&Entries::of(text)), "scale[1].marks[2].px");
        assert_eq!(marks_in(text)[0].kind, MarkKind::Scale(1));
    }
}
