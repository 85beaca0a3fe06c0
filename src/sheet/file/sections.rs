//! The sections of a sheet.

use super::tree::{Holds, Node, Table};
use super::value::Reader;
use super::words::{CORRECTIONS, EDGES, PAPERS, TONES};
use crate::point::PixelPoint;
use crate::quantity::{Length, Reading};
use crate::sheet::{Caught, Filling, Flow, Launch, Pitch, Plane, Scale, ScaleCard, ScaleMarks, Sheet, Vertical};

/// Reads a whole sheet; gives also the path of each scale that could be read.
pub(super) fn sheet(reader: &mut Reader<'_>, root: &Node) -> (Sheet, Vec<String>) {
    let mut sheet = Sheet::default();
    let Some(top) = root.as_table() else { return (sheet, Vec::new()) };
    if let Some(node) = top.get("format")
        && let Some(format) = reader.number(node)
        && format != 1.0
    {
        reader.fault(node, format!("format {format} is not known here"), "this version reads format = 1".to_owned());
    }
    sheet.title = top.get("title").and_then(|node| reader.text(node));
    let mut scales = Vec::new();
    for entry in &top.entries {
        match entry.key.as_str() {
            "scale" => read_scales(reader, &entry.node, &mut sheet, &mut scales),
            "photo" | "plane" | "card" | "camera" | "vertical" | "lens" | "orifice" | "stream" | "trajectory"
            | "head" | "flow" | "water" | "site" => match entry.node.as_table() {
                Some(section) => read_section(reader, &entry.key, section, &mut sheet),
                None => {
                    let says = format!("{} where a section belongs", entry.node.kind());
                    reader.fault(&entry.node, says, format!("write [{}] and its keys below", entry.key));
                }
            },
            _ => {}
        }
    }
    (sheet, scales)
}

