//! Published values beside the run.

use super::{Block, Record, Table};
use crate::quantity::{show, show_in_u};

pub(super) fn published(record: &Record) -> Vec<Block> {
    let rows = &record.findings.published;
    if rows.is_empty() {
        return Vec::new();
    }
    let mut table = Table::new(
        "Published values for this kind of orifice",
        &[("of", 0.06), ("published by", 0.3), ("value ± u", 0.18), ("holds for", 0.24), ("this run", 0.22)],
    );
    for row in rows {
        let value = row.value.map_or_else(|| "none here".to_owned(), |value| show(value, row.u, ""));
        let beside = match (row.difference_in_u, &row.why_not) {
            (Some(difference), _) => show_in_u(difference),
            (None, Some(why)) => format!("does not apply: {why}"),
            (None, None) => format!("no {} to compare", symbol(&row.what)),
        };
        // an author whose own text is the source is not named twice
        let by = if row.source.starts_with(&row.by) { String::new() } else { format!("{}, in ", row.by) };
        let by = format!("{by}{}, {} ({})", row.source, row.place, row.basis);
        table.row([symbol(&row.what).to_owned(), by, value, row.range.clone(), beside]);
    }
    let says = "The last column is this run's result less the published value, in their combined standard uncertainty u: \
                beyond ± 2 they differ by more than both would explain.";
    vec![Block::Heading("Published values".into()), Block::Table(table), Block::Paragraph(says.into())]
}

/// `Cd` of `cd`.
fn symbol(key: &str) -> &str {
    super::RESULTS.iter().find(|r| r.key == key).map_or(key, |r| r.symbol)
}
