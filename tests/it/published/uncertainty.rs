//! The Guide to the expression of uncertainty in measurement (JCGM 100:2008, "GUM"), its
//! Supplement 1 (JCGM 101:2008) and a measurement guide with an exact answer.

mod gum;
mod supplement_1;
mod distributions;
