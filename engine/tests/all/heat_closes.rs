//! Energy, air and water close in every solve: recomputed from the printed answer by code of its own.

use crate::examples::plan;
use crate::heated;
use engine::plan::Plan;
use heated::{analysed, enthalpy, gates, heat, kept, vapour, variants};
use serde_json::Value;

/// Energy, air and water of one solve.
fn assert_closed(name: &str, plan: &Plan) {
    let heat = heat(plan);
    println!(
        "{name}: {:.0} W, residual {:.1e}, {} air solves, {} steps, {:.4} K behind, supply {:.1} °C, worst {} {:+.1} K",
        heat.burner_w,
        heat.energy_residual,
        heat.air_solves,
        heat.air_steps,
        heat.air_behind_k,
        heat.supply_temperature_c,
        heat.worst.bay,
        heat.worst.off_k
    );
    assert!(heat.energy_residual <= 1e-6, "{name} {}", heat.energy_residual);
    assert!(heat.air_behind_k < 0.05 && heat.burner_w > 0.0, "{name}");
    assert!(heat.air_solves <= 3, "{name}: {}", heat.air_solves);
    let again = Recomputed::of(&printed(plan), &[]);
    assert!(again.mass <= 1e-8 && again.water <= 1e-8, "{name}: {} {}", again.mass, again.water);
    assert!(heat.water.residual <= 1e-8 && heat.water.is_balanced, "{name}: {:?}", heat.water);
    let wrong = again.misfit();
    assert!(wrong <= 1e-6, "{name}: recomputed from the printed answer it misses by {wrong:e} of the duty");
}

#[test]
fn energy_closes_in_every_solve_of_the_demonstration() {
    for (name, plan) in variants() {
        assert_closed(name, &plan);
    }
}

/// The other example plans say nothing of heat: they get the demonstration's parts, burner and exhaust.
#[test]
fn energy_closes_on_every_example_plan_with_parts_in_it() {
    for name in ["fence-tunnel", "lantern-box", "minimal", "planter-ring", "shelving-frames"] {
        let mut plan = plan(name);
        let demo = gates();
        plan.load = demo.load;
        plan.coating = demo.coating;
        plan.heater.burner = demo.heater.burner;
        if plan.exhausts.is_empty() {
            let mut exhaust = demo.exhausts[0].clone();
            exhaust.zone = plan.zones[0].id.clone();
            plan.exhausts.push(exhaust);
        }
        assert_closed(name, &plan);
    }
}

