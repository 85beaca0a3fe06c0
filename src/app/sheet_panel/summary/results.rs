//! Summaries of the lines that the measurement fills: stream to record.

use super::{LineSummary, Standing};
use crate::app::marks::MarkKind;
use crate::app::shown::Shown;
use crate::app::state::State;
use crate::measure::{Findings, Found};
use crate::quantity::{show_in_u, show_plain};
use crate::sheet::entry::Entry;
use crate::sheet::{Flow, Origin};

/// The last findings and whether they are of the sheet before.
fn findings(state: &State) -> Option<(&Findings, bool)> {
    state.live.measured.as_ref().map(|m| (&m.findings, !state.is_current()))
}

/// Why there is nothing yet.
fn waiting(state: &State) -> LineSummary {
    let whole = state.document.as_ref().is_some_and(|d| d.opened().checked.is_some());
    let why = match (state.live.busy, whole) {
        (true, _) => "being measured",
        (false, true) => "none",
        (false, false) => "waits for the lines above",
    };
    LineSummary { waits: true, ..LineSummary::nothing(why) }
}

fn good(value: String, more: String, from: Origin, stale: bool) -> LineSummary {
    LineSummary { more, from: Some(from), standing: Standing::Good, stale, ..LineSummary::nothing(&value) }
}

fn text(found: &Found, state: &State) -> String {
    Shown::found(found, state.units).text()
}

/// `Cd 0.6090 ± 0.0063`.
fn named(symbol: &str, found: Option<&Found>, state: &State) -> Option<String> {
    found.map(|f| format!("{symbol} {}", text(f, state)))
}

pub(super) fn stream(state: &State) -> LineSummary {
    let Some((f, stale)) = findings(state) else { return waiting(state) };
    let used = f.stations.iter().filter(|s| s.used).count();
    let value = match f.stations.len() {
        all if all == used => format!("{all} stations"),
        all => format!("{used} of {all} stations"),
    };
    let by_hand = state.marks().iter().any(|m| m.kind == MarkKind::ByHand);
    let worth = f.fit.get("effective_stations");
    let more = worth.map_or_else(String::new, |w| format!("worth {} independent", show_plain(w.value.round(), "")));
    let from = if by_hand { Origin::Marked } else { Origin::Computed };
    good(value, more, from, stale)
}

pub(super) fn trajectory(state: &State) -> LineSummary {
    let Some((f, stale)) = findings(state) else { return waiting(state) };
    let Some(v) = &f.velocity else { return LineSummary { stale, ..LineSummary::nothing("no velocity") } };
    let more = named("launch", f.launch_angle.as_ref(), state).unwrap_or_default();
    good(text(v, state), more, Origin::Computed, stale)
}

pub(super) fn discharge(state: &State) -> LineSummary {
    let sheet = state.document.as_ref().map(|d| &d.opened().sheet);
    let Some(flow) = sheet.and_then(|s| s.flow.as_ref()) else {
        // what is half typed is a fault of its own
        let value = if matches!(state.entry("flow"), Some(Entry::Group(1..))) { "not whole yet" } else { "not stated" };
        return LineSummary { more: "no Cd, no Cc without it".into(), waits: true, ..LineSummary::nothing(value) };
    };
    let plural = |n: usize, word: &str| format!("{n} {word}{}", if n == 1 { "" } else { "s" });
    let (more, from) = match flow {
        Flow::Timed(rows) => (format!("from {}", plural(rows.len(), "timed filling")), Origin::Computed),
        Flow::Running(rows) => (format!("from one filling read at {}", plural(rows.len(), "mark")), Origin::Computed),
        Flow::Discharge(_) => (String::new(), Origin::Typed),
    };
    match findings(state).and_then(|(f, stale)| Some((f.discharge.as_ref()?, stale))) {
        Some((q, stale)) => good(text(q, state), more, from, stale),
        None => LineSummary { more, ..waiting(state) },
    }
}

pub(super) fn coefficients(state: &State) -> LineSummary {
    let Some((f, stale)) = findings(state) else { return waiting(state) };
    let all = [("Cv", f.cv.as_ref()), ("Cd", f.cd.as_ref()), ("Cc", f.cc.as_ref())];
    let mut there = all.into_iter().filter_map(|(symbol, found)| named(symbol, found, state));
    let Some(first) = there.next() else {
        return LineSummary { stale, ..LineSummary::nothing("no head, no flow") };
    };
    good(first, there.collect::<Vec<_>>().join(", "), Origin::Computed, stale)
}

pub(super) fn published(state: &State) -> LineSummary {
    let Some((f, stale)) = findings(state) else { return waiting(state) };
    let compared = || f.published.iter().filter_map(|r| Some((r, r.difference_in_u?)));
    let Some((row, difference)) = compared().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs())) else {
        return LineSummary { stale, ..LineSummary::nothing("nothing to compare") };
    };
    let symbol = super::super::tables::symbol(&row.what);
    let value = format!("{symbol} {} at most", show_in_u(difference));
    let count = compared().count();
    let more = format!("beside {count} published value{}", if count == 1 { "" } else { "s" });
    let mut s = good(value, more, Origin::Published, stale);
    // beyond two combined standard uncertainties they differ by more than both explain
    if difference.abs() > 2.0 {
        s.standing = Standing::Doubtful;
    }
    s
}

pub(super) fn record(state: &State) -> LineSummary {
    match findings(state) {
        Some((_, false)) => LineSummary {
            more: "record, workbook, tables".into(),
            standing: Standing::Good,
            ..LineSummary::nothing("can be written")
        },
        _ => waiting(state),
    }
}
