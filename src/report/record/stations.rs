//! Every station, so that the fit can be done again by anybody.

use super::{Block, Record, Table};
use crate::quantity::show_value;

pub(super) fn stations(record: &Record) -> Vec<Block> {
    let findings = record.findings;
    let scale = findings.fit.get("px_per_mm").map_or(0.0, |f| f.value);
    let mut table = Table::new(
        "Stations; u is the standard uncertainty across the stream",
        &[
            ("photo x / px", 0.11),
            ("photo y / px", 0.11),
            ("u / px", 0.08),
            ("x / mm", 0.11),
            ("drop y / mm", 0.11),
            ("off / mm", 0.11),
            ("width / mm", 0.11),
            ("V alone / (m/s)", 0.14),
            ("used", 0.08),
        ],
    );
    // as many decimals in a whole column as its usual uncertainty deserves
    let u_px = median(findings.stations.iter().map(|s| s.u_px));
    let u_mm = if scale > 0.0 { u_px / scale } else { 0.0 };
    let u_velocity = median(findings.stations.iter().filter_map(|s| s.velocity_u));
    let or_dash = |value: Option<f64>, u: f64| value.map_or_else(|| "-".to_owned(), |v| show_value(v, u, ""));
    for s in &findings.stations {
        let width = or_dash(s.width_mm, u_mm);
        let velocity = or_dash(s.velocity, u_velocity);
        table.row([
            show_value(s.px[0], u_px, ""),
            show_value(s.px[1], u_px, ""),
            show_value(s.u_px, u_px, ""),
            show_value(s.x_mm, u_mm, ""),
            show_value(s.y_mm, u_mm, ""),
            show_value(s.off_mm, u_mm, ""),
            width,
            velocity,
            if s.used { "yes" } else { "no" }.to_owned(),
        ]);
    }
    let has_dash = findings.stations.iter().any(|s| s.width_mm.is_none() || s.velocity.is_none());
    let mut blocks = vec![Block::Heading("Stations".into())];
    if has_dash {
        let says = "A dash: no width where only one edge of the stream was seen clearly, no V alone where the stream has hardly \
                    fallen below the line of its launch.";
        blocks.push(Block::Paragraph(says.into()));
    }
    blocks.push(Block::Table(table));
    blocks
}

/// Median; 0 of nothing.
fn median(values: impl Iterator<Item = f64>) -> f64 {
    crate::statistics::median(&mut values.collect::<Vec<_>>()).unwrap_or(0.0)
}
