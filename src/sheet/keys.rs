//! Every key a sheet may hold: for the documents, and for telling the nearest one to a misspelt key.

/// A key that a sheet may hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct KnownKey {
    /// Dotted, without positions in lists: `flow.timed.volume`.
    pub path: &'static str,
    /// What it says.
    pub says: &'static str,
    /// A value as it may stand in a sheet.
    pub example: &'static str,
}

const fn key(path: &'static str, says: &'static str, example: &'static str) -> KnownKey {
    KnownKey { path, says, example }
}

/// All keys, in the order of a sheet.
pub const KEYS: &[KnownKey] = &[
    key("format", "the format of this sheet", "1"),
    key("title", "what the run is called", "\"Plate C, run 2\""),
    key("photo.file", "the photo, relative to the sheet", "\"c-run2.jpg\""),
    key("photo.files", "the photos of a burst", "[\"c-1.jpg\", \"c-2.jpg\"]"),
    key("photo.dry", "the same view without the jet", "\"c-dry.jpg\""),
    key("scale.marks", "two marks, or two or more readings along a ruler", "[[1020.0, 310.5], [3350.2, 322.8]]"),
    key("scale.marks.px", "where a reading of the ruler is in the photo", "[1020.0, 310.5]"),
    key("scale.marks.at", "the reading of the ruler there", "\"250 mm\""),
    key("scale.length", "the true distance between two marks", "\"500 mm ± 0.3 mm\""),
    key("scale.behind_jet", "how far behind the jet's plane the scale stands", "\"40 mm ± 1 mm\""),
    key(
        "scale.graduation",
        "auto, or from line to line (a bar: the length of a block): the ruler is read in the photo",
        "\"1 mm\"",
    ),
    key("plane.marks", "four or more marks of the jet's plane", "[{ px = [210.0, 180.0], at = [\"0 mm\", \"0 mm\"] }]"),
    key("plane.marks.px", "where a mark is in the photo", "[210.0, 180.0]"),
    key("plane.marks.at", "its x along the jet and y downwards", "[\"900 mm\", \"0 mm\"]"),
    key("plane.behind_jet", "how far behind the jet's plane the marks stand", "\"0 mm\""),
    key("card.paper", "which scale card stands in the photo: A4, A3 or Letter", "\"A4\""),
    key("card.check_line", "what the card's check line A measures", "\"99.7 mm ± 0.1 mm\""),
    key("card.upright_line", "what its upright check line B measures", "\"99.9 mm ± 0.1 mm\""),
    key("card.behind_jet", "how far behind the jet's plane the card stands", "\"0 mm ± 1 mm\""),
    key(
        "card.marks",
        "where its marks are; left out, they are found in the photo",
        "[{ number = 3, px = [1020.0, 310.5] }]",
    ),
    key("card.marks.number", "the number printed beside the mark", "3"),
    key("card.marks.px", "where the middle of the mark is in the photo", "[1020.0, 310.5]"),
    key("camera.distance", "from the camera to the jet's plane", "\"1.8 m ± 0.02 m\""),
    key("vertical.plumb", "two points on something vertical", "[[402.0, 210.0], [415.5, 2710.0]]"),
    key("vertical.level", "two points on something horizontal", "[[402.0, 210.0], [3415.5, 214.0]]"),
    key(
        "lens.straight",
        "points along edges that are straight on the bench",
        "[[[10.0, 20.0], [500.0, 21.0], [990.0, 20.5]]]",
    ),
    key("lens.k1", "radial distortion, radii in half-diagonals", "-0.031"),
    key("orifice.centre", "the orifice's centre in the photo", "[812.4, 630.9]"),
    key("orifice.diameter", "the orifice's diameter", "\"12.00 mm ± 0.02 mm\""),
    key("orifice.edge", "sharp, rounded, short-tube, re-entrant or nozzle", "\"sharp\""),
    key("orifice.clearance", "from its edge to the nearest wall, floor or surface of the tank", "\"60 mm\""),
    key("stream.tone", "bright, dark or either, against what lies behind", "\"bright\""),
    key("stream.level", "auto, or the threshold from 0 to 1", "\"auto\""),
    key("stream.look_in", "the only area to look in, a polygon", "[[0.0, 0.0], [4000.0, 0.0], [4000.0, 3000.0]]"),
    key("stream.leave_out", "areas to leave out, polygons", "[[[0.0, 0.0], [400.0, 0.0], [400.0, 300.0]]]"),
    key("stream.until", "the last x to use", "\"600 mm\""),
    key("stream.by_hand", "stations placed by hand", "[[900.0, 640.0], [1400.0, 700.0], [1900.0, 860.0]]"),
    key("trajectory.launch", "free, level or the launch angle", "\"5.0 deg ± 0.3 deg\""),
    key("trajectory.corrections", "surface-tension, air-drag, air-buoyancy: those to apply", "[\"surface-tension\"]"),
    key("head.reading", "water surface above the orifice centre; one, or start and end", "\"412 mm ± 0.5 mm\""),
    key("head.surface", "the water surface, marked in the photo", "[500.0, 120.0]"),
    key("head.approach_area", "area of the tank the water comes from", "\"0.09 m^2\""),
    key("flow.timed", "repeated timed fillings", "[{ volume = \"10 L ± 0.02 L\", time = \"42.3 s\" }]"),
    key("flow.timed.volume", "the volume caught", "\"10 L ± 0.02 L\""),
    key("flow.timed.mass", "or the mass caught", "\"9.98 kg\""),
    key("flow.timed.time", "in what time", "\"42.3 s\""),
    key("flow.running", "one filling, read at marks as it fills", "[{ volume = \"1 L\", time = \"6.2 s\" }]"),
    key("flow.running.volume", "the volume so far", "\"1 L\""),
    key("flow.running.mass", "or the mass so far", "\"1 kg\""),
    key("flow.running.time", "the time so far", "\"6.2 s\""),
    key("flow.discharge", "the discharge, where it is known", "\"0.236 L/s ± 0.001 L/s\""),
    key("water.temperature", "the water's temperature", "\"18.5 degC\""),
    key("site.latitude", "the latitude", "\"52.1 deg\""),
    key("site.altitude", "height above sea level", "\"40 m\""),
    key("site.gravity", "gravity, where it is known", "\"9.8120 m/s^2\""),
];

