//! The papers that cards and records are printed on.

/// A paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Paper {
    /// 210 mm x 297 mm (ISO 216).
    #[default]
    A4,
    /// 297 mm x 420 mm (ISO 216).
    A3,
    /// 8.5 in x 11 in.
    Letter,
}

impl Paper {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::A4, Self::A3, Self::Letter];

    /// Width and height in mm.
    pub fn size_mm(self) -> [f64; 2] {
        match self {
            Self::A4 => [210.0, 297.0],
            Self::A3 => [297.0, 420.0],
            Self::Letter => [215.9, 279.4],
        }
    }

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::A3 => "A3",
            Self::Letter => "Letter",
        }
    }
}
