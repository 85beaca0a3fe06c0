//! The dry photo: the stream is measured in what a photo shows beyond it.
//!
//! Taking the dry photo off clears away what stands behind the stream, and the silhouette becomes the outermost change
//! there is. Its noise hardly comes along, since it is smoothed where the dry photo is even. The photo alone is traced
//! too: where both have the same stream, each misplaces it for reasons of its own and the mean is nearer than either; where the
//! pair does not fit well enough (a bench that was moved, light that changed), the photo alone may still know more.

use crate::jet::{self, NoStream, Prospect, Trace};
use crate::notice::{Notice, Warned};
use crate::photo::{Beyond, Photo};

/// How many times more the photo alone must tell of the stream's course before it decides.
const CLEARLY: f64 = 2.0;

/// The stream in a photo, with the help of its dry photo where there is one.
///
/// # Errors
/// [`NoStream`] where neither way shows a stream.
pub(crate) fn wet(photo: &Photo, dry: Option<&Photo>, prospect: &Prospect) -> Result<Warned<Trace>, NoStream> {
    let plain = jet::trace(photo, prospect);
    let Some(dry) = dry else { return plain };
    let beyond = match Beyond::new(photo, dry) {
        Ok(beyond) => beyond,
        Err(no_match) => {
            let says = format!("the dry photo does not match the photo and is left out: {no_match}");
            let notice = Notice::new("photo.dry", says).hint("leave photo.dry out, or name the right one");
            return plain.map(|plain| with(plain, vec![notice]));
        }
    };
    let mut told = beyond.notices;
    let mut tell = |says: &str| told.push(Notice::new("photo.dry", says));
    let chosen = match (plain, jet::trace_beyond(&beyond.value, prospect)) {
        (Ok(plain), Ok(bared)) if CLEARLY * knows(&bared.value) > knows(&plain.value) => {
            tell("the stream is measured in what the photo shows beyond the dry photo");
            Warned { value: bared.value.joined(&plain.value), notices: bared.notices }
        }
        (Err(_), Ok(bared)) => {
            tell("only what the photo shows beyond the dry photo shows the stream: it is measured there");
            bared
        }
        (Ok(plain), _) => {
            tell("the photo alone shows the stream better than what it shows beyond the dry photo, and is measured");
            plain
        }
        (Err(neither), Err(_)) => return Err(neither),
    };
    Ok(with(chosen, told))
}

/// What the stations tell of the course together: the sum of 1/u^2 over those that keep to it.
fn knows(trace: &Trace) -> f64 {
    trace.stations.iter().filter(|s| s.sound).map(|s| s.u_px.powi(-2)).sum()
}

fn with(mut found: Warned<Trace>, notices: Vec<Notice>) -> Warned<Trace> {
    found.notices.extend(notices);
    found
}