/// Whether `path` is a key, or a section or table that holds keys.
pub(super) fn is_known(path: &str) -> bool {
    KEYS.iter().any(|k| k.path.strip_prefix(path).is_some_and(|rest| rest.is_empty() || rest.starts_with('.')))
}

/// Below this Jaro-Winkler likeness a name is no misspelling: `widht`/`width` have 0.96, the unlike
/// pairs of [`KEYS`] stay below 0.75.
const ALIKE: f64 = 0.8;

/// The known key that an unknown one most likely means: a like name beside it, else the same
/// name elsewhere, else a like name elsewhere.
pub(super) fn nearest(path: &str) -> Option<&'static str> {
    let (parent, name) = path.rsplit_once('.').unwrap_or(("", path));
    let lower = name.to_lowercase().replace('-', "_");
    let names = || {
        KEYS.iter().flat_map(|k| {
            let ends = k.path.match_indices('.').map(|(i, _)| i).chain([k.path.len()]);
            ends.map(move |end| &k.path[..end])
        })
    };
    let likeness = |candidate: &str| {
        let (candidate_parent, candidate_name) = candidate.rsplit_once('.').unwrap_or(("", candidate));
        let alike = strsim::jaro_winkler(&lower, candidate_name);
        if candidate_parent == parent { alike + 0.1 } else { alike }
    };
    names()
        .map(|candidate| (likeness(candidate), candidate))
        .filter(|(likeness, _)| *likeness >= ALIKE)
        .max_by(|a, b| a.0.total_cmp(&b.0).then_with(|| b.1.len().cmp(&a.1.len())))
        .map(|(_, candidate)| candidate)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn misspelt_keys_find_the_one_that_is_meant() {
        for (wrong, right) in [
            ("orifice.diametre", "orifice.diameter"),
            ("orifice.center", "orifice.centre"),
            ("orifce", "orifice"),
            ("orifice.temperature", "water.temperature"),
            ("vertical.plum", "vertical.plumb"),
            ("scale.behind-jet", "scale.behind_jet"),
            ("flow.timed.vol", "flow.timed.volume"),
            ("Title", "title"),
            ("diameter", "orifice.diameter"),
        ] {
            assert_eq!(nearest(wrong), Some(right), "{wrong}");
        }
        assert_eq!(nearest("orifice.zzz"), None);
    }
}
