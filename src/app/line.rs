//! The lines of the sheet, in the order of the job.

/// A line of the sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Line {
    /// The photo, burst or dry photo.
    Photo,
    /// Which way is down.
    Down,
    /// How big a pixel is: scales, plane marks, camera, lens.
    Scale,
    /// Orifice centre, diameter, edge.
    Orifice,
    /// Where the stream is.
    Stream,
    /// Trajectory and velocity.
    Trajectory,
    /// Head.
    Head,
    /// Discharge.
    Discharge,
    /// Coefficients, losses, numbers of the flow.
    Coefficients,
    /// Beside published values.
    Published,
    /// Report, tables, series.
    Record,
}

impl Line {
    /// All lines from the top.
    pub const ALL: [Self; 11] = [
        Self::Photo,
        Self::Down,
        Self::Scale,
        Self::Orifice,
        Self::Stream,
        Self::Trajectory,
        Self::Head,
        Self::Discharge,
        Self::Coefficients,
        Self::Published,
        Self::Record,
    ];

    /// Its number on the sheet, from 1.
    pub fn number(self) -> usize {
        self as usize + 1
    }

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Photo => "Photo",
            Self::Down => "Down",
            Self::Scale => "Scale",
            Self::Orifice => "Orifice",
            Self::Stream => "Stream",
            Self::Trajectory => "Trajectory",
            Self::Head => "Head",
            Self::Discharge => "Discharge",
            Self::Coefficients => "Coefficients",
            Self::Published => "Published",
            Self::Record => "Record",
        }
    }

    /// The line that a key of the sheet, or of a fault or notice, belongs to.
    pub fn of_key(key: &str) -> Self {
        let word = |c: char| !(c.is_alphanumeric() || c == '_');
        let mut parts = key.split(word).filter(|p| !p.is_empty());
        match (parts.next().unwrap_or(""), parts.next().unwrap_or("")) {
            ("photo", _) | ("format", _) | ("title", _) | ("", _) => Self::Photo,
            ("vertical", _) => Self::Down,
            ("scale" | "plane" | "card" | "camera" | "lens" | "calibration", _) => Self::Scale,
            ("orifice", _) => Self::Orifice,
            ("stream", _) => Self::Stream,
            ("trajectory" | "velocity" | "launch_angle", _) => Self::Trajectory,
            ("head" | "site", _) => Self::Head,
            ("flow" | "discharge" | "water", _) => Self::Discharge,
            ("published", _) => Self::Published,
            _ => Self::Coefficients,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::KEYS;

    #[test]
    fn every_key_of_the_sheet_has_the_line_where_it_is_edited() {
        for key in KEYS {
            assert_ne!(Line::of_key(key.path), Line::Coefficients, "{}", key.path);
        }
        assert_eq!(Line::of_key("flow.timed[2].time"), Line::Discharge);
        assert_eq!(Line::of_key("scale[1].marks[2].px"), Line::Scale);
    }

    #[test]
    fn numbers_follow_the_order() {
        assert!(Line::ALL.iter().enumerate().all(|(i, line)| line.number() == i + 1));
    }
}
