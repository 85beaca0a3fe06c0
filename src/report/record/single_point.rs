//! Whether every station by itself gives the same velocity, and what would explain it if not.

use super::{Block, Record, Table};
use crate::quantity::{show_change, show_plain, show_value};

pub(super) fn single_point(record: &Record) -> Vec<Block> {
    let Some(view) = &record.findings.single_point else { return Vec::new() };
    let verdict = if view.significant {
        "It stands out of the stations' scatter"
    } else {
        "It does not stand out of the stations' scatter"
    };
    let says = format!(
        "Read one by one from the marked orifice, with a launch angle of {}, the stations' velocities change by {} from \
         x = {} to x = {}. {verdict}.",
        show_value(view.launch_deg, 0.1, "deg"),
        show_change(100.0 * view.rise, 100.0 * view.rise_u, "%"),
        show_value(view.x_mm[0], 1.0, "mm"),
        show_value(view.x_mm[1], 1.0, "mm"),
    );
    let mut blocks = vec![Block::Heading("The velocity from single stations".into()), Block::Paragraph(says)];
    if !view.significant || view.causes.is_empty() {
        return blocks;
    }
    let mut table = Table::new(
        "What would explain the change, the likeliest first",
        &[("cause", 0.18), ("of what size", 0.5), ("explains", 0.12), ("can be so large", 0.2)],
    );
    for cause in &view.causes {
        let can_be = if cause.can_be { "yes" } else { "no: not of this size" };
        // a whole per cent is all that this share can tell
        let share = show_plain((100.0 * cause.explains).round(), "%");
        table.row([cause.cause.clone(), cause.says.clone(), share, can_be.to_owned()]);
    }
    blocks.push(Block::Table(table));
    blocks
}
