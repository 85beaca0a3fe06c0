//! jet
