//! Trajet turns a photo of a free water jet leaving an orifice into the jet's velocity and
//! the orifice's coefficients, each with its uncertainty.
//!
//! ```text
//! sheet -> photo -> calibration -> jet -> trajectory -> hydraulics -> measure -> report | cli, app
//!                                                          uncertainty ---^
//! ```
//!
//! Modules stand in the order of the data's way; each uses only those above it. Nothing
//! below [`cli`] and the window opens a file, reads a clock or a seed of its own: bytes and seeds are
//! arguments. Spaces and their units are told in [`point`].

pub mod notice;
pub mod point;
pub mod statistics;
pub mod quantity;
pub mod card;
pub mod sheet;
pub mod photo;
pub mod calibration;
pub mod jet;
pub mod trajectory;
pub mod hydraulics;
pub mod uncertainty;
pub mod measure;
pub mod report;
pub mod cli;
#[cfg(feature = "app")]
pub mod app;
