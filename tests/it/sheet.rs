//! Tests: sheet.