fn read_section(reader: &mut Reader<'_>, name: &str, section: &Table, sheet: &mut Sheet) {
    let key = |key: &str| section.get(key);
    match name {
        "photo" => {
            let file = key("file").map(|n| reader.text(n));
            let files = key("files").map(|n| (n, reader.list(n, "[\"c-1.jpg\", \"c-2.jpg\"]", Reader::text)));
            sheet.photos = match (file, files) {
                (Some(file), Some((node, files))) => {
                    reader.fault(node, "both photo.file and photo.files are given", "keep one of them".to_owned());
                    files.or(file.map(|f| vec![f])).unwrap_or_default()
                }
                (Some(file), None) => file.into_iter().collect(),
                (None, Some((_, files))) => files.unwrap_or_default(),
                (None, None) => Vec::new(),
            };
            sheet.dry = key("dry").and_then(|n| reader.text(n));
        }
        "plane" => {
            let marks = key("marks").map(|n| reader.list(n, PLANE_MARK, plane_mark));
            let behind_jet = key("behind_jet").and_then(|n| reader.quantity(n));
            // A plane with a faulty mark is no plane: its marks are all or nothing.
            if !matches!(marks, Some(None)) {
                sheet.plane = Some(Plane { marks: marks.flatten().unwrap_or_default(), behind_jet });
            }
        }
        "card" => {
            sheet.card = Some(ScaleCard {
                paper: key("paper").and_then(|n| reader.choice(n, PAPERS)),
                check_line: key("check_line").and_then(|n| reader.quantity(n)),
                upright_line: key("upright_line").and_then(|n| reader.quantity(n)),
                behind_jet: key("behind_jet").and_then(|n| reader.quantity(n)),
                marks: key("marks").and_then(|n| reader.list(n, CARD_MARK, card_mark)).unwrap_or_default(),
            });
        }
        "camera" => sheet.camera_distance = key("distance").and_then(|n| reader.quantity(n)),
        "vertical" => {
            let plumb = key("plumb").and_then(|n| reader.two_points(n));
            let level = key("level").and_then(|n| reader.two_points(n));
            sheet.vertical = match (plumb, level) {
                (Some(plumb), Some(level)) => Some(Vertical::Both { plumb, level }),
                (Some(plumb), None) => Some(Vertical::Plumb(plumb)),
                (None, Some(level)) => Some(Vertical::Level(level)),
                (None, None) => None,
            };
        }
        "lens" => {
            sheet.straight = key("straight").and_then(|n| reader.lines(n)).unwrap_or_default();
            sheet.k1 = key("k1").and_then(|n| reader.quantity(n));
        }
        "orifice" => {
            sheet.orifice_centre = key("centre").and_then(|n| reader.point(n));
            sheet.diameter = key("diameter").and_then(|n| reader.quantity(n));
            sheet.edge = key("edge").and_then(|n| reader.choice(n, EDGES));
            sheet.clearance = key("clearance").and_then(|n| reader.quantity(n));
        }
        "stream" => read_stream(reader, section, sheet),
        "trajectory" => {
            sheet.launch = key("launch").and_then(|n| launch(reader, n));
            sheet.corrections = key("corrections")
                .and_then(|n| reader.list(n, "[\"surface-tension\"]", |r, n| r.choice(n, CORRECTIONS)))
                .unwrap_or_default();
        }
        "head" => {
            sheet.head = match key("reading") {
                Some(node) if matches!(node.holds, Holds::List(_)) => {
                    reader.list(node, "[\"412 mm\", \"411 mm\"]", Reader::quantity).unwrap_or_default()
                }
                Some(node) => reader.quantity(node).into_iter().collect(),
                None => Vec::new(),
            };
            sheet.surface = key("surface").and_then(|n| reader.point(n));
            sheet.approach_area = key("approach_area").and_then(|n| reader.quantity(n));
        }
        "flow" => read_flow(reader, section, sheet),
        "water" => sheet.temperature = key("temperature").and_then(|n| reader.quantity(n)),
        "site" => {
            sheet.latitude = key("latitude").and_then(|n| reader.quantity(n));
            sheet.altitude = key("altitude").and_then(|n| reader.quantity(n));
            sheet.gravity = key("gravity").and_then(|n| reader.quantity(n));
        }
        _ => {}
    }
}

fn read_stream(reader: &mut Reader<'_>, section: &Table, sheet: &mut Sheet) {
    let key = |key: &str| section.get(key);
    let stream = &mut sheet.stream;
    stream.tone = key("tone").and_then(|n| reader.choice(n, TONES));
    stream.level = match key("level") {
        Some(Node { holds: Holds::Text(word), .. }) if word == "auto" => None,
        Some(node @ Node { holds: Holds::Number(_), .. }) => reader.number(node),
        Some(node) => {
            let says = "a level is `auto` or a number from 0 to 1";
            reader.fault(node, says, "as in level = \"auto\" or level = 0.45".to_owned());
            None
        }
        None => None,
    };
    stream.look_in = key("look_in").and_then(|n| reader.points(n)).unwrap_or_default();
    stream.leave_out = key("leave_out").and_then(|n| reader.lines(n)).unwrap_or_default();
    stream.until = key("until").and_then(|n| reader.quantity(n));
    stream.by_hand = key("by_hand").and_then(|n| reader.points(n)).unwrap_or_default();
}

fn launch(reader: &mut Reader<'_>, node: &Node) -> Option<Launch> {
    match &node.holds {
        Holds::Text(word) if word == "free" => Some(Launch::Free),
        Holds::Text(word) if word == "level" => Some(Launch::Level),
        Holds::Text(text) if !text.contains(|c: char| c.is_ascii_digit()) => {
            let hint = "write \"free\", \"level\" or an angle, as in \"5.0 deg ± 0.3 deg\"";
            reader.fault(node, format!("`{text}` is no launch"), hint.to_owned());
            None
        }
        _ => reader.quantity(node).map(Launch::Stated),
    }
}

