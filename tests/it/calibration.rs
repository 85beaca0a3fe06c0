//! Tests: calibration.
