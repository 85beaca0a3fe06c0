//! Tests: what goes wrong on a bench. Each is told by name with what to do, ends with the right status, and leaves
//! every file as it was.

mod file;
mod marks;
mod output;
mod photo;
mod sheet;

use crate::support::laid_out::{LaidOut, Told, sheet_for};

/// Runs the program on what lies there; no file may have changed, come or gone.
fn untouched(bench: &LaidOut, args: &[&str]) -> Told {
    let before = bench.contents();
    let told = bench.run(args);
    assert!(bench.contents() == before, "a file changed: {args:?}\n{}", told.err);
    told
}

/// It ended with this status, printed nothing as a result, and said each of these on stderr.
fn refused(told: &Told, status: i32, says: &[&str]) {
    assert_eq!(told.status, status, "{}", told.err);
    assert_eq!(told.out, "");
    for text in says {
        assert!(told.err.contains(text), "nothing of `{text}` in:\n{}", told.err);
    }
}

/// A sheet in which `from` is replaced by `to`.
fn altered(changes: &[(&str, &str)]) -> String {
    let mut text = sheet_for("jet.png");
    for (from, to) in changes {
        assert!(text.contains(from), "{from}");
        text = text.replace(from, to);
    }
    text
}
