//! Ctrl-C: what is at work is finished, nothing new is begun, and no part of a file is left.

use super::{files, say};
use std::sync::Once;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Exit status of a program that Ctrl-C ended, by the shells' convention: 128 and the signal's number, 2.
pub(crate) const STATUS: u8 = 130;

static ASKED: AtomicUsize = AtomicUsize::new(0);

/// From now on Ctrl-C asks to stop; asked again, the program ends as soon as no file is being written.
pub(crate) fn listen() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        // where no handler can be set Ctrl-C ends the program as it always did
        let _ = ctrlc::set_handler(|| {
            if ASKED.fetch_add(1, Ordering::SeqCst) == 0 {
                say::line("stopping: sheets at work are finished first; once more stops at once");
            } else {
                let _settled = files::settled();
                std::process::exit(i32::from(STATUS));
            }
        });
    });
}

/// Whether it was asked for.
pub(crate) fn asked() -> bool {
    ASKED.load(Ordering::SeqCst) > 0
}