fn read_scales(reader: &mut Reader<'_>, node: &Node, sheet: &mut Sheet, paths: &mut Vec<String>) {
    let one = [node.clone()];
    let tables: &[Node] = match &node.holds {
        Holds::List(items) => items,
        _ => &one,
    };
    for item in tables {
        if let Some(scale) = scale(reader, item) {
            sheet.scales.push(scale);
            paths.push(item.path.clone());
        }
    }
}

fn scale(reader: &mut Reader<'_>, node: &Node) -> Option<Scale> {
    let Some(table) = node.as_table() else {
        let says = format!("{} where a section belongs", node.kind());
        reader.fault(node, says, "write [scale] and its keys below".to_owned());
        return None;
    };
    let behind_jet = table.get("behind_jet").map(|n| reader.quantity(n));
    let graduation = table.get("graduation").and_then(|n| pitch(reader, n));
    let length = table.get("length").map(|n| (n, reader.quantity(n)));
    let Some(marks_node) = table.get("marks") else {
        let hint = "as in marks = [[1020.0, 310.5], [3350.2, 322.8]]";
        reader.missing(node, "marks", "a scale has no marks", hint.to_owned());
        return None;
    };
    let reads_ruler = matches!(&marks_node.holds, Holds::List(items) if items.iter().all(Node::is_table));
    let marks = if reads_ruler {
        let readings = reader.list(marks_node, RULER_MARK, ruler_mark);
        if let Some((node, _)) = length {
            let hint = "leave it out, or give two bare marks";
            reader.fault(node, "a scale with readings along it takes no length", hint.to_owned());
            return None;
        }
        ScaleMarks::Readings(readings?)
    } else {
        let marks = reader.two_points(marks_node);
        if length.is_none() {
            let hint = "as in length = \"500 mm ± 0.3 mm\"";
            reader.missing(node, "length", "two scale marks without the length between them", hint.to_owned());
        }
        match (marks?, length.and_then(|(_, length)| length)) {
            (marks, Some(length)) => ScaleMarks::Pair { marks, length },
            (marks, None) => {
                reader.loose.pairs.push((marks_node.path.clone(), marks));
                return None;
            }
        }
    };
    Some(Scale { marks, behind_jet: behind_jet.flatten(), graduation })
}

fn pitch(reader: &mut Reader<'_>, node: &Node) -> Option<Pitch> {
    match &node.holds {
        Holds::Text(word) if word == "auto" => Some(Pitch::Auto),
        Holds::Text(text) if !text.contains(|c: char| c.is_ascii_digit()) => {
            let hint = "write \"auto\" or the length from line to line, as in \"1 mm\" or \"1/16 in\"";
            reader.fault(node, format!("`{text}` is no graduation"), hint.to_owned());
            None
        }
        _ => reader.quantity(node).map(Pitch::Stated),
    }
}

const RULER_MARK: &str = "[{ px = [1020.0, 310.5], at = \"0 mm\" }, { px = [2185.0, 316.1], at = \"250 mm\" }]";
const PLANE_MARK: &str = "[{ px = [210.0, 180.0], at = [\"0 mm\", \"0 mm\"] }, ...]";

const CARD_MARK: &str = "[{ number = 3, px = [1020.0, 310.5] }, ...]";

fn card_mark(reader: &mut Reader<'_>, node: &Node) -> Option<(usize, PixelPoint)> {
    let fields = node.as_table().map(|t| (t.get("number"), t.get("px")));
    let Some((Some(number), Some(px))) = fields else {
        let hint = "as in { number = 3, px = [1020.0, 310.5] }";
        reader.fault(node, "a mark of the card needs both number and px", hint.to_owned());
        return None;
    };
    let (whole, px) = (reader.number(number), reader.point(px));
    match whole? {
        n if n >= 1.0 && n.fract() == 0.0 && n < 1e6 => Some((n as usize, px?)),
        n => {
            let hint = "marks are numbered from 1; the number is printed beside each".to_owned();
            reader.fault(number, format!("{n} is no number of a mark"), hint);
            None
        }
    }
}

