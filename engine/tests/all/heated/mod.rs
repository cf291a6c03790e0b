//! Plans with a load, for tests of their heat.

use crate::examples::{plan, two_zones};
use engine::analysis::{Analysis, analyse};
use engine::heat::results::Heat;
use engine::plan::{Material, PartShape, Plan};

pub fn gates() -> Plan {
    plan("garden-gates")
}

/// The two zones of before, whose places and losses some tests count on.
pub fn kept() -> Plan {
    two_zones()
}

pub fn analysed(plan: &Plan) -> Analysis {
    let analysis = analyse(plan).expect("can be calculated");
    assert_eq!(analysis.status, "converged");
    analysis
}

pub fn heat(plan: &Plan) -> Heat {
    let analysis = analysed(plan);
    let told: Vec<&str> = analysis.findings.iter().map(|finding| finding.id.as_str()).collect();
    analysis.heat.unwrap_or_else(|| panic!("no heat balance: {told:?}"))
}

/// Variants of the example that stress the balance.
pub fn variants() -> Vec<(&'static str, Plan)> {
    let with = |name, change: &dyn Fn(&mut Plan)| {
        let mut plan = gates();
        change(&mut plan);
        (name, plan)
    };
    vec![
        with("as it is", &|_| {}),
        with("idle", &|plan| plan.load.as_mut().unwrap().parts.clear()),
        with("line stands", &|plan| plan.conveyor.as_mut().unwrap().speed_m_s = 0.0),
        with("no conveyor", &|plan| plan.conveyor = None),
        with("damper by hand", &|plan| plan.ducts[1].damper.as_mut().unwrap().modulation = None),
        with("no sensors", &|plan| plan.sensors.clear()),
        with("leaks and other losses", &|plan| {
            plan.zones[1].leak_kg_s = 0.1;
            plan.zones[0].other_loss_w_k = 40.0;
            plan.ducts.iter_mut().for_each(|duct| duct.leakage_class = Some(engine::plan::LeakageClass::A));
        }),
        with("thick part", &|plan| {
            let part = &mut plan.load.as_mut().unwrap().parts[0];
            part.shape = PartShape::Bar { diameter_m: 0.16 };
            part.material = Material::StainlessSteel;
            part.kg_per_m = 40.0;
        }),
        with("insulated ducts", &|plan| plan.ducts.iter_mut().for_each(|duct| duct.insulation_m = 0.05)),
        with("one zone", &|plan| {
            plan.zones[0].outline = plan.enclosure.outline.clone();
            plan.zones.truncate(1);
            plan.zones[0].set_temperature_c = 180.0;
            plan.openings.retain(|opening| opening.to_zone.is_none());
            plan.openings.iter_mut().for_each(|opening| opening.zone = "dry-off".into());
            plan.exhausts.iter_mut().for_each(|exhaust| exhaust.zone = "dry-off".into());
            plan.ducts[1].damper.as_mut().unwrap().modulation = None;
            plan.sensors.clear();
        }),
    ]
}

/// Enthalpy of moist air by quadrature of its specific heat: nothing in common with the engine's closed form.
pub fn enthalpy(celsius: f64, humidity_ratio: f64) -> f64 {
    let specific = |t: f64| {
        let dry = engine::air::Air::at(t, 101_325.0, 0.0).specific_heat().value;
        (dry + humidity_ratio * (1_855.0 + 0.44 * t)) / (1.0 + humidity_ratio)
    };
    let steps = 16;
    let width = celsius / f64::from(steps);
    (0..steps)
        .map(|k| {
            let a = width * f64::from(k);
            width / 6.0 * (specific(a) + 4.0 * specific(a + 0.5 * width) + specific(a + width))
        })
        .sum()
}

/// Enthalpy of water vapour, likewise.
pub fn vapour(celsius: f64) -> f64 {
    (1_855.0 + 0.44 * (0.5 * celsius)) * celsius
}
