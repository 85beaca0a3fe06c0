//! From a sheet's text to pictures and findings, with everything kept that need not be made again.
//!
//! It knows neither window nor thread: [`super::worker`] runs it aside.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::SystemTime;

use super::document::Version;
use super::photo_table::picture::Overview;
use crate::calibration::card::{self, FoundCard};
use crate::cli::load::{self, Named, PhotoSet};
use crate::jet::EvidencePlate;
use crate::measure::sight::Kept;
use crate::measure::{self, Draws, Findings, Job, Refused, Seen};
use crate::notice::Notice;
use crate::sheet::{Checked, Stream};

/// A sheet to measure.
#[derive(Clone)]
pub struct Request {
    /// Its revision.
    pub revision: u64,
    /// Its text, opened.
    pub version: Arc<Version>,
    /// Its file's name.
    pub name: String,
    /// Its folder.
    pub folder: PathBuf,
}

/// What came of it. A request has several answers: pictures as soon as they are there, then findings.
pub enum Answer {
    /// The photos, where they are not those of the answer before.
    Pictures {
        /// Of which revision.
        revision: u64,
        /// The photos, or why they cannot be shown.
        pictures: Result<Arc<Pictures>, Vec<Notice>>,
    },
    /// The sheet has faults: there is nothing to measure yet.
    Faulty {
        /// Of which revision.
        revision: u64,
    },
    /// The scale card in the photo, once it was looked for.
    Card {
        /// Of which revision.
        revision: u64,
        /// The card, if there is one.
        card: Option<FoundCard>,
    },
    /// What the threshold sees of the photo, where it is not as before.
    Evidence {
        /// Of which revision.
        revision: u64,
        /// Its gradients.
        plate: Arc<EvidencePlate>,
    },
    /// Findings.
    Measured {
        /// Of which revision.
        revision: u64,
        /// The findings, or every reason why there are none.
        result: Result<Arc<Measured>, Vec<Notice>>,
        /// From the stream as found before; the answer with the stream looked for anew follows.
        passing: bool,
    },
}

impl Answer {
    /// The revision of the sheet that it answers.
    pub fn revision(&self) -> u64 {
        match self {
            Self::Pictures { revision, .. }
            | Self::Faulty { revision }
            | Self::Card { revision, .. }
            | Self::Evidence { revision, .. }
            | Self::Measured { revision, .. } => *revision,
        }
    }
}

/// The photos of a sheet in memory.
pub struct Pictures {
    /// Which files, as they were.
    key: Vec<FileKey>,
    pub(super) set: PhotoSet,
    /// The first photo, small.
    pub(super) overview: Overview,
}

impl Pictures {
    pub(super) fn new(key: Vec<FileKey>, set: PhotoSet) -> Option<Self> {
        let overview = Overview::new(set.photos.first()?);
        Some(Self { key, set, overview })
    }
}

/// A measurement with all that figures are drawn from.
pub struct Measured {
    /// What is exported.
    pub findings: Findings,
    /// Calibration and stations.
    pub seen: Arc<Seen>,
    /// The sheet that was measured.
    pub sheet: Checked,
}

/// A file's path, time of change and length: enough to tell that it is still the same.
pub(super) type FileKey = (PathBuf, Option<SystemTime>, u64);

/// Measures sheets one after the other.
#[derive(Default)]
pub struct Measurer {
    pictures: Option<Arc<Pictures>>,
    /// What was seen last, and the sheet that it was seen with.
    seen: Option<(Arc<Seen>, Arc<Checked>)>,
    kept: Kept,
    /// Whether a scale card was looked for in the pictures.
    card_sought: bool,
}

impl Measurer {
    /// Measures one sheet, telling each answer as soon as it is there. `overtaken` is asked before the slow half:
    /// where a newer sheet waits, this one is left. Last of all a scale card is looked for in new pictures.
    pub fn answer(&mut self, request: &Request, overtaken: &dyn Fn() -> bool, tell: &mut dyn FnMut(Answer)) {
        self.measure(request, overtaken, tell);
        if let Some(photo) = self.pictures.as_ref().and_then(|p| p.set.photos.first())
            && request.version.opened.sheet.card.is_none()
            && !self.card_sought
            && !overtaken()
        {
            self.card_sought = true;
            tell(Answer::Card { revision: request.revision, card: card::find(photo, None) });
        }
    }

