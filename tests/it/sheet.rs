//! Tests: sheet. Text to sheet, what is refused and where, what is assumed, and the way back.

mod full;
mod refused;
mod assumed;
mod written;
