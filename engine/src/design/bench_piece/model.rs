//! A bench piece as a network: what it would read under one law.

use crate::air::Air;
use crate::error::EngineError;
use crate::laws::slot::{Model, SlotLaw, Velocity};
use crate::laws::{Law, duct::DuctLaw, friction, opening::Mixing};
use crate::network::{Branch, Network, Node, Settings, Solution, Solver};
use crate::plan::{BenchPiece, Section};

/// What nature may be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nature {
    /// The slot law.
    pub model: Model,
    /// Which duct velocity it sees.
    pub velocity: Velocity,
    /// Factor on its coefficient.
    pub coefficient: f64,
    /// Regain factor.
    pub regain: f64,
}

/// A piece ready to be asked.
pub struct Bench<'a> {
    piece: &'a BenchPiece,
    network: Network,
    solver: Solver,
    last: Option<Solution>,
    density: f64,
    slots: Vec<usize>,
    mixings: Vec<usize>,
    end: usize,
}

impl<'a> Bench<'a> {
    /// The piece in air at `pressure_pa` absolute.
    pub fn new(piece: &'a BenchPiece, pressure_pa: f64) -> Result<Self, EngineError> {
        let air = Air::at(piece.temperature_c, pressure_pa, 0.0);
        let mut nodes = Vec::new();
        let mut node = |id: String, fixed_pressure_pa| {
            nodes.push(Node {
                id,
                fixed_pressure_pa,
                inflow_kg_s: 0.0,
                temperature_k: piece.temperature_c + crate::air::ZERO_CELSIUS_K,
                humidity_ratio: 0.0,
            });
            nodes.len() - 1
        };
        let room = node("room".into(), Some(0.0));
        let mut at = node("root".into(), Some(piece.root_static_pa));
        let mut branches: Vec<Branch> = Vec::new();
        let mut branch = |id: String, from, to, law, reads| {
            branches.push(Branch {
                id,
                from,
                to,
                law,
                reads,
                density_kg_m3: air.density_kg_m3(),
                viscosity_pa_s: air.viscosity_pa_s(),
                item: Some(piece.id.clone()),
            });
            branches.len() - 1
        };
        let area_m2 = piece.section.area_m2();
        let stretch = |length_m| {
            Law::Duct(DuctLaw {
                length_m,
                area_m2,
                hydraulic_diameter_m: piece.section.hydraulic_diameter_m(),
                roughness_m: piece.roughness_m,
                laminar_constant: match piece.section {
                    Section::Rectangular { width_m, height_m } => {
                        friction::laminar_constant_rectangular(width_m, height_m)
                    }
                    Section::Round { .. } => friction::LAMINAR_CONSTANT_ROUND,
                },
                k: 0.0,
            })
        };
        let (mut slots, mut mixings) = (Vec::new(), Vec::new());
        let mut before = None;
        for k in 0..piece.count {
            let length_m = if k == 0 { piece.root_m } else { piece.pitch_m };
            let here = node(format!("slot {}", k + 1), None);
            let up =
                branch(format!("{}:stretch-{}", piece.id, k + 1), at, here, stretch(length_m), [None; 2]);
            let past = node(format!("past slot {}", k + 1), None);
            let mixing = Law::Mixing(Mixing { theta: 1.0, area_m2 });
            let mixing =
                branch(format!("{}:regain-{}", piece.id, k + 1), here, past, mixing, [Some(up), None]);
            let law = Law::Slot(SlotLaw {
                model: Model::CrossFlowSharp,
                velocity: Velocity::Mean,
                area_m2: piece.length_m * piece.width_m,
                duct_area_m2: area_m2,
            });
            slots.push(branch(format!("{}/{}", piece.id, k + 1), here, room, law, [Some(up), Some(mixing)]));
            mixings.push(mixing);
            before = Some(mixing);
            at = past;
        }
        let end = node("closed end".into(), None);
        branch(format!("{}:end", piece.id), at, end, stretch(piece.end_m), [None; 2]);
        debug_assert!(before.is_some());
        let network = Network::new(nodes, branches)?;
        let solver = Solver::new(&network);
        Ok(Self { piece, network, solver, last: None, density: air.density_kg_m3(), slots, mixings, end })
    }

    /// What would be read with total pressure `root_total_pa` at the root tap: root static, end static, flow,
    /// then each slot that was read; none where the air balance does not close.
    pub fn readings(&mut self, nature: &Nature, root_total_pa: f64) -> Option<Vec<f64>> {
        self.network.held_pa[1] = Some(root_total_pa);
        for (&slot, &mixing) in self.slots.iter().zip(&self.mixings) {
            if let Law::Slot(law) = &mut self.network.branches[slot].law {
                law.model = nature.model;
                law.velocity = nature.velocity;
                law.area_m2 = nature.coefficient * self.piece.length_m * self.piece.width_m;
            }
            if let Law::Mixing(law) = &mut self.network.branches[mixing].law {
                law.theta = nature.regain;
            }
        }
        let solution = self.solver.solve(&self.network, &Settings::default(), self.last.as_ref());
        if !solution.converged() {
            return None;
        }
        let flow_m3_s = solution.flows_kg_s[0] / self.density;
        let velocity = flow_m3_s / self.piece.section.area_m2();
        let mut readings = vec![
            root_total_pa - 0.5 * self.density * velocity * velocity,
            solution.pressures_pa[self.end],
            flow_m3_s,
        ];
        readings.extend(self.piece.slots.iter().map(|reading| {
            let branch = self.slots[reading.slot as usize - 1];
            solution.flows_kg_s[branch] / (self.density * self.piece.length_m * self.piece.width_m)
        }));
        self.last = Some(solution);
        Some(readings)
    }

    /// What was read, and the doubt of each, in the order of [`Bench::readings`].
    pub fn read(&self) -> Vec<(String, f64, f64)> {
        let p = self.piece;
        let mut read = vec![
            ("static pressure at the root, Pa".to_owned(), p.root_static_pa, p.static_doubt_percent),
            ("static pressure at the end, Pa".to_owned(), p.end_static_pa, p.static_doubt_percent),
            ("flow, m³/s".to_owned(), p.flow_m3_s, p.flow_doubt_percent),
        ];
        read.extend(
            p.slots
                .iter()
                .map(|slot| (format!("slot {}, m/s", slot.slot), slot.velocity_m_s, p.slot_doubt_percent)),
        );
        read.into_iter().map(|(what, value, percent)| (what, value, 0.01 * percent * value)).collect()
    }

    /// Total pressure at the root by the readings alone, Pa.
    pub fn root_total_pa(&self) -> f64 {
        let velocity = self.piece.flow_m3_s / self.piece.section.area_m2();
        self.piece.root_static_pa + 0.5 * self.density * velocity * velocity
    }

    /// Slot area over duct area.
    pub fn area_ratio(&self) -> f64 {
        f64::from(self.piece.count) * self.piece.length_m * self.piece.width_m / self.piece.section.area_m2()
    }
}
