//! The results again by Monte Carlo (JCGM 101), through the same model as the budget.

use super::reduce::Scratch;
use super::results::Results;
use super::{DrawnRow, Inputs, Job, Model, MonteCarloTable, Output};
use crate::notice::Notice;
use crate::uncertainty::{Agreement, Correlation, OutputBudget, Plan, Shape, Verdict, monte_carlo};

/// Digits of u to which the linear interval is held against the drawn one: JCGM 101:2008, 8.1 leaves one or two.
const DIGITS: u32 = 1;
/// Share of a result's variance from which an input without a finite variance leaves the result without one.
const TELLING_SHARE: f64 = 1e-4;

/// How many draws to make.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Draws {
    /// No Monte Carlo.
    #[default]
    None,
    /// So many, rounded up to whole blocks of 10 000.
    Fixed(u64),
    /// As many as two digits of every standard uncertainty need (JCGM 101:2008, 7.9), at most 1 000 000, which
    /// JCGM 101:2008, 7.2.2, finds enough for one or two digits.
    Adaptive,
}

impl Draws {
    /// As what went in tells it: a count, or `auto`; `None` without a Monte Carlo.
    pub fn stated(self) -> Option<String> {
        match self {
            Self::None => None,
            Self::Fixed(n) => Some(n.to_string()),
            Self::Adaptive => Some("auto".to_owned()),
        }
    }
}

/// The table, with a notice where it contradicts the budget or cannot be had.
pub(crate) fn table(
    job: &Job,
    inputs: &Inputs,
    model: &Model,
    results: &Results,
    notices: &mut Vec<Notice>,
) -> Option<MonteCarloTable> {
    let plan = match job.draws {
        Draws::None => return None,
        Draws::Fixed(n) => Plan::fixed(usize::try_from(n).unwrap_or(usize::MAX).clamp(1, 10_000_000), job.seed),
        Draws::Adaptive => Plan::adaptive(job.seed),
    };
    let present = &results.present;
    let scratch = || (Scratch::default(), [f64::NAN; Output::ALL.len()]);
    let drawn = monte_carlo(&inputs.all, &Correlation::none(), present.len(), plan, scratch, |(scratch, all), x, y| {
        let could = model.reduce(x, scratch, all);
        y.iter_mut().zip(present).for_each(|(y, p)| *y = all[*p as usize]);
        could
    });
    let drawn = match drawn {
        Ok(drawn) => drawn,
        Err(why) => {
            notices.push(Notice::new("draws", format!("no monte carlo: {why}")).hint("the linear budget stands alone"));
            return None;
        }
    };
    let mut table = MonteCarloTable {
        draws: drawn.draws,
        refused: drawn.refused,
        seed: drawn.seed,
        stable: drawn.stable,
        results: std::collections::BTreeMap::new(),
    };
    let mut differ = Vec::new();
    for ((output, linear), sampled) in present.iter().zip(&results.budget.outputs).zip(&drawn.outputs) {
        let agreement = Agreement::of(linear, sampled, DIGITS);
        let verdict = match agreement.verdict {
            Verdict::Agrees => "agrees",
            Verdict::Differs => "differs",
            Verdict::Unsettled => "unsettled",
        };
        if agreement.verdict == Verdict::Differs {
            differ.push(name(*output));
        }
        let expected_u = expected_u(inputs, linear);
        let row = DrawnRow {
            mean: sampled.mean,
            u: expected_u.map(|_| sampled.u),
            lo: sampled.symmetric.lo,
            hi: sampled.symmetric.hi,
            unit: output.unit().to_owned(),
            u_over_linear: expected_u.filter(|u| *u > 0.0).map(|u| sampled.u / u),
            verdict: verdict.to_owned(),
            says: agreement.to_string(),
        };
        table.results.insert(output.key().to_owned(), row);
    }
    if !differ.is_empty() {
        let says = format!(
            "the linear intervals of {} differ from those of {} draws by more than one digit of their uncertainty bears",
            differ.join(", "),
            drawn.draws
        );
        notices.push(Notice::new("draws", says).doubt().hint("trust the drawn intervals there"));
    }
    if drawn.refused > 0 {
        let says = format!("{} of {} draws gave no result and are left out", drawn.refused, drawn.draws);
        notices.push(Notice::new("draws", says).hint("some stated uncertainties reach into what is impossible"));
    }
    Some(table)
}

/// What a result is called in a sentence.
fn name(output: Output) -> String {
    match output {
        Output::Cv => "Cv".to_owned(),
        Output::Cd => "Cd".to_owned(),
        Output::Cc => "Cc".to_owned(),
        Output::CcFromWidth => "Cc from the width".to_owned(),
        Output::K => "K".to_owned(),
        other => other.key().replace('_', " "),
    }
}

/// The standard deviation that the draws of a linear model would have: the budget's u with the wider standard deviation
/// of each Student t, u sqrt(dof/(dof - 2)). `None` where one has none and matters.
fn expected_u(inputs: &Inputs, linear: &OutputBudget) -> Option<f64> {
    let mut variance = linear.u * linear.u;
    for input in &inputs.all {
        let Shape::T { dof } = input.shape else { continue };
        let Some(row) = linear.rows.iter().find(|r| r.name == input.name) else { continue };
        if dof > 2.0 {
            variance += row.contribution.powi(2) * 2.0 / (dof - 2.0) / row.inputs as f64;
        } else if row.share > TELLING_SHARE {
            return None;
        }
    }
    Some(variance.sqrt())
}
