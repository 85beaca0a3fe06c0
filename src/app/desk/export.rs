//! Writing what leaves the program: the same exporters as the command line.

use std::path::Path;

use crate::app::command::Export;
use crate::app::measurer::{Measured, Pictures};
use crate::cli::files;
use crate::report::html::html;
use crate::report::record::{Paper, Record};
use crate::report::{csv, json, xlsx};

/// Writes one thing to `path`.
///
/// # Errors
/// What went wrong, in words.
pub fn write(export: Export, path: &Path, measured: &Measured, pictures: &Pictures) -> Result<(), String> {
    let findings = &measured.findings;
    let record = Record { findings, sheet: Some(&measured.sheet), photo: pictures.set.photos.first() };
    let text = |e: &dyn std::fmt::Display| e.to_string();
    match export {
        Export::RecordHtml => files::write("record", path, html(&record, Paper::A4).as_bytes()),
        Export::RecordPdf => files::write("record", path, &pdf(&record)?),
        Export::Workbook => {
            let bytes = xlsx::workbook(std::slice::from_ref(findings)).map_err(|e| text(&e))?;
            files::write("workbook", path, &bytes)
        }
        Export::Stations => {
            files::write("stations", path, &csv::stations(std::slice::from_ref(findings)).map_err(|e| text(&e))?)
        }
        Export::Json => {
            files::write("findings", path, json::text(std::slice::from_ref(findings)).map_err(|e| text(&e))?.as_bytes())
        }
    }
}

#[cfg(feature = "pdf")]
fn pdf(record: &Record) -> Result<Vec<u8>, String> {
    crate::report::pdf::pdf(record, Paper::A4).map_err(|e| e.to_string())
}

#[cfg(not(feature = "pdf"))]
fn pdf(_: &Record) -> Result<Vec<u8>, String> {
    Err("this build makes no PDF; write the page and print it".into())
}
