//! Tests: bad_input.
