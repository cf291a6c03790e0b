//! Heat of the example plan: closed, recomputed from what is printed, held, shut, broken and hurried.

use engine::analysis::{Analysis, analyse};
use engine::heat::part::{Body, Schedule};
use engine::heat::parts::cure_index;
use engine::heat::results::BayHeat;
use engine::heat::results::Heat;
use engine::heat::way::{Hung, Oven, Stretch, pass};
use engine::heat::{damper_travel, weights_for_equal_temperature};
use engine::plan::{Material, PanelBuildUp, PartShape, Plan, file};
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
            let to = stream["to"].as_str().unwrap();
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
    // Between the zones the line passes the booth, where parts cool in plant air.
    let cooled: f64 = part
        .points
        .windows(2)
        .filter(|pair| pair[1].air_c == heat.ambient_c)
        .map(|pair| pair[0].skin_c - pair[1].skin_c)
        .sum();
    assert!(cooled > 80.0 && part.coated_from_m > 50.0, "{cooled}");
    let rise = part.exit_c - load.entry_temperature_c + cooled;
    let taken = line * item.kg_per_m * 490.0 * rise;
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
    for zone in found.zones.iter().filter(|zone| !zone.held_by.is_empty()) {
        assert!((zone.control_c - zone.set_temperature_c).abs() < 0.1, "{zone:?}");
    }
    let held: Vec<&str> = found.zones.iter().map(|zone| zone.held_by.as_str()).collect();
    assert_eq!(held, ["transfer", "burner", "", ""], "vestibules are held by nothing");
    let damper = &found.dampers[0];
    assert!(damper.holds && (15.0..100.0).contains(&damper.open_percent), "{damper:?}");
    assert!((0.18..0.5).contains(&damper.authority), "{damper:?}");
    // Set to that travel by hand, the air solved with its law gives the same zone.
    let mut by_hand = gates();
    let blade = by_hand.ducts[1].damper.as_mut().unwrap();
    (blade.modulation, blade.open_percent) = (None, damper.open_percent);
    let control = |heat: &Heat| heat.zones[0].control_c;
    assert!((control(&found) - 150.0).abs() < 0.1);
    let bay_of = |heat: &Heat| {
        let sensor = by_hand.sensors.iter().find(|sensor| sensor.id == "tc-dry").unwrap().at;
        let holds = |bay: &&BayHeat| {
            let (from, to) = (bay.from.unwrap(), bay.to.unwrap());
            (from.x_m..to.x_m).contains(&sensor.x_m) && (from.y_m..to.y_m).contains(&sensor.y_m)
        };
        heat.bays.iter().find(holds).unwrap().temperature_c
    };
    assert!((bay_of(&heat(&by_hand)) - bay_of(&found)).abs() < 0.1);
}

/// Temperature of a bay by hand: what comes in, less its losses, is what goes out, with streams as printed and losses
/// in proportion to `loss_w_k`.
fn by_hand(heat: &Heat, bay: &BayHeat, loss_w_k: f64) -> f64 {
    let above =
        |celsius: f64| enthalpy(celsius, heat.humidity_ratio) - enthalpy(heat.ambient_c, heat.humidity_ratio);
    let streams = |of: fn(&engine::heat::results::Stream) -> &str| {
        heat.streams.iter().filter(move |stream| of(stream) == bay.id)
    };
    let brought: f64 = streams(|s| &s.to).map(|s| s.mass_flow_kg_s * above(s.temperature_c)).sum();
    let away: f64 = streams(|s| &s.from).map(|s| s.mass_flow_kg_s).sum();
    let fixed = bay.ducts_w + bay.partition_w - bay.parts_w - bay.carried_w - bay.water_w - bay.radiation_w;
    let (mut low, mut high) = (heat.ambient_c - 50.0, 400.0);
    for _ in 0..60 {
        let t = 0.5 * (low + high);
        let left = brought + fixed - away * above(t) - loss_w_k * (t - heat.ambient_c);
        if left > 0.0 { low = t } else { high = t }
    }
    0.5 * (low + high)
}

#[test]
fn a_shut_slide_makes_its_bay_colder_by_what_a_hand_balance_says() {
    let open = heat(&gates());
    let mut shut_plan = gates();
    shut_plan.returns[4].open_m = 0.0;
    let shut = heat(&shut_plan);
    // The slide draws hot air of its neighbours past its bay; shut, its bay is left with what drifts there.
    let drawn = open.streams.iter().find(|stream| stream.id == "return-5").expect("it draws");
    let of =
        |heat: &Heat| heat.bays.iter().find(|bay| bay.id == drawn.from).cloned().expect("the bay is there");
    let (before, after) = (of(&open), of(&shut));
    let colder = before.temperature_c - after.temperature_c;
    println!("{}: {:.2} -> {:.2} °C", drawn.from, before.temperature_c, after.temperature_c);
    assert!(colder > 1.0, "{colder}");
    let loss = (before.wall_w + before.roof_w + before.floor_w) / (before.temperature_c - open.ambient_c);
    let hand = by_hand(&open, &before, loss) - by_hand(&shut, &after, loss);
    assert!((hand - colder).abs() < 0.01, "by hand {hand}, found {colder}");
}

