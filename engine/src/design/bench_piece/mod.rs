//! Bench piece: one slotted length on a shop fan says which slot law holds, with which coefficient and regain.

mod least_squares;
mod model;

pub use model::Nature;

use super::SLOT_LAWS;
use crate::error::EngineError;
use crate::finding::{Finding, Message, Severity};
use crate::network::from_plan::{model_of, site_pressure_pa, slot_model};
use crate::numerics::exp;
use crate::plan::{BenchPiece, Plan, SlotModel};
use crate::units::Kind;
use least_squares::{Fit, fit};
use model::Bench;
use serde::{Deserialize, Serialize};

/// What is thought of coefficient and regain factor before anything is read: 1 ± this (one standard
/// deviation). It holds what the readings leave open.
const BEFORE: f64 = 0.15;
/// The oven's slots are cut another day than the piece: a doubt that no reading on the piece removes.
const PIECE_TO_PIECE: f64 = 0.01;

/// One slot law against the readings.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct LawFit {
    /// The law, by author and year.
    pub law: String,
    /// Its share of belief among the published laws.
    pub weight: f64,
    /// Σ((read − fitted)/doubt)², with what was thought before.
    pub chi_square: f64,
    /// Factor on the law's coefficient.
    pub coefficient: f64,
    /// Its doubt, one standard deviation.
    pub coefficient_doubt: f64,
    /// Regain factor.
    pub regain: f64,
    /// Its doubt, one standard deviation.
    pub regain_doubt: f64,
    /// Each reading of each piece as this law gives it, in order.
    pub fitted: Vec<f64>,
}

/// One thing that was read.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// The piece.
    pub piece: String,
    /// What, with its unit.
    pub what: String,
    /// The value.
    pub read: f64,
    /// One standard deviation.
    pub doubt: f64,
}

/// All bench pieces of a plan against all published laws.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BenchFit {
    /// The laws, the likeliest first.
    pub laws: Vec<LawFit>,
    /// The readings.
    pub readings: Vec<Reading>,
    /// Readings beyond the numbers fitted.
    pub spare_readings: usize,
    /// What somebody should know.
    pub findings: Vec<Finding>,
}

/// Fits coefficient and regain factor to the plan's bench pieces under every published slot law.
///
/// Least squares over all readings, each divided by its doubt, with coefficient and regain held to 1 ± 0.15
/// by a weak belief (ridge regression in the units of the doubts; Hoerl & Kennard 1970). Unknown besides:
/// the total pressure at each root. Doubts follow from the inverse of the normal matrix, widened where the
/// misfit is larger than the doubts explain. Laws have as many unknowns each, so their Akaike weights are
/// exp(−χ²/2), normed (Burnham & Anderson 2002, section 2.9).
pub fn fit_bench_pieces(plan: &Plan) -> Result<BenchFit, EngineError> {
    crate::plan::check::check(plan)?;
    let pieces = &plan.bench_pieces;
    if pieces.is_empty() {
        return Err(EngineError::new(
            "bench_pieces",
            "there is no bench piece",
            "enter what was read on a slotted length on a shop fan",
        ));
    }
    let mut laws = Vec::new();
    let mut readings = Vec::new();
    let mut prior = Vec::new();
    for (i, (name, law)) in SLOT_LAWS.iter().enumerate() {
        let mut benches = pieces
            .iter()
            .map(|piece| Bench::new(piece, site_pressure_pa(plan)))
            .collect::<Result<Vec<_>, _>>()?;
        if i == 0 {
            readings = readings_of(pieces, &benches);
        }
        let nature =
            Nature { model: model_of(*law), velocity: slot_model(plan).1, coefficient: 1.0, regain: 1.0 };
        let Some(found) = fit_law(&mut benches, nature, &readings) else { continue };
        prior.push(plan.tolerances.slot_law_weights.get(i).copied().unwrap_or(1.0));
        laws.push(law_fit(name, &found, &readings, pieces.len()));
    }
    if laws.is_empty() {
        return Err(EngineError::new(
            &pieces[0].id,
            "no slot law can give these readings at all",
            "check the units, the closed end and the number of slots",
        ));
    }
    let best = laws.iter().map(|law| law.chi_square).fold(f64::INFINITY, f64::min);
    for (law, prior) in laws.iter_mut().zip(&prior) {
        law.weight = prior * exp(-0.5 * (law.chi_square - best));
    }
    let all: f64 = laws.iter().map(|law| law.weight).sum();
    laws.iter_mut().for_each(|law| law.weight /= all);
    crate::numerics::sort_short(&mut laws, |a, b| b.weight.total_cmp(&a.weight));
    let spare_readings = spare(readings.len(), pieces.len());
    let ratio = Bench::new(&pieces[0], site_pressure_pa(plan))?.area_ratio();
    let findings = findings(&pieces[0].id, &laws, spare_readings, ratio);
    Ok(BenchFit { laws, readings, spare_readings, findings })
}

