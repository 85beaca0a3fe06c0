//! What a result's uncertainty is made of.

use super::{Axis, Drawn, Figure, Frame, Ink, Layer, ticks};
use crate::measure::Findings;
use crate::quantity::show_plain;

/// Rows that are drawn; the rest is gathered in one.
const ROWS: usize = 8;

/// Shares of the variance of the result `key` as level bars, the largest on top.
///
/// # Errors
/// Where the result has no budget.
pub fn budget(findings: &Findings, key: &str, symbol: &str) -> Drawn {
    let rows = findings.budget.get(key).filter(|rows| !rows.is_empty());
    let rows = rows.ok_or_else(|| format!("{symbol} has no budget of uncertainty"))?;
    let mut shares: Vec<(String, f64)> = rows.iter().take(ROWS).map(|r| (r.input.clone(), r.share)).collect();
    let rest: f64 = rows.iter().skip(ROWS).map(|r| r.share).sum();
    if rows.len() > ROWS {
        shares.push((format!("{} others", rows.len() - ROWS), rest));
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
    let percent = |share: f64| show_plain((1000.0 * share).round() / 10.0, "%");
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
