//! Everything that the window shows, apart from where it is looking. [`State::apply`] is the one place that changes it.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::command::{Command, Layer, Units};
use super::document::Document;
use super::line::Line;
use super::marks::{Mark, MarkKind, marks};
use super::measurer::{Answer, Measured, Pictures};
use super::runs::Runs;
use crate::jet::{self, EvidencePlate};
use crate::measure::sight;
use crate::notice::Notice;
use crate::point::PixelPoint;
use crate::sheet::entry::{self, Entry, NotPut};

/// The state of the window.
pub struct State {
    /// The sheet at work; `None` on the start page.
    pub document: Option<Document>,
    /// The series at work: shown while none of its sheets is open.
    pub runs: Option<Arc<Runs>>,
    /// The line in hand.
    pub line: Line,
    /// The mark in hand, by its key.
    pub mark: Option<String>,
    /// What the next click on the photo places.
    pub placing: Option<MarkKind>,
    /// What was found.
    pub live: Live,
    /// What is shown on the photo.
    pub layers: BTreeSet<Layer>,
    /// Units of the results.
    pub units: Units,
    /// Whether the page of keys and cautions is shown.
    pub help: bool,
    /// Whether the guide leads along the marks.
    pub guided: bool,
    /// The last thing to tell the user that belongs to no line, and whether it is a fault.
    pub said: Option<(String, bool)>,
    /// Whether edits belong to one step for now.
    pub(super) together: bool,
}

/// What the measurer has answered so far.
#[derive(Default)]
pub struct Live {
    /// The photos, decoded.
    pub pictures: Option<Arc<Pictures>>,
    /// Why they are not there.
    pub no_pictures: Vec<Notice>,
    /// What the threshold sees; `None` until a stream was looked for, and where it is looked for in several photos.
    pub evidence: Option<Arc<EvidencePlate>>,
    /// The last whole or passing result.
    pub measured: Option<Arc<Measured>>,
    /// The revision that `measured` is of.
    pub revision: u64,
    /// Why the sheet as it is now cannot be measured, if so.
    pub refused: Vec<Notice>,
    /// Revision that the last answer was of.
    pub answered: u64,
    /// Whether a trace is at work.
    pub busy: bool,
}

impl Default for State {
    fn default() -> Self {
        Self {
            document: None,
            runs: None,
            line: Line::Photo,
            mark: None,
            placing: None,
            live: Live::default(),
            layers: BTreeSet::from([Layer::Marks, Layer::Stations, Layer::Fitted, Layer::Predicted]),
            units: Units::default(),
            help: false,
            guided: false,
            said: None,
            together: false,
        }
    }
}

impl State {
    /// Shows a document, with nothing of the one before left over.
    pub fn show(&mut self, document: Document) {
        let layers = std::mem::take(&mut self.layers);
        let runs = self.runs.take();
        *self = Self { document: Some(document), runs, layers, units: self.units, ..Self::default() };
        self.take(self.next_unfinished().unwrap_or(Line::Trajectory));
    }

    /// The sheet's text; empty on the start page.
    pub fn text(&self) -> &str {
        self.document.as_ref().map_or("", Document::text)
    }

    /// What stands at a key.
    pub fn entry(&self, key: &str) -> Option<Entry> {
        entry::entry(self.text(), key)
    }

    /// What stands at a key as it would be typed; empty where nothing does.
    pub fn typed(&self, key: &str) -> String {
        match self.entry(key) {
            Some(Entry::Text(text)) => text,
            Some(Entry::Number(n)) => n.to_string(),
            _ => String::new(),
        }
    }

    /// The level that the sheet states.
    pub fn level(&self) -> Option<f64> {
        self.document.as_ref()?.opened().sheet.stream.level
    }

    /// All marks of the sheet.
    pub fn marks(&self) -> Vec<Mark> {
        marks(self.text())
    }

    /// Whether the findings shown are those of the sheet as it is now.
    pub fn is_current(&self) -> bool {
        let revision = self.document.as_ref().map(Document::revision);
        self.live.refused.is_empty() && revision == Some(self.live.revision)
    }

