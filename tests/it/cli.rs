//! Tests: cli.
