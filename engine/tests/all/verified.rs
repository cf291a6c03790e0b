//! Evened-out plans solved again by code of this file alone: no law, air or solver of the engine is called.
//!
//! Every dead-end run is marched slot by slot from its far end, so that its slots are checked with their
//! laws; where runs close into a ring, the whole network with frozen coefficients is solved by successive
//! linearisation instead.
#![allow(
    clippy::disallowed_methods,
    reason = "an oracle that shares no code with the engine, its numerics included"
)]

use crate::examples::with_returns;
use engine::analysis::{Analysis, analyse};
use engine::design::{compare_slot_laws, even_out};
use engine::network::{Settings, door, from_plan, solve};
use engine::plan::{Duct, Plan, Section};
use serde_json::Value;
use std::collections::HashMap;

const DEAD_ENDS: [&str; 5] = ["garden-gates", "minimal", "lantern-box", "fence-tunnel", "shelving-frames"];

fn evened(name: &str) -> (Plan, Analysis) {
    let done = even_out(&with_returns(name)).expect("evened out").plan;
    let analysis = analyse(&done).expect("calculated");
    (done, analysis)
}

fn limit_percent(name: &str, analysis: &Analysis) -> f64 {
    let limit = if name == "shelving-frames" { 5.0 } else { 3.0 };
    f64::max(limit, 1.3 * analysis.evenness.rounding_floor_percent)
}

/// Haaland 1983; laminar below 2,300.
fn friction_factor(reynolds: f64, relative_roughness: f64) -> f64 {
    if reynolds < 2_300.0 {
        return 64.0 / reynolds.max(1.0);
    }
    let root = -1.8 * ((relative_roughness / 3.7).powf(1.11) + 6.9 / reynolds).log10();
    1.0 / (root * root)
}

/// (area, hydraulic diameter), m² and m.
fn shape(section: Section) -> (f64, f64) {
    match section {
        Section::Rectangular { width_m: w, height_m: h } => (w * h, 2.0 * w * h / (w + h)),
        Section::Round { diameter_m: d } => (0.25 * std::f64::consts::PI * d * d, d),
    }
}

struct March {
    rho: f64,
    mu: f64,
    area: f64,
    diameter: f64,
    roughness: f64,
    /// (station, slot area) from the first slot on.
    slots: Vec<(f64, f64)>,
}

impl March {
    fn of(plan: &Plan, duct: &Duct) -> Self {
        // Standard atmosphere; ideal gas; Sutherland's constants of 1976. The engine has its own fits.
        let pressure = 101_325.0 * (1.0 - 2.255_77e-5 * plan.site.altitude_m).powf(5.255_88);
        let (t, w) = (plan.heater.supply_temperature_c + 273.15, plan.site.oven_humidity_ratio);
        let rho = pressure * (1.0 + w) / (287.05 * t * (1.0 + w / 0.62198));
        let mu = 1.458e-6 * t.powf(1.5) / (t + 110.4);
        let (area, diameter) = shape(duct.section);
        let rows = plan.slot_rows.iter().filter(|row| row.duct == duct.id);
        let mut slots: Vec<(f64, f64)> = rows
            .flat_map(|row| {
                (0..row.count as usize).map(|k| (row.station_m(k), row.slot_length_m(k) * row.width_m(k)))
            })
            .collect();
        // Rows of one duct may stand among one another.
        slots.sort_by(|a, b| a.0.total_cmp(&b.0));
        Self { rho, mu, area, diameter, roughness: duct.roughness_m, slots }
    }

    /// Flows (kg/s) and the total pressure at the first slot, from the pressure at the last.
    fn run(&self, mut total: f64) -> (Vec<f64>, f64) {
        let (mut v, mut flows, mut after) = (0.0_f64, vec![], None::<f64>);
        for &(station, slot) in self.slots.iter().rev() {
            if let Some(after) = after {
                let f =
                    friction_factor(self.rho * v * self.diameter / self.mu, self.roughness / self.diameter);
                total += f * (after - station) / self.diameter * 0.5 * self.rho * v * v;
            }
            // Sharp edge, mean of the velocities: q by bisection, since it shifts the mean.
            let (mut low, mut high) = (0.0, 0.7 * slot * (2.0 * total / self.rho).sqrt());
            for _ in 0..60 {
                let q = 0.5 * (low + high);
                let mean = v + 0.5 * q / self.area;
                let r = 0.5 * self.rho * mean * mean / total;
                let passes = (0.63 - 0.58 * r) * slot * (2.0 * total / self.rho).sqrt();
                if q < passes { low = q } else { high = q }
            }
            v += low / self.area;
            flows.push(self.rho * low);
            after = Some(station);
        }
        flows.reverse();
        (flows, total)
    }

    /// Flows for a total pressure at the first slot.
    fn after_first(&self, first: f64) -> Vec<f64> {
        let (mut low, mut high) = (0.0, first);
        for _ in 0..60 {
            let end = 0.5 * (low + high);
            if self.run(end).1 < first { low = end } else { high = end }
        }
        self.run(low).0
    }
}