    /// The first line that still lacks what a measurement needs, in the order of the job.
    pub fn next_unfinished(&self) -> Option<Line> {
        let document = self.document.as_ref()?;
        let missing = document.opened().faults.iter().map(|f| Line::of_key(&f.about)).min();
        missing.or_else(|| {
            let text = document.text();
            let has = |key: &str| entry::entry(text, key).is_some();
            if !has("vertical.plumb") && !has("vertical.level") {
                Some(Line::Down)
            } else if !has("head.reading") && !has("head.surface") {
                Some(Line::Head)
            } else {
                None
            }
        })
    }

    /// Carries out a command; file commands are the window's and change nothing here.
    pub fn apply(&mut self, command: Command) {
        match command {
            Command::TakeLine(line) => self.take(line),
            Command::TakeMark(mark) => {
                if let Some(kind) = mark.as_deref().and_then(MarkKind::of_key) {
                    self.line = kind.line();
                }
                self.mark = mark;
                self.placing = None;
            }
            Command::Place(kind) => {
                self.placing = kind;
                self.mark = None;
            }
            Command::PlaceAt(at) => self.place(at),
            Command::Move { key, to } => {
                self.edit(&key, |text| entry::put(text, &key, &Entry::Point(to)));
            }
            Command::Put { key, typed } => self.put(&key, &typed),
            Command::PutPoints { key, points } => self.put_points(&key, &points),
            Command::Remove(key) => self.remove(&key),
            Command::Attract(key) => self.attract(&key),
            Command::Together(commands) => {
                self.still();
                self.together = true;
                commands.into_iter().for_each(|command| self.apply(command));
                self.together = false;
                self.still();
            }
            Command::Still => self.still(),
            Command::Undo => self.step(Document::undo),
            Command::Redo => self.step(Document::redo),
            Command::Show(layer, shown) => {
                if shown {
                    self.layers.insert(layer);
                } else {
                    self.layers.remove(&layer);
                }
            }
            Command::Units(units) => self.units = units,
            Command::ShowHelp(shown) => self.help = shown,
            Command::PutAway => self.said = None,
            Command::EndGuide => self.guided = false,
            Command::File(_) => {}
        }
    }

    /// Takes up what the measurer answered; what is of an older sheet than the last answer is dropped.
    pub fn hear(&mut self, answer: Answer) {
        let live = &mut self.live;
        if answer.revision() < live.answered {
            return;
        }
        live.answered = answer.revision();
        match answer {
            Answer::Pictures { pictures: Ok(pictures), .. } => {
                live.pictures = Some(pictures);
                live.evidence = None;
                live.no_pictures.clear();
            }
            Answer::Pictures { pictures: Err(reasons), .. } => {
                live.pictures = None;
                live.evidence = None;
                live.no_pictures = reasons;
            }
            Answer::Faulty { .. } => live.busy = false,
            Answer::Evidence { plate, .. } => live.evidence = Some(plate),
            Answer::Measured { revision, result, passing } => {
                live.busy = passing;
                match result {
                    Ok(measured) => {
                        live.measured = Some(measured);
                        live.revision = revision;
                        live.refused.clear();
                    }
                    // a passing fault may mend itself when the stream is looked for anew
                    Err(_) if passing => {}
                    Err(reasons) => live.refused = reasons,
                }
            }
        }
    }

    /// A line in hand: what it still lacks is placed by the next click.
    fn take(&mut self, line: Line) {
        self.line = line;
        self.mark = None;
        self.placing = self.lacking(line);
    }

    /// The kind of mark that a line still needs.
    fn lacking(&self, line: Line) -> Option<MarkKind> {
        let marks = self.marks();
        let count = |kind: MarkKind| marks.iter().filter(|m| m.kind == kind).count();
        match line {
            Line::Down if count(MarkKind::Level) == 1 => Some(MarkKind::Level),
            Line::Down if count(MarkKind::Level) == 0 && count(MarkKind::Plumb) < 2 => Some(MarkKind::Plumb),
            Line::Scale if count(MarkKind::Plane) == 0 && count(MarkKind::Scale(1)) < 2 => Some(MarkKind::Scale(1)),
            Line::Orifice if count(MarkKind::Orifice) == 0 => Some(MarkKind::Orifice),
            _ => None,
        }
    }

