//! Published values: water.
