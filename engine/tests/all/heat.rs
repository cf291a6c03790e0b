//! Heat of the example plan: closed, recomputed from what is printed, held, shut, broken and hurried.

use crate::heated;
use engine::analysis::Analysis;
use engine::heat::air_at_part::AirAtPart;
use engine::heat::part::{Body, Schedule};
use engine::heat::parts::cure_index;
use engine::heat::results::BayHeat;
use engine::heat::results::Heat;
use engine::heat::way::{Hung, Oven, STEPS, Stretch, pass};
use engine::heat::{damper_travel, weights_for_equal_temperature};
use engine::plan::{CurePoint, PanelBuildUp, PartShape, Plan, Point, file};
use heated::{analysed, enthalpy, gates, heat, kept, vapour, variants};
use serde_json::Value;

#[test]
fn what_a_direct_burner_burns_enters_the_air_and_leaves_with_it() {
    let combustion = |heat: &Heat| {
        let streams = heat.streams.iter().filter(|stream| stream.id == "combustion");
        streams.map(|stream| stream.mass_flow_kg_s).sum::<f64>()
    };
    let plan = kept();
    let direct = heat(&plan);
    // Natural gas at 50 % excess air: 9.67 volumes of air for one of fuel and half as many again; 38.2 MJ and 0.73 kg
    // for a cubic metre of gas at 60 °F, 1.22 kg for one of air.
    let by_hand = direct.burner_input_w / 38.2e6 * (0.73 + 1.5 * 9.67 * 1.22);
    assert!((combustion(&direct) / by_hand - 1.0).abs() < 0.02, "{} {by_hand}", combustion(&direct));
    assert_eq!(combustion(&direct), direct.combustion_kg_s);
    let through = |heat: &Heat, out: bool| {
        let of = |opening: &engine::heat::results::OpeningHeat| {
            if out { opening.out_kg_s } else { opening.in_kg_s }
        };
        let outward =
            |id: &str| plan.openings.iter().any(|opening| opening.id == id && opening.to_zone.is_none());
        heat.openings.iter().filter(|opening| outward(&opening.id)).map(of).sum::<f64>()
    };
    let mut parted = kept();
    parted.heater.burner.as_mut().unwrap().direct = false;
    let indirect = heat(&parted);
    assert_eq!((combustion(&indirect), indirect.water.combustion_kg_s), (0.0, 0.0));
    // With the exhausts as they are, the openings let in that much less.
    let exhausts: f64 = plan.exhausts.iter().map(|exhaust| exhaust.mass_flow_kg_s).sum();
    let drawn = |heat: &Heat| {
        through(heat, false) - through(heat, true) + heat.water.parts_kg_s + combustion(heat) - exhausts
    };
    assert!(
        drawn(&direct).abs() < 1e-6 && drawn(&indirect).abs() < 1e-6,
        "{} {}",
        drawn(&direct),
        drawn(&indirect)
    );
}

