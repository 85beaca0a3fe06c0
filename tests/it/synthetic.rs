//! Tests: synthetic.
