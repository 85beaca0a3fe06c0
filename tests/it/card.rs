//! The scale card: printed at true size, found in rendered views of known pose, adjusted with all else.

mod found;
mod plane;
mod printed;
mod stated;