#[test]
fn water_of_the_dry_off_zone_comes_round_by_the_shared_heater() {
    let mut plan = gates();
    plan.load.as_mut().unwrap().parts[0].water_kg_m2 = 0.5;
    let zone = |heat: &Heat, id: &str| heat.zones.iter().find(|zone| zone.id == id).cloned().unwrap();
    let wet = heat(&plan);
    let (dry_off, cure) = (zone(&wet, "dry-off"), zone(&wet, "cure"));
    let plant_w = 0.008;
    println!("{:?} {} {}", wet.water, dry_off.humidity_ratio, cure.humidity_ratio);
    // What parts bring is in the air they dry in, and in the other zone by way of the heater and the openings.
    let mut blown_off = plan.clone();
    blown_off.load.as_mut().unwrap().parts[0].water_kg_m2 = 0.0;
    let rise = |id: &str| zone(&wet, id).humidity_ratio - zone(&heat(&blown_off), id).humidity_ratio;
    let rises = (rise("dry-off"), rise("cure"));
    assert!(rises.0 > 2e-3 && rises.1 > 0.3 * rises.0, "{rises:?}");
    // Over the whole oven: what comes in leaves with the air that leaves, whose humidity is between those of the bays.
    let out: f64 = wet.streams.iter().filter(|s| s.to == "outside").map(|s| s.mass_flow_kg_s).sum();
    let water = wet.water.parts_kg_s + wet.water.combustion_kg_s + wet.water.plant_kg_s;
    let mean = water / (out - water);
    let all = || wet.bays.iter().map(|bay| bay.humidity_ratio);
    assert!(all().any(|w| w < mean) && all().any(|w| w > mean), "{mean}");
    // Dry parts under electric heat: nothing but the plant's own humidity.
    let mut dry = plan.clone();
    dry.load.as_mut().unwrap().parts.iter_mut().for_each(|part| part.water_kg_m2 = 0.0);
    dry.heater.burner.as_mut().unwrap().fuel = engine::plan::Fuel::Electric;
    let found = heat(&dry);
    assert!(found.bays.iter().all(|bay| (bay.humidity_ratio - plant_w).abs() < 1e-9), "{:?}", found.zones);
    // More exhaust, drier air.
    let mut drawn = plan.clone();
    drawn.exhausts[0].mass_flow_kg_s += 0.3;
    assert!(zone(&heat(&drawn), "dry-off").humidity_ratio < dry_off.humidity_ratio);
    // Fumes come off in the cure zone alone, and some of them come round.
    assert!((cure.fume_share - 1.0).abs() < 1e-9 && (0.01..1.0).contains(&dry_off.fume_share), "{dry_off:?}");
    let told = |plan: &Plan, id: &str| analysed(plan).findings.iter().any(|finding| finding.id == id);
    assert_eq!(
        told(&plan, "cure-fumes"),
        wet.zones.iter().any(|zone| (0.05..1.0).contains(&zone.fume_share))
    );
    let mut cold = gates();
    cold.load.as_mut().unwrap().entry_temperature_c = 8.0;
    assert!(told(&cold, "condensation") && !told(&plan, "no-way-out"));
}

#[test]
fn an_oven_that_lets_nothing_out_says_so() {
    let mut shut = kept();
    shut.openings.retain(|opening| opening.to_zone.is_some());
    shut.exhausts.clear();
    let analysis = analysed(&shut);
    assert!(analysis.findings.iter().any(|finding| finding.id == "no-way-out"));
    let heat = analysis.heat.expect("its heat is balanced all the same");
    assert!(heat.energy_residual <= 1e-6 && !heat.water.is_balanced && heat.combustion_kg_s == 0.0);
}

#[test]
fn parts_feel_the_jets_that_pass_them() {
    // The conveyor straight through, over a row of slots or in the middle between two.
    let along = |y_m: f64| {
        let mut plan = gates();
        plan.conveyor.as_mut().unwrap().path = [-3.5, 30.0].map(|x_m| Point { x_m, y_m }).to_vec();
        plan
    };
    let (between, over) = (along(2.6), along(3.19));
    let (beside, above) = (heat(&between), heat(&over));
    let is_here = |station_m: f64| (16.0..22.0).contains(&station_m);
    let of = |heat: &Heat, pick: fn(&engine::heat::way::PartPoint) -> f64| {
        let points = &heat.part.as_ref().unwrap().points;
        let here = || points.iter().filter(|point| is_here(point.station_m));
        here().map(pick).sum::<f64>() / here().count() as f64
    };
    println!("{:.2} {:.2} m/s", of(&beside, |p| p.air_m_s), of(&above, |p| p.air_m_s));
    assert!(of(&above, |p| p.air_m_s) > 1.5 * of(&beside, |p| p.air_m_s));
    assert!(of(&above, |p| p.coefficient_w_m2k) > 1.05 * of(&beside, |p| p.coefficient_w_m2k));
    assert!(above.part.as_ref().unwrap().peak_c > beside.part.as_ref().unwrap().peak_c);
    // What the part meets is what the coverage of nearly the same air says.
    let covered = engine::coverage::coverage(&over, &analysed(&over)).unwrap();
    let path = || covered.path.iter().filter(|place| is_here(place.station_m));
    let mean = path().map(|place| place.speed_m_s).sum::<f64>() / path().count() as f64;
    let met = of(&above, |p| p.air_m_s);
    assert!((met / mean - 1.0).abs() < 0.12, "{met} {mean}");
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
    assert!(cooled > 60.0 && part.coated_from_m > 50.0, "{cooled}");
    let rise = part.exit_c - load.entry_temperature_c + cooled;
    let taken = line * item.kg_per_m * 490.0 * rise;
    assert!((heat.goes.parts_w / taken - 1.0).abs() < 1e-4, "{} {taken}", heat.goes.parts_w);
    // Water: all of it dries, from the parts' own temperature to vapour at about the bay's.
    let surface = item.kg_per_m / (7_850.0 * 0.002 * (1.0 - 0.002 / 0.04));
    let water = line * surface * item.water_kg_m2;
    let given_off: f64 = heat.bays.iter().map(|bay| bay.water_kg_s).sum();
    assert!((given_off / water - 1.0).abs() < 1e-6 && part.wet_share == 0.0);
    // 2501 + 1.86·18 − 4.187·38: vapour of plant temperature from water as it comes in; the rest leaves with the air.
    assert!((heat.goes.water_w / water / 2.375e6 - 1.0).abs() < 3e-3, "{}", heat.goes.water_w / water);
}