fn ruler_mark(reader: &mut Reader<'_>, node: &Node) -> Option<(PixelPoint, Reading<Length>)> {
    let (px, at) = px_and_at(reader, node, "{ px = [1020.0, 310.5], at = \"0 mm\" }")?;
    let (px, at) = (reader.point(px), reader.quantity(at));
    Some((px?, at?))
}

fn plane_mark(reader: &mut Reader<'_>, node: &Node) -> Option<(PixelPoint, [Reading<Length>; 2])> {
    const EXAMPLE: &str = "{ px = [210.0, 180.0], at = [\"0 mm\", \"0 mm\"] }";
    let (px, at_node) = px_and_at(reader, node, EXAMPLE)?;
    let (px, at) = (reader.point(px), reader.list(at_node, "[\"0 mm\", \"0 mm\"]", Reader::quantity));
    match at?.as_slice() {
        [x, y] => Some((px?, [*x, *y])),
        lengths => {
            let says = format!("a mark of the plane has two bench coordinates, not {}", lengths.len());
            reader.fault(at_node, says, format!("as in {EXAMPLE}"));
            None
        }
    }
}

fn px_and_at<'n>(reader: &mut Reader<'_>, node: &'n Node, example: &str) -> Option<(&'n Node, &'n Node)> {
    match node.as_table().map(|t| (t.get("px"), t.get("at"))) {
        Some((Some(px), Some(at))) => Some((px, at)),
        _ => {
            reader.fault(node, "a mark here needs both px and at", format!("as in {example}"));
            None
        }
    }
}

fn read_flow(reader: &mut Reader<'_>, section: &Table, sheet: &mut Sheet) {
    const EXAMPLE: &str = "[{ volume = \"10 L\", time = \"42.3 s\" }]";
    let mut fillings = |key: &str| {
        let list = section.get(key)?;
        let mut read = Vec::new();
        let all = reader.list(list, EXAMPLE, |reader, node| {
            let filling = filling(reader, node)?;
            read.push((node.path.clone(), filling));
            Some(filling)
        });
        if all.is_none() {
            reader.loose.fillings.append(&mut read);
        }
        Some(all)
    };
    let timed = fillings("timed").map(|all| all.map(Flow::Timed));
    let running = fillings("running").map(|all| all.map(Flow::Running));
    let discharge = section.get("discharge").map(|n| reader.quantity(n).map(Flow::Discharge));
    let given: Vec<Option<Flow>> = [timed, running, discharge].into_iter().flatten().collect();
    if given.len() > 1 {
        reader.loose.flows = given.into_iter().flatten().collect();
    } else {
        sheet.flow = given.into_iter().flatten().next();
    }
}

fn filling(reader: &mut Reader<'_>, node: &Node) -> Option<Filling> {
    const EXAMPLE: &str = "as in { volume = \"10 L\", time = \"42.3 s\" }";
    let Some(table) = node.as_table() else {
        reader.fault(node, format!("{} where a filling belongs", node.kind()), EXAMPLE.to_owned());
        return None;
    };
    let time = table.get("time").map(|n| reader.quantity(n));
    if time.is_none() {
        reader.missing(node, "time", "a filling without its time", EXAMPLE.to_owned());
    }
    let caught = match (table.get("volume"), table.get("mass")) {
        (Some(volume), None) => reader.quantity(volume).map(Caught::Volume),
        (None, Some(mass)) => reader.quantity(mass).map(Caught::Mass),
        (Some(_), Some(mass)) => {
            reader.fault(mass, "a filling with both a volume and a mass", "keep one of them".to_owned());
            None
        }
        (None, None) => {
            reader.missing(node, "volume", "a filling without volume or mass", EXAMPLE.to_owned());
            None
        }
    };
    Some(Filling { caught: caught?, time: time?? })
}
