//! Return openings into a collecting header, built with the public network types.

use super::Row;
use engine::laws::Law;
use engine::laws::duct::DuctLaw;
use engine::laws::friction::laminar_constant_rectangular;
use engine::laws::opening::{Inlet, Mixing};
use engine::network::{Branch, Network, Node, Settings, Solution, solve};

/// A network under construction, all of one air.
struct Draft {
    density: f64,
    viscosity: f64,
    nodes: Vec<Node>,
    branches: Vec<Branch>,
}

impl Draft {
    fn node(&mut self, fixed_pressure_pa: Option<f64>, inflow_kg_s: f64) -> usize {
        self.nodes.push(Node {
            id: format!("n{}", self.nodes.len()),
            fixed_pressure_pa,
            inflow_kg_s,
            temperature_k: 453.15,
            humidity_ratio: 0.0,
        });
        self.nodes.len() - 1
    }

    fn branch(&mut self, from: usize, to: usize, law: Law, reads: [Option<usize>; 2]) -> usize {
        self.branches.push(Branch {
            id: format!("b{}", self.branches.len()),
            from,
            to,
            law,
            reads,
            density_kg_m3: self.density,
            viscosity_pa_s: self.viscosity,
            item: None,
        });
        self.branches.len() - 1
    }

    fn solved(self) -> Solution {
        let network = Network::new(self.nodes, self.branches).unwrap_or_else(|error| panic!("{error}"));
        let solution = solve(&network, &Settings::default());
        assert!(solution.converged(), "{} at {}", solution.status.word(), solution.worst);
        solution
    }
}

fn draft(row: &Row, viscosity: f64) -> Draft {
    Draft { density: row.number("rho"), viscosity, nodes: Vec::new(), branches: Vec::new() }
}

/// A header with openings of given areas and a set outflow; flow of one opening, or the static pressure
/// after it.
pub fn header(row: &Row) -> f64 {
    let (width, height) = (row.number("duct_w_m"), row.number("duct_h_m"));
    let (area, theta, areas) = (width * height, row.number("theta"), row.numbers("areas_m2"));
    let duct = DuctLaw {
        length_m: row.number("spacing_m"),
        area_m2: area,
        hydraulic_diameter_m: 2.0 * width * height / (width + height),
        roughness_m: row.number("eps_m"),
        laminar_constant: laminar_constant_rectangular(width, height),
        k: 0.0,
    };
    let mut draft = draft(row, row.number("mu"));
    let room = draft.node(Some(0.0), 0.0);
    let mut before = draft.node(None, 0.0);
    let mut incoming = None;
    let (mut inlets, mut mixings, mut after) = (Vec::new(), Vec::new(), Vec::new());
    for (i, &area_m2) in areas.iter().enumerate() {
        let last = i + 1 == areas.len();
        let out = draft.node(None, if last { -draft.density * row.number("q_total_m3_s") } else { 0.0 });
        let mixing =
            draft.branch(before, out, Law::Mixing(Mixing { theta, area_m2: area }), [incoming, None]);
        let law = Inlet { coefficient: row.number("cd"), area_m2, header_area_m2: area, theta };
        inlets.push(draft.branch(room, before, Law::Inlet(law), [incoming, Some(mixing)]));
        mixings.push(mixing);
        after.push(out);
        if !last {
            before = draft.node(None, 0.0);
            incoming = Some(draft.branch(out, before, Law::Duct(duct), [None, None]));
        }
    }
    let density = draft.density;
    let solution = draft.solved();
    let opening = row.count("opening") - 1;
    match row.text("quantity") {
        "flow" => solution.flows_kg_s[inlets[opening]] / density,
        "static_pressure" => {
            let velocity = solution.flows_kg_s[mixings[opening]] / (density * area);
            solution.pressures_pa[after[opening]] - 0.5 * density * velocity * velocity
        }
        _ => row.unknown("quantity"),
    }
}

/// One opening, or one place of mixing, with set header flows.
pub fn element(row: &Row) -> f64 {
    let (theta, header_area_m2) = (row.number("theta"), row.number("header_area_m2"));
    let mut draft = draft(row, 2.5e-5);
    let density = draft.density;
    let (start, end) = (draft.node(Some(0.0), 0.0), draft.node(Some(0.0), 0.0));
    let set = |column: &str| Law::Prescribed { mass_flow_kg_s: density * row.number(column) };
    let before = draft.branch(start, end, set("q_before_m3_s"), [None, None]);
    match row.text("quantity") {
        "flow" => {
            let after = draft.branch(start, end, set("q_after_m3_s"), [None, None]);
            let header = draft.node(Some(row.number("header_total_pa")), 0.0);
            let law = Inlet {
                coefficient: row.number("cd"),
                area_m2: row.number("area_m2"),
                header_area_m2,
                theta,
            };
            let inlet = draft.branch(start, header, Law::Inlet(law), [Some(before), Some(after)]);
            draft.solved().flows_kg_s[inlet] / density
        }
        "fall" => {
            let header = draft.node(None, density * row.number("q_after_m3_s"));
            let law = Mixing { theta, area_m2: header_area_m2 };
            draft.branch(header, end, Law::Mixing(law), [Some(before), None]);
            draft.solved().pressures_pa[header]
        }
        _ => row.unknown("quantity"),
    }
}
