//! Slots, and ducts that discharge through them.

use super::{Row, door};
use engine::laws::duct::DuctLaw;
use engine::laws::friction::laminar_constant_rectangular;
use engine::laws::slot::{self, Model, SlotLaw, Velocity};
use engine::network::door::{Answer, Case, CaseLaw, CaseSlotModel, CaseVelocity};

/// Slots that stand for one as long as the duct.
const CONTINUOUS: usize = 400;

pub fn free_streamline(row: &Row) -> f64 {
    slot::free_streamline(row.number("u1"), row.number("u2"))
}

pub fn coefficient(row: &Row) -> f64 {
    model(row).coefficient(row.number("r")).0
}

fn model(row: &Row) -> Model {
    match row.text("model") {
        "cross_flow_sharp" => Model::CrossFlowSharp,
        "cross_flow_formed" => Model::CrossFlowFormed,
        "free_streamline" => Model::FreeStreamline,
        "constant_total" => Model::ConstantTotal(row.number("cd")),
        "constant_static" => Model::ConstantStatic(row.number("cd")),
        _ => row.unknown("model"),
    }
}

fn door_model(row: &Row) -> CaseSlotModel {
    match row.text("model") {
        "cross_flow_sharp" => CaseSlotModel::CrossFlowSharp,
        "cross_flow_formed" => CaseSlotModel::CrossFlowFormed,
        "free_streamline" => CaseSlotModel::FreeStreamline,
        "constant_total" => CaseSlotModel::ConstantTotal,
        "constant_static" => CaseSlotModel::ConstantStatic,
        _ => row.unknown("model"),
    }
}

fn door_velocity(row: &Row) -> CaseVelocity {
    match row.text("velocity") {
        "upstream" => CaseVelocity::Upstream,
        "mean" => CaseVelocity::Mean,
        _ => row.unknown("velocity"),
    }
}

/// Flow of one slot whose duct has set flows and a set pressure.
pub fn single(row: &Row) -> f64 {
    let (density, duct_area_m2) = (row.number("rho"), row.number("duct_area_m2"));
    let mut case = door::case(density, 2.6e-5);
    case.nodes = vec![
        door::fed("before", density * row.number("q_before_m3_s")),
        door::held("here", row.number("e_pa")),
        door::fed("after", -density * row.number("q_after_m3_s")),
        door::held("room", 0.0),
    ];
    let joint = || door::joint(duct_area_m2, 1.0);
    let law = CaseLaw::Slot {
        model: door_model(row),
        cd: row.optional("cd"),
        area_m2: row.number("slot_area_m2"),
        duct_area_m2,
        upstream: "up".to_owned(),
        downstream: Some("down".to_owned()),
        velocity: door_velocity(row),
    };
    case.branches = vec![
        door::branch("up", "before", "here", joint()),
        door::branch("down", "here", "after", joint()),
        door::branch("slot", "here", "room", law),
    ];
    door::flow(&door::solved(&case), "slot") / density
}

/// A dead-end duct with slots: what the slots and the ducts between them are.
struct Run {
    case: Case,
    area_m2: f64,
    model: CaseSlotModel,
    cd: Option<f64>,
    velocity: CaseVelocity,
}

impl Run {
    /// Slots of `areas` from the dead end on, `between` them, and `feed` before the first.
    fn solved(mut self, areas: &[f64], feed: CaseLaw, between: &CaseLaw) -> Answer {
        self.case.nodes.push(door::held("room", 0.0));
        let last = areas.len();
        for (i, &area_m2) in areas.iter().enumerate() {
            let port = i + 1;
            let node = format!("p{port}");
            self.case.nodes.push(door::node(&node));
            let (from, law) = if port == last {
                ("inlet".to_owned(), feed.clone())
            } else {
                (format!("p{}", port + 1), between.clone())
            };
            self.case.branches.push(door::branch(format!("d{port}"), from, &node, law));
            let law = CaseLaw::Slot {
                model: self.model,
                cd: self.cd,
                area_m2,
                duct_area_m2: self.area_m2,
                upstream: format!("d{port}"),
                downstream: (port > 1).then(|| format!("d{}", port - 1)),
                velocity: self.velocity,
            };
            self.case.branches.push(door::branch(format!("s{port}"), node, "room", law));
        }
        door::solved(&self.case)
    }
}