fn steel(depth_m: f64, round: bool) -> Hung {
    let body = Body {
        depth_m,
        density_kg_m3: 7_850.0,
        specific_heat_j_kgk: 490.0,
        conductivity_w_mk: 50.0,
        emissivity: 0.9,
        length_m: 0.05,
        round,
        solid_bar: round,
    };
    Hung { id: "part".into(), body, store_j_mk: 5_000.0, entry_c: 20.0, surface_m2_m: 1.0, water_kg_m2: 0.03 }
}

/// Cure index of a part on 24 m of fixed air.
fn index(hung: &Hung, line_m_s: f64, air_c: &[f64], air_m_s: f64) -> f64 {
    let length = 24.0 / air_c.len() as f64;
    let way: Vec<Stretch> = (0..air_c.len())
        .map(|i| Stretch {
            from_m: i as f64 * length,
            to_m: (i + 1) as f64 * length,
            bays: Some([i, i]),
            zone: Some(0),
        })
        .collect();
    let speed = |_: &Stretch| air_m_s;
    let (pressure_pa, humidity_ratio, ambient_c) = (101_325.0, 0.02, 18.0);
    let oven = Oven { way: &way, air_c, speed_m_s: &speed, pressure_pa, humidity_ratio, ambient_c };
    let schedule = Schedule::new([(170.0, 540.0), (180.0, 360.0), (200.0, 200.0)]).unwrap();
    cure_index(&schedule, &pass(hung, line_m_s, &oven).points, line_m_s)
}

#[test]
fn more_speed_never_cures_more_and_hotter_or_faster_air_never_less() {
    let profiles: [Vec<f64>; 3] = [
        vec![195.0; 12],
        vec![120.0, 130.0, 140.0, 180.0, 190.0, 195.0, 200.0, 200.0, 195.0, 190.0, 170.0, 140.0],
        vec![250.0, 90.0, 210.0, 140.0, 205.0, 203.0],
    ];
    let mut cured = 0;
    for air in &profiles {
        for (depth, round) in [(0.0005, false), (0.003, false), (0.01, true), (0.04, true)] {
            let hung = steel(depth, round);
            let mut last = f64::INFINITY;
            for k in 0..40 {
                let line = 0.004 * engine::numerics::pow(1.1, f64::from(k));
                let now = index(&hung, line, air, 1.2);
                assert!(now <= last * (1.0 + 1e-9), "{depth} {line}: {now} after {last}");
                cured += usize::from(now >= 1.0);
                last = now;
            }
            let warmer: Vec<f64> = air.iter().map(|c| c + 3.0).collect();
            assert!(index(&hung, 0.02, &warmer, 1.2) >= index(&hung, 0.02, air, 1.2));
            assert!(index(&hung, 0.02, air, 2.0) >= index(&hung, 0.02, air, 1.2) * (1.0 - 1e-3));
        }
    }
    assert!(cured > 50, "the property is tried where parts cure");
}

#[test]
fn the_speed_found_is_the_fastest_that_cures() {
    let plan = gates();
    let found = heat(&plan);
    let kinds: Vec<_> =
        plan.load.iter().flat_map(|load| &load.parts).filter_map(|part| Hung::part(&plan, part)).collect();
    for part in found.part.iter().chain(&found.lightest) {
        assert!(kinds.iter().any(|kind| kind.id == part.id));
        let (index, fastest) = (part.cure_index.unwrap(), part.fastest_m_s.expect("some speed cures it"));
        let line = plan.conveyor.as_ref().unwrap().speed_m_s;
        assert_eq!(index >= 1.0, fastest >= line, "{} {index} {fastest}", part.id);
    }
}