#[test]
fn slots_of_dead_end_runs_are_within_their_limit_by_a_march_of_its_own() {
    for name in DEAD_ENDS {
        let (plan, analysis) = evened(name);
        let limit = limit_percent(name, &analysis);
        let (mut worst, mut total, mut apart): (f64, f64, f64) = (0.0, 0.0, 0.0);
        for duct in plan.ducts.iter().filter(|duct| plan.slot_rows.iter().any(|row| row.duct == duct.id)) {
            let mut own: Vec<_> = analysis.slots.iter().filter(|slot| slot.run == duct.id).collect();
            own.sort_by(|a, b| a.station_m.total_cmp(&b.station_m));
            let flows = March::of(&plan, duct).after_first(own[0].total_pressure_pa);
            assert_eq!(flows.len(), own.len());
            for (flow, slot) in flows.iter().zip(own) {
                worst = worst.max(100.0 * (flow / slot.target_kg_s - 1.0).abs());
                apart = apart.max(100.0 * (flow / slot.mass_flow_kg_s - 1.0).abs());
                total += flow;
            }
        }
        let off = 100.0 * (total / plan.required_flow_kg_s - 1.0);
        println!("{name}: worst {worst:.2} % of {limit:.2}, total {off:+.2} %, from the engine {apart:.3} %");
        assert!(worst <= limit && off.abs() <= 2.0 && apart < 0.5, "{name}");
        let others = compare_slot_laws(&plan).expect("compared");
        let said: Vec<String> =
            others.iter().map(|law| format!("{}: ±{:.1} %", law.law, law.evenness.worst_percent)).collect();
        println!("    under each law: {}", said.join("; "));
    }
}

/// Monotone cubic through the fan's points (Fritsch & Butland 1984) at `x`: value and slope.
fn curve(points: &[(f64, f64)], x: f64) -> (f64, f64) {
    let n = points.len();
    let h: Vec<f64> = points.windows(2).map(|p| p[1].0 - p[0].0).collect();
    let s: Vec<f64> = points.windows(2).map(|p| (p[1].1 - p[0].1) / (p[1].0 - p[0].0)).collect();
    let slope = |i: usize| {
        if i == 0 || i == n - 1 {
            return if i == 0 { s[0] } else { s[n - 2] };
        }
        if s[i - 1] * s[i] <= 0.0 {
            return 0.0;
        }
        let (w1, w2) = (2.0 * h[i] + h[i - 1], h[i] + 2.0 * h[i - 1]);
        (w1 + w2) / (w1 / s[i - 1] + w2 / s[i])
    };
    let i = (0..n - 1).rev().find(|&i| x >= points[i].0).unwrap_or(0);
    let (d0, d1, t) = (slope(i), slope(i + 1), (x - points[i].0) / h[i]);
    let (y0, y1) = (points[i].1, points[i + 1].1);
    let value = y0 * (1.0 + 2.0 * t) * (1.0 - t) * (1.0 - t)
        + h[i] * d0 * t * (1.0 - t) * (1.0 - t)
        + y1 * t * t * (3.0 - 2.0 * t)
        + h[i] * d1 * t * t * (t - 1.0);
    let along =
        (y1 - y0) / h[i] * 6.0 * t * (1.0 - t) + d0 * (1.0 - t) * (1.0 - 3.0 * t) + d1 * t * (3.0 * t - 2.0);
    (value, along)
}

/// dp(ṁ) of a frozen branch and its slope, and what it adds at rest is in dp(0).
fn drop_of(law: &Value, rho: f64, mu: f64, m: f64) -> (f64, f64) {
    let number = |key: &str| law[key].as_f64().unwrap_or(0.0);
    // Linear below a small flow, so that the slope stays above zero.
    let quadratic = |r: f64| (r * m * (m * m + 1e-8).sqrt(), r * 2.0 * (m * m + 1e-8).sqrt());
    match law["kind"].as_str().expect("a kind") {
        "k" => quadratic(number("k") / (2.0 * rho * number("area_m2").powi(2))),
        "orifice" => quadratic(1.0 / (2.0 * rho * (number("cd") * number("area_m2")).powi(2))),
        "duct" => {
            let (w, h, d) = (number("width_m"), number("height_m"), number("diameter_m"));
            let (area, dh) = if d > 0.0 {
                (0.25 * std::f64::consts::PI * d * d, d)
            } else {
                (w * h, 2.0 * w * h / (w + h))
            };
            let f = friction_factor(m.abs() * dh / (area * mu), number("roughness_m") / dh);
            quadratic((f * number("length_m") / dh + number("k")) / (2.0 * rho * area * area))
        }
        "fan" => {
            let points: Vec<(f64, f64)> = law["points"]
                .as_array()
                .expect("points")
                .iter()
                .map(|p| (p[0].as_f64().unwrap(), p[1].as_f64().unwrap()))
                .collect();
            let (s, scale) = (number("speed_ratio"), rho / number("points_density_kg_m3"));
            // Beyond the points the curve goes on falling as it does on the whole.
            let (first, last) = (points[0], points[points.len() - 1]);
            let x = (m / rho / s).clamp(first.0, last.0);
            let fall = (first.1 - last.1) / (last.0 - first.0);
            let (rise, slope) = curve(&points, x);
            let rise = rise - fall * (m / rho / s - x);
            (-scale * s * s * rise, (-scale * s * slope / rho).max(1e-3))
        }
        other => panic!("no {other} is expected in a frozen plan"),
    }
}

