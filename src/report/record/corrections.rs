//! Second-order corrections: what each would make of the results, or has made of them.

use super::{Block, Record, Table};
use crate::measure::Found;
use crate::quantity::{show, show_change};

pub(super) fn corrections(record: &Record) -> Vec<Block> {
    let rows = &record.findings.corrections;
    if rows.is_empty() {
        return Vec::new();
    }
    let mut table = Table::new(
        "Each correction by itself: the result with it, and its change",
        &[("correction", 0.17), ("in the results", 0.11), ("V", 0.26), ("Cv", 0.23), ("Cd", 0.23)],
    );
    for row in rows {
        let applied = if row.applied { "applied" } else { "not applied" };
        let v = with(&row.velocity, row.velocity_change, row.velocity_change_u);
        let cv = with(&row.cv, row.cv_change, row.cv_change_u);
        let cd = with(&row.cd, row.cd_change, row.cd_change_u);
        table.row([row.correction.clone(), applied.to_owned(), v, cv, cd]);
    }
    let says = "A correction that is not applied shows what the result would be if corrected. One that is applied is in \
                the results and in their budgets; it shows the result as it stands and the change that it made.";
    vec![Block::Heading("Corrections considered".into()), Block::Table(table), Block::Paragraph(says.into())]
}

/// `2.8904 m/s ± 0.0051 m/s (+0.133 % ± 0.019 %)`.
fn with(found: &Option<Found>, change: f64, u: f64) -> String {
    match found {
        Some(_) if change == 0.0 => "no change".to_owned(),
        Some(f) => format!("{} ({})", show(f.value, f.u, &f.unit), show_change(100.0 * change, 100.0 * u, "%")),
        None => "none".to_owned(),
    }
}
