//! The outline of a JPEG file: its frame header, and whether its end mark is there.
//!
//! The decoder is lenient and paints what is missing in even grey, which would be measured as
//! if it were photographed. So the markers are walked here first (ITU-T T.81, 1992, annex B):
//! marker segments carry their length; entropy-coded data runs to the next marker that is
//! neither a stuffed zero nor a restart.

/// What the markers of a JPEG file tell.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Outline {
    /// Width and height in pixels, from the frame header.
    pub size: Option<(usize, usize)>,
    /// The second byte of the frame header's marker: 0xc0 baseline, 0xc2 progressive, ...
    pub process: u8,
    /// Bits a sample.
    pub bits: u8,
    /// Colour components.
    pub components: u8,
    /// Whether picture data began.
    pub has_scan: bool,
    /// Whether the end-of-image marker was reached.
    pub has_end: bool,
}

impl Outline {
    /// Walks the markers of `bytes`, which begin with a start-of-image marker.
    pub(super) fn of(bytes: &[u8]) -> Self {
        let mut outline = Self::default();
        let mut at = 2;
        loop {
            // To the next marker: bytes between segments, fill bytes, entropy-coded data.
            let Some(step) = bytes.get(at..).and_then(|rest| rest.iter().position(|&b| b == 0xff)) else {
                return outline;
            };
            at += step + 1;
            let Some(&marker) = bytes.get(at) else { return outline };
            match marker {
                0x00 | 0x01 | 0xd0..=0xd8 => at += 1,
                0xff => {}
                0xd9 => {
                    outline.has_end = true;
                    return outline;
                }
                _ => {
                    let Some(&[high, low]) = bytes.get(at + 1..at + 3) else { return outline };
                    let frame = matches!(marker, 0xc0..=0xcf) && !matches!(marker, 0xc4 | 0xc8 | 0xcc);
                    if let (true, None, Some(&[bits, h1, h0, w1, w0, components])) =
                        (frame, outline.size, bytes.get(at + 3..at + 9))
                    {
                        let side = |high, low| usize::from(u16::from_be_bytes([high, low]));
                        outline.size = Some((side(w1, w0), side(h1, h0)));
                        (outline.process, outline.bits, outline.components) = (marker, bits, components);
                    }
                    outline.has_scan |= marker == 0xda;
                    at += 1 + usize::from(u16::from_be_bytes([high, low])).max(2);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Outline;

    #[test]
    fn the_end_mark_of_an_embedded_thumbnail_is_not_the_end() {
        let mut bytes = vec![0xff, 0xd8, 0xff, 0xe1, 0, 6, 0xff, 0xd8, 0xff, 0xd9];
        bytes.extend([0xff, 0xc2, 0, 11, 8, 0x01, 0x00, 0x02, 0x10, 1, 1, 0x11, 0]);
        bytes.extend([0xff, 0xda, 0, 8, 1, 1, 0, 0, 63, 0, 0x12, 0xff, 0x00, 0x34, 0xff, 0xd0, 0x56]);
        let cut = Outline::of(&bytes);
        assert_eq!(cut.size, Some((0x210, 0x100)));
        assert!(cut.has_scan && !cut.has_end && cut.process == 0xc2);
        bytes.extend([0xff, 0xd9, 1, 2, 3]);
        assert!(Outline::of(&bytes).has_end);
        for cut in 2..bytes.len() {
            Outline::of(&bytes[..cut]);
        }
    }
}
