//! What there is to tell about the sheet's entries: faults, reasons of a refusal, notices.

use super::budget::INPUTS;
use crate::app::line::Line;
use crate::app::state::State;
use crate::app::stated::path;
use crate::measure::Findings;
use crate::notice::Notice;

/// How grave it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// It keeps the sheet from being measured.
    Fault,
    /// The work went on.
    Notice,
}

/// One thing to tell.
#[derive(Clone, Debug, PartialEq)]
pub struct Said {
    /// The entry it is about.
    pub about: String,
    /// What is the case.
    pub says: String,
    /// What to do.
    pub hint: Option<String>,
    /// How grave it is.
    pub weight: Weight,
}

impl Said {
    fn of(notice: &Notice, weight: Weight) -> Self {
        Self { about: notice.about.clone(), says: plain_says(&notice.says), hint: notice.hint.clone(), weight }
    }

    /// The line of the sheet it stands on.
    pub fn line(&self) -> Line {
        Line::of_key(&self.about)
    }

    /// Whether it is about the entry at `key`; `scale.length` and `scale[1].length` are one, `head.reading` and its
    /// first too.
    pub fn is_about(&self, key: &str) -> bool {
        let plain = |key: &str| key.replacen("scale[1]", "scale", 1).replacen("head.reading[1]", "head.reading", 1);
        self.about == key || plain(&self.about) == plain(key)
    }
}

/// All there is to tell, faults first.
pub fn said(state: &State) -> Vec<Said> {
    let Some(document) = &state.document else { return Vec::new() };
    let opened = document.opened();
    let faults = opened.faults.iter().map(|f| Said {
        about: f.about.clone(),
        says: f.says.clone(),
        hint: f.hint.clone(),
        weight: Weight::Fault,
    });
    let reasons = if opened.faults.is_empty() { state.live.refused.as_slice() } else { &[] };
    let reasons = state.live.no_pictures.iter().chain(reasons).map(|n| Said::of(n, Weight::Fault));
    let notices = match &state.live.measured {
        Some(measured) if state.is_current() => measured.findings.notices.as_slice(),
        _ => opened.notices.as_slice(),
    };
    let mut all: Vec<Said> = faults.chain(reasons).chain(notices.iter().map(|n| Said::of(n, Weight::Notice))).collect();
    all.sort_by_key(|s| s.weight);
    all
}

/// A saying with inputs of the budget in plain words: `first of all lens.centre` becomes `first of all centre of the
/// lens`.
fn plain_says(says: &str) -> String {
    let word = |word: &str| match INPUTS.iter().find(|(key, _)| *key == word) {
        Some((_, plain)) => (*plain).to_owned(),
        None => word.to_owned(),
    };
    says.split(' ').map(word).collect::<Vec<_>>().join(" ")
}

/// What keys of the sheet's file are called in the window, where hints speak of them.
const CALLED: [(&str, &str); 12] = [
    ("stream.until", "the last x to use"),
    ("stream.leave_out", "an area left out"),
    ("lens.straight", "points along straight edges"),
    ("plane.marks", "points of the bench plane"),
    ("scale.marks", "marks of the ruler"),
    ("flow.timed", "timed fillings"),
    ("flow.running", "one filling, read as it fills"),
    ("flow.discharge", "the discharge"),
    ("photo.dry", "the dry photo"),
    ("photo.files", "a burst"),
    ("head.reading", "the head reading"),
    ("trajectory.corrections", "line 6"),
];

