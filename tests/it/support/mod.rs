//! What several test modules share.

pub mod drawn;
pub mod laid_out;
