//! What was computed, with symbols and sources.

use super::{Block, Record, Table};

/// Formula, and what it gives with its source.
const FORMULAE: [(&str, &str); 12] = [
    (
        "y = y₀ + b t + a t²,  t = x − x₀",
        "the trajectory below the level of the orifice centre; x₀ is the place of the vena contracta, half a diameter \
         out, b = −tan α",
    ),
    ("V = √(g (1 + b²) / (2 a))", "velocity at the vena contracta, from the trajectory's curvature"),
    (
        "Vₓ = √(g x² / (2 cos²α (y + x tan α)))",
        "velocity from one station alone, x and y from the vena contracta (W. C. Unwin, 1911, Hydraulics, sec. 18, inclined)",
    ),
    (
        "Vᵢ = √(2 g H + (Q/A₁)²)",
        "ideal velocity; the term of the velocity of approach only where the tank's area A₁ is stated (Unwin 1911, sec. 17)",
    ),
    ("Cv = V / Vᵢ", "coefficient of velocity (Unwin 1911, sec. 17)"),
    ("Cd = Q / (A Vᵢ),  A = π d² / 4", "coefficient of discharge, of the orifice's area (Unwin 1911, sec. 17)"),
    ("Cc = Q / (A V)", "coefficient of contraction; the head cancels"),
    ("K = 1/Cv² − 1,  h = H (1 − Cv²)", "coefficient of loss and head lost (Unwin 1911, sec. 17)"),
    ("P = ρ Q V² / 2", "power of the jet"),
    (
        "Re = ρ V D / μ,  We = ρ V² D / σ",
        "Reynolds and Weber number of the jet of diameter D, water at its temperature",
    ),
    (
        "u² = Σ (cᵢ uᵢ)²",
        "combined standard uncertainty; cᵢ by differences through the whole computation (JCGM 100:2008, 5.1.2)",
    ),
    (
        "value ± t u",
        "95 % interval; t is Student's factor for the effective degrees of freedom (JCGM 100:2008, G.3 and G.4)",
    ),
];

/// Where a scale card stood in the photo.
const CARD: (&str, &str) = (
    "x′ = (1 + s) x,  A = 100 mm (1 + s)",
    "distances between marks of the scale card, from those designed; s from what its check line A measures, upright from B",
);

pub(super) fn formulae(record: &Record) -> Vec<Block> {
    let mut table = Table::new("Formulae and symbols", &[("formula", 0.42), ("what it gives", 0.58)]);
    let card = record.sheet.and_then(|s| s.card.as_ref()).map(|_| CARD);
    for (formula, gives) in card.into_iter().chain(FORMULAE) {
        table.row([formula.to_owned(), gives.to_owned()]);
    }
    let symbols = "x runs along the jet and y downwards from the orifice centre; g is gravity, H the head, Q the discharge, \
                   d the orifice's diameter, α the launch angle upwards, ρ, μ and σ the water's density, viscosity and \
                   surface tension. Uncertainties behind ± are standard uncertainties.";
    vec![Block::Heading("Formulae".into()), Block::Table(table), Block::Paragraph(symbols.into())]
}
