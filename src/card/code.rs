//! The numbers in the marks: 16 cells each, told apart in every turn and with cells misread.
//!
//! The words are found by a plain search through all numbers of 16 bits in a mixed order: one is taken when it differs in at
//! least [`LEAST_DISTANCE`] cells from every turn of every word taken before, and from its own other turns. So a mark
//! tells its number and which way up it is; one misread cell is put right and two are noticed (R. W. Hamming, 1950,
//! Bell Syst. Tech. J. 29:147: distance 4 corrects single and detects double errors).

/// Cells a side of the coded middle.
pub const SIDE: usize = 4;
/// Fewest cells in which any two words differ, in whatever turn.
pub const LEAST_DISTANCE: u32 = 4;

/// An odd factor reaches every number once; this one, near 2^16 over the golden ratio, spreads the bits of neighbours.
const MIXER: u16 = 40_503;

/// Whether the cell in a row and a column of the coded middle is white.
pub fn is_white(word: u16, row: usize, column: usize) -> bool {
    word >> (SIDE * SIDE - 1 - (row * SIDE + column)) & 1 == 1
}

/// A word turned by a quarter, clockwise. Bit 15 is the top left cell, row by row.
pub fn turned(word: u16) -> u16 {
    let mut out = 0;
    for row in 0..SIDE {
        for column in 0..SIDE {
            // what is now at (row, column) was at (SIDE - 1 - column, row)
            let from = (SIDE - 1 - column) * SIDE + row;
            let bit = word >> (15 - from) & 1;
            out |= bit << (15 - (row * SIDE + column));
        }
    }
    out
}

/// The word and its three turns.
pub fn turns(word: u16) -> [u16; 4] {
    let second = turned(word);
    let third = turned(second);
    [word, second, third, turned(third)]
}

/// The first `count` words, fewer where there are no more.
///
/// Words with fewer than 5 or more than 11 white cells are left out: they look like a plain square.
pub fn words(count: usize) -> Vec<u16> {
    let mut taken: Vec<u16> = Vec::new();
    for i in 1..u16::MAX {
        let word = i.wrapping_mul(MIXER);
        if taken.len() == count {
            break;
        }
        let all = turns(word);
        let is_mixed = (5..=11).contains(&word.count_ones());
        let differs = |other: &u16| (word ^ other).count_ones() >= LEAST_DISTANCE;
        if is_mixed && all[1..].iter().all(differs) && taken.iter().all(|t| turns(*t).iter().all(differs)) {
            taken.push(word);
        }
    }
    taken
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn four_quarters_are_a_whole_turn() {
        for word in [0b1000_0000_0000_0000, 0x1234, 0xbeef] {
            assert_eq!(turned(turns(word)[3]), word);
        }
        // the top left corner goes to the top right
        assert_eq!(turned(1 << 15), 1 << 12);
    }

    /// The promise of the module, taken apart pair by pair without the search's own short cuts.
    #[test]
    fn no_two_words_are_near_in_any_turn() {
        let words = words(200);
        assert_eq!(words.len(), 120, "all that there are");
        for (i, a) in words.iter().enumerate() {
            for (j, b) in words.iter().enumerate() {
                for (k, t) in turns(*b).iter().enumerate() {
                    if i != j || k != 0 {
                        assert!((a ^ t).count_ones() >= LEAST_DISTANCE, "{a:04x} {b:04x} turned {k}");
                    }
                }
            }
        }
    }
}
