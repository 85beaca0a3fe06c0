//! What any stage may tell the user while the work goes on.

use serde::{Deserialize, Serialize};

/// How much hangs on a notice. The order is that in which notices are told: the gravest first.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "lowercase")]
pub enum Weight {
    /// A result may be wrong, or its interval too narrow.
    Doubt,
    /// Something was assumed, set aside or could not be had; the intervals hold it.
    #[default]
    Note,
    /// How the work went.
    Aside,
}

/// Something the user should know although the work went on.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Notice {
    /// The field of the sheet it is about, as a dotted key: `orifice.diameter`, `scale.marks`.
    pub about: String,
    /// What is the case, with the value seen; lower case, no full stop.
    pub says: String,
    /// What the user can do about it, if anything.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub hint: Option<String>,
    /// How much hangs on it.
    #[serde(skip_serializing_if = "is_note", default)]
    pub weight: Weight,
}

fn is_note(weight: &Weight) -> bool {
    *weight == Weight::Note
}

/// The gravest first; those of one weight stay in their order.
pub fn gravest_first(notices: &mut [Notice]) {
    notices.sort_by_key(|n| n.weight);
}

impl Notice {
    /// A notice without a hint.
    pub fn new(about: impl Into<String>, says: impl Into<String>) -> Self {
        Self { about: about.into(), says: says.into(), hint: None, weight: Weight::Note }
    }

    /// The same notice, of a result that may be wrong.
    #[must_use]
    pub fn doubt(self) -> Self {
        Self { weight: Weight::Doubt, ..self }
    }

    /// The same notice, of how the work went.
    #[must_use]
    pub fn aside(self) -> Self {
        Self { weight: Weight::Aside, ..self }
    }

    /// The same notice with a hint of what to do.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }
}

/// A value together with the notices that arose while it was made.
#[derive(Clone, Debug, PartialEq)]
pub struct Warned<T> {
    /// The value.
    pub value: T,
    /// What the user should know about it.
    pub notices: Vec<Notice>,
}
