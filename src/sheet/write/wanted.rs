//! A sheet as a tree of the values that its text should hold.

use crate::point::PixelPoint;
use crate::quantity::{self, Kind, Reading};
use crate::sheet::file::words::{CORRECTIONS, EDGES, PAPERS, TONES};
use crate::sheet::{Caught, Filling, Flow, Launch, Pitch, Scale, ScaleCard, ScaleMarks, Sheet, Stream, Vertical};

/// A value as TOML knows it.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Wanted {
    Text(String),
    Number(f64),
    Whole(usize),
    List(Vec<Wanted>),
    Table(Keys),
}

/// Keys in the order in which they are written.
pub(super) type Keys = Vec<(&'static str, Wanted)>;

/// The sections of `sheet` and its title; sections that state nothing are left out.
pub(super) fn wanted(sheet: &Sheet) -> Keys {
    let sections = [
        ("photo", photo(sheet)),
        ("plane", plane(sheet)),
        ("card", sheet.card.as_ref().map_or(Keys::new(), card)),
        ("camera", Keys::from_iter(quantity("distance", &sheet.camera_distance, "m"))),
        ("vertical", vertical(sheet)),
        ("lens", lens(sheet)),
        ("orifice", orifice(sheet)),
        ("stream", stream(&sheet.stream)),
        ("trajectory", trajectory(sheet)),
        ("head", head(sheet)),
        ("flow", flow(sheet)),
        ("water", Keys::from_iter(quantity("temperature", &sheet.temperature, "degC"))),
        ("site", site(sheet)),
    ];
    let mut keys = Keys::new();
    keys.extend(sheet.title.iter().map(|title| ("title", text(title))));
    for (name, section) in sections {
        if name == "plane" && !sheet.scales.is_empty() {
            keys.push(("scale", Wanted::List(sheet.scales.iter().map(scale).collect())));
        }
        // a card that states nothing is a card all the same
        if !section.is_empty() || (name == "card" && sheet.card.is_some()) {
            keys.push((name, Wanted::Table(section)));
        }
    }
    keys
}

fn text(text: &str) -> Wanted {
    Wanted::Text(text.to_owned())
}

fn point(p: &PixelPoint) -> Wanted {
    Wanted::List(vec![Wanted::Number(p.x), Wanted::Number(p.y)])
}

fn points(points: &[PixelPoint]) -> Wanted {
    Wanted::List(points.iter().map(point).collect())
}

fn reading<Q: Kind>(reading: &Reading<Q>, unit: &str) -> Wanted {
    Wanted::Text(quantity::write(reading, unit))
}

fn quantity<Q: Kind>(key: &'static str, stated: &Option<Reading<Q>>, unit: &str) -> Option<(&'static str, Wanted)> {
    stated.as_ref().map(|stated| (key, reading(stated, unit)))
}

fn word<T: Copy + PartialEq>(words: &[(&str, T)], of: T) -> Option<Wanted> {
    words.iter().find(|(_, value)| *value == of).map(|(word, _)| text(word))
}

fn photo(sheet: &Sheet) -> Keys {
    let mut keys = Keys::new();
    match sheet.photos.as_slice() {
        [] => {}
        [only] => keys.push(("file", text(only))),
        several => keys.push(("files", Wanted::List(several.iter().map(|f| text(f)).collect()))),
    }
    keys.extend(sheet.dry.iter().map(|dry| ("dry", text(dry))));
    keys
}

fn scale(scale: &Scale) -> Wanted {
    let mut keys = match &scale.marks {
        ScaleMarks::Pair { marks, length } => vec![("marks", points(marks)), ("length", reading(length, "mm"))],
        ScaleMarks::Readings(readings) => {
            let mark =
                |(px, at): &(PixelPoint, Reading<_>)| Wanted::Table(vec![("px", point(px)), ("at", reading(at, "mm"))]);
            vec![("marks", Wanted::List(readings.iter().map(mark).collect()))]
        }
    };
    keys.extend(quantity("behind_jet", &scale.behind_jet, "mm"));
    keys.extend(scale.graduation.map(|pitch| match pitch {
        Pitch::Auto => ("graduation", text("auto")),
        Pitch::Stated(pitch) => ("graduation", reading(&pitch, "mm")),
    }));
    Wanted::Table(keys)
}

fn plane(sheet: &Sheet) -> Keys {
    let Some(plane) = &sheet.plane else { return Keys::new() };
    let mark = |(px, at): &(PixelPoint, [Reading<_>; 2])| {
        let at = Wanted::List(at.iter().map(|c| reading(c, "mm")).collect());
        Wanted::Table(vec![("px", point(px)), ("at", at)])
    };
    let mut keys = vec![("marks", Wanted::List(plane.marks.iter().map(mark).collect()))];
    keys.extend(quantity("behind_jet", &plane.behind_jet, "mm"));
    keys
}

pub(super) fn card(card: &ScaleCard) -> Keys {
    let mut keys = Keys::new();
    keys.extend(card.paper.and_then(|paper| word(PAPERS, paper)).map(|paper| ("paper", paper)));
    keys.extend(quantity("check_line", &card.check_line, "mm"));
    keys.extend(quantity("upright_line", &card.upright_line, "mm"));
    keys.extend(quantity("behind_jet", &card.behind_jet, "mm"));
    if !card.marks.is_empty() {
        let mark = |(number, px): &(usize, PixelPoint)| {
            Wanted::Table(vec![("number", Wanted::Whole(*number)), ("px", point(px))])
        };
        keys.push(("marks", Wanted::List(card.marks.iter().map(mark).collect())));
    }
    keys
}

fn vertical(sheet: &Sheet) -> Keys {
    match &sheet.vertical {
        None => Keys::new(),
        Some(Vertical::Plumb(plumb)) => vec![("plumb", points(plumb))],
        Some(Vertical::Level(level)) => vec![("level", points(level))],
        Some(Vertical::Both { plumb, level }) => vec![("plumb", points(plumb)), ("level", points(level))],
    }
}

fn lens(sheet: &Sheet) -> Keys {
    let mut keys = Keys::new();
    if !sheet.straight.is_empty() {
        keys.push(("straight", Wanted::List(sheet.straight.iter().map(|edge| points(edge)).collect())));
    }
    keys.extend(sheet.k1.iter().map(|k1| match k1.u {
        None => ("k1", Wanted::Number(k1.value.si())),
        Some(_) => ("k1", reading(k1, "")),
    }));
    keys
}

fn orifice(sheet: &Sheet) -> Keys {
    let mut keys = Keys::new();
    keys.extend(sheet.orifice_centre.iter().map(|centre| ("centre", point(centre))));
    keys.extend(quantity("diameter", &sheet.diameter, "mm"));
    keys.extend(sheet.edge.and_then(|edge| word(EDGES, edge)).map(|edge| ("edge", edge)));
    keys.extend(quantity("clearance", &sheet.clearance, "mm"));
    keys
}

fn stream(stream: &Stream) -> Keys {
    let mut keys = Keys::new();
    keys.extend(stream.tone.and_then(|tone| word(TONES, tone)).map(|tone| ("tone", tone)));
    keys.extend(stream.level.map(|level| ("level", Wanted::Number(level))));
    if !stream.look_in.is_empty() {
        keys.push(("look_in", points(&stream.look_in)));
    }
    if !stream.leave_out.is_empty() {
        keys.push(("leave_out", Wanted::List(stream.leave_out.iter().map(|area| points(area)).collect())));
    }
    keys.extend(quantity("until", &stream.until, "mm"));
    if !stream.by_hand.is_empty() {
        keys.push(("by_hand", points(&stream.by_hand)));
    }
    keys
}

fn trajectory(sheet: &Sheet) -> Keys {
    let mut keys = Keys::new();
    keys.extend(sheet.launch.iter().map(|launch| match launch {
        Launch::Free => ("launch", text("free")),
        Launch::Level => ("launch", text("level")),
        Launch::Stated(angle) => ("launch", reading(angle, "deg")),
    }));
    if !sheet.corrections.is_empty() {
        let words = sheet.corrections.iter().filter_map(|c| word(CORRECTIONS, *c));
        keys.push(("corrections", Wanted::List(words.collect())));
    }
    keys
}

fn head(sheet: &Sheet) -> Keys {
    let mut keys = Keys::new();
    match sheet.head.as_slice() {
        [] => {}
        [only] => keys.push(("reading", reading(only, "mm"))),
        several => keys.push(("reading", Wanted::List(several.iter().map(|r| reading(r, "mm")).collect()))),
    }
    keys.extend(sheet.surface.iter().map(|surface| ("surface", point(surface))));
    keys.extend(quantity("approach_area", &sheet.approach_area, "m^2"));
    keys
}

fn flow(sheet: &Sheet) -> Keys {
    let fillings = |fillings: &[Filling]| Wanted::List(fillings.iter().map(filling).collect());
    match &sheet.flow {
        None => Keys::new(),
        Some(Flow::Timed(timed)) => vec![("timed", fillings(timed))],
        Some(Flow::Running(running)) => vec![("running", fillings(running))],
        Some(Flow::Discharge(discharge)) => vec![("discharge", reading(discharge, "L/s"))],
    }
}

fn filling(filling: &Filling) -> Wanted {
    let caught = match &filling.caught {
        Caught::Volume(volume) => ("volume", reading(volume, "L")),
        Caught::Mass(mass) => ("mass", reading(mass, "kg")),
    };
    Wanted::Table(vec![caught, ("time", reading(&filling.time, "s"))])
}

fn site(sheet: &Sheet) -> Keys {
    let latitude = quantity("latitude", &sheet.latitude, "deg");
    let altitude = quantity("altitude", &sheet.altitude, "m");
    [latitude, altitude, quantity("gravity", &sheet.gravity, "m/s^2")].into_iter().flatten().collect()
}