/// The answer as another program reads it.
fn printed(plan: &Plan) -> Value {
    let text = serde_json::to_string(&analysed(plan)).unwrap();
    serde_json::from_str::<Value>(&text).unwrap()["heat"].clone()
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

/// Balances around every bay, the ducts with the heater, and the oven, from printed flows, temperatures and humidities.
struct Recomputed {
    misfits_w: Vec<f64>,
    duty_w: f64,
    /// The largest misfit of air around a bay or ducts with heater, over the fan's flow.
    mass: f64,
    /// The same of water.
    water: f64,
}

impl Recomputed {
    /// Of a printed answer, leaving out what `without` names.
    fn of(heat: &Value, without: &[&str]) -> Self {
        let number = |value: &Value, key: &str| {
            if without.contains(&key) { 0.0 } else { value[key].as_f64().unwrap_or_else(|| panic!("{key}")) }
        };
        let ambient = heat["ambient_c"].as_f64().unwrap();
        let (burner, fan) = (number(heat, "burner_w"), number(heat, "fan_w"));
        let kind_left_out = |stream: &&Value| {
            let to = stream["to"].as_str().unwrap();
            let is = |id: &str| stream["id"].as_str() == Some(id);
            !(without.contains(&"drift") && is("drift")
                || without.contains(&"combustion") && is("combustion")
                || without.contains(&"outward") && to == "outside"
                || without.contains(&"returned") && to == "return")
        };
        let streams: Vec<&Value> = heat["streams"].as_array().unwrap().iter().filter(kind_left_out).collect();
        // Air, water and heat that a stream carries.
        let carried = |stream: &Value| {
            let mass = stream["mass_flow_kg_s"].as_f64().unwrap();
            let w = stream["humidity_ratio"].as_f64().unwrap();
            let t = stream["temperature_c"].as_f64().unwrap();
            [mass, mass * w / (1.0 + w), mass * enthalpy(t, w)]
        };
        let balance = |is_here: &dyn Fn(&str) -> bool| {
            let mut sum = [0.0; 3];
            for stream in &streams {
                for (end, sign) in [("to", 1.0), ("from", -1.0)] {
                    if is_here(stream[end].as_str().unwrap()) {
                        sum.iter_mut().zip(carried(stream)).for_each(|(sum, x)| *sum += sign * x);
                    }
                }
            }
            sum
        };
        let (mut misfits_w, mut masses, mut waters) = (Vec::new(), Vec::new(), Vec::new());
        let (mut lost, mut through_ducts) = (0.0, 0.0);
        for bay in heat["bays"].as_array().unwrap() {
            let id = bay["id"].as_str().unwrap();
            let dried = number(bay, "water_kg_s");
            let mut given = number(bay, "ducts_w");
            through_ducts += given;
            let mut own = dried * vapour(number(bay, "temperature_c"));
            for loss in LOSSES {
                own += if loss == "partition_w" { 1.0 } else { -1.0 } * number(bay, loss);
            }
            lost -= own;
            given += own;
            let [mass, water, brought] = balance(&|place| place == id);
            misfits_w.push(given + brought);
            masses.push(mass + dried);
            waters.push(water + dried);
        }
        // Ducts and heater: what they are given, and what they give.
        let [mass, water, brought] = balance(&|place| place == "supply" || place == "return");
        let of_duct = |stream: &&&Value| {
            stream["to"].as_str() == Some("outside")
                && ["supply", "return"].contains(&stream["from"].as_str().unwrap())
        };
        let leaked: f64 = streams
            .iter()
            .filter(of_duct)
            .map(|stream| {
                carried(stream)[2] - carried(stream)[0] * enthalpy(ambient, number(stream, "humidity_ratio"))
            })
            .sum();
        let bare_ducts =
            number(&heat["goes"], "ducts_w") - if without.contains(&"ducts_w") { 0.0 } else { leaked };
        let house = number(&heat["goes"], "house_w");
        misfits_w.push(burner + fan - house - through_ducts + brought - bare_ducts);
        masses.push(mass);
        waters.push(water);
        let [_, _, from_plant] = balance(&|place| place == "outside");
        misfits_w.push(burner + fan - lost - from_plant - bare_ducts - house);
        let fan_kg_s = heat["fan_kg_s"].as_f64().unwrap();
        let worst =
            |misfits: Vec<f64>| misfits.into_iter().fold(0.0, |worst: f64, x| worst.max(x.abs())) / fan_kg_s;
        Self {
            misfits_w,
            duty_w: heat["burner_w"].as_f64().unwrap(),
            mass: worst(masses),
            water: worst(waters),
        }
    }

    /// The largest misfit over the burner's duty.
    fn misfit(&self) -> f64 {
        self.misfits_w.iter().fold(0.0_f64, |worst, misfit| worst.max(misfit.abs())) / self.duty_w
    }
}

#[test]
fn leaving_out_any_one_loss_shows() {
    let mut plan = kept();
    plan.zones[1].leak_kg_s = 0.05;
    plan.zones[0].other_loss_w_k = 40.0;
    plan.load.as_mut().unwrap().parts[0].water_kg_m2 = 0.2;
    plan.heater.house = serde_json::from_str(r#"{"surface_m2": 20, "volume_m3": 6}"#).unwrap();
    let heat = printed(&plan);
    assert!(Recomputed::of(&heat, &[]).misfit() <= 1e-6);
    let others = [
        "ducts_w",
        "house_w",
        "burner_w",
        "fan_w",
        "water_kg_s",
        "combustion",
        "drift",
        "outward",
        "returned",
    ];
    for term in LOSSES.iter().chain(&others) {
        let misfit = Recomputed::of(&heat, &[term]).misfit();
        assert!(misfit > 1e-4, "without {term} the balance misses by {misfit:e} only");
    }
    for (term, what) in
        [("combustion", "air"), ("water_kg_s", "water"), ("outward", "air"), ("drift", "water")]
    {
        let without = Recomputed::of(&heat, &[term]);
        let misses = if what == "air" { without.mass } else { without.water };
        assert!(misses > 2e-5, "without {term} the {what} misses by {misses:e} only");
    }
}
