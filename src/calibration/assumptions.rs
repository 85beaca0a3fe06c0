//! What is assumed of a camera, a lens, a ruler, where the sheet says nothing: standard
//! uncertainties of the priors, in one place.

/// How far from square to the jet's plane somebody who tries to stand square stands: 2.5 deg in yaw and in
/// pitch. Common practice, no source; cameras of bench photos we know are 1 to 5 deg off.
pub(super) const SQUARENESS_DEG: f64 = 2.5;
/// Radial distortion where nothing tells of it: 3 % at the corner. Common practice, no source: phones and modern
/// cameras correct their own to a few tenths of a percent, uncorrected lenses show 1 to 3 %, some more, and a
/// photo does not tell which it is.
pub(super) const K1_PRIOR: f64 = 0.03;
/// The r^4 term of such a lens. Common practice, no source.
pub(super) const K2_PRIOR: f64 = 0.003;
/// How far the lens' axis meets the photo from its middle, as a share of the half-diagonal: 1 % for a photo
/// with its metadata, 4 % for a scan or a picture that may be cropped. Common practice, no source.
pub(super) const AXIS_SHARE: f64 = 0.01;
pub(super) const AXIS_SHARE_SCAN: f64 = 0.04;
/// Uncertainty of a focal length from metadata: it is rounded, makers differ between diagonal and long side
/// (4 % for a 4:3 picture), and it breathes with the focus. Common practice, no source.
pub(super) const METADATA_FOCAL: f64 = 0.07;
/// Focal length where nothing is known, 35 mm equivalent in mm and its relative uncertainty: 26 mm (a
/// phone) and 65 mm (a portrait lens) lie one standard uncertainty out. Common practice, no source.
pub(super) const UNKNOWN_FOCAL_MM: f64 = 40.0;
pub(super) const UNKNOWN_FOCAL: f64 = 0.5;
/// Diagonal of the 36 mm x 24 mm frame that "35 mm equivalent" refers to (CIPA DCG-001).
pub(super) const FULL_FRAME_DIAGONAL_MM: f64 = 43.27;
/// How upright a photo is held when nobody marks the vertical. Common practice, no source.
pub(super) const UPRIGHT_DEG: f64 = 1.0;
/// How true a thing is that passes for vertical or level: 1 mm in a metre, what a spirit level or a string in
/// moving air holds. Common practice, no source.
pub(super) const TRUE_DEG: f64 = 0.06;
/// How true the graduation of a ruler is as a whole, besides the reading of each mark: 0.3 mm in a metre, a
/// workshop ruler. Common practice, no source; paper and plastic can be ten times worse.
pub(super) const RULER_TRUE: f64 = 3e-4;
/// How differently a printer stretches along and across its feed, as a share: 0.2 mm in 100 mm. Common practice, no source.
pub(super) const PRINT_ASPECT: f64 = 2e-3;
/// No mark is better than this, whatever is stated: keeps weights finite.
pub(super) const LEAST_U_PX: f64 = 1e-3;
