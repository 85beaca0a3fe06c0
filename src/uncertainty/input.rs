//! One input quantity of a measurement model.

/// How the knowledge about an input is spread around its value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shape {
    /// Normal: JCGM 101:2008, 6.4.7.
    Normal,
    /// Equally likely within two limits, half-width sqrt(3) u: JCGM 101:2008, 6.4.2.
    Rectangular,
    /// Symmetric triangle between two limits, half-width sqrt(6) u: JCGM 101:2008, 6.4.5.
    Triangular,
    /// Student t around the value with scale `u`, as from few repeated readings: JCGM 101:2008,
    /// 6.4.9. Its standard deviation is u sqrt(dof/(dof - 2)), wider than the `u` that the
    /// linear budget uses; for `dof` up to 2 it has none.
    T {
        /// Degrees of freedom.
        dof: f64,
    },
}

/// One input quantity: its value, what is known about it, and the row of the budget it goes to.
#[derive(Clone, Debug, PartialEq)]
pub struct Input {
    /// Name of its row in the budget, `scale.length`. Inputs that share a name share a row.
    pub name: String,
    /// The best estimate.
    pub value: f64,
    /// Its standard uncertainty, in the same unit; 0 for an exact value.
    pub u: f64,
    /// Degrees of freedom of `u`; infinite when `u` is stated and not doubted. The linear budget
    /// looks at this, Monte Carlo at `shape` only: an input of few degrees of freedom whose shape is normal
    /// widens the linear interval alone, and the two will then differ.
    pub dof: f64,
    /// Unit of `value` and `u`; empty for a pure number.
    pub unit: &'static str,
    /// The distribution that Monte Carlo draws from.
    pub shape: Shape,
}

impl Input {
    /// A normal input with standard uncertainty `u`, not doubted.
    pub fn normal(name: impl Into<String>, value: f64, u: f64, unit: &'static str) -> Self {
        Self { name: name.into(), value, u, dof: f64::INFINITY, unit, shape: Shape::Normal }
    }

    /// An input known only to lie within `value` ± `half_width`: u = half_width/sqrt(3), JCGM 100:2008, 4.3.7.
    pub fn rectangular(name: impl Into<String>, value: f64, half_width: f64, unit: &'static str) -> Self {
        Self { shape: Shape::Rectangular, ..Self::normal(name, value, half_width / 3.0_f64.sqrt(), unit) }
    }

    /// An input within `value` ± `half_width`, more likely near the middle: u = half_width/sqrt(6), JCGM 100:2008, 4.3.9.
    pub fn triangular(name: impl Into<String>, value: f64, half_width: f64, unit: &'static str) -> Self {
        Self { shape: Shape::Triangular, ..Self::normal(name, value, half_width / 6.0_f64.sqrt(), unit) }
    }

    /// The mean of repeated readings: `u` is their s/sqrt(n), `dof` is n - 1.
    pub fn from_readings(name: impl Into<String>, value: f64, u: f64, dof: f64, unit: &'static str) -> Self {
        Self { dof, shape: Shape::T { dof }, ..Self::normal(name, value, u, unit) }
    }

    /// The same input with a doubted `u`: its degrees of freedom, JCGM 100:2008, G.4.2.
    #[must_use]
    pub fn with_dof(self, dof: f64) -> Self {
        Self { dof, ..self }
    }

    /// Whether value, uncertainty and degrees of freedom can be worked with.
    ///
    /// # Errors
    /// A value that is not finite, an uncertainty that is negative or not finite, degrees of
    /// freedom that are not above zero (of the input or of its shape).
    pub fn check(&self) -> Result<(), BadInput> {
        let bad = |what: &'static str, seen: f64| Err(BadInput { name: self.name.clone(), what, seen });
        let dof_is_bad = |dof: f64| dof.is_nan() || dof <= 0.0;
        if !self.value.is_finite() {
            return bad("a value", self.value);
        }
        if !self.u.is_finite() || self.u < 0.0 {
            return bad("a standard uncertainty", self.u);
        }
        if dof_is_bad(self.dof) {
            return bad("degrees of freedom", self.dof);
        }
        match self.shape {
            Shape::T { dof } if dof_is_bad(dof) => bad("degrees of freedom of its distribution", dof),
            _ => Ok(()),
        }
    }
}

/// An input that cannot be worked with.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error(
    "input `{name}` has {what} of {seen}; give a finite value, an uncertainty of zero or more, and degrees of freedom above zero"
)]
pub struct BadInput {
    /// The input's name.
    pub name: String,
    /// Which of its numbers.
    pub what: &'static str,
    /// The number.
    pub seen: f64,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_widths_become_standard_uncertainties() {
        assert!((Input::rectangular("a", 1.0, 3.0, "mm").u - 3.0_f64.sqrt()).abs() < 1e-15);
        assert!((Input::triangular("a", 1.0, 6.0, "mm").u - 6.0_f64.sqrt()).abs() < 1e-15);
    }

    #[test]
    fn impossible_numbers_are_told_apart() {
        let ok = Input::normal("a", 1.0, 0.1, "mm");
        assert_eq!(ok.check(), Ok(()));
        let u = Input { u: -0.1, ..ok.clone() }.check().unwrap_err();
        assert!(u.to_string().contains("`a` has a standard uncertainty of -0.1"), "{u}");
        assert!(Input { value: f64::NAN, ..ok.clone() }.check().is_err());
        assert!(Input { dof: 0.0, ..ok.clone() }.check().is_err());
        assert!(Input::from_readings("t", 1.0, 0.1, f64::NAN, "s").check().is_err());
    }
}
