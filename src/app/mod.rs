//! The desktop window: a laboratory data sheet beside the photo that fills it. A thin face over [`crate::measure`].
//!
//! ```text
//! views --commands--> state (one document: the sheet's text) --request--> worker
//!   ^-------------------- live findings <------ answers ---------------------'
//! ```
//! [`state::State::apply`] is the one place that changes what is stated; [`desk::Desk`] the one that touches files.
//! Views ([`photo_table`], [`sheet_panel`], [`strip`], [`runs`], [`menu`], [`start`]) show the state and return commands.

pub mod command;
pub mod line;
pub mod shown;
pub mod stated;
pub mod marks;
pub mod document;
pub mod measurer;
pub mod worker;
pub mod state;
mod desk;
mod guide;
mod help;
mod keys;
mod look;
mod menu;
pub mod palette;
pub mod level;
pub mod photo_table;
pub mod runs;
mod sheet_panel;
mod start;
mod strip;
pub mod window;

use eframe::egui;
use std::path::PathBuf;
use std::process::ExitCode;

/// Opens the window; ends with 2 where there is no display to open it on.
pub fn run(open: Option<PathBuf>) -> ExitCode {
    let told = |why: &str| {
        use std::io::Write;
        // a closed stderr cannot be told about
        let _ = writeln!(std::io::stderr(), "{why}");
        ExitCode::from(2)
    };
    let set = |name: &str| std::env::var_os(name).is_some_and(|v| !v.is_empty());
    if cfg!(target_os = "linux") && !set("DISPLAY") && !set("WAYLAND_DISPLAY") {
        return told(
            "no display to open a window on; use `trajet new`, `trajet measure` and `trajet report`, or set DISPLAY",
        );
    }
    let viewport = egui::ViewportBuilder::default()
        .with_title("Trajet")
        .with_inner_size([1270.0, 760.0])
        .with_min_inner_size([800.0, 560.0])
        // large type on a small screen: no more than the screen has
        .with_clamp_size_to_monitor_size(true);
    let options = eframe::NativeOptions { viewport, ..Default::default() };
    let data = desk::Desk::data_folder();
    let window =
        |cc: &eframe::CreationContext| -> window::Window { window::Window::new(&cc.egui_ctx, open, data.as_deref()) };
    match eframe::run_native("trajet", options, Box::new(|cc| Ok(Box::new(window(cc))))) {
        Ok(()) => ExitCode::SUCCESS,
        Err(eframe::Error::Winit(_) | eframe::Error::WinitEventLoop(_)) => told(
            "no display answers where DISPLAY or WAYLAND_DISPLAY say; set them right, or use `trajet new`, `trajet measure` and `trajet report`",
        ),
        Err(e) => told(&format!(
            "no window can be opened: {e}; install the system's OpenGL library (libgl1), or use `trajet measure` without a window"
        )),
    }
}
