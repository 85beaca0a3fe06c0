//! Talking to the person: faults and notices on stderr, results on stdout.

use crate::notice::Notice;
use std::io::{IsTerminal, Write};

/// Writes to stdout; a reader that has gone away (`| head`) is no failure.
pub(crate) fn result(text: &[u8]) -> Result<(), std::io::Error> {
    let mut out = std::io::stdout().lock();
    match out.write_all(text).and_then(|()| out.flush()) {
        Err(e) if e.kind() == std::io::ErrorKind::BrokenPipe => Ok(()),
        other => other,
    }
}

/// One line (or more) on stderr. What a sheet or a file name brings along cannot steer the terminal.
pub(crate) fn line(text: &str) {
    let _ = writeln!(std::io::stderr().lock(), "{}", crate::report::printable(text));
}

/// Notices of one sheet, each with its hint.
pub(crate) fn notices(sheet: &str, notices: &[Notice]) {
    if notices.is_empty() {
        return;
    }
    let mut text = format!("{sheet}: {} {}", notices.len(), if notices.len() == 1 { "notice" } else { "notices" });
    for n in notices {
        text.push_str(&format!("\n  {}: {}", n.about, n.says));
        if let Some(hint) = &n.hint {
            text.push_str(&format!("\n      {hint}"));
        }
    }
    line(&text);
}

/// Whether stdout takes colour: a terminal, and `NO_COLOR` not set (no-color.org).
pub(crate) fn takes_colour() -> bool {
    std::io::stdout().is_terminal() && std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty())
}
