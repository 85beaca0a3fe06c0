//! Results with their intervals, how well the trajectory fits, and the notices.

use super::budgets::digits;
use super::{Block, Record, Table};
use crate::measure::{Findings, Found};
use crate::notice::Weight;
use crate::quantity::{show, show_interval, show_plain};

/// One result as it is listed.
#[derive(Clone, Copy, Debug)]
pub struct Result {
    /// Its key in the findings.
    pub key: &'static str,
    /// Its symbol.
    pub symbol: &'static str,
    /// Its name.
    pub name: &'static str,
    /// Where the findings hold it.
    pub of: fn(&Findings) -> Option<&Found>,
    /// Sections of the sheet whose absence is the likely reason for its own.
    needs: &'static [&'static str],
}

macro_rules! results {
    ($($key:ident $symbol:literal $name:literal $needs:expr;)*) => {
        /// All results, in the order of a record.
        pub const RESULTS: &[Result] = &[$(Result {
            key: stringify!($key), symbol: $symbol, name: $name, of: |f| f.$key.as_ref(), needs: $needs,
        }),*];
    };
}

results! {
    velocity "V" "velocity at the vena contracta" &["stream"];
    launch_angle "α" "launch angle, upwards positive" &["stream"];
    head "H" "head above the orifice centre" &["head"];
    ideal_velocity "Vᵢ" "ideal velocity" &["head"];
    cv "Cv" "coefficient of velocity" &["head"];
    discharge "Q" "discharge" &["flow"];
    cd "Cd" "coefficient of discharge" &["flow", "head"];
    cc "Cc" "coefficient of contraction" &["flow"];
    k "K" "coefficient of loss" &["head"];
    head_lost "h" "head lost" &["head"];
    jet_power "P" "power of the jet" &["flow"];
    stream_width "w" "width of the stream at the vena contracta" &["stream"];
    reynolds "Re" "Reynolds number of the jet" &["water"];
    weber "We" "Weber number of the jet" &["water"];
}

/// Why a result is absent, from the notices.
pub fn absent_because(findings: &Findings, result: &Result) -> String {
    let tells = |about: &str| {
        findings
            .notices
            .iter()
            .find(|n| n.about.starts_with(about) && n.says.contains("absent"))
            .map(|n| n.says.as_str())
    };
    let why = result.needs.iter().find_map(|about| tells(about));
    match why {
        Some(says) => format!("none: {says}"),
        None => format!("none: it does not follow from what [{}] states; see the notices", result.needs.join("], [")),
    }
}

pub(super) fn results(record: &Record) -> Vec<Block> {
    let findings = record.findings;
    let mut table = Table::new(
        "Results: value ± standard uncertainty, and the interval that covers 95 %",
        &[("quantity", 0.36), ("symbol", 0.09), ("value ± standard uncertainty", 0.31), ("95 % interval", 0.24)],
    );
    table.results = Some(2);
    for result in RESULTS {
        let [value, interval] = match (result.of)(findings) {
            Some(f) => [show(f.value, f.u, &f.unit), show_interval(f.lo, f.hi, &f.unit)],
            None => [absent_because(findings, result), String::new()],
        };
        table.row([result.name.to_owned(), result.symbol.to_owned(), value, interval]);
    }
    let mut blocks = vec![Block::Heading("Results".into()), Block::Table(table)];
    if !findings.fit.is_empty() {
        let mut fit = Table::new("The fit of the trajectory", &[("", 0.6), ("", 0.4)]);
        let listed = FIT.iter().filter_map(|(key, name)| Some(((*name).to_owned(), findings.fit.get(*key)?)));
        let others = findings.fit.iter().filter(|(key, _)| FIT.iter().all(|(k, _)| k != key));
        for (name, f) in listed.chain(others.map(|(key, f)| (key.replace('_', " "), f))) {
            // counts are whole; the rest only tells a size
            let value = if f.value.fract() == 0.0 { f.value } else { digits(f.value, 3) };
            fit.row([name, show_plain(value, &f.unit)]);
        }
        blocks.push(Block::Table(fit));
    }
    blocks
}

/// What the findings' numbers on the fit are called, in the order of a record.
const FIT: [(&str, &str); 7] = [
    ("stations", "stations found"),
    ("stations_used", "stations that the fit used"),
    ("effective_stations", "independent stations that these are worth (neighbours share waves)"),
    ("rms_off", "distance of the used stations from the trajectory, rms"),
    ("rms_off_px", "the same in the photo"),
    ("left_over", "what the model leaves over beyond the stations' scatter, as a drop"),
    ("px_per_mm", "scale at the orifice"),
];

pub(super) fn notices(record: &Record) -> Vec<Block> {
    let notices = &record.findings.notices;
    let mut blocks = vec![Block::Heading("Notices".into())];
    if notices.is_empty() {
        blocks.push(Block::Paragraph("None: nothing was assumed or left out that the sheet does not say.".into()));
        return blocks;
    }
    let mut table = Table::new(
        "What a reader should know about this measurement, the gravest first",
        &[("about", 0.2), ("what is the case", 0.45), ("what can be done", 0.35)],
    );
    for n in notices {
        let says = if n.weight == Weight::Doubt { format!("Doubt: {}", n.says) } else { n.says.clone() };
        table.row([n.about.clone(), says, n.hint.clone().unwrap_or_default()]);
    }
    blocks.push(Block::Table(table));
    blocks
}
