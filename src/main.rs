//! The `trajet` program: what was typed goes to [`trajet::cli::run`], and the window opens where it asks for one.

fn main() -> std::process::ExitCode {
    trajet::cli::run(std::env::args_os(), open)
}

#[cfg(feature = "app")]
fn open(path: Option<std::path::PathBuf>) -> std::process::ExitCode {
    trajet::app::run(path)
}

#[cfg(not(feature = "app"))]
fn open(_: Option<std::path::PathBuf>) -> std::process::ExitCode {
    use std::io::Write;
    // a closed stderr cannot be told about
    let _ =
        writeln!(std::io::stderr(), "this program was built without its window; see `trajet --help` for the commands");
    std::process::ExitCode::from(2)
}
