//! Heat of the example plan: closed, recomputed from what is printed, held, shut, broken and hurried.

use engine::analysis::{Analysis, analyse};
use engine::heat::results::Heat;
use engine::heat::{damper_travel, weights_for_equal_temperature};
use engine::plan::{HungPart, Material, PartShape, Plan, file};
use serde_json::Value;

fn gates() -> Plan {
    file::read(include_str!("../../tests/plans/garden-gates.evenrise.json")).expect("opens")
}

fn analysed(plan: &Plan) -> Analysis {
    let analysis = analyse(plan).expect("can be calculated");
    assert_eq!(analysis.status, "converged");
    analysis
}

fn heat(plan: &Plan) -> Heat {
    let analysis = analysed(plan);
    let told: Vec<&str> = analysis.findings.iter().map(|finding| finding.id.as_str()).collect();
    analysis.heat.unwrap_or_else(|| panic!("no heat balance: {told:?}"))
}

/// Variants of the example that stress the balance.
fn variants() -> Vec<(&'static str, Plan)> {
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

#[test]
fn energy_closes_in_every_solve() {
    for (name, plan) in variants() {
        let heat = heat(&plan);
        println!(
            "{name}: {:.0} W, residual {:.1e}, {} air solves, {:.4} K behind, supply {:.1} °C, worst {} {:+.1} K",
            heat.burner_w,
            heat.energy_residual,
            heat.air_solves,
            heat.air_behind_k,
            heat.supply_temperature_c,
            heat.worst.bay,
            heat.worst.off_k
        );
        assert!(heat.energy_residual <= 1e-6, "{name} {}", heat.energy_residual);
        assert!(heat.air_behind_k < 0.05 && heat.burner_w > 0.0, "{name}");
        let wrong = Recomputed::of(&printed(&plan), &[]).misfit();
        assert!(
            wrong <= 1e-6,
            "{name}: recomputed from the printed answer it misses by {wrong:e} of the duty"
        );
    }
}

/// The answer as another program reads it.
fn printed(plan: &Plan) -> Value {
    let text = serde_json::to_string(&analysed(plan)).unwrap();
    serde_json::from_str::<Value>(&text).unwrap()["heat"].clone()
}

/// Enthalpy of moist air by quadrature of its specific heat: nothing in common with the engine's closed form.
fn enthalpy(celsius: f64, humidity_ratio: f64) -> f64 {
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

const LOSSES: [&str; 9] = [
    "wall_w",
    "roof_w",
    "floor_w",
    "other_w",
    "radiation_w",
    "parts_w",
    "carried_w",
    "water_w",
    "partition_w",
];

/// Balances around every bay, the ducts with the heater, and the oven, from printed flows and temperatures.
struct Recomputed {
    misfits_w: Vec<f64>,
    duty_w: f64,
}

impl Recomputed {
    /// Of a printed answer, leaving out what `without` names.
    fn of(heat: &Value, without: &[&str]) -> Self {
        let number = |value: &Value, key: &str| {
            if without.contains(&key) { 0.0 } else { value[key].as_f64().unwrap_or_else(|| panic!("{key}")) }
        };
        let humidity = heat["humidity_ratio"].as_f64().unwrap();
        let ambient = heat["ambient_c"].as_f64().unwrap();
        let (burner, fan) = (number(heat, "burner_w"), number(heat, "fan_w"));
        let above = |celsius: f64| enthalpy(celsius, humidity) - enthalpy(ambient, humidity);
        let streams = heat["streams"].as_array().unwrap();
        let carried = |stream: &Value| {
            stream["mass_flow_kg_s"].as_f64().unwrap() * above(stream["temperature_c"].as_f64().unwrap())
        };
        let is = |stream: &Value, end: &str, place: &str| stream[end].as_str() == Some(place);
        let kind_left_out = |stream: &Value| {
            let (from, to) = (stream["from"].as_str().unwrap(), stream["to"].as_str().unwrap());
            let drifts = stream["id"] == "drift";
            without.contains(&"drift") && drifts
                || without.contains(&"outward") && to == "outside"
                || without.contains(&"returned") && to == "return"
        };
        let mut misfits_w = Vec::new();
        let mut lost = 0.0;
        let mut through_ducts = 0.0;
        for bay in heat["bays"].as_array().unwrap() {
            let id = bay["id"].as_str().unwrap();
            let mut left = number(bay, "ducts_w");
            through_ducts += number(bay, "ducts_w");
            for loss in LOSSES {
                let sign = if loss == "partition_w" { -1.0 } else { 1.0 };
                left -= sign * number(bay, loss);
                lost += sign * number(bay, loss);
            }
            for stream in streams.iter().filter(|stream| !kind_left_out(stream)) {
                if is(stream, "to", id) {
                    left += carried(stream);
                }
                if is(stream, "from", id) {
                    left -= carried(stream);
                }
            }
            misfits_w.push(left);
        }
        // Ducts and heater: what they are given, and what they give.
        let mut left = burner + fan - number(&heat["goes"], "house_w") - through_ducts;
        let mut duct_air = 0.0;
        for stream in streams.iter().filter(|stream| !kind_left_out(stream)) {
            for (end, sign) in [("to", 1.0), ("from", -1.0)] {
                if is(stream, end, "supply") || is(stream, end, "return") {
                    left += sign * carried(stream);
                }
            }
            let of_duct = is(stream, "from", "supply") || is(stream, "from", "return");
            if is(stream, "to", "outside") {
                lost += carried(stream);
                duct_air += if of_duct { carried(stream) } else { 0.0 };
            }
        }
        let bare_ducts =
            number(&heat["goes"], "ducts_w") - if without.contains(&"ducts_w") { 0.0 } else { duct_air };
        misfits_w.push(left - bare_ducts);
        misfits_w.push(burner + fan - lost - bare_ducts - number(&heat["goes"], "house_w"));
        Self { misfits_w, duty_w: heat["burner_w"].as_f64().unwrap() }
    }

    /// The largest misfit over the burner's duty.
    fn misfit(&self) -> f64 {
        self.misfits_w.iter().fold(0.0_f64, |worst, misfit| worst.max(misfit.abs())) / self.duty_w
    }
}

#[test]
fn leaving_out_any_one_loss_shows() {
    let mut plan = gates();
    plan.zones[1].leak_kg_s = 0.05;
    plan.zones[0].other_loss_w_k = 40.0;
    plan.heater.house = serde_json::from_str(r#"{"surface_m2": 20, "volume_m3": 6}"#).unwrap();
    let heat = printed(&plan);
    assert!(Recomputed::of(&heat, &[]).misfit() <= 1e-6);
    let others = ["ducts_w", "house_w", "burner_w", "fan_w", "drift", "outward", "returned"];
    for term in LOSSES.iter().chain(&others) {
        let misfit = Recomputed::of(&heat, &[term]).misfit();
        assert!(misfit > 1e-4, "without {term} the balance misses by {misfit:e} only");
    }
}

#[test]
fn heat_taken_by_parts_is_what_their_temperatures_say() {
    let plan = gates();
    let heat = heat(&plan);
    let (load, line) = (plan.load.as_ref().unwrap(), plan.conveyor.as_ref().unwrap().speed_m_s);
    let part = heat.part.unwrap();
    let item = load.parts.iter().find(|item| item.id == part.id).unwrap();
    let taken = line * item.kg_per_m * 490.0 * (part.exit_c - load.entry_temperature_c);
    assert!((heat.goes.parts_w / taken - 1.0).abs() < 1e-4, "{} {taken}", heat.goes.parts_w);
    // Water: all of it dries, from the parts' own temperature to vapour at about the bay's.
    let surface = item.kg_per_m / (7_850.0 * 0.002 * (1.0 - 0.002 / 0.04));
    let water = line * surface * item.water_kg_m2;
    let given_off: f64 = heat.bays.iter().map(|bay| bay.water_kg_s).sum();
    assert!((given_off / water - 1.0).abs() < 1e-6 && part.wet_share == 0.0);
    assert!((2.45e6..2.75e6).contains(&(heat.goes.water_w / water)), "{}", heat.goes.water_w / water);
}

#[test]
fn the_two_zones_are_held_by_burner_and_damper() {
    let found = heat(&gates());
    for zone in &found.zones {
        assert!((zone.control_c - zone.set_temperature_c).abs() < 0.1, "{zone:?}");
    }
    let damper = &found.dampers[0];
    assert!(damper.holds && (10.0..100.0).contains(&damper.open_percent), "{damper:?}");
    // Set to that travel by hand, the air solved with its law gives the same zone.
    let mut by_hand = gates();
    let blade = by_hand.ducts[1].damper.as_mut().unwrap();
    (blade.modulation, blade.open_percent) = (None, damper.open_percent);
    let control = |heat: &Heat| {
        let bay = heat
            .bays
            .iter()
            .find(|bay| bay.zone == "dry-off" && bay.number == 3 && bay.side == Default::default());
        bay.unwrap().temperature_c
    };
    assert!((control(&heat(&by_hand)) - control(&found)).abs() < 0.1);
}
