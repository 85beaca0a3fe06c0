//! What several test modules share.

pub mod carded;
pub mod drawn;
pub mod laid_out;
