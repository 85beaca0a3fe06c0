//! Colours of what is drawn on photos and in strips.
//!
//! M. Okabe, K. Ito, Color Universal Design, 2002: eight colours told apart under all common forms of colour
//! vision. The values are those of the published set. Kinds are told apart by shape as well: colour never stands alone.

use eframe::egui::Color32;

/// Orange.
pub const ORANGE: Color32 = Color32::from_rgb(230, 159, 0);
/// Sky blue.
pub const SKY: Color32 = Color32::from_rgb(86, 180, 233);
/// Bluish green.
pub const GREEN: Color32 = Color32::from_rgb(0, 158, 115);
/// Yellow.
pub const YELLOW: Color32 = Color32::from_rgb(240, 228, 66);
/// Blue.
pub const BLUE: Color32 = Color32::from_rgb(0, 114, 178);
/// Vermillion.
pub const VERMILLION: Color32 = Color32::from_rgb(213, 94, 0);
/// Reddish purple.
pub const PURPLE: Color32 = Color32::from_rgb(204, 121, 167);

/// What is in hand, everywhere.
pub const IN_HAND: Color32 = VERMILLION;
/// The stream's stations.
pub const STATIONS: Color32 = SKY;
/// The stream's edges.
pub const EDGES: Color32 = GREEN;
/// The fitted trajectory.
pub const FITTED: Color32 = YELLOW;
/// The path without loss.
pub const PREDICTED: Color32 = PURPLE;
/// Marks that are not in hand.
pub const MARKS: Color32 = Color32::WHITE;
/// What the threshold sees.
pub const EVIDENCE: Color32 = ORANGE;
