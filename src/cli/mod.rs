//! The command line: a thin face over [`crate::measure`].

/// Runs the program with what was typed.
pub fn run(_args: impl IntoIterator<Item = std::ffi::OsString>) -> std::process::ExitCode {
    std::process::ExitCode::from(2)
}
