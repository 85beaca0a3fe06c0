//! Published values: nist.
