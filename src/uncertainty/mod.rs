//! uncertainty
