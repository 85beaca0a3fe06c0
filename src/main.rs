//! The `trajet` program: what was typed goes to [`trajet::cli::run`].

fn main() -> std::process::ExitCode {
    trajet::cli::run(std::env::args_os())
}
