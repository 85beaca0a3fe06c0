//! Cc from the stream's width beside Cc from the flow: two ways that share only the orifice's diameter and the scale.

use super::{Block, Record, Table};
use crate::quantity::{show, show_change, show_in_u, show_interval};

pub(super) fn contraction(record: &Record) -> Vec<Block> {
    let findings = record.findings;
    let Some(width) = &findings.cc_from_width else { return Vec::new() };
    let mut table = Table::new(
        "Cc by two ways: value ± standard uncertainty, and the interval that covers 95 %",
        &[("way", 0.44), ("Cc", 0.3), ("95 % interval", 0.26)],
    );
    let mut row = |way: &str, f: &crate::measure::Found| {
        table.row([way.to_owned(), show(f.value, f.u, ""), show_interval(f.lo, f.hi, "")]);
    };
    if let Some(flow) = &findings.cc {
        row("Q / (A V), from the flow", flow);
    }
    row("(w / d)², from the width of the stream", width);
    let says = match &findings.cc {
        None => "Without a flow the width alone tells the contraction.".to_owned(),
        Some(flow) => {
            let u = flow.u.hypot(width.u);
            let by = width.value - flow.value;
            let apart = if u > 0.0 {
                format!(", {} in their combined standard uncertainty", show_in_u(by / u))
            } else {
                String::new()
            };
            format!(
                "From the width less from the flow: {}{apart}. The width sees the jet's outline as the camera does; the \
                 flow is the more certain way, the width a check of its volume and time.",
                show_change(by, u, "")
            )
        }
    };
    vec![Block::Heading("Contraction by two ways".into()), Block::Table(table), Block::Paragraph(says)]
}
