//! What a key of the sheet states, as a number with its uncertainty: how a typed text was read.

use super::command::Units;
use super::shown::Shown;
use crate::quantity::{
    Acceleration, Angle, Area, Celsius, Kind, Length, Mass, Ratio, Reading, Time, Volume, VolumeRate, read, show,
};
use crate::sheet::{Caught, Checked, Filling, Flow, Given, Launch, Origin};

/// A value as the sheet states it, or as we assume it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stated {
    /// The value in `unit`.
    pub value: f64,
    /// Its standard uncertainty; 0 where none is known yet.
    pub u: f64,
    /// The unit it is shown in.
    pub unit: &'static str,
    /// Where the value came from.
    pub origin: Origin,
    /// Where its uncertainty came from.
    pub u_origin: Origin,
}

impl Stated {
    /// `10.000 mm ± 0.050 mm` in the chosen units.
    pub fn text(&self, units: Units) -> String {
        Shown::new(self.value, self.u, self.unit, units).text()
    }

    fn of<Q: Kind>(value: Q, u: Option<Q>, unit: &'static str, origin: Origin, u_origin: Origin) -> Self {
        let known = Q::UNITS.iter().find(|u| u.symbol == unit).unwrap_or(&Q::UNITS[0]);
        let u = u.map_or(0.0, |u| known.number_of_difference(u.si()));
        Self { value: known.number(value.si()), u, unit, origin, u_origin }
    }

    fn read<Q: Kind>(r: Reading<Q>, unit: &'static str) -> Self {
        Self::of(r.value, r.u, unit, Origin::Typed, Origin::Typed)
    }

    fn given<Q: Kind>(g: &Given<Q>, unit: &'static str) -> Self {
        Self::of(g.value, Some(g.u), unit, g.origin, g.u_origin)
    }
}

/// A key without its positions: `flow.timed.volume`.
pub fn path(key: &str) -> String {
    let parts = key.split('.').map(|part| part.split('[').next().unwrap_or(part));
    parts.collect::<Vec<_>>().join(".")
}

/// The positions in a key, from 0.
fn positions(key: &str) -> Vec<usize> {
    let inside = key.split('[').skip(1).filter_map(|rest| rest.split(']').next()?.parse::<usize>().ok());
    inside.filter_map(|n| n.checked_sub(1)).collect()
}

/// What the checked sheet holds at a key that is a quantity.
pub fn stated(sheet: &Checked, key: &str) -> Option<Stated> {
    let at = positions(key);
    let nth = |i: usize| at.get(i).copied().unwrap_or(0);
    let scale = || sheet.scales.get(nth(0));
    Some(match path(key).as_str() {
        "scale.length" => Stated::given(&scale().filter(|s| s.is_pair)?.marks.get(1)?.1, "mm"),
        "scale.marks.at" => Stated::given(&scale()?.marks.get(nth(1))?.1, "mm"),
        "scale.behind_jet" => Stated::given(&scale()?.behind_jet, "mm"),
        "plane.marks.at" => Stated::given(sheet.plane.get(nth(0))?.1.get(nth(1))?, "mm"),
        "plane.behind_jet" => Stated::given(&sheet.plane_behind_jet, "mm"),
        "card.check_line" => Stated::given(&sheet.card.as_ref()?.check_line, "mm"),
        "card.upright_line" => Stated::given(sheet.card.as_ref()?.upright_line.as_ref()?, "mm"),
        "card.behind_jet" => Stated::given(&sheet.card.as_ref()?.behind_jet, "mm"),
        "camera.distance" => Stated::given(sheet.camera_distance.as_ref()?, "m"),
        "lens.k1" => Stated::given(sheet.k1.as_ref()?, ""),
        "orifice.diameter" => Stated::given(&sheet.diameter, "mm"),
        "orifice.clearance" => Stated::read(sheet.clearance?, "mm"),
        "stream.until" => Stated::read(sheet.stream.until?, "mm"),
        "trajectory.launch" => {
            let Launch::Stated(angle) = sheet.launch else { return None };
            let u_origin = if angle.u.is_some() { Origin::Typed } else { Origin::Assumed };
            Stated::of(angle.value, Some(sheet.launch_u), "deg", Origin::Typed, u_origin)
        }
        "head.reading" => Stated::given(sheet.head.get(nth(0))?, "mm"),
        "head.approach_area" => Stated::given(sheet.approach_area.as_ref()?, "m^2"),
        "water.temperature" => Stated::given(&sheet.temperature, "degC"),
        "site.latitude" => Stated::given(sheet.latitude.as_ref()?, "deg"),
        "site.altitude" => Stated::given(&sheet.altitude, "m"),
        "site.gravity" => Stated::given(sheet.gravity.as_ref()?, "m/s^2"),
        flow => stated_flow(sheet.flow.as_ref()?, flow, nth(0))?,
    })
}

fn stated_flow(flow: &Flow, path: &str, i: usize) -> Option<Stated> {
    let typed = Origin::Typed;
    let of = |filling: &Filling, what: &str| {
        Some(match (what, filling.caught) {
            ("time", _) => Stated::of(filling.time.value, filling.time.u, "s", typed, typed),
            ("volume", Caught::Volume(v)) => Stated::of(v.value, v.u, "L", typed, typed),
            ("mass", Caught::Mass(m)) => Stated::of(m.value, m.u, "kg", typed, typed),
            _ => return None,
        })
    };
    match flow {
        Flow::Timed(fillings) => of(fillings.get(i)?, path.strip_prefix("flow.timed.")?),
        Flow::Running(fillings) => of(fillings.get(i)?, path.strip_prefix("flow.running.")?),
        Flow::Discharge(q) => {
            (path == "flow.discharge").then(|| Stated::of(q.value, q.u, "L/s", Origin::Typed, Origin::Typed))
        }
    }
}

