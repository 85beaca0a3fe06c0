//! What any stage may tell the user while the work goes on.

use serde::{Deserialize, Serialize};

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
}

impl Notice {
    /// A notice without a hint.
    pub fn new(about: impl Into<String>, says: impl Into<String>) -> Self {
        Self { about: about.into(), says: says.into(), hint: None }
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
