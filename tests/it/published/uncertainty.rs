//! Published values: uncertainty.
