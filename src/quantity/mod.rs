//! Values with a unit and a standard uncertainty; knows nothing of jets.
//!
//! [`read`] and [`write`](fn@write) turn text into a [`Reading`] and back; [`show`](fn@show) and its
//! siblings print every number that a person sees.

mod kind;
pub mod units;
mod text;
mod rounding;

pub use kind::{Celsius, Kind};
pub use rounding::{Rounded, round, show, show_change, show_in_u, show_interval, show_plain, show_value, two_digits};
pub use text::{TextError, Why, read, write};
pub use uom::si::f64::{
    Acceleration, Angle, Area, Length, Mass, Power, Pressure, Ratio, Time, Velocity, Volume, VolumeRate,
};

/// A value as somebody stated it, with its standard uncertainty where one was stated.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading<Q> {
    /// The value.
    pub value: Q,
    /// Its standard uncertainty, of the same kind; `None` where none was stated.
    pub u: Option<Q>,
}

impl<Q> Reading<Q> {
    /// A reading without a stated uncertainty.
    pub const fn exact(value: Q) -> Self {
        Self { value, u: None }
    }

    /// A reading with a standard uncertainty.
    pub const fn with_u(value: Q, u: Q) -> Self {
        Self { value, u: Some(u) }
    }
}