/// Slots of given areas on the row's duct, fed with the row's total flow.
fn run_of(row: &Row, areas: &[f64]) -> Answer {
    let (density, width, height) = (row.number("rho"), row.number("duct_w_m"), row.number("duct_h_m"));
    let mut case = door::case(density, row.number("mu"));
    case.nodes.push(door::fed("inlet", density * row.number("q_total_m3_s")));
    let between = CaseLaw::Duct {
        length_m: row.number("spacing_m"),
        diameter_m: None,
        width_m: Some(width),
        height_m: Some(height),
        roughness_m: row.number("eps_m"),
        k: None,
    };
    let (model, velocity) = (door_model(row), door_velocity(row));
    let run = Run { case, area_m2: width * height, model, cd: None, velocity };
    run.solved(areas, door::joint(width, height), &between)
}

pub fn dead_end_march(row: &Row) -> f64 {
    let answer = run_of(row, &vec![row.number("port_area_m2"); row.count("n_ports")]);
    let port = row.count("port");
    match row.text("quantity") {
        "flow" => door::flow(&answer, &format!("s{port}")) / row.number("rho"),
        "total_pressure" => door::pressure(&answer, &format!("p{port}")),
        _ => row.unknown("quantity"),
    }
}

/// Many slots in place of one as long as the duct, each in the middle of its piece. Friction is a fixed
/// coefficient, as the closed forms want it.
pub fn continuous(row: &Row) -> f64 {
    const DENSITY: f64 = 0.75;
    const DUCT_M2: f64 = 0.2;
    const CD: f64 = 0.6;
    let static_law = row.text("model") == "constant_static";
    // beta of the constant law is Cd times the area ratio.
    let ratio = row.number("ratio") / if static_law { CD } else { 1.0 };
    let areas = vec![ratio * DUCT_M2 / CONTINUOUS as f64; CONTINUOUS];
    let mut case = door::case(DENSITY, 2.6e-5);
    case.nodes.push(door::held("inlet", 100.0));
    let piece =
        |share: f64| CaseLaw::K { k: share * row.number("f_l_over_d") / CONTINUOUS as f64, area_m2: DUCT_M2 };
    let run = Run {
        case,
        area_m2: DUCT_M2,
        model: door_model(row),
        cd: static_law.then_some(CD),
        velocity: CaseVelocity::Mean,
    };
    let answer = run.solved(&areas, piece(0.5), &piece(1.0));
    let slot = |port: usize| door::flow(&answer, &format!("s{port}"));
    let e_end = door::pressure(&answer, "p1");
    match row.text("quantity") {
        "u_inlet" => {
            let velocity = door::flow(&answer, &format!("d{CONTINUOUS}")) / (DENSITY * DUCT_M2);
            velocity / (2.0 * e_end / DENSITY).sqrt()
        }
        "e_inlet_over_e_end" => door::pressure(&answer, "inlet") / e_end,
        // The last slot sits half a piece from the inlet, the first half a piece from the dead end where
        // the flow does not change with the place.
        "q_inlet_over_q_end" => (1.5 * slot(CONTINUOUS) - 0.5 * slot(CONTINUOUS - 1)) / slot(1),
        _ => row.unknown("quantity"),
    }
}

/// Areas for equal flows by the engine's own inverse of the slot law, marching from the dead end.
fn even_areas(row: &Row) -> Vec<f64> {
    let (density, width, height) = (row.number("rho"), row.number("duct_w_m"), row.number("duct_h_m"));
    let slots = row.count("n_ports");
    let each = density * row.number("q_total_m3_s") / slots as f64;
    let duct = DuctLaw {
        length_m: row.number("spacing_m"),
        area_m2: width * height,
        hydraulic_diameter_m: 2.0 * width * height / (width + height),
        roughness_m: row.number("eps_m"),
        laminar_constant: laminar_constant_rectangular(width, height),
        k: 0.0,
    };
    let velocity = match door_velocity(row) {
        CaseVelocity::Upstream => Velocity::Upstream,
        CaseVelocity::Mean => Velocity::Mean,
    };
    let law = SlotLaw { model: model(row), velocity, area_m2: 1.0, duct_area_m2: width * height };
    let mut e_pa = row.number("e_dead_end_pa");
    (0..slots)
        .map(|port| {
            let (before, after) = ((port + 1) as f64 * each, port as f64 * each);
            if port > 0 {
                e_pa += duct.drop(after, density, row.number("mu")).0;
            }
            law.area_for(each, e_pa, [before, after], density)
                .unwrap_or_else(|| panic!("slot {} cannot pass its share", port + 1))
        })
        .collect()
}

pub fn even_sizing(row: &Row) -> f64 {
    even_areas(row)[row.count("port") - 1]
}

/// The sized run solved forward: flow of one slot.
pub fn even_round_trip(row: &Row) -> f64 {
    let answer = run_of(row, &even_areas(row));
    door::flow(&answer, &format!("s{}", row.count("port"))) / row.number("rho")
}
