//! What can be typed; nothing is decided here.

use crate::measure::Draws;
use clap::{Args, Parser, Subcommand};
use std::path::PathBuf;

/// From a photo of a free water jet to its velocity and the orifice's coefficients, each with its uncertainty.
#[derive(Debug, Parser)]
#[command(
    name = "trajet",
    version,
    after_help = "Examples:\n  \
        trajet                            open the window\n  \
        trajet new run1.jpg               write a starter sheet beside the photo\n  \
        trajet measure run1.toml          measure it\n  \
        trajet measure *.toml --json      several, as one JSON array\n  \
        trajet measure runs --into found  every sheet below a folder, findings into another\n  \
        trajet series plate-c.toml        several runs of one orifice together\n\n\
        Exit status: 0 measured, 1 refused by the sheet or the photo, 2 wrong usage or a file that cannot be read or written, \
        130 stopped by Ctrl-C.\n\n\
        Water and electricity: supply pumps and lamps through a 30 mA RCD (GFCI), keep the floor dry, wear goggles where a \
        jet runs at eye height. Results are not for custody transfer or licensed design."
)]
pub struct Cli {
    /// What to do; the window where nothing is said.
    #[command(subcommand)]
    pub command: Option<Command>,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Open the window with a sheet, or with a photo to begin one.
    Open(Open),
    /// Measure one or several sheets.
    Measure(Measure),
    /// Analyse several runs of one orifice together.
    Series(super::series::Args),
    /// Write the record of a measurement as HTML or PDF, its figures, or a workbook.
    Report(super::report::Report),
    /// Write a scale card to print and stand in the jet's plane.
    #[cfg(feature = "pdf")]
    Card(super::card::CardArgs),
    /// Write a starter sheet beside each photo, filled from the photo's own metadata.
    New(New),
}

/// `trajet open`
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  trajet open plate-c-run2.toml\n  trajet open run1.jpg      begins a sheet for it")]
pub struct Open {
    /// A bench sheet (TOML) or a photo.
    #[arg(value_name = "SHEET or PHOTO")]
    pub file: Option<PathBuf>,
}

/// `trajet measure`
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  \
    trajet measure plate-c-run2.toml\n  \
    trajet measure plate-c-run2.toml --stations stations.csv\n  \
    trajet measure run*.toml --json --jobs 2 > findings.json\n  \
    trajet measure runs --into found        every sheet below runs; run again, it goes on where it was stopped\n\n\
    With --into, findings of a/run1.toml become FOLDER/a/run1.json. A sheet is skipped where they are there already and \
    its hash, those of its photos and the program's version are still the same.")]
pub struct Measure {
    /// The sheets.
    #[command(flatten)]
    pub which: super::gather::Which,
    /// Print the findings as JSON: one object for one sheet, an array for several.
    #[arg(long)]
    pub json: bool,
    /// Write the findings of each sheet into this folder, as JSON, and skip what is there already.
    #[arg(long, value_name = "FOLDER", conflicts_with = "json")]
    pub into: Option<PathBuf>,
    /// Also write every station to this CSV file.
    #[arg(long, value_name = "CSV")]
    pub stations: Option<PathBuf>,
    /// Also propagate by Monte Carlo (JCGM 101) with so many draws, or `auto`: until two digits of every standard
    /// uncertainty are stable, at most 1000000. The intervals stand beside the budget's.
    #[arg(long, value_name = "N", value_parser = draws)]
    pub draws: Option<Draws>,
    /// Sheets measured at the same time, each on one core with its photos in memory; left out, on all cores.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    pub jobs: Option<u16>,
    /// No notices and no progress on stderr; faults are told all the same.
    #[arg(long, short)]
    pub quiet: bool,
}

impl Measure {
    /// The draws, none where none are asked for.
    pub fn draws(&self) -> Draws {
        self.draws.unwrap_or_default()
    }
}

/// How many draws, as typed.
pub(super) fn draws(text: &str) -> Result<Draws, String> {
    let (least, most) = (10_000, 10_000_000);
    match text.parse::<u64>() {
        _ if text.eq_ignore_ascii_case("auto") => Ok(Draws::Adaptive),
        Ok(n) if (least..=most).contains(&n) => Ok(Draws::Fixed(n)),
        _ => Err(format!("a whole number from {least} to {most}, or auto")),
    }
}

/// `trajet new`
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  trajet new run1.jpg      writes run1.toml beside it")]
pub struct New {
    /// Photos.
    #[arg(required = true, value_name = "PHOTO")]
    pub photos: Vec<PathBuf>,
}
