//! The shipped font: its files, how wide its text runs, where lines break.

use super::NoPdf;
use krilla::text::Font;
use std::sync::Arc;
use ttf_parser::Face;

const REGULAR: &[u8] = include_bytes!("../../../assets/font/DejaVuSansCondensed.ttf");
const BOLD: &[u8] = include_bytes!("../../../assets/font/DejaVuSansCondensed-Bold.ttf");

/// One weight of the font.
pub struct Typeface {
    /// For drawing.
    pub font: Font,
    face: Face<'static>,
}

impl Typeface {
    /// The upright weight.
    ///
    /// # Errors
    /// Where the shipped file is broken.
    pub fn regular() -> Result<Self, NoPdf> {
        Self::of(REGULAR)
    }

    /// The bold weight.
    ///
    /// # Errors
    /// Where the shipped file is broken.
    pub fn bold() -> Result<Self, NoPdf> {
        Self::of(BOLD)
    }

    fn of(bytes: &'static [u8]) -> Result<Self, NoPdf> {
        let broken = || NoPdf("the shipped font cannot be read".into());
        let font = Font::new(bytes.into(), 0).ok_or_else(broken)?;
        let face = Face::parse(bytes, 0).map_err(|_| broken())?;
        Ok(Self { font, face })
    }

    /// Width of `text` at `size` points, in points. A character that the font lacks is as wide as its empty box.
    pub fn width(&self, text: &str, size: f64) -> f64 {
        let advance = |c: char| {
            let glyph = self.face.glyph_index(c).unwrap_or_default();
            f64::from(self.face.glyph_hor_advance(glyph).unwrap_or(0))
        };
        text.chars().map(advance).sum::<f64>() * size / f64::from(self.face.units_per_em())
    }

    /// Lines of `text` no wider than `width`: broken at spaces, and within a word only where it alone is wider.
    pub fn lines(&self, text: &str, size: f64, width: f64) -> Vec<String> {
        let mut lines = vec![String::new()];
        for word in text.split_whitespace() {
            let Some(line) = lines.last_mut() else { break };
            let together = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
            if self.width(&together, size) <= width {
                *line = together;
                continue;
            }
            let mut rest = word.to_owned();
            if !line.is_empty() {
                lines.push(String::new());
            }
            // a hash or a file name wider than the line is cut where the line is full
            while self.width(&rest, size) > width && rest.chars().count() > 1 {
                let fits = |n: usize| self.width(&rest.chars().take(n).collect::<String>(), size) <= width;
                let count = (1..rest.chars().count()).take_while(|n| fits(*n)).last().unwrap_or(1);
                let head: String = rest.chars().take(count).collect();
                rest = rest.chars().skip(count).collect();
                if let Some(line) = lines.last_mut() {
                    *line = head;
                }
                lines.push(String::new());
            }
            if let Some(line) = lines.last_mut() {
                *line = rest;
            }
        }
        lines
    }
}

/// The font for texts of figures.
pub(crate) fn figure_fonts() -> usvg::Options<'static> {
    let mut options = usvg::Options::default();
    let fonts = options.fontdb_mut();
    fonts.load_font_source(usvg::fontdb::Source::Binary(Arc::new(REGULAR)));
    fonts.load_font_source(usvg::fontdb::Source::Binary(Arc::new(BOLD)));
    let family = fonts.faces().next().and_then(|f| f.families.first().map(|(name, _)| name.clone()));
    if let Some(family) = family {
        fonts.set_sans_serif_family(family.clone());
        options.font_family = family;
    }
    options
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_fit_and_lose_nothing() {
        let face = Typeface::regular().unwrap();
        let text = "the sheet of run 2 has the hash 77fe77fe77fe77fe77fe77fe77fe77fe77fe77fe77fe77fe and more";
        let lines = face.lines(text, 9.0, 120.0);
        assert!(lines.len() > 3 && lines.iter().all(|l| face.width(l, 9.0) <= 120.0), "{lines:?}");
        let squeezed = |t: &str| t.replace(' ', "");
        assert_eq!(squeezed(&lines.concat()), squeezed(text));
        assert_eq!(face.lines("", 9.0, 120.0), [""]);
    }

    #[test]
    fn every_symbol_of_a_record_has_a_glyph() {
        let face = Typeface::regular().unwrap();
        for c in "±²³√πρμσαβ₀₁ₓᵢ−×Σ°≤≥äöüßéñ".chars() {
            assert!(face.face.glyph_index(c).is_some(), "{c}");
        }
    }
}
