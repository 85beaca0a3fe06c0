//! The dry photo: whether it helps is asked of the stream itself.
//!
//! Taking the dry photo off clears away what stands behind the stream, at the price of its noise. Before a plain board
//! there is nothing to clear away and the single photo is as good: on four rendered pairs before a dark board the
//! stations lay 0.73, 0.86, 0.91, 0.81 px rms from truth without and 0.75, 0.88, 0.89, 0.79 px with the difference. So both
//! are traced, and the difference decides only where it shows the stream clearly better.

use crate::jet::{self, NoStream, Prospect, Trace};
use crate::notice::{Notice, Warned};
use crate::photo::{Beyond, Photo};

/// How many times more the difference must tell of the stream's course before it decides.
const CLEARLY: f64 = 1.5;

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
        (Ok(plain), Ok(bared)) if knows(&bared.value) > CLEARLY * knows(&plain.value) => {
            tell("the stream is measured in what the photo shows beyond the dry photo");
            bared
        }
        (Err(_), Ok(bared)) => {
            tell("only what the photo shows beyond the dry photo shows the stream: it is measured there");
            bared
        }
        (Ok(plain), _) => {
            tell("the dry photo shows the stream no better than the photo alone, which is measured");
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
