//! Published values: coefficients.
