//! Everything that went in, with where it came from.

use super::title::NO_SHEET;
use super::{Block, Record, Table};
use crate::measure::Findings;
use crate::quantity::{Kind, show, show_plain, show_value};
use crate::report::ruler_text;
use crate::sheet::{Caught, Checked, Flow, Given, Launch, Origin, Placed};

pub(super) fn inputs(record: &Record) -> Vec<Block> {
    let Some(sheet) = record.sheet else {
        return vec![Block::Heading("Inputs".into()), Block::Paragraph(NO_SHEET.into())];
    };
    let columns =
        [("input", 0.3), ("value ± standard uncertainty", 0.36), ("value is", 0.17), ("uncertainty is", 0.17)];
    let mut list = List(Table::new("Quantities", &columns));
    list.given("orifice.diameter", &sheet.diameter, "mm");
    if let Some(clearance) = sheet.clearance {
        let u = clearance.u.map_or(0.0, |u| 1000.0 * u.si());
        list.row("orifice.clearance", show(1000.0 * clearance.value.si(), u, "mm"), Origin::Typed, Origin::Typed);
    }
    for (i, scale) in sheet.scales.iter().enumerate() {
        let name = |key: &str| {
            if sheet.scales.len() == 1 { format!("scale.{key}") } else { format!("scale {}, {key}", i + 1) }
        };
        if let ([_, (_, length)], true) = (scale.marks.as_slice(), scale.is_pair) {
            list.given(&name("length"), length, "mm");
        }
        list.given(&name("behind_jet"), &scale.behind_jet, "mm");
    }
    if !sheet.plane.is_empty() {
        list.given("plane.behind_jet", &sheet.plane_behind_jet, "mm");
    }
    if let Some(card) = &sheet.card {
        list.given("card.check_line", &card.check_line, "mm");
        list.given_if("card.upright_line", card.upright_line.as_ref(), "mm");
        list.given("card.behind_jet", &card.behind_jet, "mm");
    }
    list.given_if("camera.distance", sheet.camera_distance.as_ref(), "m");
    list.given_if("lens.k1", sheet.k1.as_ref(), "");
    if let Launch::Stated(angle) = sheet.launch {
        let u = sheet.launch_u.si().to_degrees();
        let origin = if angle.u.is_some() { Origin::Typed } else { Origin::Assumed };
        list.row("trajectory.launch", show(angle.value.si().to_degrees(), u, "deg"), Origin::Typed, origin);
    }
    for (i, head) in sheet.head.iter().enumerate() {
        let name = if sheet.head.len() == 1 { "head.reading".to_owned() } else { format!("head.reading {}", i + 1) };
        list.given(&name, head, "mm");
    }
    list.given_if("head.approach_area", sheet.approach_area.as_ref(), "m^2");
    flow(sheet, &mut list);
    list.given("water.temperature", &sheet.temperature, "degC");
    list.given_if("site.latitude", sheet.latitude.as_ref(), "deg");
    list.given("site.altitude", &sheet.altitude, "m");
    list.given_if("site.gravity", sheet.gravity.as_ref(), "m/s^2");
    let mut blocks =
        vec![Block::Heading("Inputs".into()), Block::Table(list.0), Block::Table(marks(sheet, record.findings))];
    blocks.extend(
        record.findings.rulers.iter().map(|r| Block::Paragraph(format!("Read in the photo: {}.", ruler_text(r)))),
    );
    blocks
}

struct List(Table);

impl List {
    fn row(&mut self, name: &str, value: String, origin: Origin, u_origin: Origin) {
        self.0.row([name.to_owned(), value, word(origin).to_owned(), word(u_origin).to_owned()]);
    }

    /// `unit` is one of the kind's own; should it not be, the first one of the kind serves.
    fn given<Q: Kind>(&mut self, name: &str, given: &Given<Q>, unit: &str) {
        let unit = Q::UNITS.iter().find(|u| u.symbol == unit).unwrap_or(&Q::UNITS[0]);
        let value = show(unit.number(given.value.si()), unit.number_of_difference(given.u.si()), unit.symbol);
        self.row(name, value, given.origin, given.u_origin);
    }

    fn given_if<Q: Kind>(&mut self, name: &str, given: Option<&Given<Q>>, unit: &str) {
        if let Some(given) = given {
            self.given(name, given, unit);
        }
    }
}

fn word(origin: Origin) -> &'static str {
    match origin {
        Origin::Marked => "marked on the photo",
        Origin::Typed => "stated",
        Origin::Metadata => "from the photo's data",
        Origin::Published => "published",
        Origin::Assumed => "assumed",
        Origin::Computed => "computed",
    }
}

