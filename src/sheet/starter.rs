//! The starter sheet: what `trajet new` writes beside a photo.

use std::fmt::Write;

use super::ScaleCard;
use super::write::{card_section, quoted};

/// What the photo's own metadata tell, as far as they do.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct PhotoFacts {
    /// When it was taken, as text.
    pub taken: Option<String>,
    /// Maker, model and lens.
    pub camera: Option<String>,
    /// Where, degrees north.
    pub latitude_deg: Option<f64>,
    /// Height above sea level, m.
    pub altitude_m: Option<f64>,
    /// Width and height as displayed, px.
    pub size_px: Option<(u32, u32)>,
    /// The scale card found in it, with its marks.
    pub card: Option<ScaleCard>,
}

/// The text of a starter sheet for `photo_file`.
///
/// It holds what the photo tells; whatever has to be marked or read stands there as a line
/// commented out, with what to do in plain words. Opened as it is, its faults are the list of
/// what is still to be done.
pub fn starter(photo_file: &str, facts: &PhotoFacts) -> String {
    let mut text = String::from(
        "# A bench sheet: everything you state about one photo of one run.\n\
         # Remove the # from a line and put your own values in. Every quantity has its unit;\n\
         # ± gives its standard uncertainty. Points are [x, y] in pixels of the photo as displayed,\n\
         # counted from its top-left corner, y downwards.\n\
         format = 1\n",
    );
    text.push_str(&format!("title = {}\n\n[photo]\n", quoted(stem(photo_file))));
    text.push_str(&format!("file = {}\n", quoted(photo_file)));
    let size = facts.size_px.map(|(width, height)| format!("{width} x {height} pixels"));
    let taken = facts.taken.as_ref().map(|taken| format!("taken {taken}"));
    let camera = facts.camera.as_ref().map(|camera| format!("with {camera}"));
    let told: Vec<_> = [size, taken, camera].into_iter().flatten().map(|t| one_line(&t)).collect();
    if !told.is_empty() {
        let _ = writeln!(text, "# {}", told.join(", "));
    }
    text.push_str(
        "# dry = \"dry.jpg\"                    # the same view without the jet, if you have one\n\
         \n",
    );
    text.push_str(&facts.card.as_ref().map_or_else(|| RULER.to_owned(), card_found));
    text.push_str(
        "\n\
         # [camera]                            # needed when the ruler stands behind or before the jet\n\
         # distance = \"1.8 m ± 0.02 m\"         # from the lens to the jet's plane\n\
         \n\
         # Which way is down: the two ends of a plumb line.\n\
         [vertical]\n\
         # plumb = [[402.0, 210.0], [415.5, 2710.0]]\n\
         \n\
         [orifice]\n\
         # centre = [812.4, 630.9]             # the middle of the orifice in the photo\n\
         # diameter = \"12.00 mm ± 0.02 mm\"\n\
         # edge = \"sharp\"                      # sharp, rounded, short-tube, re-entrant or nozzle\n\
         \n\
         [stream]\n\
         # tone = \"bright\"                     # bright, dark or either, against what lies behind it\n\
         # until = \"600 mm\"                    # the last x to use, counted from the orifice\n\
         \n\
         [head]\n\
         # reading = \"412 mm ± 0.5 mm\"         # water surface above the middle of the orifice\n\
         \n\
         # The discharge, for Cd and Cc: one or several timed fillings.\n\
         [flow]\n\
         # timed = [{ volume = \"10 L ± 0.02 L\", time = \"42.3 s\" }]\n\
         \n\
         [water]\n\
         # temperature = \"18.5 degC\"\n\
         \n\
         [site]\n",
    );
    let finite = |value: Option<f64>| value.filter(|v| v.is_finite());
    match finite(facts.latitude_deg).filter(|deg| deg.abs() <= 90.0) {
        Some(deg) => {
            let _ = writeln!(text, "latitude = \"{deg:.2} deg\"               # from the photo");
        }
        None => text.push_str("# latitude = \"52.1 deg\"               # for gravity; north positive\n"),
    }
    match finite(facts.altitude_m).filter(|m| (-500.0..=9000.0).contains(m)) {
        Some(m) => {
            let _ = writeln!(text, "altitude = \"{m:.0} m ± 30 m\"           # from the photo");
        }
        None => text.push_str("# altitude = \"40 m\"\n"),
    }
    text
}

/// What tells the size of a pixel where no card was found.
const RULER: &str = "# How large is a pixel: two graduations of a ruler in the jet's plane, far apart,\n\
    # and the true distance between them.\n\
    [scale]\n\
    # marks = [[1020.0, 310.5], [3350.2, 322.8]]\n\
    # length = \"500 mm ± 0.3 mm\"\n\
    # behind_jet = \"0 mm ± 1 mm\"          # how far behind the jet the ruler stands; in front: negative\n";

/// The section of a card that was found, with what is still to be measured on it.
fn card_found(card: &ScaleCard) -> String {
    let open = "# check_line = \"99.7 mm ± 0.1 mm\"    # what its check line A measures, and its upright line B:\n\
                # upright_line = \"99.9 mm ± 0.1 mm\"\n\
                # behind_jet = \"0 mm ± 1 mm\"         # how far behind the jet the card stands; in front: negative\n";
    let section = card_section(card).replacen("marks = [", &format!("{open}marks = ["), 1);
    format!(
        "# How large is a pixel: a scale card was found in the photo, with {} of its marks. Look whether\n\
         # they are right; or delete this section, and mark two graduations of a ruler in a section [scale].\n{section}",
        card.marks.len()
    )
}

fn stem(file: &str) -> &str {
    let name = file.rsplit(['/', '\\']).next().unwrap_or(file);
    name.rsplit_once('.').map_or(name, |(stem, _)| if stem.is_empty() { name } else { stem })
}

/// For a comment: control characters would end it or be refused.
fn one_line(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}
