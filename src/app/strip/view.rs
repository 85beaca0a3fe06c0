//! What the strip can show, and which of it belongs to a line.

use super::{across, cv, filling};
use crate::app::line::Line;
use crate::app::measurer::Measured;
use crate::app::state::State;
use crate::report::figure::{self, Drawn};

/// One figure of the strip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum View {
    /// Off the trajectory at each station.
    Off,
    /// V from each station alone.
    Velocity,
    /// Cv from each station alone.
    Cv,
    /// Width of the stream.
    Width,
    /// Volume caught against time.
    Filling,
    /// Edges across the stream, with the level.
    Across,
}

impl View {
    /// All of them.
    pub const ALL: [Self; 6] = [Self::Off, Self::Velocity, Self::Cv, Self::Width, Self::Across, Self::Filling];

    /// What its button says.
    pub fn name(self) -> &'static str {
        match self {
            Self::Off => "off the trajectory",
            Self::Velocity => "V by station",
            Self::Cv => "Cv by station",
            Self::Width => "stream width",
            Self::Filling => "filling",
            Self::Across => "across the stream",
        }
    }

    /// What is shown while a line is in hand.
    pub fn of(line: Line) -> Self {
        match line {
            Line::Trajectory => Self::Velocity,
            Line::Coefficients | Line::Published => Self::Cv,
            Line::Orifice => Self::Width,
            Line::Discharge => Self::Filling,
            Line::Stream => Self::Across,
            _ => Self::Off,
        }
    }

    /// Its figure.
    ///
    /// # Errors
    /// Why there is none.
    pub fn figure(self, state: &State, measured: &Measured) -> Drawn {
        match self {
            Self::Off => figure::residuals(&measured.findings),
            Self::Velocity => figure::velocity(&measured.findings),
            Self::Cv => cv::figure(&measured.findings),
            Self::Width => figure::width(&measured.findings),
            Self::Across => across::figure(&measured.findings, state.live.evidence.as_deref(), state.level()),
            Self::Filling => filling::figure(measured.sheet.flow.as_ref(), &measured.findings),
        }
    }
}
