//! Pixel <-> bench millimetre.
