//! Summaries of the lines that state something: photo, down, scale, orifice, head.

use super::{LineSummary, Standing};
use crate::app::marks::MarkKind;
use crate::app::shown::Shown;
use crate::app::state::State;
use crate::app::stated::{read_back, stated};
use crate::measure::{BudgetRow, Found};
use crate::quantity::{show_plain, show_value};
use crate::sheet::entry::Entry;
use crate::sheet::{Checked, Origin};

fn checked(state: &State) -> Option<&Checked> {
    state.document.as_ref()?.opened().checked.as_ref()
}

fn count(state: &State, kind: MarkKind) -> usize {
    state.marks().iter().filter(|m| m.kind == kind).count()
}

/// The row of V's budget that is named so; only of the sheet as it is now.
fn budget_row<'a>(state: &'a State, input: &str) -> Option<&'a BudgetRow> {
    let measured = state.live.measured.as_ref().filter(|_| state.is_current())?;
    measured.findings.budget.get("velocity")?.iter().find(|r| r.input == input)
}

pub(super) fn photo(state: &State) -> LineSummary {
    let Some(document) = &state.document else { return LineSummary::nothing("") };
    let photos = &document.opened().sheet.photos;
    let Some(first) = photos.first() else { return LineSummary::nothing("no photo") };
    let value = if photos.len() > 1 { format!("{} photos", photos.len()) } else { first.clone() };
    let mut s = LineSummary { from: Some(Origin::Typed), standing: Standing::Good, ..LineSummary::nothing(&value) };
    if let Some(photo) = state.live.pictures.as_ref().and_then(|p| p.set.photos.first()) {
        let about = &photo.metadata;
        let megapixels = show_value(photo.width as f64 * photo.height as f64 / 1e6, 1.0, "Mpx");
        let focal = about.focal_length_35mm.map(|f| format!("{} lens", show_plain(f, "mm")));
        let parts = [Some(megapixels), about.taken.clone(), focal];
        s.more = parts.into_iter().flatten().collect::<Vec<_>>().join(", ");
    }
    s
}

pub(super) fn down(state: &State) -> LineSummary {
    let (plumb, level) = (count(state, MarkKind::Plumb), count(state, MarkKind::Level));
    let by = match (plumb >= 2, level >= 2) {
        (true, true) => "plumb and level line",
        (true, false) => "plumb line",
        (false, true) => "level line",
        (false, false) if plumb + level > 0 => return LineSummary::nothing("one mark, one to go"),
        (false, false) => {
            let s = LineSummary::nothing("the photo's own");
            return LineSummary { from: Some(Origin::Assumed), standing: Standing::Doubtful, ..s };
        }
    };
    let row = budget_row(state, "vertical.plumb").or_else(|| budget_row(state, "vertical.level"));
    let value = row.map_or_else(|| by.to_owned(), |r| format!("{} ± {}", r.value, r.u));
    let more = if row.is_some() { format!("{by}, against the photo's upright") } else { String::new() };
    LineSummary { more, from: Some(Origin::Marked), standing: Standing::Good, ..LineSummary::nothing(&value) }
}