    fn place(&mut self, at: PixelPoint) {
        let Some(kind) = self.placing else { return };
        let key = kind.next_key(self.text());
        self.still();
        if self.edit(&key, |text| entry::put(text, &key, &Entry::Point(at))) {
            let placed = self.marks().iter().filter(|m| m.kind == kind).count();
            let whole = match kind {
                // two make a scale; a third is added on purpose
                MarkKind::Scale(_) => Some(2),
                kind => kind.whole(),
            };
            if whole.is_some_and(|n| placed >= n) {
                self.placing = None;
            }
            self.mark = Some(key);
        }
        self.still();
    }

    fn put(&mut self, key: &str, typed: &str) {
        let typed = typed.trim();
        let put = |text: &str| match typed.parse::<f64>() {
            _ if typed.is_empty() && !keeps_its_place(key) => entry::remove(text, key),
            Ok(n) if n.is_finite() && takes_numbers(key) => entry::put(text, key, &Entry::Number(n)),
            _ => entry::put(text, key, &Entry::Text(typed.to_owned())),
        };
        self.edit(key, put);
    }

    fn put_points(&mut self, key: &str, points: &[PixelPoint]) {
        self.still();
        self.edit(key, |text| {
            let empty = entry::remove(text, key)?;
            let place = |text: String, (i, p): (usize, &PixelPoint)| {
                entry::put(&text, &format!("{key}[{}]", i + 1), &Entry::Point(*p))
            };
            points.iter().enumerate().try_fold(empty, place)
        });
        self.still();
    }

    fn remove(&mut self, key: &str) {
        self.still();
        // a reading of a ruler, or a mark of the plane, goes with its value
        let whole = key.strip_suffix(".px").unwrap_or(key);
        self.edit(key, |text| entry::remove(text, whole));
        if self.mark.as_deref() == Some(key) {
            self.mark = None;
        }
        self.still();
    }

    fn attract(&mut self, key: &str) {
        self.still();
        let drawn = |state: &Self| -> Result<PixelPoint, &'static str> {
            let Some(Entry::Point(at)) = state.entry(key) else { return Err("no station stands there") };
            let (Some(measured), Some(pictures)) = (&state.live.measured, &state.live.pictures) else {
                return Err("a station is drawn to the stream once the sheet can be measured");
            };
            let photo = pictures.set.photos.first().ok_or("there is no photo")?;
            let prospect = sight::prospect_of(&measured.sheet, &measured.seen.sight);
            let station = jet::attract(photo, at, &prospect);
            station.map(|s| s.at).ok_or("no two edges of a stream lie beside this station; it stays where it is")
        };
        match drawn(self) {
            Ok(at) => {
                self.edit(key, |text| entry::put(text, key, &Entry::Point(at)));
            }
            Err(why) => self.said = Some((why.into(), true)),
        }
        self.still();
    }

    fn step(&mut self, step: fn(&mut Document) -> bool) {
        if let Some(d) = &mut self.document {
            step(d);
        }
        let gone = |key: &String| self.entry(key).is_none();
        if self.mark.as_ref().is_some_and(gone) {
            self.mark = None;
        }
    }

    fn still(&mut self) {
        if let Some(d) = self.document.as_mut().filter(|_| !self.together) {
            d.still();
        }
    }

    /// Edits the text; tells what stands in the way, if anything.
    fn edit(&mut self, of: &str, change: impl FnOnce(&str) -> Result<String, NotPut>) -> bool {
        let Some(document) = &mut self.document else { return false };
        match change(document.text()) {
            Ok(text) => {
                document.edit(&text, if self.together { "several" } else { of });
                self.said = None;
                true
            }
            Err(e) => {
                self.said = Some((e.to_string(), true));
                false
            }
        }
    }
}

/// Keys whose value may be a bare number.
fn takes_numbers(key: &str) -> bool {
    matches!(key, "stream.level" | "lens.k1" | "format")
}

