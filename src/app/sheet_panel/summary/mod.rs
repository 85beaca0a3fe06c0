//! What a closed line of the sheet says: its value, where that came from, in what state it is, and what it costs.

mod results;
mod stated;
#[cfg(test)]
mod tests;

use super::said::{Said, Weight, cost, cost_of_key};
use crate::app::line::Line;
use crate::app::state::State;
use crate::quantity::show_value;
use crate::sheet::Origin;

/// A line of the sheet at a glance.
#[derive(Clone, Debug, PartialEq)]
pub struct LineSummary {
    /// Its value with uncertainty and unit, or a word or two; empty where there is none.
    pub value: String,
    /// What else there is to say, quieter.
    pub more: String,
    /// Where the value came from.
    pub from: Option<Origin>,
    /// In what state it is.
    pub standing: Standing,
    /// What it costs, where it is doubtful or assumed: "36 % of V's variance".
    pub cost: Option<String>,
    /// Whether nothing is asked of the user for now: it waits for other lines, or may stay away.
    pub waits: bool,
    /// Whether the value is of the sheet as it was before its last change.
    pub stale: bool,
}

/// The state of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// What it needs is not there or cannot be used.
    Missing,
    /// There is something to look at.
    Doubtful,
    /// Nothing is left to do.
    Good,
}

impl Standing {
    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Missing => "missing",
            Self::Doubtful => "doubtful",
            Self::Good => "good",
        }
    }
}

/// The word for where a value came from.
pub fn from_word(origin: Origin) -> &'static str {
    match origin {
        Origin::Marked => "marked",
        Origin::Typed => "typed",
        Origin::Metadata => "metadata",
        Origin::Published => "published",
        Origin::Assumed => "assumed",
        Origin::Computed => "computed",
    }
}

impl LineSummary {
    fn nothing(value: &str) -> Self {
        Self {
            value: value.to_owned(),
            more: String::new(),
            from: None,
            standing: Standing::Missing,
            cost: None,
            waits: false,
            stale: false,
        }
    }

    /// The whole of it in words, for those who hear the sheet.
    pub fn spoken(&self, line: Line) -> String {
        let parts = [self.value.as_str(), &self.more, self.from.map_or("", from_word), self.standing.word()];
        let parts = parts.into_iter().chain(self.cost.as_deref()).chain(self.stale.then_some("of the sheet before"));
        let parts: Vec<&str> = parts.filter(|p| !p.is_empty()).collect();
        format!("{} {}: {}", line.number(), line.name(), parts.join(", "))
    }
}

/// The summary of a line.
pub fn summary(line: Line, state: &State, said: &[Said]) -> LineSummary {
    let mut summary = match line {
        Line::Photo => stated::photo(state),
        Line::Down => stated::down(state),
        Line::Scale => stated::scale(state),
        Line::Orifice => stated::orifice(state),
        Line::Head => stated::head(state),
        Line::Stream => results::stream(state),
        Line::Trajectory => results::trajectory(state),
        Line::Discharge => results::discharge(state),
        Line::Coefficients => results::coefficients(state),
        Line::Published => results::published(state),
        Line::Record => results::record(state),
    };
    let here = || said.iter().filter(|s| s.line() == line);
    let findings = state.live.measured.as_ref().filter(|_| state.is_current()).map(|m| &m.findings);
    // an assumption that costs nothing worth a word is no doubt
    let harmless = |s: &&Said| findings.is_some_and(|f| is_assumption(s) && cost_of_key(f, &s.about).is_none());
    if here().any(|s| s.weight == Weight::Fault) {
        summary.standing = Standing::Missing;
        summary.waits = false;
    } else if summary.standing == Standing::Good && here().any(|s| !harmless(&s)) {
        summary.standing = Standing::Doubtful;
    }
    // a result of the sheet before is no good one, unless the next is on its way
    if summary.stale && summary.standing == Standing::Good && !state.live.busy {
        summary.standing = Standing::Doubtful;
    }
    let is_stated =
        matches!(line, Line::Down | Line::Scale | Line::Orifice | Line::Stream | Line::Head | Line::Discharge);
    if let Some(f) = findings.filter(|_| is_stated)
        && (summary.standing == Standing::Doubtful || summary.from == Some(Origin::Assumed))
    {
        summary.cost = cost(f, |input| Line::of_key(input) == line).map(cost_text);
    }
    summary
}

/// "36 % of V's variance"; an uncertainty of 1 % shows a whole per cent.
pub fn cost_text((symbol, share): (&str, f64)) -> String {
    format!("{} of {symbol}'s variance", show_value((100.0 * share).round(), 0.0, "%"))
}

fn is_assumption(said: &Said) -> bool {
    said.says.contains("assumed")
}