fn flow(sheet: &Checked, list: &mut List) {
    let (stated, assumed) = (word(Origin::Typed), word(Origin::Assumed));
    let mut put = |name: String, value: String, u: String| list.0.row([name, value, stated.to_owned(), u]);
    let fillings = |flow: Option<&Flow>| match flow {
        Some(Flow::Timed(fillings) | Flow::Running(fillings)) => fillings.clone(),
        _ => Vec::new(),
    };
    let key = match (&sheet.flow, &sheet.flow_stated) {
        (None, _) => return,
        (Some(Flow::Discharge(q)), as_stated) => {
            let lacks = matches!(as_stated, Some(Flow::Discharge(q)) if q.u.is_none());
            let value = show(1000.0 * q.value.si(), q.u.map_or(0.0, |u| 1000.0 * u.si()), "L/s");
            return put("flow.discharge".into(), value, if lacks { assumed } else { stated }.to_owned());
        }
        (Some(Flow::Timed(_)), _) => "flow.timed",
        (Some(Flow::Running(_)), _) => "flow.running",
    };
    let as_stated = fillings(sheet.flow_stated.as_ref());
    for (i, filling) in fillings(sheet.flow.as_ref()).iter().enumerate() {
        let (what, caught) = match filling.caught {
            Caught::Volume(v) => ("volume", show(1000.0 * v.value.si(), v.u.map_or(0.0, |u| 1000.0 * u.si()), "L")),
            Caught::Mass(m) => ("mass", show(m.value.si(), m.u.map_or(0.0, Kind::si), "kg")),
        };
        let time = show(filling.time.value.si(), filling.time.u.map_or(0.0, Kind::si), "s");
        let lacks = as_stated.get(i).map_or([false; 2], |f| {
            let amount = match f.caught {
                Caught::Volume(v) => v.u.is_none(),
                Caught::Mass(m) => m.u.is_none(),
            };
            [amount, f.time.u.is_none()]
        });
        let u = match lacks {
            [false, false] => stated.to_owned(),
            [true, true] => assumed.to_owned(),
            [true, false] => format!("{what}: {assumed}"),
            [false, true] => format!("time: {assumed}"),
        };
        put(format!("{key} {}", i + 1), format!("{caught} in {time}"), u);
    }
}

/// All marks with their places in the photo.
fn marks(sheet: &Checked, findings: &Findings) -> Table {
    let columns = [("mark", 0.3), ("x / px", 0.14), ("y / px", 0.14), ("u / px", 0.12), ("stands for", 0.3)];
    let found = findings.card.as_ref().is_some_and(|c| c.found);
    let caption = if found {
        "Marks placed on the photo, and those of the card found in it"
    } else {
        "Marks placed on the photo"
    };
    let mut table = Table::new(caption, &columns);
    let number = |v: f64| show_plain(v, "");
    let put = |table: &mut Table, name: String, mark: &Placed, stands_for: String| {
        table.row([name, number(mark.at.x), number(mark.at.y), number(mark.u_px), stands_for]);
    };
    let length = |l: &Given<crate::quantity::Length>| show(1000.0 * l.value.si(), 1000.0 * l.u.si(), "mm");
    put(&mut table, "orifice.centre".into(), &sheet.orifice, "origin of x and y".into());
    for (i, scale) in sheet.scales.iter().enumerate() {
        for (mark, at) in &scale.marks {
            put(&mut table, format!("scale {}", i + 1), mark, length(at));
        }
    }
    for (mark, [x, y]) in &sheet.plane {
        put(&mut table, "plane".into(), mark, format!("x {}, y {}", length(x), length(y)));
    }
    for mark in findings.card.iter().flat_map(|c| &c.marks) {
        let stands_for = if found { "found, its mark" } else { "its mark" };
        // computed, not clicked: as many digits as the uncertainty deserves
        let [x, y, u] = [mark.px[0], mark.px[1], mark.u_px].map(|v| show_value(v, mark.u_px, ""));
        table.row(["card".into(), x, y, u, format!("{stands_for} {}", mark.number)]);
    }
    for (name, marks) in [("vertical.plumb", &sheet.plumb), ("vertical.level", &sheet.level)] {
        marks.iter().flatten().for_each(|mark| put(&mut table, name.into(), mark, String::new()));
    }
    for (i, edge) in sheet.straight.iter().enumerate() {
        edge.iter().for_each(|mark| put(&mut table, format!("lens.straight {}", i + 1), mark, String::new()));
    }
    sheet.surface.iter().for_each(|mark| put(&mut table, "head.surface".into(), mark, "the water surface".into()));
    table
}
