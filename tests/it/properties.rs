//! Tests: properties.
