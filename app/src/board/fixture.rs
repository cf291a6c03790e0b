//! A plan and an invented analysis of it, for tests.

use engine::analysis::{Analysis, FanChart, ReturnResult, RunProfile, SlotResult, Station, ZoneResult};
use engine::plan::geometry::{length_m, section_at, slot_places, zone_at};
use engine::plan::{Plan, file};

/// A two-zone plan, kept as it was so that tests can count on its places.
pub fn demo() -> Plan {
    file::read(include_str!("fixture.evenrise.json")).expect("the plan reads")
}

/// Numbers of the right shape for `plan`; no physics in them.
pub fn invented(plan: &Plan) -> Analysis {
    let places = slot_places(plan);
    let target = plan.required_flow_kg_s / places.len().max(1) as f64;
    let slots = places
        .iter()
        .map(|place| {
            let duct = &plan.ducts[place.duct];
            let t = place.station_m / length_m(&duct.path);
            let row = &plan.slot_rows[place.row];
            let width = row.width_m(place.index);
            let flow = target * (0.86 + 0.32 * t + 0.03 * place.duct as f64 / 12.0) * width / 0.014;
            SlotResult {
                id: place.id.clone(),
                run: duct.id.clone(),
                zone: zone_at(plan, place.at).map_or_else(String::new, |z| plan.zones[z].id.clone()),
                station_m: place.station_m,
                area_m2: row.slot_length_m(place.index) * width,
                width_mm: width * 1000.0,
                mass_flow_kg_s: flow,
                target_kg_s: target,
                velocity_m_s: 18.0 * flow / target,
                total_pressure_pa: 220.0,
                discharge_coefficient: 0.61,
                lean_deg: 20.0 * (1.0 - t),
            }
        })
        .collect();
    let weights: f64 = plan.returns.iter().map(|r| r.weight).sum();
    let returns = plan
        .returns
        .iter()
        .enumerate()
        .map(|(i, r)| ReturnResult {
            id: r.id.clone(),
            zone: String::new(),
            mass_flow_kg_s: 0.8,
            share: r.weight / weights * (1.0 + 0.06 * (i as f64 - 3.5)),
            target_share: r.weight / weights,
            free_fraction: r.open_m / r.height_m,
            opening_mm: r.open_m * 1000.0,
            drop_pa: 40.0,
        })
        .collect();
    let zones = plan
        .zones
        .iter()
        .map(|z| ZoneResult {
            id: z.id.clone(),
            temperature_c: z.set_temperature_c,
            pressure_pa: -2.4,
            supply_kg_s: 3.0,
            return_kg_s: 3.0,
        })
        .collect();
    let runs = plan
        .ducts
        .iter()
        .map(|duct| {
            let total = length_m(&duct.path);
            let n = 24u32;
            let stations = (0..=n)
                .flat_map(|k: u32| {
                    let s = total * f64::from(k) / f64::from(n);
                    let velocity = |k: u32| 14.0 * (1.0 - f64::from(k) / f64::from(n));
                    let area = section_at(duct, s).area_m2();
                    [k.saturating_sub(1), k].map(|j| {
                        let v = velocity(j) * 0.18 / area.max(0.05);
                        let vp = 0.36 * v * v;
                        let tp = 300.0 - 60.0 * s / total;
                        Station {
                            station_m: s,
                            total_pa: tp,
                            static_pa: tp - vp,
                            velocity_pa: vp,
                            velocity_m_s: v,
                        }
                    })
                })
                .collect();
            RunProfile { id: duct.id.clone(), stations }
        })
        .collect();
    let curve = |density: f64| -> Vec<(f64, f64)> {
        plan.heater.fan.points.iter().map(|p| (p.flow_m3_s, p.pressure_pa * density / 1.2)).collect()
    };
    let system = |c: f64| (0..=26).map(|k| (f64::from(k) * 0.5, c * (f64::from(k) * 0.5).powi(2))).collect();
    let fan_chart = FanChart {
        hot: curve(0.72),
        cold: curve(1.2),
        system_hot: system(10.5),
        system_cold: system(17.5),
        points: vec![(8.5, 760.0), (8.4, 1235.0)],
        peak_flow_m3_s: 5.5,
    };
    Analysis {
        status: "converged".into(),
        slots,
        returns,
        zones,
        runs,
        fan_chart,
        required_flow_kg_s: plan.required_flow_kg_s,
        total_flow_kg_s: plan.required_flow_kg_s,
        ..Analysis::default()
    }
}
