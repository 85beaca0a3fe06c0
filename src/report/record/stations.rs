//! Every station, so that the fit can be done again by anybody.

use super::budgets::digits;
use super::{Block, Record, Table};
use crate::quantity::{show_plain, show_value};

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
    for s in &findings.stations {
        let u_mm = if scale > 0.0 { s.u_px / scale } else { 0.0 };
        let width = s.width_mm.map_or(String::new(), |w| show_value(w, u_mm, ""));
        let velocity = s.velocity.map_or(String::new(), |v| show_value(v, s.velocity_u.unwrap_or(0.0), ""));
        table.row([
            show_value(s.px[0], s.u_px, ""),
            show_value(s.px[1], s.u_px, ""),
            show_plain(digits(s.u_px, 2), ""),
            show_value(s.x_mm, u_mm, ""),
            show_value(s.y_mm, u_mm, ""),
            show_value(s.off_mm, u_mm, ""),
            width,
            velocity,
            if s.used { "yes" } else { "no" }.to_owned(),
        ]);
    }
    vec![Block::Heading("Stations".into()), Block::Table(table)]
}
