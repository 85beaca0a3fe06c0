//! Everything that the window shows, apart from where it is looking. [`State::apply`] is the one place that changes it.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::command::{Command, Layer, Units};
use super::document::Document;
use super::line::Line;
use super::marks::{Mark, MarkKind};
use super::measurer::{Answer, Measured, Pictures};
use super::runs::Runs;
use crate::calibration::card::FoundCard;
use crate::jet::{self, EvidencePlate};
use crate::measure::sight;
use crate::notice::Notice;
use crate::point::PixelPoint;
use crate::sheet::entry::{self, Entries, Entry, NotPut};
use crate::sheet::{self, Sheet};

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
    /// The field that the keyboard goes to, since its value is what the line in hand lacks next.
    pub awaited: Option<String>,
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
    /// The scale card found in the first photo.
    pub card: Option<FoundCard>,
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
            awaited: None,
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

    fn entries(&self) -> Option<&Entries> {
        Some(&self.document.as_ref()?.now().entries)
    }

    /// What stands at a key.
    pub fn entry(&self, key: &str) -> Option<Entry> {
        self.entries()?.entry(key)
    }

    /// What stands at a key as it would be typed; empty where nothing does.
    pub fn typed(&self, key: &str) -> String {
        match self.entry(key) {
            Some(Entry::Text(text)) => text,
            Some(Entry::Number(n)) => n.to_string(),
            _ => String::new(),
        }
    }

    /// What the next click on the photo is to hit, in words; `None` where it places nothing.
    pub fn prompt(&self) -> Option<String> {
        let kind = self.placing?;
        Some(kind.prompt(self.marks().iter().filter(|m| m.kind == kind).count()).to_owned())
    }

    /// The level that the sheet states.
    pub fn level(&self) -> Option<f64> {
        self.document.as_ref()?.opened().sheet.stream.level
    }

    /// All marks of the sheet.
    pub fn marks(&self) -> &[Mark] {
        self.document.as_ref().map_or(&[], |d| d.now().marks.as_slice())
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
            let has = |key: &str| self.entry(key).is_some();
            // what is missing goes before what is doubtful
            if !has("head.reading") && !has("head.surface") {
                Some(Line::Head)
            } else if !has("vertical.plumb") && !has("vertical.level") {
                Some(Line::Down)
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
                self.awaited = None;
            }
            Command::Place(kind) => {
                self.placing = kind;
                self.mark = None;
                self.awaited = None;
            }
            Command::Await => self.awaited = self.wanting(),
            Command::PlaceAt(at) => self.place(at),
            Command::Move { key, to } => {
                self.edit(&key, |text| entry::put(text, &key, &Entry::Point(to)));
            }
            Command::Put { key, typed } => self.put(&key, &typed),
            Command::PutPoints { key, points } => self.put_points(&key, &points),
            Command::Remove(key) => self.remove(&key),
            Command::UseCard => self.use_card(),
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
                live.card = None;
                live.no_pictures.clear();
            }
            Answer::Pictures { pictures: Err(reasons), .. } => {
                live.pictures = None;
                live.evidence = None;
                live.card = None;
                live.no_pictures = reasons;
            }
            Answer::Faulty { .. } => live.busy = false,
            Answer::Card { card, .. } => live.card = card,
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
        self.awaited = None;
    }

    /// The field whose value the line in hand lacks next: the reading of the mark just placed, the length between two
    /// marks, the diameter of the orifice marked, the head.
    fn wanting(&self) -> Option<String> {
        let is_empty = |key: &String| self.typed(key).is_empty();
        let count = |key: String| match self.entry(&key) {
            Some(Entry::Group(n)) => n,
            _ => 0,
        };
        if let Some(mark) = self.mark.as_deref().and_then(|key| key.strip_suffix(".px")) {
            let first = if MarkKind::of_key(mark) == Some(MarkKind::Plane) { "[1]" } else { "" };
            return Some(format!("{mark}.at{first}")).filter(is_empty);
        }
        match self.line {
            Line::Scale => (1..)
                .take_while(|n| self.entry(&format!("scale[{n}]")).is_some())
                .filter(|n| matches!(self.entry(&format!("scale[{n}].marks[2]")), Some(Entry::Point(_))))
                .filter(|n| count(format!("scale[{n}].marks")) == 2)
                .map(|n| format!("scale[{n}].length"))
                .find(is_empty),
            Line::Orifice if self.placing.is_none() => Some("orifice.diameter".to_owned()).filter(is_empty),
            Line::Head if self.entry("head.surface").is_none() => Some("head.reading[1]".to_owned()).filter(is_empty),
            _ => None,
        }
    }

    /// The kind of mark that a line still needs.
    fn lacking(&self, line: Line) -> Option<MarkKind> {
        let marks = self.marks();
        let count = |kind: MarkKind| marks.iter().filter(|m| m.kind == kind).count();
        match line {
            Line::Down if count(MarkKind::Level) == 1 => Some(MarkKind::Level),
            Line::Down if count(MarkKind::Level) == 0 && count(MarkKind::Plumb) < 2 => Some(MarkKind::Plumb),
            Line::Scale if self.entry("card").is_some() => None,
            Line::Scale if count(MarkKind::Plane) == 0 && count(MarkKind::Scale(1)) < 2 => Some(MarkKind::Scale(1)),
            Line::Orifice if count(MarkKind::Orifice) == 0 => Some(MarkKind::Orifice),
            _ => None,
        }
    }

    fn place(&mut self, at: PixelPoint) {
        let Some(kind) = self.placing else { return };
        self.awaited = None;
        let Some(entries) = self.entries() else { return };
        let key = kind.next_key(entries);
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

    /// The card that was found, where the sheet has none yet.
    pub fn card_offered(&self) -> Option<&FoundCard> {
        self.live.card.as_ref().filter(|_| self.entry("card").is_none())
    }

    fn use_card(&mut self) {
        let Some(card) = self.card_offered().map(FoundCard::stated) else { return };
        self.still();
        self.edit("card", |text| {
            let sheet = Sheet { card: Some(card), ..sheet::open(text).sheet };
            Ok(sheet::write(text, &sheet))
        });
        self.placing = None;
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
mod tests;
