//! Fans: curve, similarity, power and operating points.

use super::{Row, door};
use engine::laws::fan::{self, FanCurve};
use engine::network::door::CaseLaw;

fn fan(points: &[(f64, f64)], density: f64, speed_ratio: f64) -> FanCurve {
    FanCurve::new(points, density, speed_ratio).expect("the points rise in flow")
}

pub fn curve(row: &Row) -> f64 {
    let point = |pair: &str| {
        let (q, p) = pair.split_once(':').unwrap_or_else(|| row.unknown("points"));
        (q.parse().expect("a flow"), p.parse().expect("a pressure"))
    };
    let points: Vec<(f64, f64)> = row.text("points").split_whitespace().map(point).collect();
    fan(&points, 1.2, 1.0).rise(row.number("q_m3_s"), 1.2).0
}

/// The row's point is the last of a falling curve, so the flow it moves to is the last flow.
pub fn laws(row: &Row) -> f64 {
    let (q, p, power) = (row.number("q_m3_s"), row.number("p_pa"), row.number("power_w"));
    let (speed, density) = (row.number("speed_ratio"), row.number("rho"));
    let fan = fan(&[(0.0, 1.3 * p), (q, p)], row.number("rho_curve"), speed)
        .with_power(&[(0.0, 0.5 * power), (q, power)]);
    let moved = fan.last_flow_m3_s();
    match row.text("quantity") {
        "q" => moved,
        "p" => fan.rise(moved, density).0,
        "power" => fan.shaft_power_w(moved, density),
        _ => row.unknown("quantity"),
    }
}

pub fn power(row: &Row) -> f64 {
    let (q, p) = (row.number("q_m3_s"), row.number("p_pa"));
    fan(&[(0.0, 1.3 * p), (q, p)], row.number("rho_curve"), 1.0)
        .with_outlet(row.number("efficiency"), 1.0)
        .shaft_power_w(q, row.number("rho"))
}

/// Identical fans side by side against a square law and a set pressure; the parabola of the row is
/// given to the fan as points 0.05 m³/s apart.
pub fn operating_point(row: &Row) -> f64 {
    let density = row.number("rho");
    let parabola = |q: f64| row.number("c0") + q * (row.number("c1") + q * row.number("c2"));
    let points: Vec<(f64, f64)> = (0..=180).map(|i| 0.05 * f64::from(i)).map(|q| (q, parabola(q))).collect();
    let mut case = door::case(density, 2e-5);
    case.nodes = vec![door::held("in", 0.0), door::node("out"), door::held("end", row.number("fixed_pa"))];
    let system = CaseLaw::Power { c: row.number("system_k"), n: 2.0 };
    case.branches.push(door::branch("system", "out", "end", system));
    for i in 0..row.count("fans") {
        let law = CaseLaw::Fan {
            points: points.clone(),
            points_density_kg_m3: row.number("rho_curve"),
            speed_ratio: row.number("speed_ratio"),
        };
        case.branches.push(door::branch(format!("fan{i}"), "in", "out", law));
    }
    door::flow(&door::solved(&case), "system") / density
}

/// Drives, cold starts, heating by the fan, and the tables of outlets and grades.
pub fn data(row: &Row) -> f64 {
    let (a, b) = (row.number("a"), row.number("b"));
    match row.text("law") {
        "fan::belt_speed" => fan::belt_speed_rpm(a, b, row.number("c"), row.number("d")),
        "fan::cold_start_speed_ratio" => fan::cold_start_speed_ratio(a, b),
        "fan::temperature_rise" => fan::temperature_rise_k(a, b, row.number("c"), row.number("d")),
        _ => row.unknown("law"),
    }
}

/// Constant of a system-effect curve, or a column of a tolerance grade.
pub fn table(row: &Row) -> f64 {
    match row.text("law") {
        "fan::system_effect" => row
            .text("entry")
            .chars()
            .next()
            .and_then(fan::system_effect)
            .unwrap_or_else(|| row.unknown("entry")),
        "fan::tolerance" => {
            let column = match row.text("column") {
                "flow" => 0,
                "pressure" => 1,
                "power" => 2,
                "efficiency" => 3,
                _ => row.unknown("column"),
            };
            fan::tolerance_percent(row.count("entry") as u8).unwrap_or_else(|| row.unknown("entry"))[column]
        }
        _ => row.unknown("law"),
    }
}
