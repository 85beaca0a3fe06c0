//! Budgets of uncertainty, as the GUM writes them.

use super::{Block, RESULTS, Record, Table, figure_or_why};
use crate::quantity::{show_plain, show_value};
use crate::report::figure;

/// Results whose budget is drawn besides being listed.
const DRAWN: [&str; 4] = ["velocity", "cv", "cd", "cc"];
/// Rows of a smaller share of the variance are gathered in one.
const LEAST_SHARE: f64 = 1e-3;

pub(super) fn budgets(record: &Record) -> Vec<Block> {
    let findings = record.findings;
    let mut blocks = vec![
        Block::Heading("Budgets of uncertainty".into()),
        Block::Paragraph(
            "Each input is moved by its standard uncertainty through the whole computation; its share of the result's \
             variance follows. A sensitivity is the change of the result, in its unit, for one unit of the input."
                .into(),
        ),
    ];
    for result in RESULTS {
        // a budget of a single row says no more than the result does
        let Some(rows) = findings.budget.get(result.key).filter(|rows| rows.len() > 1) else { continue };
        blocks.push(Block::Subheading(format!("{}, {}", result.symbol, result.name)));
        if DRAWN.contains(&result.key) {
            blocks.push(figure_or_why("the budget", figure::budget(findings, result.key, result.symbol)));
        }
        let unit = (result.of)(findings).map_or("", |f| f.unit.as_str());
        let sensitivity =
            if unit.is_empty() { "sensitivity".to_owned() } else { format!("sensitivity / ({unit} per unit)") };
        let mut table = Table::new(
            &format!("Budget of {}", result.symbol),
            &[("input", 0.24), ("value", 0.24), ("standard uncertainty", 0.2), (&sensitivity, 0.2), ("share", 0.12)],
        );
        let (large, small): (Vec<_>, Vec<_>) = rows.iter().partition(|r| r.share >= LEAST_SHARE);
        for row in large {
            let sensitivity = show_plain(digits(row.sensitivity, 3), "");
            let share = show_value(100.0 * row.share, 1.0, "%");
            table.row([row.input.clone(), row.value.clone(), row.u.clone(), sensitivity, share]);
        }
        blocks.push(Block::Table(table));
        if !small.is_empty() {
            let names: Vec<&str> = small.iter().map(|r| r.input.as_str()).collect();
            let under = show_plain(100.0 * LEAST_SHARE, "%");
            blocks.push(Block::Paragraph(format!("Below {under} each: {}.", names.join(", "))));
        }
    }
    blocks
}

/// `value` to some significant digits.
pub(super) fn digits(value: f64, count: usize) -> f64 {
    format!("{value:.*e}", count.saturating_sub(1)).parse().unwrap_or(value)
}
