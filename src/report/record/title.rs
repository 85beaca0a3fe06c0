//! Title block and apparatus.

use super::{Block, Record, Table};
use crate::measure::Findings;
use crate::quantity::{Kind, show, show_plain};
use crate::sheet::{Caught, Checked, Correction, Edge, Flow, Launch};

pub(super) fn title(record: &Record) -> Vec<Block> {
    let (findings, sheet) = (record.findings, record.sheet);
    let mut run = Table::new("The run", &[("", 0.28), ("", 0.72)]);
    let mut fact = |name: &str, value: String| {
        if !value.is_empty() {
            run.row([name.to_owned(), value]);
        }
    };
    fact("title", findings.title.clone());
    fact("sheet", findings.sheet.clone());
    if let Some(sheet) = sheet {
        fact("photo", sheet.photos.join(", "));
        fact("photo without the jet", sheet.dry.clone().unwrap_or_default());
    }
    if let Some(photo) = record.photo {
        let meta = &photo.metadata;
        let (w, h) = (show_plain(photo.width as f64, ""), show_plain(photo.height as f64, "px"));
        fact("size of the photo", format!("{w} × {h}"));
        fact("taken, as the photo says", meta.taken.clone().unwrap_or_default());
        fact("camera, as the photo says", meta.camera.clone().unwrap_or_default());
    }
    for (name, value) in &findings.inputs {
        fact(name, value.clone());
    }
    let apparatus = match sheet {
        Some(sheet) => Block::Table(apparatus(sheet, findings)),
        None => Block::Paragraph(NO_SHEET.into()),
    };
    vec![Block::Table(run), Block::Heading("Apparatus".into()), apparatus]
}

/// What stands where only the sheet could tell.
pub(super) const NO_SHEET: &str = "The sheet was not at hand when this record was made from findings that had been kept; \
                                   its hash above tells which it is.";

fn apparatus(sheet: &Checked, findings: &Findings) -> Table {
    let mut table = Table::new("Orifice, head, flow and geometry as stated", &[("", 0.28), ("", 0.72)]);
    let mut fact = |name: &str, value: String| table.row([name.to_owned(), value]);
    let diameter = &sheet.diameter;
    let size = show(1000.0 * diameter.value.si(), 1000.0 * diameter.u.si(), "mm");
    fact("orifice", format!("{}, diameter {size}", edge(sheet.edge)));
    let head = match (sheet.head.as_slice(), sheet.surface) {
        ([], None) => "not stated".to_owned(),
        ([], Some(_)) => "from the water surface marked in the photo".to_owned(),
        ([_], _) => "read once, above the orifice centre".to_owned(),
        (readings, _) => format!("read {} times, above the orifice centre", readings.len()),
    };
    fact("head", head);
    let approach = sheet.approach_area.map_or("not counted", |_| "counted, from the area of the tank");
    fact("velocity of approach", approach.to_owned());
    fact("flow", flow(sheet.flow.as_ref()));
    let scales = sheet.scales.iter().map(|s| s.marks.len()).sum::<usize>();
    let mut geometry = Vec::new();
    if scales > 0 {
        geometry.push(format!("{scales} marks on {}", counted(sheet.scales.len(), "scale", "scales")));
    }
    if !sheet.plane.is_empty() {
        geometry.push(format!("{} marks of the jet's plane", sheet.plane.len()));
    }
    if let Some(card) = &findings.card {
        let how = if card.found { " found in the photo" } else { "" };
        geometry.push(format!("{} marks of the {} scale card{how}", card.marks.len(), card.paper));
    }
    if !sheet.straight.is_empty() {
        geometry.push(counted(sheet.straight.len(), "straight edge", "straight edges"));
    }
    geometry.push(match (sheet.plumb.is_some(), sheet.level.is_some()) {
        (true, true) => "a plumb line and a level line".into(),
        (true, false) => "a plumb line".into(),
        (false, true) => "a level line".into(),
        (false, false) => "no line for the vertical: the photo's own".into(),
    });
    fact("geometry", geometry.join(", "));
    let launch = match sheet.launch {
        Launch::Free => "found by the fit".to_owned(),
        Launch::Level => "level, as stated".to_owned(),
        Launch::Stated(_) => "as stated".to_owned(),
    };
    fact("launch angle", launch);
    let corrections: Vec<&str> = sheet.corrections.iter().map(|c| correction(*c)).collect();
    let listed = if corrections.is_empty() { "none listed".to_owned() } else { corrections.join(", ") };
    fact("corrections asked for", listed);
    table
}

fn counted(count: usize, one: &str, many: &str) -> String {
    if count == 1 { format!("one {one}") } else { format!("{count} {many}") }
}

fn edge(edge: Edge) -> &'static str {
    match edge {
        Edge::Sharp => "sharp-edged",
        Edge::Rounded => "rounded",
        Edge::ShortTube => "short tube",
        Edge::ReEntrant => "re-entrant tube",
        Edge::Nozzle => "nozzle",
    }
}

fn correction(correction: Correction) -> &'static str {
    match correction {
        Correction::SurfaceTension => "surface tension",
        Correction::AirDrag => "drag of the air",
        Correction::AirBuoyancy => "buoyancy of the air",
    }
}

fn flow(flow: Option<&Flow>) -> String {
    let by = |caught: Option<&crate::sheet::Filling>| match caught.map(|f| f.caught) {
        Some(Caught::Mass(_)) => "weighed",
        _ => "by volume",
    };
    match flow {
        None => "not stated: no discharge, Cd or Cc".into(),
        Some(Flow::Timed(f)) => format!("{}, {}", counted(f.len(), "timed filling", "timed fillings"), by(f.first())),
        Some(Flow::Running(f)) => format!("one filling read at {} marks, {}", f.len(), by(f.first())),
        Some(Flow::Discharge(_)) => "discharge as stated".into(),
    }
}