/// Coefficient, regain and one total pressure a piece are fitted.
fn spare(readings: usize, pieces: usize) -> usize {
    readings.saturating_sub(2 + pieces)
}

fn readings_of(pieces: &[BenchPiece], benches: &[Bench]) -> Vec<Reading> {
    let of = |(piece, bench): (&BenchPiece, &Bench)| {
        let id = piece.id.clone();
        let each = bench.read().into_iter();
        each.map(move |(what, read, doubt)| Reading { piece: id.clone(), what, read, doubt })
            .collect::<Vec<_>>()
    };
    pieces.iter().zip(benches).flat_map(of).collect()
}

/// Unknowns: coefficient, regain, then the total pressure at each root over that by the readings alone.
fn fit_law(benches: &mut [Bench], nature: Nature, readings: &[Reading]) -> Option<Fit> {
    let unknowns = 2 + benches.len();
    let predict = |x: &[f64]| -> Option<Vec<f64>> {
        let nature = Nature { coefficient: x[0], regain: x[1], ..nature };
        let mut misfits = Vec::with_capacity(readings.len() + 2);
        let mut next = readings.iter();
        for (bench, share) in benches.iter_mut().zip(&x[2..]) {
            let root_total_pa = share * bench.root_total_pa();
            for (value, reading) in bench.readings(&nature, root_total_pa)?.into_iter().zip(next.by_ref()) {
                misfits.push((value - reading.read) / reading.doubt);
            }
        }
        misfits.push((x[0] - 1.0) / BEFORE);
        misfits.push((x[1] - 1.0) / BEFORE);
        Some(misfits)
    };
    fit(vec![1.0; unknowns], predict)
}

fn law_fit(name: &str, found: &Fit, readings: &[Reading], pieces: usize) -> LawFit {
    let chi_square: f64 = found.misfits.iter().map(|m| m * m).sum();
    let spare = spare(readings.len(), pieces).max(1) as f64;
    let wider = (chi_square / spare).max(1.0);
    let doubt = |k: usize| (wider * found.covariance(k) + PIECE_TO_PIECE * PIECE_TO_PIECE).sqrt();
    LawFit {
        law: name.to_owned(),
        weight: 0.0,
        chi_square,
        coefficient: found.x[0],
        coefficient_doubt: doubt(0),
        regain: found.x[1],
        regain_doubt: doubt(1),
        fitted: readings.iter().zip(&found.misfits).map(|(r, misfit)| r.read + misfit * r.doubt).collect(),
    }
}

fn findings(piece: &str, laws: &[LawFit], spare_readings: usize, ratio: f64) -> Vec<Finding> {
    let best = &laws[0];
    // Three laws have no coefficient in the plan that could be set to what was found.
    let held = SLOT_LAWS.iter().any(|(name, law)| {
        *name == best.law && matches!(law, SlotModel::ConstantTotal { .. } | SlotModel::ConstantStatic { .. })
    });
    let mut remedy = Message::new("Solve the plan with this law, then even out again.");
    if !held && (best.coefficient - 1.0).abs() > 0.005 {
        remedy = remedy
            .text(" The plan has no coefficient for it: cut every slot at ")
            .value(Kind::Percent, 100.0 / best.coefficient)
            .text(" of the width it then says.");
    }
    let basis = "least squares on the bench readings; Akaike weights of the published laws";
    let mut findings = vec![Finding::new(
        Severity::Note,
        "bench-law",
        Some(piece),
        Message::new(format!("The readings speak for “{}” with a weight of ", best.law))
            .value(Kind::Percent, 100.0 * best.weight)
            .text("; its coefficient is ")
            .value(Kind::Number, best.coefficient)
            .text(" ± ")
            .value(Kind::Number, best.coefficient_doubt)
            .text(" of the published one, the regain factor ")
            .value(Kind::Number, best.regain)
            .text(" ± ")
            .value(Kind::Number, best.regain_doubt)
            .text("."),
        remedy,
        basis,
    )];
    if best.weight < 0.8 {
        findings.push(Finding::new(
            Severity::Note,
            "bench-undecided",
            Some(piece),
            Message::new("The piece does not tell the laws apart; its slot-to-duct area ratio is ")
                .value(Kind::Number, ratio)
                .text("."),
            "Try a piece with a ratio of 0.8 or more, or read the slots closer: there the laws differ most.",
            basis,
        ));
    }
    // χ² has mean n and variance 2n.
    let spare = spare_readings as f64;
    if spare_readings > 0 && best.chi_square > spare + 4.0 * (2.0 * spare).sqrt() {
        findings.push(Finding::new(
            Severity::Caution,
            "bench-misfit",
            Some(piece),
            Message::new("No published law explains the readings within their doubt: they are off by ")
                .value(Kind::Number, (best.chi_square / spare).sqrt())
                .text(" times the doubt."),
            "Check for leaks, a tap in a jet, the air temperature, and the slot sizes as cut.",
            basis,
        ));
    }
    findings
}
