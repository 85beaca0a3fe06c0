//! Why a text is no quantity.

/// Why a text was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// There is nothing.
    Empty,
    /// No number where one should stand.
    NoNumber,
    /// A comma in a number.
    DecimalComma,
    /// Too large, infinite, or not a number.
    NotFinite,
    /// A number without a unit.
    NoUnit,
    /// A unit that is known nowhere.
    UnknownUnit,
    /// A unit of another kind, which is named.
    OtherKind(&'static str),
    /// A unit that is one thing in the US and another in the imperial system.
    TwoMeanings,
    /// An uncertainty below zero.
    NegativeUncertainty,
    /// An uncertainty in per cent of something that has no such.
    RelativeUncertainty,
    /// An expanded uncertainty with its coverage factor.
    CoverageFactor,
    /// Something that does not belong there.
    Unexpected,
}

/// A text that is no quantity of the kind asked for.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{says}")]
pub struct TextError {
    /// Why.
    pub why: Why,
    /// The part of the text that is at fault.
    pub part: String,
    /// What is wrong, in words; lower case, no full stop.
    pub says: String,
    /// What would be accepted.
    pub hint: Option<String>,
}

impl TextError {
    pub(super) fn new(why: Why, part: impl Into<String>, says: impl Into<String>) -> Self {
        Self { why, part: part.into(), says: says.into(), hint: None }
    }

    pub(super) fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }
}
