//! How a camera moved between two photos of one bench: shift, small turn, exposure.
//!
//! ```text
//! photos --levels--> two pyramids of plates (`level`)
//!        --search--> shifts and turns that might be (`search`), from the coarsest plate on
//!        --refine--> each of them to a fraction of a pixel (`refine`), level by level
//!        --verdict-> the one that the parts of the picture vote for, or a refusal (`verdict`)
//!        --exposure-> how light differs, from all of the view (`exposure`)
//! ```
//! A pattern that repeats itself (squared paper, bricks) fits at every period. So all shifts that fit are followed down
//! the pyramid, and what does not repeat decides between them: each cell of a grid has one vote, so that neither the many
//! cells of the pattern, which fit either way, nor splash, which fits neither way, lead.
//!
//! Points are transformed; the photos themselves stay as they are.

mod exposure;
mod level;
mod refine;
mod search;
mod verdict;

use super::{Mix, Photo};
use crate::point::PixelPoint;
use thiserror::Error;

/// Why two photos could not be brought onto one another.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum NoMatch {
    /// Sizes differ.
    #[error(
        "it is {width} x {height} pixels, the other {of_width} x {of_height}; \
         use photos of one camera at one setting, neither cropped nor scaled"
    )]
    Size {
        /// Width in pixels.
        width: usize,
        /// Height in pixels.
        height: usize,
        /// Width of the photo it is laid on.
        of_width: usize,
        /// Height of the photo it is laid on.
        of_height: usize,
    },
    /// The pictures do not agree anywhere near each other.
    #[error(
        "it does not show the same view: after the best shift and turn {:.0} % of it agree ({:.0} % are needed); \
         use photos taken from one tripod, with the same zoom, of an unmoved bench",
        agreement * 100.0, needed * 100.0
    )]
    Scene {
        /// Share of the parts of the picture that agree after registration.
        agreement: f64,
        /// The least that is taken for the same view.
        needed: f64,
    },
    /// The pictures agree as well one period of a pattern further.
    #[error(
        "its pattern repeats itself: moved by {:.0} px to the right and {:.0} px down it fits as well; \
         keep something in view that stands still and does not repeat, such as a ruler with its figures",
        by_px[0], by_px[1]
    )]
    Ambiguous {
        /// From one place where it fits to another, in pixels.
        by_px: [f64; 2],
    },
    /// The view has nothing to hold on to.
    #[error(
        "the view has too little in it to tell how the camera moved; \
         keep something with sharp edges in view that stands still, such as a ruler"
    )]
    Featureless {
        /// Standard uncertainty of the shift in pixels; infinite where nothing is known.
        u_px: f64,
    },
}

/// How one photo lies on the first: turn about the middle, then shift; and how its exposure differs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Movement {
    /// Turn about the middle of the photo in rad; positive from x towards y, clockwise as displayed.
    pub angle_rad: f64,
    /// Shift to the right and downwards in pixels.
    pub shift_px: [f64; 2],
    /// Middle of the photo in pixels.
    pub middle_px: [f64; 2],
    /// Standard uncertainty of the shift, the larger of the two directions, in pixels.
    pub u_px: f64,
    /// Grey value in this photo for one step of grey value in the first.
    pub gain: f64,
    /// Grey value in this photo where the first has 0.
    pub offset: f64,
    /// Share of the parts of the picture, among those with something in them, that agree with the first.
    pub agreement: f64,
}

impl Movement {
    /// No movement, of a photo of `width` x `height` pixels.
    pub fn none(width: usize, height: usize) -> Self {
        Self {
            angle_rad: 0.0,
            shift_px: [0.0; 2],
            middle_px: [width as f64 / 2.0, height as f64 / 2.0],
            u_px: 0.0,
            gain: 1.0,
            offset: 0.0,
            agreement: 1.0,
        }
    }

    /// The point of this photo that shows what `first` shows in the first photo.
    pub fn transform_from_first(&self, first: PixelPoint) -> PixelPoint {
        let (sin, cos) = self.angle_rad.sin_cos();
        let [mx, my] = self.middle_px;
        let (x, y) = (first.x - mx, first.y - my);
        PixelPoint::new(cos * x - sin * y + mx + self.shift_px[0], sin * x + cos * y + my + self.shift_px[1])
    }

    /// The point of the first photo that shows what `here` shows in this one.
    pub fn first_from_here(&self, here: PixelPoint) -> PixelPoint {
        let (sin, cos) = self.angle_rad.sin_cos();
        let [mx, my] = self.middle_px;
        let (x, y) = (here.x - mx - self.shift_px[0], here.y - my - self.shift_px[1]);
        PixelPoint::new(cos * x + sin * y + mx, -sin * x + cos * y + my)
    }

    /// The same movement in the pixels of plates reduced by `factor`.
    pub(super) fn reduced(mut self, factor: f64) -> Self {
        self.shift_px = self.shift_px.map(|v| v / factor);
        self.middle_px = self.middle_px.map(|v| v / factor);
        self
    }
}

/// Shorter side in pixels from which the search works at, about.
const COARSE_SIDE: usize = 80;
/// Most pixels of the plate that the movement is last refined in.
const FINEST_PIXELS: usize = 3_100_000;
/// Most rounds of Gauss-Newton while movements are still being sorted out, and for the last of them.
const ROUNDS: [usize; 2] = [8, 20];

/// How `other` lies on `first`, to a fraction of a pixel.
///
/// Finds shifts up to an eighth of the shorter side and turns of a few degrees.
///
/// # Errors
/// [`NoMatch`] for photos of different sizes or views, for views with nothing to hold on to, and for patterns of which
/// nothing tells one period from the next.
pub fn register(first: &Photo, other: &Photo, mix: Mix) -> Result<Movement, NoMatch> {
    if (first.width, first.height) != (other.width, other.height) {
        return Err(NoMatch::Size {
            width: other.width,
            height: other.height,
            of_width: first.width,
            of_height: first.height,
        });
    }
    let finest = ((first.width * first.height) as f64 / FINEST_PIXELS as f64).sqrt().ceil().max(1.0) as usize;
    let levels = level::levels([first.reduced(mix, finest), other.reduced(mix, finest)], finest, COARSE_SIDE);
    let still = Movement::none(first.width, first.height);
    let mut movements = Vec::new();
    let mut fits = Vec::new();
    for (i, level) in levels.iter().enumerate().rev() {
        let starts =
            if movements.is_empty() { search::everywhere(level, still) } else { search::near(level, &movements) };
        fits = refine::all(level, &starts, ROUNDS[usize::from(i == 0)]);
        verdict::keep_likely(&mut fits);
        movements = fits.iter().map(|fit| fit.movement).collect();
    }
    verdict::decide(&fits).map(|movement| exposure::matched(first, other, mix, movement))
}
