//! What the threshold sees: the gradients of a photo before any level is set, kept while the level is tuned.
//!
//! The search's evidence ([`super::evidence`]) needs every pixel of the photo only for its gradients, and these do not
//! depend on the level. Kept, another level costs a pass over them; the result is the same to the last bit.

use super::Areas;
use super::evidence::{Cell, Evidence, FULL_AT_ONE, Source, factors, full_at, strips, thresholded, weights};
use super::view::View;
use crate::photo::Photo;
use rayon::prelude::*;
use std::sync::Arc;

/// Classes of the histogram.
const CLASSES: usize = 96;

/// A photo before any level: see the module.
#[derive(Clone, Debug)]
pub struct Ground {
    coarse: usize,
    /// The cells with their channels averaged and no gradient yet.
    cells: Vec<Cell>,
    plate: Arc<EvidencePlate>,
}

/// Where the photo changes, and how often how strongly: what a level cuts.
#[derive(Clone, Debug, PartialEq)]
pub struct EvidencePlate {
    /// Cells a row.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Photo pixels a cell.
    pub factor: usize,
    /// The gradient in each cell, in deviations of the photo's own noise.
    pub values: Vec<f32>,
    /// The level that is taken where none is set.
    pub automatic: f64,
    /// How many cells have gradients in each of the classes that share the levels 0 to 1 evenly; the last has all
    /// above 1 too.
    pub histogram: Vec<u32>,
}

impl EvidencePlate {
    fn new(width: usize, factor: usize, values: Vec<f32>) -> Self {
        let mut histogram = vec![0; CLASSES];
        for v in &values {
            histogram[((v / FULL_AT_ONE * CLASSES as f32) as usize).min(CLASSES - 1)] += 1;
        }
        let automatic = f64::from(full_at(None) / FULL_AT_ONE);
        Self { width, height: values.len() / width.max(1), factor, values, automatic, histogram }
    }

    /// Gradients that count in full at a level, as [`EvidencePlate::values`] are.
    pub fn full_at(level: f64) -> f32 {
        full_at(Some(level))
    }

    /// The share of cells that count in full at a level.
    pub fn share_above(&self, level: f64) -> f64 {
        let least = Self::full_at(level);
        self.values.iter().filter(|v| **v >= least).count() as f64 / self.values.len().max(1) as f64
    }
}

impl Ground {
    /// The gradients of `photo` for a stream about `width_px` wide.
    pub fn new(photo: &Photo, width_px: f64) -> Self {
        let (fine, coarse) = factors(width_px);
        let source = Source::new(View::Plain(photo), fine);
        let mut magnitude = vec![0.0; source.width * (source.height / coarse * coarse)];
        let mut cells = strips(&source, coarse, &weights(&source), 1.0, Some(&mut magnitude));
        cells.iter_mut().for_each(|c| c[0] = 0.0);
        Self { coarse, cells, plate: Arc::new(EvidencePlate::new(source.width, fine, magnitude)) }
    }

    /// Whether it is reduced as a stream of this width needs it.
    pub fn suits(&self, width_px: f64) -> bool {
        (self.plate.factor, self.coarse) == factors(width_px)
    }

    /// The evidence for a level.
    pub(crate) fn evidence(&self, level: Option<f64>, areas: &Areas) -> Evidence {
        let (coarse, full_at, w) = (self.coarse, full_at(level), self.plate.width);
        let width = w / coarse;
        let mut cells = self.cells.clone();
        cells.par_chunks_mut(width.max(1)).enumerate().for_each(|(j, line)| {
            for row in self.plate.values[j * coarse * w..][..coarse * w].chunks_exact(w.max(1)) {
                thresholded(line, row, coarse, full_at);
            }
        });
        let height = cells.len() / width.max(1);
        Evidence::of_strips(cells, (width, height), full_at, (self.plate.factor * coarse) as f64, areas)
    }

    /// What a level cuts.
    pub fn plate(&self) -> &Arc<EvidencePlate> {
        &self.plate
    }
}
