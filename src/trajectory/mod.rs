//! trajectory