    fn measure(&mut self, request: &Request, overtaken: &dyn Fn() -> bool, tell: &mut dyn FnMut(Answer)) {
        let revision = request.revision;
        let opened = &request.version.opened;
        let named = Named {
            name: request.name.clone(),
            sha256: load::sha256(request.version.text.as_bytes()),
            folder: &request.folder,
            dry_folder: &request.folder,
        };
        let files = opened.sheet.photos.iter().chain(&opened.sheet.dry);
        let key: Vec<FileKey> = files.map(|file| file_key(request.folder.join(file))).collect();
        if self.pictures.as_ref().is_none_or(|p| p.key != key) {
            self.seen = None;
            self.kept = Kept::default();
            self.card_sought = false;
            let set = PhotoSet::read(&named, &opened.sheet.photos, opened.sheet.dry.as_deref());
            let because = |line: String| Notice::new("photo.file", line);
            let pictures = match set {
                Ok(set) => Pictures::new(key, set)
                    .map(Arc::new)
                    .ok_or_else(|| vec![because("the sheet names no photo".into()).hint("name one in photo.file")]),
                Err(not) => Err(not.lines.into_iter().map(because).collect::<Vec<_>>()),
            };
            self.pictures = pictures.as_ref().ok().cloned();
            tell(Answer::Pictures { revision, pictures });
        }
        let (Some(sheet), Some(pictures)) = (&opened.checked, self.pictures.clone()) else {
            return tell(Answer::Faulty { revision });
        };
        let mut inputs = load::inputs(&named.sha256);
        inputs.extend(pictures.set.inputs.clone());
        let job = job(&named.name, sheet, &pictures.set, &opened.notices, inputs);
        let measured = |seen: Arc<Seen>| {
            measure::reduce_seen(&job, &seen)
                .map(|findings| Arc::new(Measured { findings, seen, sheet: sheet.clone() }))
        };
        let reasons = |refused: Refused| refused.reasons;
        if let Some((before, of)) = &self.seen {
            let again = match self.change(sheet, of) {
                Change::Level if measure::still_there(&job, before, &self.kept) => measure::see_again(&job, before),
                Change::Level | Change::Stream => {
                    self.kept.near = Some(before.sight.trace.clone());
                    let seen = measure::see_keeping(&job, &mut self.kept);
                    self.kept.near = None;
                    seen
                }
                Change::Other => measure::see_again(&job, before),
            };
            let result = again.map(Arc::new).and_then(measured).map_err(reasons);
            tell(Answer::Measured { revision, result, passing: true });
        }
        if overtaken() {
            return;
        }
        let before = self.kept.ground.clone();
        let seen = measure::see_keeping(&job, &mut self.kept).map(Arc::new);
        if let Some(ground) = &self.kept.ground
            && before.is_none_or(|b| !Arc::ptr_eq(&b, ground))
        {
            tell(Answer::Evidence { revision, plate: ground.plate().clone() });
        }
        if let Ok(seen) = &seen {
            self.seen = Some((seen.clone(), Arc::new(sheet.clone())));
        }
        let result = seen.and_then(measured).map_err(reasons);
        tell(Answer::Measured { revision, result, passing: false });
    }

    fn change(&self, to: &Checked, from: &Checked) -> Change {
        let only_stream = Checked { stream: from.stream.clone(), ..to.clone() } == *from;
        let level = from.stream.level;
        if to.stream == from.stream || !only_stream || self.kept.ground.is_none() {
            Change::Other
        } else if (Stream { level, ..to.stream.clone() }) == from.stream {
            Change::Level
        } else {
            Change::Stream
        }
    }
}

/// What another sheet asks of the stations first, before the stream is looked for anew.
enum Change {
    /// Whether the stream still stands at its level.
    Level,
    /// New stations near the old ones: tone, areas, stations by hand.
    Stream,
    /// The old stations under another camera.
    Other,
}

fn job<'a>(
    name: &'a str,
    sheet: &'a Checked,
    set: &'a PhotoSet,
    notices: &[Notice],
    inputs: BTreeMap<String, String>,
) -> Job<'a> {
    let notices = notices.iter().chain(&set.notices).cloned().collect();
    let (photos, dry) = (set.photos.as_slice(), set.dry.as_ref());
    Job { sheet_name: name, sheet, photos, dry, notices, inputs, seed: load::SEED, draws: Draws::None }
}

fn file_key(path: PathBuf) -> FileKey {
    let about = std::fs::metadata(&path).ok();
    let changed = about.as_ref().and_then(|m| m.modified().ok());
    (path, changed, about.map_or(0, |m| m.len()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::command::Command;
    use crate::app::document::Document;
    use crate::app::state::State;
    use std::path::Path;

    fn answers(measurer: &mut Measurer, state: &State) -> Vec<Answer> {
        let document = state.document.as_ref().unwrap();
        let (revision, version) = (document.revision(), document.now().clone());
        let folder = document.folder().to_owned();
        let mut answers = Vec::new();
        measurer
            .answer(&Request { revision, version, name: document.name(), folder }, &|| false, &mut |a| answers.push(a));
        answers
    }

    fn speed(answer: &Answer) -> (f64, f64, bool) {
        let Answer::Measured { result: Ok(measured), passing, .. } = answer else { panic!("findings are expected") };
        let v = measured.findings.velocity.as_ref().unwrap();
        (v.value, v.u, *passing)
    }

    #[test]
    fn another_level_shows_new_stations_first_and_the_whole_search_agrees() {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/old-print-run11.toml");
        let mut state = State::default();
        state.show(Document::open(&path, &std::fs::read_to_string(&path).unwrap()));
        let mut measurer = Measurer::default();
        let first = answers(&mut measurer, &state);
        let [Answer::Pictures { .. }, Answer::Evidence { .. }, whole, Answer::Card { card: None, .. }] = &first[..]
        else {
            panic!("{} answers", first.len())
        };
        assert!(!speed(whole).2);
        state.apply(Command::Put { key: "stream.level".into(), typed: "0.15".into() });
        let again = answers(&mut measurer, &state);
        let [near, whole] = &again[..] else { panic!("{} answers: the photo is not read again", again.len()) };
        let ((near, u, passing), (whole, ..)) = (speed(near), speed(whole));
        assert!(passing && (near - whole).abs() < 0.1 * u, "{near} {whole} ± {u}");
    }
}