/// Keys in rows, where an entry taken away would move those after it while its user still types: an empty text stays.
fn keeps_its_place(key: &str) -> bool {
    key.contains('[') && (key.starts_with("flow.") || key.starts_with("photo.files") || key.contains("].at"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::Path;

    fn state() -> State {
        let mut state = State::default();
        state.show(Document::open(Path::new("c.toml"), "format = 1\n[photo]\nfile = \"c.jpg\"\n"));
        state
    }

    fn place(state: &mut State, x: f64, y: f64) {
        state.apply(Command::PlaceAt(PixelPoint::new(x, y)));
    }

    #[test]
    fn the_job_is_done_by_lines_and_clicks() {
        let mut s = state();
        s.apply(Command::TakeLine(Line::Down));
        assert_eq!(s.placing, Some(MarkKind::Plumb));
        place(&mut s, 10.0, 20.0);
        assert_eq!(s.placing, Some(MarkKind::Plumb), "a plumb line needs two");
        place(&mut s, 11.0, 900.0);
        assert_eq!((s.placing, s.mark.as_deref()), (None, Some("vertical.plumb[2]")));
        place(&mut s, 500.0, 500.0);
        assert_eq!(s.marks().len(), 2, "a click with nothing in hand places nothing");

        s.apply(Command::TakeLine(Line::Scale));
        place(&mut s, 100.0, 100.0);
        place(&mut s, 900.0, 100.0);
        s.apply(Command::TakeLine(Line::Orifice));
        place(&mut s, 50.0, 60.0);
        for (key, typed) in [("scale[1].length", "300 mm"), ("orifice.diameter", "3/8 in"), ("head.reading", "251 mm")]
        {
            s.apply(Command::Put { key: key.into(), typed: typed.into() });
            assert_eq!(s.typed(key), typed);
        }
        let opened = s.document.as_ref().unwrap().opened();
        assert!(opened.checked.is_some(), "{:?}", opened.faults);
        assert_eq!(s.next_unfinished(), None);
        for _ in 0..8 {
            s.apply(Command::Undo);
        }
        assert!(s.document.as_ref().unwrap().is_saved(), "eight steps were made: {}", s.text());
        for _ in 0..8 {
            s.apply(Command::Redo);
        }
        assert_eq!(s.typed("head.reading"), "251 mm");
    }

    #[test]
    fn what_was_typed_wrong_stays_to_be_mended() {
        let mut s = state();
        s.apply(Command::Put { key: "orifice.diameter".into(), typed: "12".into() });
        assert_eq!(s.typed("orifice.diameter"), "12");
        assert!(s.document.as_ref().unwrap().opened().faults.iter().any(|f| f.about == "orifice.diameter"));
        s.apply(Command::Put { key: "orifice.diameter".into(), typed: String::new() });
        assert_eq!(s.entry("orifice.diameter"), None);
    }

    #[test]
    fn a_mark_taken_away_is_no_longer_in_hand() {
        let mut s = state();
        s.apply(Command::Place(Some(MarkKind::ByHand)));
        place(&mut s, 1.0, 2.0);
        place(&mut s, 3.0, 4.0);
        s.apply(Command::Remove("stream.by_hand[2]".into()));
        assert_eq!((s.mark.clone(), s.marks().len()), (None, 1));
        s.apply(Command::Undo);
        assert_eq!(s.marks().len(), 2);
    }

    #[test]
    fn several_commands_are_one_step_and_rows_keep_their_places() {
        let mut s = state();
        let put = |key: &str, typed: &str| Command::Put { key: key.into(), typed: typed.into() };
        s.apply(Command::Together(vec![put("flow.timed[1].volume", "5 L"), put("flow.timed[1].time", "35 s")]));
        s.apply(put("flow.timed[2].volume", ""));
        s.apply(put("flow.timed[1].volume", ""));
        assert_eq!(s.typed("flow.timed[1].time"), "35 s");
        assert_eq!(s.entry("flow.timed"), Some(Entry::Group(2)));
        for _ in 0..3 {
            s.apply(Command::Undo);
        }
        assert!(s.document.as_ref().unwrap().is_saved(), "{}", s.text());
    }

    #[test]
    fn older_answers_are_dropped() {
        let mut s = state();
        s.hear(Answer::Measured { revision: 5, result: Err(vec![Notice::new("stream", "none")]), passing: false });
        s.hear(Answer::Measured { revision: 4, result: Err(Vec::new()), passing: false });
        assert_eq!(s.live.refused.len(), 1);
    }
}