/// How a typed text is read while the sheet as a whole cannot be: the value, and the uncertainty where one was typed.
/// `None` where the key is no quantity or the text cannot be read; faults tell why.
pub fn typed(key: &str, text: &str) -> Option<Stated> {
    fn of<Q: Kind>(text: &str, unit: &'static str) -> Option<Stated> {
        let r = read::<Q>(text).ok()?;
        Some(Stated::of(r.value, r.u, unit, Origin::Typed, Origin::Typed))
    }
    let path = path(key);
    let last = path.rsplit('.').next().unwrap_or("");
    match path.as_str() {
        "camera.distance" | "site.altitude" => of::<Length>(text, "m"),
        "lens.k1" => of::<Ratio>(text, ""),
        "trajectory.launch" | "site.latitude" => of::<Angle>(text, "deg"),
        "head.approach_area" => of::<Area>(text, "m^2"),
        "water.temperature" => of::<Celsius>(text, "degC"),
        "site.gravity" => of::<Acceleration>(text, "m/s^2"),
        "flow.discharge" => of::<VolumeRate>(text, "L/s"),
        _ if last == "time" => of::<Time>(text, "s"),
        _ if last == "volume" => of::<Volume>(text, "L"),
        _ if last == "mass" => of::<Mass>(text, "kg"),
        "scale.length" | "scale.graduation" | "scale.marks.at" | "scale.behind_jet" | "plane.marks.at"
        | "plane.behind_jet" | "card.check_line" | "card.upright_line" | "card.behind_jet" | "orifice.diameter"
        | "orifice.clearance" | "stream.until" | "head.reading" => of::<Length>(text, "mm"),
        _ => None,
    }
}

/// How a typed text was read, in the chosen units; tells an uncertainty that we assume.
pub fn read_back(sheet: Option<&Checked>, key: &str, text: &str, units: Units) -> Option<String> {
    let found = match sheet.and_then(|sheet| stated(sheet, key)) {
        Some(stated) => stated,
        None => typed(key, text)?,
    };
    let shown = Shown::new(found.value, found.u, found.unit, units);
    let assumed = found.u_origin == Origin::Assumed && found.origin != Origin::Assumed;
    Some(if assumed { format!("{}, ± assumed", shown.text()) } else { show(shown.value, shown.u, shown.unit) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet;

    const SHEET: &str = "[photo]\nfile = \"c.jpg\"\n[scale]\nmarks = [[0.0, 0.0], [900.0, 0.0]]\nlength = \"300 mm\"\n\
        [orifice]\ncentre = [5.0, 90.0]\ndiameter = \"4 3/8 in\"\n[head]\nreading = [\"412 mm ± 0.5 mm\", \"410 mm\"]\n\
        [flow]\ntimed = [{ mass = \"5 kg\", time = \"35.2 s\" }, { mass = \"4.99 kg ± 0.01 kg\", time = \"35.1 s\" }]\n\
        [water]\ntemperature = \"18.5 degC ± 0.2 degC\"\n";

    #[test]
    fn what_was_typed_is_read_back_in_the_chosen_units() {
        let sheet = sheet::open(SHEET).checked.unwrap();
        let back = |key: &str, units| read_back(Some(&sheet), key, "", units).unwrap();
        assert_eq!(back("orifice.diameter", Units::Si), "111.125 mm ± 0.050 mm, ± assumed");
        assert_eq!(back("orifice.diameter", Units::UsCustomary), "4.3750 in ± 0.0020 in, ± assumed");
        assert_eq!(back("head.reading[1]", Units::Si), "412.00 mm ± 0.50 mm");
        assert_eq!(back("head.reading[2]", Units::Si), "410.00 mm ± 0.60 mm, ± assumed");
        assert_eq!(back("flow.timed[2].mass", Units::Si), "4.990 kg ± 0.010 kg");
        assert_eq!(back("water.temperature", Units::Si), "18.50 degC ± 0.20 degC");
        assert_eq!(stated(&sheet, "flow.timed[2].volume"), None);
        assert_eq!(stated(&sheet, "flow.running[1].volume"), None);
    }

    #[test]
    fn a_text_is_read_back_before_the_sheet_is_whole() {
        assert_eq!(read_back(None, "orifice.diameter", "4 3/8 in", Units::Si).unwrap(), "111.125 mm");
        assert_eq!(read_back(None, "flow.running[3].time", "1:23.4", Units::Si).unwrap(), "83.4 s");
        assert_eq!(read_back(None, "orifice.diameter", "12", Units::Si), None);
        assert_eq!(read_back(None, "title", "12 mm", Units::Si), None);
    }

    #[test]
    fn every_quantity_of_the_sheet_can_be_read_back() {
        for key in sheet::KEYS {
            let example = key.example.trim_matches('"');
            let words = [
                "format",
                "title",
                "photo.file",
                "photo.dry",
                "card.paper",
                "card.marks.number",
                "orifice.edge",
                "stream.tone",
                "stream.level",
            ];
            let is_list = example.starts_with('[') && key.path != "plane.marks.at";
            let example = if key.path == "plane.marks.at" { "900 mm" } else { example };
            assert_eq!(typed(key.path, example).is_some(), !is_list && !words.contains(&key.path), "{}", key.path);
        }
    }
}
