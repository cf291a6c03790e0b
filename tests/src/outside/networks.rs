//! Networks kept as files, and plates and dampers in a row.

use super::row::folder;
use super::{Row, door};
use engine::network::door::{CaseLaw, read};

/// Standard gravity, m/s²: published head losses are in metres of the fluid.
const GRAVITY: f64 = 9.806_65;

/// A quantity of a network in `outside/cases`.
pub fn from_file(row: &Row) -> f64 {
    let path = folder().join("cases").join(format!("{}.json", row.text("case")));
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let case = read(&text).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let density = case.fluid.density_kg_m3;
    let answer = door::solved(&case);
    let element = row.text("element");
    match row.text("quantity") {
        "volume_flow" => door::flow(&answer, element) / density,
        "mass_flow" => door::flow(&answer, element),
        "total_pressure" => door::pressure(&answer, element),
        "head_loss" => {
            let branch = case.branches.iter().find(|branch| branch.id == element);
            let branch = branch.unwrap_or_else(|| row.unknown("element"));
            let drop = door::pressure(&answer, &branch.from) - door::pressure(&answer, &branch.to);
            drop / (density * GRAVITY)
        }
        _ => row.unknown("quantity"),
    }
}

/// Flow through a damper and a fixed resistance over the flow with the damper open.
pub fn authority(row: &Row) -> f64 {
    const DENSITY: f64 = 0.8;
    let (cd, area_m2, authority) = (0.6, 0.05, row.number("authority"));
    // The open damper alone would need 1 Pa for this flow; the rest of the branch needs (1 − N)/N.
    let at_1_pa = cd * area_m2 * (2.0 / DENSITY).sqrt();
    let rest = (1.0 - authority) / authority / (at_1_pa * at_1_pa);
    let flow = |free_fraction: f64| {
        let mut case = door::case(DENSITY, 2e-5);
        case.nodes = vec![door::held("in", 100.0), door::node("middle"), door::held("out", 0.0)];
        case.branches = vec![
            door::branch("damper", "in", "middle", CaseLaw::Damper { cd, area_m2, free_fraction }),
            door::branch("rest", "middle", "out", CaseLaw::Power { c: rest, n: 2.0 }),
        ];
        door::flow(&door::solved(&case), "rest")
    };
    flow(row.number("free_fraction")) / flow(1.0)
}

/// Volume flow through plates one after the other.
pub fn orifice(row: &Row) -> f64 {
    let (cd, areas, density) = (row.number("cd"), row.numbers("areas_m2"), row.number("rho"));
    let mut case = door::case(density, 2e-5);
    case.nodes = vec![door::held("n0", row.number("dp_pa")), door::held(&format!("n{}", areas.len()), 0.0)];
    for (i, &area_m2) in areas.iter().enumerate() {
        if i > 0 {
            case.nodes.push(door::node(format!("n{i}")));
        }
        let (from, to) = (format!("n{i}"), format!("n{}", i + 1));
        case.branches.push(door::branch(format!("plate{i}"), from, to, CaseLaw::Orifice { cd, area_m2 }));
    }
    door::flow(&door::solved(&case), "plate0") / density
}