/// A hint without the writing of the sheet's file, whose place the fields take: `as in at = "250 mm"` becomes
/// `as in 250 mm`. `None` where nothing is left.
pub fn plain_hint(hint: &str) -> Option<String> {
    if hint.starts_with("corrections = ") {
        return Some("line 6 can correct for it".to_owned());
    }
    let mut words: Vec<&str> = Vec::new();
    let mut rest = hint.split(' ').peekable();
    while let Some(word) = rest.next() {
        match rest.peek() {
            Some(&"=") => drop(rest.next()),
            Some(section) if word == "under" && section.starts_with('[') => drop(rest.next()),
            _ => words.push(word),
        }
    }
    let text = words.join(" ").replace("[\"", "\"").replace("\"]", "\"").replace('"', "");
    let text = CALLED.iter().fold(text, |text, (key, called)| text.replace(key, called));
    // what still has brackets shows how a list is written
    let plain = match text.find('[') {
        Some(at) => text[..at].rsplit_once(':')?.0.to_owned(),
        None => text,
    };
    let plain = plain.trim().trim_end_matches(" as in … ± …").trim_end_matches(',').to_owned();
    // that there is none has just been said
    (!plain.is_empty() && plain != "state one").then_some(plain)
}

/// Below this share of a variance an assumption costs nothing worth a word.
const WORTH_A_WORD: f64 = 0.02;

/// The results whose budgets tell what an entry costs, the first that it costs something.
const COSTS: [(&str, &str); 4] = [("velocity", "V"), ("cv", "Cv"), ("cd", "Cd"), ("cc", "Cc")];

/// Symbol and share of the variance of the result that `chosen` inputs cost: the velocity if it costs that something,
/// else Cv, Cd or Cc.
pub fn cost(findings: &Findings, chosen: impl Fn(&str) -> bool) -> Option<(&'static str, f64)> {
    let share = |key: &str| -> f64 {
        let rows = findings.budget.get(key).map_or(&[][..], Vec::as_slice);
        rows.iter().filter(|r| chosen(&r.input)).map(|r| r.share).sum()
    };
    COSTS.iter().map(|(key, symbol)| (*symbol, share(key))).find(|(_, share)| *share >= WORTH_A_WORD)
}

/// The input of the budget that an entry of the sheet enters by.
pub fn input_of(key: &str) -> String {
    match path(key).as_str() {
        "scale.marks" => "scale.at".into(),
        "plane.marks" => "plane.at".into(),
        "flow.timed" | "flow.running" => "flow".into(),
        "site" => "site.gravity".into(),
        "vertical" => "vertical.plumb".into(),
        other => other.to_owned(),
    }
}

/// What an entry costs, see [`cost`].
pub fn cost_of_key(findings: &Findings, key: &str) -> Option<(&'static str, f64)> {
    let input = input_of(key);
    cost(findings, |i| i == input || i.strip_prefix(&input).is_some_and(|rest| rest.starts_with('.')))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn inputs_are_told_by_their_names() {
        let says = "first of all camera.focal_length with camera.squareness";
        assert_eq!(plain_says(says), "first of all focal length with squareness of the camera");
        assert_eq!(plain_says("the width is 0.5 mm"), "the width is 0.5 mm");
    }

    #[test]
    fn hints_lose_the_writing_of_the_file() {
        for (hint, plain) in [
            ("state one, as in at = \"250 mm ± 0.1 mm\"", Some("state one, as in 250 mm ± 0.1 mm")),
            ("as in diameter = \"12.00 mm ± 0.02 mm\" under [orifice]", Some("as in 12.00 mm ± 0.02 mm")),
            ("mark it in the photo: centre = [812.4, 630.9] under [orifice]", Some("mark it in the photo")),
            (
                "mark two points on something vertical: plumb = [[x, y], [x, y]]",
                Some("mark two points on something vertical"),
            ),
            ("corrections = [\"surface-tension\"] under [trajectory] takes it out", Some("line 6 can correct for it")),
            ("state one, as in … ± …", None),
            ("end them earlier with stream.until", Some("end them earlier with the last x to use")),
            ("as in marks = [[1020.0, 310.5], [3350.2, 322.8]]", None),
            ("south is negative", Some("south is negative")),
        ] {
            assert_eq!(plain_hint(hint).as_deref(), plain, "{hint}");
        }
    }
}
