//! Stations as CSV: one row a station, units in the header, full precision.

use crate::measure::Findings;

/// Columns, with units.
const HEADER: [&str; 12] = [
    "sheet",
    "station",
    "px_x (px)",
    "px_y (px)",
    "u (px)",
    "x (mm)",
    "drop (mm)",
    "width (mm)",
    "off trajectory (mm)",
    "used",
    "velocity (m/s)",
    "Cv",
];

/// All stations of all sheets; what a station lacks is an empty field.
///
/// # Errors
/// Only where writing to memory fails.
pub fn stations(all: &[Findings]) -> Result<Vec<u8>, csv::Error> {
    let mut bytes = head()?;
    for findings in all {
        bytes.extend(rows(findings)?);
    }
    Ok(bytes)
}

/// The line of column names.
///
/// # Errors
/// As [`stations`].
pub fn head() -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(HEADER)?;
    writer.into_inner().map_err(|e| e.into_error().into())
}

/// The stations of one sheet, without the line of names: for a table that grows sheet by sheet.
///
/// # Errors
/// As [`stations`].
pub fn rows(findings: &Findings) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let number = |v: Option<f64>| v.map_or_else(String::new, |v| v.to_string());
    for (i, s) in findings.stations.iter().enumerate() {
        writer.write_record([
            findings.sheet.clone(),
            (i + 1).to_string(),
            s.px[0].to_string(),
            s.px[1].to_string(),
            s.u_px.to_string(),
            s.x_mm.to_string(),
            s.y_mm.to_string(),
            number(s.width_mm),
            s.off_mm.to_string(),
            s.used.to_string(),
            number(s.velocity),
            number(s.cv),
        ])?;
    }
    writer.into_inner().map_err(|e| e.into_error().into())
}