#[test]
fn bare_metal_in_the_dry_off_zone_cures_nothing() {
    let mut plan = gates();
    // So low that dry-off alone would do it.
    plan.coating.as_mut().unwrap().cure_points = vec![CurePoint { temperature_c: 100.0, minutes: 2.0 }];
    let part = heat(&plan).lightest.expect("two kinds");
    let bare = part.points.iter().filter(|point| point.station_m < part.coated_from_m);
    assert!(bare.map(|point| point.skin_c).fold(0.0, f64::max) > 130.0);
    assert!(part.cured_at_m.is_some_and(|at| at > part.coated_from_m), "{:?}", part.cured_at_m);
    let line = plan.conveyor.as_ref().unwrap().speed_m_s;
    let coated_s = (part.points.last().unwrap().station_m - part.coated_from_m) / line;
    let bring_up_s = part.bring_up_s.expect("it gets there");
    assert!(bring_up_s + part.dwell_s < coated_s * (1.0 + 1e-9) && bring_up_s > 30.0, "{bring_up_s}");
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
    assert!((0.18..0.7).contains(&damper.authority), "{damper:?}");
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
    let streams = |of: fn(&engine::heat::results::Stream) -> &str| {
        heat.streams.iter().filter(move |stream| of(stream) == bay.id)
    };
    let brought: f64 =
        streams(|s| &s.to).map(|s| s.mass_flow_kg_s * enthalpy(s.temperature_c, s.humidity_ratio)).sum();
    let away: f64 = streams(|s| &s.from).map(|s| s.mass_flow_kg_s).sum();
    let fixed = bay.ducts_w + bay.partition_w - bay.parts_w - bay.carried_w - bay.water_w - bay.radiation_w;
    let (mut low, mut high) = (heat.ambient_c - 50.0, 400.0);
    for _ in 0..60 {
        let t = 0.5 * (low + high);
        let left = brought + fixed + bay.water_kg_s * vapour(t)
            - away * enthalpy(t, bay.humidity_ratio)
            - loss_w_k * (t - heat.ambient_c);
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
    assert!(colder > 0.5, "{colder}");
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
    let at_part = vec![[AirAtPart { speed_m_s: air_m_s, hotter_k: 0.0 }; STEPS]; way.len()];
    let humidity_ratio = vec![0.02; air_c.len()];
    let oven = Oven {
        way: &way,
        air_c,
        humidity_ratio: &humidity_ratio,
        at_part: &at_part,
        pressure_pa: 101_325.0,
        ambient_c: 18.0,
    };
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
        assert!(analysis.heat.is_some(), "{wanted}: {:?}", analysis.findings);
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
    assert!((0.0..11.0).contains(&crossing), "{crossing}");
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
    assert!(is < 0.98 * was, "{was} -> {is}");
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

#[test]
fn where_the_curve_of_a_damper_crosses_the_set_temperature_a_travel_holds_it() {
    // As opened, with its slides not set.
    for picture in damper_travel(&gates()).expect("there is a load") {
        type Curve = fn(&engine::heat::travel::TravelPoint) -> Option<f64>;
        let curves: [(Option<f64>, Curve); 2] =
            [(picture.idle_percent, |p| p.idle_c), (picture.loaded_percent, |p| p.loaded_c)];
        for (percent, of) in curves {
            let zones: Vec<f64> = picture.points.iter().filter_map(of).collect();
            let (least, most) = (zones[0], zones[zones.len() - 1]);
            let crosses = (least..=most).contains(&picture.set_c);
            assert_eq!(percent.is_some(), crosses, "{percent:?} of {zones:?}");
        }
    }
}