/// Solves a frozen case by linearising every branch at its flow and eliminating the nodes densely.
fn resolve(case: &Value) -> HashMap<String, f64> {
    let nodes = case["nodes"].as_array().expect("nodes");
    let index: HashMap<&str, usize> =
        nodes.iter().enumerate().map(|(i, node)| (node["id"].as_str().unwrap(), i)).collect();
    let branches = case["branches"].as_array().expect("branches");
    let mut flows = vec![0.5; branches.len()];
    for step in 0..400 {
        let n = nodes.len();
        let mut a = vec![vec![0.0; n + 1]; n];
        let mut lines = Vec::new();
        for (branch, &m) in branches.iter().zip(&flows) {
            let of = |key: &str| branch[key].as_f64().expect("a frozen branch has it");
            let (dp, slope) = drop_of(&branch["law"], of("density_kg_m3"), of("viscosity_pa_s"), m);
            let slope = slope.max(1e-4);
            let (from, to) = (index[branch["from"].as_str().unwrap()], index[branch["to"].as_str().unwrap()]);
            // m' = m + (p_from − p_to − dp)/slope
            let (g, at_zero) = (1.0 / slope, m - dp / slope);
            lines.push((from, to, g, at_zero));
            for (row, other, sign) in [(from, to, 1.0), (to, from, -1.0)] {
                a[row][row] += g;
                a[row][other] -= g;
                a[row][n] -= sign * at_zero;
            }
        }
        for (i, node) in nodes.iter().enumerate() {
            a[i][n] += node["inflow_kg_s"].as_f64().unwrap_or(0.0);
            if let Some(set) = node["total_pressure_pa"].as_f64() {
                a[i] = vec![0.0; n + 1];
                (a[i][i], a[i][n]) = (1.0, set);
            }
        }
        let p = eliminate(a);
        let mut change = 0.0_f64;
        for (flow, (from, to, g, at_zero)) in flows.iter_mut().zip(lines) {
            let next = at_zero + g * (p[from] - p[to]);
            change = change.max((next - *flow).abs());
            // Half steps at first: the linearisation of a square overshoots from far.
            *flow += if step < 20 { 0.5 } else { 1.0 } * (next - *flow);
        }
        if change < 1e-10 {
            let id = |branch: &Value| branch["id"].as_str().unwrap().to_owned();
            return branches.iter().zip(flows).map(|(branch, flow)| (id(branch), flow)).collect();
        }
    }
    panic!("the frozen case did not settle");
}

/// Gaussian elimination with partial pivoting; the last column is the right-hand side.
fn eliminate(mut a: Vec<Vec<f64>>) -> Vec<f64> {
    let n = a.len();
    for k in 0..n {
        let pivot = (k..n).max_by(|&i, &j| a[i][k].abs().total_cmp(&a[j][k].abs())).unwrap();
        a.swap(k, pivot);
        let row = a[k].clone();
        for below in a.iter_mut().skip(k + 1).filter(|below| below[k] != 0.0) {
            let factor = below[k] / row[k];
            below[k..].iter_mut().zip(&row[k..]).for_each(|(x, y)| *x -= factor * y);
        }
    }
    let mut x = vec![0.0; n];
    for k in (0..n).rev() {
        let known: f64 = (k + 1..n).map(|j| a[k][j] * x[j]).sum();
        x[k] = (a[k][n] - known) / a[k][k];
    }
    x
}

#[test]
fn whole_networks_with_frozen_coefficients_give_the_same_shares_by_another_solver() {
    for name in ["planter-ring", "lantern-box", "minimal"] {
        let (plan, analysis) = evened(name);
        let built = from_plan::build(&plan).expect("builds");
        let solution = solve(&built.network, &Settings::default());
        let case = serde_json::to_value(door::freeze(&built.network, &solution)).expect("a case is JSON");
        let flows = resolve(&case);
        let limit = limit_percent(name, &analysis);
        let (mut worst, mut total): (f64, f64) = (0.0, 0.0);
        for slot in &analysis.slots {
            worst = worst.max(100.0 * (flows[&slot.id] / slot.target_kg_s - 1.0).abs());
            total += flows[&slot.id];
        }
        let off = 100.0 * (total / plan.required_flow_kg_s - 1.0);
        println!("{name}: worst {worst:.2} % of {limit:.2}, total {off:+.2} %");
        assert!(worst <= limit && off.abs() <= 2.0, "{name}");
    }
}
