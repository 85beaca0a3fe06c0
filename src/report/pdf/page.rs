//! Pages that fill from the top; a new one begins where room runs out.

use super::{NoPdf, Role, Structure, Typeface};
use crate::card::Paper;
use krilla::Document;
use krilla::color::rgb;
use krilla::geom::{PathBuilder, Point, Size, Transform};
use krilla::image::Image;
use krilla::metadata::Metadata;
use krilla::num::NormalizedF32;
use krilla::page::PageSettings;
use krilla::paint::{Fill, Stroke};
use krilla::tagging::{Artifact, ArtifactType, ContentTag, SpanTag};
use krilla::text::TextDirection;
use krilla_svg::{SurfaceExt, SvgSettings};

/// PDF points in a millimetre: 72 in an inch.
pub(crate) const POINTS_PER_MM: f64 = 72.0 / 25.4;
const MARGIN: f64 = 16.0 * POINTS_PER_MM;
const FOOT_SIZE: f64 = 7.5;

/// A thing to draw on a page, in points from its top left.
#[derive(Clone)]
enum Mark {
    Text { at: [f64; 2], text: String, size: f64, bold: bool, grey: u8 },
    Rule { from: [f64; 2], to: [f64; 2], width: f64, grey: u8 },
    Area { corners: Vec<[f64; 2]>, grey: u8 },
    Picture { at: [f64; 2], size: [f64; 2], jpeg: Vec<u8> },
    Drawing { at: [f64; 2], size: [f64; 2], svg: String },
}

/// A document in the making.
pub(crate) struct Pages {
    pub(crate) regular: Typeface,
    pub(crate) bold: Typeface,
    size: [f64; 2],
    fonts: usvg::Options<'static>,
    title: String,
    keywords: Vec<String>,
    footed: bool,
    /// Marks of each page, each with the piece of the structure that it belongs to.
    pages: Vec<Vec<(Mark, Option<usize>)>>,
    structure: Structure,
    repeating: bool,
    /// How far the current page is filled, from its top.
    pub(crate) y: f64,
}

impl Pages {
    pub(crate) fn new(paper: Paper, title: &str) -> Result<Self, NoPdf> {
        let size = paper.size_mm().map(|mm| mm * POINTS_PER_MM);
        let (regular, bold) = (Typeface::regular()?, Typeface::bold()?);
        let title = title.chars().filter(|c| !c.is_control()).collect();
        Ok(Self {
            regular,
            bold,
            size,
            fonts: super::figure_fonts(),
            title,
            keywords: Vec::new(),
            footed: true,
            pages: vec![Vec::new()],
            structure: Structure::default(),
            repeating: false,
            y: MARGIN,
        })
    }

    /// Without title and page number at the foot.
    pub(crate) fn without_foot(mut self) -> Self {
        self.footed = false;
        self
    }

    /// With words that the file is found by.
    pub(crate) fn with_keywords(mut self, keywords: Vec<String>) -> Self {
        self.keywords = keywords;
        self
    }

    pub(crate) fn left(&self) -> f64 {
        MARGIN
    }

    pub(crate) fn width(&self) -> f64 {
        self.size[0] - 2.0 * MARGIN
    }

    fn bottom(&self) -> f64 {
        self.size[1] - MARGIN - 1.5 * FOOT_SIZE
    }

    /// Begins a new page unless `height` is left on this one; whether it did.
    pub(crate) fn need(&mut self, height: f64) -> bool {
        if self.y + height <= self.bottom() || self.y <= MARGIN {
            return false;
        }
        self.pages.push(Vec::new());
        self.y = MARGIN;
        true
    }

    /// Room below, in points, on an empty page.
    pub(crate) fn page_height(&self) -> f64 {
        self.bottom() - MARGIN
    }

    /// What `put` draws is a piece of the document.
    pub(crate) fn within<T>(&mut self, role: Role, put: impl FnOnce(&mut Self) -> T) -> T {
        self.structure.open(role);
        let done = put(self);
        self.structure.close();
        done
    }

    /// What `put` draws is on the page only, such as a table's heads said again.
    pub(crate) fn beside(&mut self, put: impl FnOnce(&mut Self)) {
        let structure = std::mem::take(&mut self.structure);
        self.repeating = true;
        put(self);
        self.repeating = false;
        self.structure = structure;
    }

    fn put(&mut self, mark: Mark) {
        let piece = match &mark {
            Mark::Rule { .. } | Mark::Area { .. } => None,
            _ if self.repeating => None,
            Mark::Text { .. } | Mark::Picture { .. } | Mark::Drawing { .. } => self.structure.current(),
        };
        if let Some(page) = self.pages.last_mut() {
            page.push((mark, piece));
        }
    }

    /// A line of text on its base line.
    pub(crate) fn text(&mut self, at: [f64; 2], text: &str, size: f64, bold: bool, grey: u8) {
        let text: String = text.chars().filter(|c| !c.is_control()).collect();
        if !text.is_empty() {
            self.put(Mark::Text { at, text, size, bold, grey });
        }
    }

    pub(crate) fn rule(&mut self, from: [f64; 2], to: [f64; 2], width: f64, grey: u8) {
        self.put(Mark::Rule { from, to, width, grey });
    }

    pub(crate) fn area(&mut self, corners: Vec<[f64; 2]>, grey: u8) {
        self.put(Mark::Area { corners, grey });
    }

