//! Short blocks of the terminal's table: what stands beside the results. A block without anything to say is not there.

use super::record::RESULTS;
use crate::measure::Findings;
use crate::quantity::{show, show_change, show_in_u, show_interval, show_plain, show_value};
use std::fmt::Write as _;

/// All blocks, in order.
pub(super) fn beside(out: &mut String, f: &Findings) {
    width(out, f);
    published(out, f);
    corrections(out, f);
    drawn(out, f);
}

/// `Cv` of `cv`.
fn symbol(key: &str) -> String {
    RESULTS.iter().find(|r| r.key == key).map_or_else(|| key.replace('_', " "), |r| r.symbol.to_owned())
}

fn width(out: &mut String, f: &Findings) {
    let Some(width) = &f.cc_from_width else { return };
    let _ = write!(out, "  Cc from the width   {}", show(width.value, width.u, ""));
    if let Some(flow) = &f.cc {
        let u = width.u.hypot(flow.u);
        if u > 0.0 {
            let _ = write!(out, ", {} from that of the flow", show_in_u((width.value - flow.value) / u));
        }
    }
    out.push('\n');
}

fn published(out: &mut String, f: &Findings) {
    let rows = f.published.iter().filter_map(|r| Some((r, r.value?, r.difference_in_u?)));
    for (i, (row, value, difference)) in rows.enumerate() {
        if i == 0 {
            out.push_str("  published, and this result less it in their combined u\n");
        }
        let value = show(value, row.u, "");
        let _ = writeln!(out, "    {:<3} {value:<17} {:>7}  {}", symbol(&row.what), show_in_u(difference), row.by);
    }
}

fn corrections(out: &mut String, f: &Findings) {
    for (applied, heading) in [(true, "corrected for (in the results)"), (false, "if corrected")] {
        let mut rows = f.corrections.iter().filter(|r| r.applied == applied).peekable();
        if rows.peek().is_some() {
            let _ = writeln!(out, "  {heading}");
        }
        for row in rows {
            let changes = [
                ("V", &row.velocity, row.velocity_change, row.velocity_change_u),
                ("Cv", &row.cv, row.cv_change, row.cv_change_u),
                ("Cd", &row.cd, row.cd_change, row.cd_change_u),
            ];
            let told: Vec<String> = changes
                .iter()
                .filter(|(_, found, change, _)| found.is_some() && *change != 0.0)
                .map(|(label, _, change, u)| {
                    // without an uncertainty of its own, a thousandth of a per cent is fine enough
                    let (percent, u) = (100.0 * change, 100.0 * u);
                    let percent = if u > 0.0 { percent } else { (1000.0 * percent).round() / 1000.0 };
                    format!("{label} {}", show_change(percent, u, "%"))
                })
                .collect();
            let told = if told.is_empty() { "no change".to_owned() } else { told.join(", ") };
            let _ = writeln!(out, "    {:<16} {told}", row.correction);
        }
    }
}

fn drawn(out: &mut String, f: &Findings) {
    let Some(drawn) = &f.monte_carlo else { return };
    let count = |n: usize| show_plain(n as f64, "");
    let _ = write!(out, "  monte carlo, {} draws of seed {}", count(drawn.draws), drawn.seed);
    if drawn.refused > 0 {
        let _ = write!(out, ", {} of them without a result", count(drawn.refused));
    }
    let stable = if drawn.stable { "stable" } else { "not yet stable" };
    let _ = writeln!(out, "; two digits of every u are {stable}");
    for result in RESULTS {
        let Some(row) = drawn.results.get(result.key) else { continue };
        let value = match row.u {
            Some(u) => show(row.mean, u, &row.unit),
            None => show_value(row.mean, 0.25 * (row.hi - row.lo), &row.unit),
        };
        let interval = show_interval(row.lo, row.hi, &row.unit);
        let _ = writeln!(out, "    {:<3} {value:<27} 95 %: {interval:<24} {}", result.symbol, row.verdict);
    }
}
