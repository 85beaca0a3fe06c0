//! Writing what leaves the program: the same exporters as the command line.

use eframe::egui::ColorImage;
use std::path::Path;

use crate::app::command::Export;
use crate::app::measurer::{Measured, Pictures};
use crate::cli::files;
use crate::report::figure::{self, Figure};
use crate::report::html::html;
use crate::report::{Paper, Record};
use crate::report::{csv, json, xlsx};

/// A figure as a picture of the clipboard.
///
/// # Errors
/// Where it cannot be drawn, in words.
#[cfg(feature = "pdf")]
pub fn picture(figure: &Figure) -> Result<ColorImage, String> {
    let bytes = crate::report::png::png(figure).map_err(|e| e.to_string())?;
    let rgba = image::load_from_memory(&bytes).map_err(|e| e.to_string())?.to_rgba8();
    Ok(ColorImage::from_rgba_unmultiplied([rgba.width() as usize, rgba.height() as usize], &rgba))
}

/// A build without the drawing of pictures.
///
/// # Errors
/// Always: what to do instead.
#[cfg(not(feature = "pdf"))]
pub fn picture(_: &Figure) -> Result<ColorImage, String> {
    Err("this build draws no pictures; copy the SVG instead".into())
}

/// The photo with marks, stations and trajectory, as a picture of the clipboard.
///
/// # Errors
/// Where it cannot be drawn, in words.
pub fn photo(measured: &Measured, pictures: &Pictures) -> Result<ColorImage, String> {
    let first = pictures.set.photos.first().ok_or("there is no photo")?;
    picture(&figure::photo(first, &measured.sheet, &measured.findings)?)
}

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
