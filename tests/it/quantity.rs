//! Tests: quantity.
