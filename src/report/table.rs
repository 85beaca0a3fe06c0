//! Findings as a table to read in a terminal.

use crate::measure::{BudgetRow, Findings, Found};
use crate::quantity::{round, show_interval, show_plain};
use std::fmt::Write as _;

/// How many rows of a budget are shown.
const LARGEST: usize = 5;

/// Colour where the terminal takes it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Paint(pub bool);

impl Paint {
    fn wrap(self, code: &str, text: &str) -> String {
        if self.0 { format!("\u{1b}[{code}m{text}\u{1b}[0m") } else { text.to_owned() }
    }

    /// Headings.
    pub fn strong(self, text: &str) -> String {
        self.wrap("1", text)
    }

    /// What stands back: uncertainties, units.
    pub fn quiet(self, text: &str) -> String {
        self.wrap("2", text)
    }
}

/// The results in the order of the job: label, value.
fn results(f: &Findings) -> [(&'static str, &Option<Found>); 14] {
    [
        ("velocity V", &f.velocity),
        ("launch angle", &f.launch_angle),
        ("head H", &f.head),
        ("ideal velocity", &f.ideal_velocity),
        ("Cv", &f.cv),
        ("Cd", &f.cd),
        ("Cc", &f.cc),
        ("K", &f.k),
        ("discharge Q", &f.discharge),
        ("head lost", &f.head_lost),
        ("jet power", &f.jet_power),
        ("stream width", &f.stream_width),
        ("Reynolds", &f.reynolds),
        ("Weber", &f.weber),
    ]
}

/// The table of one sheet; notices are not in it.
pub fn text(f: &Findings, paint: Paint) -> String {
    let mut out = String::new();
    let title = if f.title.is_empty() { f.sheet.clone() } else { format!("{} ({})", f.title, f.sheet) };
    let _ = writeln!(out, "{}", paint.strong(&super::printable(&title.replace('\n', " "))));
    let rows = results(f);
    let texts: Vec<_> = rows.iter().map(|(label, found)| (*label, found.as_ref().map(Shown::new))).collect();
    let whole = texts.iter().filter_map(|(_, s)| s.as_ref()).map(|s| s.whole).max().unwrap_or(1);
    let part =
        texts.iter().filter_map(|(_, s)| s.as_ref()).map(|s| s.value.chars().count() - s.whole).max().unwrap_or(0);
    for (label, shown) in &texts {
        match shown {
            Some(s) => {
                let before = " ".repeat(whole - s.whole);
                let after = " ".repeat(part - (s.value.chars().count() - s.whole));
                let value = format!("{before}{}{after}", s.value);
                let unit = format!("{:<4}", s.unit);
                let u = paint.quiet(&format!("± {:<10} 95 %: {}", s.u, s.interval));
                let _ = writeln!(out, "  {label:<15} {value} {unit} {u}");
            }
            None => {
                let _ = writeln!(out, "  {label:<15} {}-", " ".repeat(whole.saturating_sub(1)));
            }
        }
    }
    fit(&mut out, f);
    rulers(&mut out, f);
    super::beside::beside(&mut out, f);
    for (key, label) in [("velocity", "V"), ("cv", "Cv")] {
        if let Some(rows) = f.budget.get(key) {
            shares(&mut out, label, rows, paint);
        }
    }
    out
}

/// A result as aligned text.
struct Shown {
    value: String,
    /// Characters before the decimal point.
    whole: usize,
    u: String,
    unit: String,
    interval: String,
}

impl Shown {
    fn new(found: &Found) -> Self {
        let rounded = round(found.value, found.u);
        let power = if rounded.ten == 0 { String::new() } else { format!("e{}", rounded.ten) };
        let value = format!("{}{power}", rounded.value);
        Self {
            whole: value.find('.').unwrap_or(value.len()),
            value,
            u: rounded.u.map_or_else(|| "-".into(), |u| format!("{u}{power}")),
            unit: found.unit.clone(),
            interval: show_interval(found.lo, found.hi, &found.unit),
        }
    }
}

fn fit(out: &mut String, f: &Findings) {
    let get = |key: &str| f.fit.get(key).map(|v| v.value);
    let (Some(all), Some(used)) = (get("stations"), get("stations_used")) else { return };
    let _ = write!(out, "  {} of {} stations", show_plain(used, ""), show_plain(all, ""));
    if let Some(effective) = get("effective_stations") {
        let _ = write!(out, ", worth {} independent ones", show_plain(effective.round(), ""));
    }
    if let (Some(mm), Some(px)) = (get("rms_off"), get("rms_off_px")) {
        let _ = write!(out, "; off the trajectory {} mm = {} px rms", two(mm), two(px));
    }
    out.push('\n');
}

/// What was read of the rulers.
fn rulers(out: &mut String, f: &Findings) {
    for ruler in &f.rulers {
        let _ = writeln!(out, "  {}", super::ruler_text(ruler));
    }
}

fn two(value: f64) -> String {
    round(value, value).u.unwrap_or_else(|| "0".into())
}

/// The largest shares of a budget.
fn shares(out: &mut String, label: &str, rows: &[BudgetRow], paint: Paint) {
    let _ = writeln!(out, "  what the uncertainty of {label} is made of");
    for row in rows.iter().take(LARGEST).filter(|r| r.share >= 0.0005) {
        let share = 100.0 * row.share;
        // what inputs do together has no uncertainty of its own
        let stated = if row.u == "-" { row.value.clone() } else { format!("{} ± {}", row.value, row.u) };
        let u = paint.quiet(&stated);
        let _ = writeln!(out, "    {share:>5.1} %  {:<20} {u}", row.input);
    }
}
