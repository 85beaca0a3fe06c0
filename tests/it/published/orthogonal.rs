//! Published values: orthogonal.