#[test]
fn nonsense_gets_a_finding_and_never_a_number_that_is_none() {
    type Change<'a> = &'a dyn Fn(&mut Plan);
    let cases: [(&str, Change); 8] = [
        ("part-without-body", &|plan| plan.load.as_mut().unwrap().parts[0].kg_per_m = 0.0),
        ("part-without-body", &|plan| {
            plan.load.as_mut().unwrap().parts[1].shape = PartShape::Sheet { thickness_m: 0.0 };
        }),
        ("part-enters-hot", &|plan| plan.load.as_mut().unwrap().entry_temperature_c = 260.0),
        ("line-stands", &|plan| plan.conveyor.as_mut().unwrap().speed_m_s = 0.0),
        ("burner-too-small", &|plan| plan.heater.burner.as_mut().unwrap().rated_w = 1_000.0),
        ("under-cure", &|plan| plan.conveyor.as_mut().unwrap().speed_m_s = 0.5),
        ("still-wet", &|plan| plan.load.as_mut().unwrap().parts[0].water_kg_m2 = 60.0),
        ("over-bake", &|plan| plan.conveyor.as_mut().unwrap().speed_m_s = 0.004),
    ];
    let optional = [
        "part",
        "lightest",
        "neutral_level_m",
        "bring_up_s",
        "fastest_m_s",
        "slowest_m_s",
        "cure_index",
        "cure_c",
        "cured_at_m",
        "over_baked_at_m",
        "equivalent_s",
        "seconds",
    ];
    for (wanted, change) in cases {
        let mut plan = gates();
        change(&mut plan);
        let analysis = analysed(&plan);
        assert!(analysis.findings.iter().any(|finding| finding.id == wanted), "{wanted}");
        finite(&serde_json::to_value(&analysis.heat).unwrap(), "heat", &optional);
    }
    let mut bare = gates();
    bare.enclosure.panels.as_mut().unwrap().wall = Some(PanelBuildUp::new(0.0));
    finite(&serde_json::to_value(&analysed(&bare).heat).unwrap(), "heat", &optional);
}

/// JSON writes what is not a number as null.
fn finite(value: &Value, place: &str, optional: &[&str]) {
    match value {
        Value::Null => panic!("{place} is not a number"),
        Value::Array(items) => items.iter().for_each(|item| finite(item, place, optional)),
        Value::Object(fields) => {
            for (key, value) in
                fields.iter().filter(|(key, value)| !(value.is_null() && optional.contains(&key.as_str())))
            {
                finite(value, key, optional);
            }
        }
        _ => {}
    }
}

#[test]
fn a_plan_without_load_has_no_heat_and_the_same_air() {
    let mut plan = gates();
    let with = analysed(&plan);
    plan.load = None;
    let without = analysed(&plan);
    assert!(without.heat.is_none() && with.heat.is_some());
    assert_eq!(with.fingerprint(), without.fingerprint());
}

#[test]
fn travel_of_the_damper_tells_its_useful_range() {
    let plan = engine::design::set_returns(&gates()).expect("returns can be set").plan;
    let pictures = damper_travel(&plan).expect("there is a load");
    let [picture] = pictures.as_slice() else { panic!("one damper") };
    let found = heat(&plan);
    println!("{picture:?} {:?}", found.zones);
    assert!((picture.loaded_percent.unwrap() - found.dampers[0].open_percent).abs() < 0.1);
    assert!(picture.idle_percent.unwrap() < picture.loaded_percent.unwrap(), "an empty line needs less");
    let loaded: Vec<f64> = picture.points.iter().filter_map(|point| point.loaded_c).collect();
    assert!(loaded.len() >= 8 && loaded.windows(2).all(|pair| pair[1] > pair[0]), "{loaded:?}");
    // Where the picture crosses the set temperature is where the damper holds.
    let above =
        picture.points.iter().find(|point| point.loaded_c.is_some_and(|c| c > picture.set_c)).unwrap();
    let crossing = above.open_percent - picture.loaded_percent.unwrap();
    assert!((0.0..10.0).contains(&crossing), "{crossing}");
    // The controller has travel left on both sides, and does not do all its work in a few per cent of it.
    let (idle, loaded) = (picture.idle_percent.unwrap(), picture.loaded_percent.unwrap());
    assert!(idle > 30.0 && loaded < 95.0 && loaded - idle > 10.0, "{idle} {loaded}");
    // In a frame as large as its duct it would have little say.
    let mut wide = plan.clone();
    wide.ducts[1].damper.as_mut().unwrap().size = None;
    assert!(heat(&wide).dampers[0].authority < 0.5 * found.dampers[0].authority);
}

#[test]
fn air_by_need_brings_bays_nearer_to_their_set_temperature() {
    let plan = gates();
    let before = analysed(&plan);
    let weights = weights_for_equal_temperature(&plan).expect("there is a load");
    assert_eq!(weights.len(), before.slots.len());
    let mut wider = plan.clone();
    let scale: f64 = before.total_flow_kg_s / weights.iter().sum::<f64>();
    for row in &mut wider.slot_rows {
        row.widths_m = (0..row.count as usize).map(|k| row.width_m(k)).collect();
    }
    for (slot, weight) in before.slots.iter().zip(&weights) {
        let (row, number) = slot.id.split_once('/').unwrap();
        let row = wider.slot_rows.iter_mut().find(|item| item.id == row).unwrap();
        row.widths_m[number.parse::<usize>().unwrap() - 1] *= weight * scale / slot.mass_flow_kg_s;
    }
    let spread = |heat: &Heat| {
        (heat.bays.iter().map(|bay| bay.off_k * bay.off_k).sum::<f64>() / heat.bays.len() as f64).sqrt()
    };
    let (was, is) = (spread(before.heat.as_ref().unwrap()), spread(&heat(&wider)));
    println!("{was} -> {is}");
    assert!(is < 0.95 * was, "{was} -> {is}");
}

