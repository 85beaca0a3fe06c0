//! What to mind at the bench and with the numbers, and the place to sign.

use super::{Block, Record};

/// What to mind, in every record and in the window.
pub const CAUTIONS: [&str; 7] = [
    "Electricity by water: pumps, lamps and chargers near the bench only behind a residual-current device (RCD, GFCI); \
     plugs and leads above the splash.",
    "Wet floors: catch the jet, wipe spills at once, wear shoes that grip.",
    "Flashing lights can harm people with photosensitive epilepsy: warn everyone in the room before a stroboscope runs.",
    "Pressurised tanks: never above the rated pressure, with a relief valve; open sight glasses are for open tanks.",
    "Jets at eye height: wear eye protection, and never look into an orifice under head.",
    "These numbers are for teaching, research and checks. They are not for custody transfer or billing, and no licensed \
     design may rest on them alone.",
    "Local codes and licensed practice come first.",
];

pub(super) fn cautions(_record: &Record) -> Vec<Block> {
    vec![
        Block::Heading("Cautions".into()),
        Block::List(CAUTIONS.iter().map(|c| (*c).to_owned()).collect()),
        Block::Heading("Signatures".into()),
        Block::Signatures(vec!["measured by".into(), "checked by".into()]),
    ]
}
