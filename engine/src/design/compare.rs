//! The same plan under each published slot law, and all operating points of its fan.

use crate::analysis::{Evenness, analyse_air};
use crate::error::EngineError;
use crate::laws::Law;
use crate::network::{Settings, Solver, from_plan};
use crate::plan::{Plan, SlotModel};
use serde::{Deserialize, Serialize};

/// A plan's evenness if nature followed one law.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct UnderLaw {
    /// The law, by author and year.
    pub law: String,
    /// How far slots are from their targets.
    pub evenness: Evenness,
    /// Air from all slots, kg/s.
    pub total_flow_kg_s: f64,
}

/// The published slot laws, named.
pub const SLOT_LAWS: [(&str, SlotModel); 5] = [
    ("sharp edge, Rawn, Bowerman & Brooks 1961", SlotModel::CrossFlowSharp),
    ("formed edge, Rawn, Bowerman & Brooks 1961", SlotModel::CrossFlowFormed),
    ("free streamline, after McNown & Hsu 1951", SlotModel::FreeStreamline),
    ("constant 0.61 on total pressure", SlotModel::ConstantTotal { cd: 0.61 }),
    ("constant 0.61 on static pressure, Acrivos et al. 1959", SlotModel::ConstantStatic { cd: 0.61 }),
];

/// Solves the plan as it is, widths unchanged, under each published slot law.
///
/// Which law nature follows is the largest doubt of the subject; the spread of the answers is what a
/// nominal figure hides. Targets are brought to each law's own total flow, so that the figures compare
/// distribution and not the mean coefficient.
pub fn compare_slot_laws(plan: &Plan) -> Result<Vec<UnderLaw>, EngineError> {
    SLOT_LAWS
        .iter()
        .map(|(name, law)| {
            let mut trial = plan.clone();
            trial.models.slot = *law;
            let total_flow_kg_s = analyse_air(&trial)?.total_flow_kg_s;
            trial.required_flow_kg_s = total_flow_kg_s;
            let analysis = analyse_air(&trial)?;
            Ok(UnderLaw { law: (*name).to_owned(), evenness: analysis.evenness, total_flow_kg_s })
        })
        .collect()
}

/// A crossing of the fan curve with what the system needs.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct OperatingPoint {
    /// Inlet volume flow, m³/s.
    pub flow_m3_s: f64,
    /// Fan total pressure, Pa.
    pub total_pressure_pa: f64,
    /// Whether a small disturbance dies out: the fan curve falls against the system's.
    pub stable: bool,
}

/// Flows tried between rest and the end of the fan curve.
const SCAN_STEPS: u32 = 60;
/// Bisections of each crossing.
const REFINEMENTS: u32 = 40;

/// All operating points of the plan's fan (or of identical fans side by side).
///
/// What the system needs is a single-valued function of flow: the network is solved with the fan's flow
/// set, from rest to beyond the end of its curve. Each change of sign between need and fan curve is a
/// point, so none is missed that lies further apart than a sixtieth of the curve.
pub fn operating_points(plan: &Plan) -> Result<Vec<OperatingPoint>, EngineError> {
    let built = from_plan::build(plan)?;
    let branch = &built.network.branches()[built.fan];
    let Law::Fan(curve) = branch.law.clone() else { return Ok(Vec::new()) };
    let density = branch.density_kg_m3;
    let mut network = built.network.clone();
    network.set_law(built.fan, Law::Prescribed { mass_flow_kg_s: 0.1 * density })?;
    let mut solver = Solver::new(&network);
    let mut excess = |flow_m3_s: f64| -> Result<f64, EngineError> {
        network.set_law(built.fan, Law::Prescribed { mass_flow_kg_s: flow_m3_s * density })?;
        let solution = solver.solve(&network, &Settings::default(), None);
        if !solution.converged() {
            return Err(EngineError::new(
                &solution.worst,
                "the air balance does not close there",
                "check this item",
            ));
        }
        let fan = &network.branches()[built.fan];
        let needed = solution.pressures_pa[fan.to] - solution.pressures_pa[fan.from];
        Ok(curve.rise(flow_m3_s, density).0 - needed)
    };
    let end = 1.3 * curve.last_flow_m3_s().max(1e-6);
    let mut points = Vec::new();
    let mut last = (0.0, f64::NAN);
    for k in 1..=SCAN_STEPS {
        let flow = end * f64::from(k) / f64::from(SCAN_STEPS);
        let here = (flow, excess(flow)?);
        if last.1 * here.1 <= 0.0 {
            let (mut low, mut high, sign) = (last.0, here.0, last.1.signum());
            for _ in 0..REFINEMENTS {
                let middle = 0.5 * (low + high);
                if excess(middle)? * sign > 0.0 { low = middle } else { high = middle }
            }
            let flow_m3_s = 0.5 * (low + high);
            let total_pressure_pa = curve.rise(flow_m3_s, density).0;
            points.push(OperatingPoint { flow_m3_s, total_pressure_pa, stable: sign > 0.0 });
        }
        last = here;
    }
    Ok(points)
}