#[test]
fn warm_up_stores_what_the_burner_gives() {
    let mut plan = gates();
    let heat_of = |plan: &Plan| heat(plan).warm_up.expect("there is a burner");
    let usual = heat_of(&plan);
    assert!(usual.fan_cold_w > 1.5 * usual.fan_hot_w);
    // A hundred times the rating: losses do not count, and energy is conserved.
    plan.heater.burner.as_mut().unwrap().rated_w *= 100.0;
    let quick = heat_of(&plan);
    let given = 100.0 * 300_000.0 * 0.902 * quick.seconds.unwrap();
    let stored = quick.stored_j_k * (195.0 - 18.0);
    assert!((given / stored - 1.0).abs() < 0.01, "{given} {stored}");
    assert!(usual.seconds.unwrap() > quick.seconds.unwrap() * 90.0);
    plan.heater.burner.as_mut().unwrap().rated_w = 100_000.0;
    assert_eq!(heat_of(&plan).seconds, None, "it never gets there");
}

#[test]
fn even_out_to_temperature_keeps_its_shares() {
    let mut start = engine::design::set_returns(&gates()).expect("returns can be set").plan;
    start.shop.max_width_m = 0.06;
    let designed = engine::design::even_out_to(&start, engine::design::EvenTarget::Temperature)
        .expect("bays can come nearer");
    let spread = |analysis: &Analysis| {
        let bays = &analysis.heat.as_ref().unwrap().bays;
        (bays.iter().map(|bay| bay.off_k * bay.off_k).sum::<f64>() / bays.len() as f64).sqrt()
    };
    let by_flow = engine::design::even_out(&start).expect("slots can be evened out");
    println!(
        "{:.1} -> {:.1} K; by flow {:.1} K",
        spread(&designed.before),
        spread(&designed.after),
        spread(&by_flow.after)
    );
    assert!(spread(&designed.after) < spread(&by_flow.after));
    let reread = file::read(&file::write(&designed.plan)).unwrap();
    assert_eq!(reread, designed.plan);
    assert_eq!(
        engine::design::even_out(&reread).unwrap().plan,
        designed.plan,
        "a later even out keeps the shares"
    );
}

#[test]
fn zones_together_lose_what_the_oven_does_and_pass_on_what_they_gain() {
    for (name, plan) in variants() {
        let heat = heat(&plan);
        let all: f64 = heat.zones.iter().map(|zone| zone.goes.sum_w()).sum();
        let outside = heat.goes.ducts_w + heat.goes.house_w;
        assert!(
            (all + outside - heat.goes.sum_w()).abs() <= 1e-9 * heat.burner_w,
            "{name}: {all} and {outside}"
        );
        let passed: f64 = heat.zones.iter().map(|zone| zone.to_others_w).sum();
        assert!(passed.abs() <= 1e-9 * heat.burner_w, "{name}: {passed}");
        assert!(name == "one zone" || heat.zones.iter().any(|zone| zone.to_others_w > 0.0), "{name}");
    }
}

#[test]
fn a_part_is_cured_on_its_way_just_when_its_schedule_is_done() {
    let mut plan = gates();
    plan.coating.as_mut().expect("it is coated").over_bake_times = Some(1.5);
    let part = heat(&plan).part.expect("there are parts");
    let index = part.cure_index.expect("there is a schedule");
    assert_eq!(part.cured_at_m.is_some(), index >= 1.0);
    assert_eq!(part.over_baked_at_m.is_some(), index >= 1.5);
    let schedule = engine::heat::parts::schedule(&plan).expect("there is a schedule");
    let line = plan.conveyor.as_ref().expect("there is a line").speed_m_s;
    if let Some(at) = part.cured_at_m {
        // Up to there, linear between two points, the index is one.
        let last = part.points.iter().position(|point| point.station_m >= at).expect("on the way");
        let up_to = |n: usize| engine::heat::parts::cure_index(&schedule, &part.points[..=n], line);
        assert!(up_to(last - 1) <= 1.0 && up_to(last) >= 1.0);
    }
    if let Some(seconds) = part.equivalent_s {
        let needed = schedule.seconds_at(part.peak_c).expect("above the table's least");
        assert!((seconds / needed - index).abs() < 1e-12);
    }
    println!(
        "index {index:.2}, cured at {:?}, equivalent {:?} s at {:.0} °C",
        part.cured_at_m, part.equivalent_s, part.peak_c
    );
}
