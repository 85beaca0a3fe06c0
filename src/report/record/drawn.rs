//! The results by Monte Carlo beside those of the budget.

use super::{Block, RESULTS, Record, Table};
use crate::measure::{Findings, Found};
use crate::quantity::{show, show_interval, show_plain, show_value};

pub(super) fn drawn(record: &Record) -> Vec<Block> {
    let findings = record.findings;
    let Some(drawn) = &findings.monte_carlo else { return Vec::new() };
    let count = |n: usize| show_plain(n as f64, "");
    let stable = if drawn.stable {
        "Two digits of every standard uncertainty were stable when the draws ended."
    } else {
        "Not all standard uncertainties were stable to two digits when the draws ended."
    };
    let says = format!(
        "All inputs drawn together {} times through the whole computation (JCGM 101:2008), random numbers of seed {}; {} \
         draws gave no result and are left out. {stable}",
        count(drawn.draws),
        drawn.seed,
        count(drawn.refused),
    );
    let mut table = Table::new(
        "Monte Carlo beside the budget",
        &[("result", 0.12), ("by", 0.1), ("value ± u", 0.26), ("95 % interval", 0.24), ("verdict", 0.28)],
    );
    let listed = RESULTS.iter().map(|r| r.key);
    let others = drawn.results.keys().map(String::as_str).filter(|key| RESULTS.iter().all(|r| r.key != *key));
    for key in listed.chain(others) {
        let Some(row) = drawn.results.get(key) else { continue };
        let symbol = match key {
            "cc_from_width" => "Cc = (w / d)²".to_owned(),
            "efficiency" => "η = Cv²".to_owned(),
            "froude" => "Fr".to_owned(),
            "head_to_diameter" => "H / d".to_owned(),
            _ => RESULTS.iter().find(|r| r.key == key).map_or_else(|| key.replace('_', " "), |r| r.symbol.into()),
        };
        if let Some(f) = linear(findings, key) {
            let interval = show_interval(f.lo, f.hi, &f.unit);
            table.row([symbol.clone(), "budget".into(), show(f.value, f.u, &f.unit), interval, String::new()]);
        }
        let value = match row.u {
            Some(u) => show(row.mean, u, &row.unit),
            None => format!("{}, u without a limit", show_value(row.mean, 0.25 * (row.hi - row.lo), &row.unit)),
        };
        let ratio = row.u_over_linear.map(|r| format!(" (u {} times what the budget gives)", show_value(r, 0.01, "")));
        let verdict = format!("{}{}", row.verdict, ratio.unwrap_or_default());
        table.row([symbol, "drawn".into(), value, show_interval(row.lo, row.hi, &row.unit), verdict]);
    }
    let reads = "Agrees: the ends of both intervals lie together to one significant digit of the standard uncertainty \
                 (JCGM 101:2008, clause 8). Differs: they do not, trust the drawn one. Unsettled: too few draws to tell.";
    vec![
        Block::Heading("Monte Carlo beside the budget".into()),
        Block::Paragraph(says),
        Block::Table(table),
        Block::Paragraph(reads.into()),
    ]
}

/// The result as the budget has it.
fn linear<'a>(findings: &'a Findings, key: &str) -> Option<&'a Found> {
    match key {
        "cc_from_width" => findings.cc_from_width.as_ref(),
        "efficiency" => findings.efficiency.as_ref(),
        "froude" => findings.froude.as_ref(),
        "head_to_diameter" => findings.head_to_diameter.as_ref(),
        _ => RESULTS.iter().find(|r| r.key == key).and_then(|r| (r.of)(findings)),
    }
}