    pub(crate) fn picture(&mut self, at: [f64; 2], size: [f64; 2], jpeg: Vec<u8>) {
        self.put(Mark::Picture { at, size, jpeg });
    }

    pub(crate) fn drawing(&mut self, at: [f64; 2], size: [f64; 2], svg: String) {
        self.put(Mark::Drawing { at, size, svg });
    }

    /// The file.
    pub(crate) fn finish(mut self) -> Result<Vec<u8>, NoPdf> {
        let count = self.pages.len();
        if self.footed {
            let y = self.size[1] - MARGIN;
            let line = self.regular.lines(&self.title, FOOT_SIZE, 0.8 * self.width()).swap_remove(0);
            for (i, page) in self.pages.iter_mut().enumerate() {
                let number = format!("page {} of {count}", i + 1);
                let right = self.size[0] - MARGIN - self.regular.width(&number, FOOT_SIZE);
                for (x, text) in [(MARGIN, line.clone()), (right, number)] {
                    page.push((Mark::Text { at: [x, y], text, size: FOOT_SIZE, bold: false, grey: 90 }, None));
                }
            }
        }
        let mut document = Document::new();
        document.set_metadata(
            Metadata::new()
                .title(self.title.clone())
                .language("en".into())
                .keywords(self.keywords.clone())
                .creator(format!("Trajet {}", env!("CARGO_PKG_VERSION"))),
        );
        let [w, h] = self.size.map(|v| v as f32);
        let mut structure = std::mem::take(&mut self.structure);
        for marks in &self.pages {
            let settings = PageSettings::from_wh(w, h).ok_or_else(|| NoPdf("the paper has no size".into()))?;
            let mut page = document.start_page_with(settings);
            let mut surface = page.surface();
            for (mark, piece) in marks {
                if structure.is_empty() {
                    self.draw(&mut surface, mark)?;
                    continue;
                }
                let kind = match (piece, mark) {
                    (None, _) => ContentTag::Artifact(Artifact::with_kind(ArtifactType::Layout)),
                    (Some(_), Mark::Text { .. }) => ContentTag::Span(SpanTag::empty()),
                    (Some(_), _) => ContentTag::Other,
                };
                let drawn_at = surface.start_tagged(kind);
                let drawn = self.draw(&mut surface, mark);
                surface.end_tagged();
                drawn?;
                if let Some(piece) = piece {
                    structure.drawn(*piece, drawn_at);
                }
            }
            surface.finish();
            page.finish();
        }
        if !structure.is_empty() {
            document.set_tag_tree(structure.tree());
        }
        document.finish().map_err(|e| NoPdf(format!("{e:?}")))
    }

    fn draw(&self, surface: &mut krilla::surface::Surface, mark: &Mark) -> Result<(), NoPdf> {
        let fill = |grey: u8| Fill {
            paint: rgb::Color::new(grey, grey, grey).into(),
            opacity: NormalizedF32::ONE,
            rule: Default::default(),
        };
        let place = |[x, y]: [f64; 2]| Transform::from_translate(x as f32, y as f32);
        let no_size = || NoPdf("a picture has no size".into());
        match mark {
            Mark::Text { at: [x, y], text, size, bold, grey } => {
                surface.set_stroke(None);
                surface.set_fill(Some(fill(*grey)));
                let face = if *bold { &self.bold } else { &self.regular };
                let start = Point::from_xy(*x as f32, *y as f32);
                surface.draw_text(start, face.font.clone(), *size as f32, text, false, TextDirection::Auto);
            }
            Mark::Rule { from, to, width, grey } => {
                surface.set_fill(None);
                let paint = rgb::Color::new(*grey, *grey, *grey).into();
                surface.set_stroke(Some(Stroke { paint, width: *width as f32, ..Stroke::default() }));
                self.path(surface, &[*from, *to], false);
            }
            Mark::Area { corners, grey } => {
                surface.set_stroke(None);
                surface.set_fill(Some(fill(*grey)));
                self.path(surface, corners, true);
            }
            Mark::Picture { at, size, jpeg } => {
                let image = Image::from_jpeg(jpeg.clone().into(), true).map_err(NoPdf)?;
                surface.push_transform(&place(*at));
                surface.draw_image(image, Size::from_wh(size[0] as f32, size[1] as f32).ok_or_else(no_size)?);
                surface.pop();
            }
            Mark::Drawing { at, size, svg } => {
                let tree = usvg::Tree::from_str(svg, &self.fonts)
                    .map_err(|e| NoPdf(format!("a figure cannot be read back: {e}")))?;
                surface.push_transform(&place(*at));
                let size = Size::from_wh(size[0] as f32, size[1] as f32).ok_or_else(no_size)?;
                let drawn = surface.draw_svg(&tree, size, SvgSettings::default());
                surface.pop();
                drawn.ok_or_else(|| NoPdf("a figure cannot be drawn".into()))?;
            }
        }
        Ok(())
    }

    fn path(&self, surface: &mut krilla::surface::Surface, points: &[[f64; 2]], closed: bool) {
        let mut builder = PathBuilder::new();
        for (i, [x, y]) in points.iter().enumerate() {
            let (x, y) = (*x as f32, *y as f32);
            if i == 0 { builder.move_to(x, y) } else { builder.line_to(x, y) }
        }
        if closed {
            builder.close();
        }
        if let Some(path) = builder.finish() {
            surface.draw_path(&path);
        }
    }
}