pub(super) fn scale(state: &State) -> LineSummary {
    let rulers = match state.entry("scale") {
        Some(Entry::Group(_)) => (1..).take_while(|n| state.entry(&format!("scale[{n}]")).is_some()).count(),
        _ => 0,
    };
    let scale_marks = (1..=rulers).map(|n| count(state, MarkKind::Scale(n))).sum::<usize>();
    let plane = count(state, MarkKind::Plane);
    let has_card = state.entry("card").is_some();
    if scale_marks + plane == 0 && !has_card {
        let offered = state.card_offered().is_some();
        return LineSummary::nothing(if offered { "a scale card is in the photo" } else { "nothing marked" });
    }
    let plural = |n: usize, word: &str| format!("{n} {word}{}", if n == 1 { "" } else { "s" });
    let mut words = Vec::new();
    if rulers > 0 {
        words.push(format!("{}, {}", plural(rulers, "ruler"), plural(scale_marks, "mark")));
    }
    if plane > 0 {
        words.push(plural(plane, "plane mark"));
    }
    if has_card {
        words.push(format!("scale card, {}", plural(count(state, MarkKind::Card), "mark")));
    }
    let is_pair = rulers == 1 && plane == 0 && !has_card;
    let only_pair = checked(state).and_then(|c| stated(c, "scale[1].length")).filter(|_| is_pair);
    let px = px_per_mm(state);
    let (value, from) = match (only_pair, &px) {
        (Some(length), _) => {
            words.extend(px);
            (length.text(state.units), Origin::Typed)
        }
        (None, Some(px)) => (px.clone(), Origin::Computed),
        (None, None) => (words.join(", "), Origin::Marked),
    };
    let more = if words.join(", ") == value { String::new() } else { words.join(", ") };
    let standing = if checked(state).is_some() { Standing::Good } else { Standing::Doubtful };
    LineSummary { more, from: Some(from), standing, ..LineSummary::nothing(&value) }
}

/// The scale at the orifice; to the four digits that clicks deserve.
fn px_per_mm(state: &State) -> Option<String> {
    let measured = state.live.measured.as_ref().filter(|_| state.is_current())?;
    let found: &Found = measured.findings.fit.get("px_per_mm")?;
    let (value, unit) = match state.units {
        crate::app::command::Units::Si => (found.value, "px/mm"),
        crate::app::command::Units::UsCustomary => {
            (found.value / Shown::new(1.0, 0.0, "mm", state.units).value, "px/in")
        }
    };
    Some(show_value(value, value * 1e-3, unit))
}

pub(super) fn orifice(state: &State) -> LineSummary {
    let typed = state.typed("orifice.diameter");
    let marked = count(state, MarkKind::Orifice) > 0;
    let Some(value) = read_back(checked(state), "orifice.diameter", &typed, state.units) else {
        return LineSummary::nothing(if marked { "no diameter" } else { "no centre, no diameter" });
    };
    let value = value.trim_end_matches(", ± assumed").to_owned();
    let edge = state.typed("orifice.edge");
    let edge = if edge.is_empty() { "sharp edge, assumed".to_owned() } else { format!("{edge} edge") };
    let more = if marked { edge } else { format!("{edge}; its centre is not marked") };
    let standing = if marked { Standing::Good } else { Standing::Missing };
    LineSummary { more, from: Some(Origin::Typed), standing, ..LineSummary::nothing(&value) }
}

pub(super) fn head(state: &State) -> LineSummary {
    let read = stated_head(state);
    if let Some(value) = read {
        let more = match state.entry("head.reading") {
            Some(Entry::Group(2)) => "start; the end is read too".to_owned(),
            _ => String::new(),
        };
        return LineSummary {
            more,
            from: Some(Origin::Typed),
            standing: Standing::Good,
            ..LineSummary::nothing(&value)
        };
    }
    if count(state, MarkKind::Surface) == 0 {
        return LineSummary { more: "no Cv, no Cd without it".into(), ..LineSummary::nothing("not stated") };
    }
    let found = state.live.measured.as_ref().filter(|_| state.is_current()).and_then(|m| m.findings.head.as_ref());
    let value = found.map_or_else(|| "water surface".to_owned(), |h| Shown::found(h, state.units).text());
    LineSummary {
        more: "the water surface in the photo".into(),
        from: Some(Origin::Marked),
        standing: Standing::Good,
        ..LineSummary::nothing(&value)
    }
}

fn stated_head(state: &State) -> Option<String> {
    let typed = state.typed("head.reading[1]");
    let read = read_back(checked(state), "head.reading[1]", &typed, state.units)?;
    Some(read.trim_end_matches(", ± assumed").to_owned())
}
