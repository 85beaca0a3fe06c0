//! Tests: photo.
