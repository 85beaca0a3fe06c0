//! What a result's uncertainty is made of.

use super::{Axis, Drawn, Figure, Frame, Ink, Layer, ticks};
use crate::measure::Findings;
use crate::quantity::show_value;

/// Most rows that are drawn, and the least share of one; the rest is gathered.
const ROWS: usize = 8;
const LEAST_SHARE: f64 = 0.005;

/// Shares of the variance of the result `key` as level bars, the largest on top.
///
/// # Errors
/// Where the result has no budget.
pub fn budget(findings: &Findings, key: &str, symbol: &str) -> Drawn {
    let rows = findings.budget.get(key).filter(|rows| !rows.is_empty());
    let rows = rows.ok_or_else(|| format!("{symbol} has no budget of uncertainty"))?;
    let large = rows.iter().take(ROWS).take_while(|r| r.share >= LEAST_SHARE).count().max(1);
    let (large, small) = rows.split_at(large);
    let mut shares: Vec<(String, f64)> = large.iter().map(|r| (r.input.clone(), r.share)).collect();
    if !small.is_empty() {
        shares.push((format!("{} others", small.len()), small.iter().map(|r| r.share).sum()));
    }
    let count = shares.len();
    let height = |i: usize| (count - i) as f64;
    let bars: Vec<[f64; 2]> = shares.iter().enumerate().map(|(i, (_, s))| [100.0 * s, height(i)]).collect();
    let longest = bars.iter().map(|[l, _]| *l).fold(1.0, f64::max);
    let x = Axis {
        label: format!("share of the variance of {symbol} / %"),
        lo: 0.0,
        hi: 1.15 * longest,
        ticks: ticks(0.0, 1.15 * longest),
    };
    let y = Axis {
        label: String::new(),
        lo: 0.4,
        hi: count as f64 + 0.6,
        ticks: shares.iter().enumerate().map(|(i, (name, _))| (height(i), name.clone())).collect(),
    };
    // an uncertainty of 1 % shows a tenth of a percent
    let percent = |share: f64| show_value(100.0 * share, 1.0, "%");
    let mut layers = vec![Layer::Bars { bars: bars.clone(), ink: Ink::Blue }];
    layers.extend(bars.iter().zip(&shares).map(|([length, at], (_, share))| Layer::Label {
        at: [*length, *at],
        text: percent(*share),
        ink: Ink::Black,
    }));
    let words: Vec<String> = shares.iter().take(4).map(|(name, s)| format!("{name} {}", percent(*s))).collect();
    Ok(Figure {
        name: format!("budget-{}", key.replace('_', "-")),
        caption: format!("What the uncertainty of {symbol} is made of: each input's share of the variance."),
        description: format!("Shares of the variance of {symbol}: {}.", words.join(", ")),
        frame: Frame::Axes { x, y, aspect: 0.06 + 0.045 * count as f64 },
        layers,
    })
}
