//! Heat and air needed from a list of parts, and the first layout that follows from it.

use engine::analysis::analyse;
use engine::design::{even_out, find_speed, set_returns};
use engine::heat::need::{HeatItem, Need, need, propose};
use engine::plan::{Burner, Extra, Fuel, Plan, file};

/// Parts, coating and temperatures, and nothing drawn.
const ENQUIRY: &str = r#"{
  "name": "Invented enquiry", "required_flow_kg_s": 1.0,
  "site": {"ambient_c": 18.0},
  "enclosure": {"outline": [], "height_m": 3.0}, "zones": [],
  "heater": {"id": "heater", "intake": {"x_m": 0, "y_m": 1}, "discharge": {"x_m": 0, "y_m": 0},
    "supply_temperature_c": 200,
    "fan": {"points": [], "curve_speed_rpm": 1450, "speed_rpm": 1450, "outlet_area_m2": 0.3}},
  "enquiry": {"parts_per_hour": 180, "parts_per_m": 1.5, "dry_off_c": 130, "cure_c": 200, "cure_entry_c": 25},
  "load": {"entry_temperature_c": 35,
    "parts": [
      {"id": "gate", "kg_per_m": 18, "shape": {"tube": {"diameter_m": 0.03, "wall_m": 0.002}}, "height_m": 1.1,
       "water_kg_m2": 0.06, "powder_kg_m2": 0.11},
      {"id": "panel", "kg_per_m": 6, "shape": {"sheet": {"thickness_m": 0.001}}, "height_m": 1.0,
       "water_kg_m2": 0.04, "powder_kg_m2": 0.1}],
    "hangers": {"kg_per_m": 3, "entry_temperature_c": 40}, "chain": {"kg_per_m": 6, "entry_temperature_c": 50}},
  "coating": {"cure_points": [{"temperature_c": 180, "minutes": 10}, {"temperature_c": 190, "minutes": 7}],
    "over_bake_times": 4}
}"#;

fn asked() -> Plan {
    file::read(ENQUIRY).expect("the enquiry can be read")
}

fn burner(rated_w: f64) -> Burner {
    Burner {
        fuel: Fuel::NaturalGas,
        rated_w,
        turn_down: 5.0,
        excess_air_percent: 50.0,
        direct: true,
        efficiency_percent: None,
        extra: Extra::new(),
    }
}

fn told(plan: &Plan, id: &str) -> bool {
    need(plan).findings.iter().any(|finding| finding.id == id)
}

fn needed(plan: &Plan) -> Need {
    let answer = need(plan);
    answer.need.unwrap_or_else(|| panic!("{:?}", answer.findings))
}

fn row(need: &Need, zone: &str, item: HeatItem) -> f64 {
    need.rows.iter().find(|row| row.zone == zone && row.item == item).expect("the row is there").running_w
}

#[test]
fn the_balance_closes_and_its_parts_can_be_checked_by_hand() {
    let need = needed(&asked());
    println!("{need:#?}");
    let speed = 180.0 / 1.5 / 3_600.0;
    assert!((need.speed_m_s - speed).abs() < 1e-12);
    // Product: speed × mass × c × rise, of the heavier part.
    let gate = &need.parts[0];
    let by_hand = speed * 18.0 * 490.0 * (gate.exit_c - 25.0);
    assert!((row(&need, "cure", HeatItem::Product) - by_hand).abs() < 1e-6 * by_hand);
    let hangers = speed * 3.0 * 490.0 * (130.0 - 40.0);
    assert!((row(&need, "dry-off", HeatItem::Hangers) - hangers).abs() < 1e-9 * hangers);
    for zone in &need.zones {
        let rows: f64 = need.rows.iter().filter(|row| row.zone == zone.id).map(|row| row.running_w).sum();
        assert!((rows - zone.load_w).abs() < 1e-9 * rows);
        // What the air brings is what the zone needs.
        let h = |t| engine::heat::stream::enthalpy_j_kg(t, engine::heat::need::OUTSIDE_RATIO);
        let brought = zone.air_kg_s * (h(need.supply_c) - h(zone.temperature_c));
        assert!((brought - zone.load_w).abs() < 1e-6 * zone.load_w, "{}", zone.id);
    }
    let net: f64 = need.rows.iter().map(|row| row.running_w).sum();
    assert!((net - need.burner.net_w).abs() < 1e-9 * net);
    let longest = need.parts.iter().map(|part| part.bring_up_s).fold(0.0, f64::max) + 600.0;
    assert!(
        (need.zones[1].length_m - speed * longest) < 0.5 && need.zones[1].length_m >= speed * longest - 1e-9
    );
    assert!(need.exhaust_reasons.iter().all(|reason| reason.kg_s <= need.exhaust_kg_s * (1.0 + 1e-9)));
}

#[test]
fn every_layout_proposed_solves_and_evens_out() {
    type Change<'a> = &'a dyn Fn(&mut Plan);
    let enquiries: [(&str, Change); 5] = [
        ("as it is", &|_| ()),
        ("no dry-off", &|plan| {
            plan.enquiry.as_mut().unwrap().dry_off_c = None;
            plan.load.as_mut().unwrap().parts.iter_mut().for_each(|part| part.water_kg_m2 = 0.0);
        }),
        ("slow", &|plan| plan.enquiry.as_mut().unwrap().parts_per_hour = Some(70.0)),
        ("fast and large", &|plan| {
            let enquiry = plan.enquiry.as_mut().unwrap();
            (enquiry.parts_per_hour, enquiry.part_height_m, enquiry.part_width_m) = (Some(300.0), 1.8, 0.9);
            (enquiry.side_clearance_m, enquiry.floor_clearance_m) = (1.2, 1.1);
        }),
        ("high up, zones near each other", &|plan| {
            plan.site.altitude_m = 1_600.0;
            let enquiry = plan.enquiry.as_mut().unwrap();
            (enquiry.dry_off_c, enquiry.cure_entry_c) = (Some(160.0), None);
        }),
    ];
    for (name, change) in enquiries {
        let mut plan = asked();
        change(&mut plan);
        let first = propose(&plan, &needed(&plan));
        let reread = file::read(&file::write(&first)).expect("it can be written and read");
        assert_eq!(reread, first, "{name}");
        let rough = analyse(&first).unwrap_or_else(|error| panic!("{name}: {error}"));
        assert!(rough.worst_branch.is_none(), "{name}: {:?}", rough.worst_branch);
        let left_out = ["slots-beyond-duct", "return-beyond-duct"];
        assert!(!rough.findings.iter().any(|f| left_out.contains(&f.id.as_str())), "{name}");
        let dilution = rough.findings.iter().find(|finding| finding.id.starts_with("dilution"));
        assert_eq!(dilution.map(|finding| finding.id.as_str()), Some("dilution"), "{name}: {dilution:?}");
        let set = set_returns(&first).unwrap_or_else(|error| panic!("{name}: {error}")).plan;
        let fast = find_speed(&set).unwrap_or_else(|error| panic!("{name}: {error}")).plan;
        let even = even_out(&fast).unwrap_or_else(|error| panic!("{name}: {error}")).after;
        println!("{name}: {:.2} % at {:.0} rpm", even.evenness.worst_percent, fast.heater.fan.speed_rpm);
        assert!(even.evenness.worst_percent < 5.0, "{name}");
        assert!((even.total_flow_kg_s / even.required_flow_kg_s - 1.0).abs() < 0.02, "{name}");
        assert!(even.fan.stall_margin_percent > 10.0, "{name}");
    }
}

#[test]
fn nonsense_gets_a_finding_and_no_figure() {
    let with = |change: &dyn Fn(&mut Plan)| {
        let mut plan = asked();
        change(&mut plan);
        plan
    };
    let part = |plan: &mut Plan| plan.load.as_mut().unwrap().parts.truncate(1);
    let massless = with(&|plan| {
        part(plan);
        plan.load.as_mut().unwrap().parts[0].kg_per_m = 0.0;
    });
    assert!(told(&massless, "need-part") && need(&massless).need.is_none());
    let hot = with(&|plan| plan.load.as_mut().unwrap().entry_temperature_c = 260.0);
    assert!(told(&hot, "need-hot-part") && need(&hot).need.is_none());
    let still = with(&|plan| plan.enquiry.as_mut().unwrap().parts_per_hour = Some(0.0));
    assert!(told(&still, "need-speed"));
    let cool = with(&|plan| plan.enquiry.as_mut().unwrap().cure_c = 170.0);
    assert!(told(&cool, "need-metal-temperature"));
    // Nothing but a cooler metal than the coating's schedules know.
    let raw = with(&|plan| {
        let enquiry = plan.enquiry.as_mut().unwrap();
        (enquiry.metal_c, enquiry.dwell_s) = (Some(150.0), Some(60.0));
    });
    assert!(told(&raw, "need-under-cure"), "{:?}", needed(&raw).parts);
    assert!(!told(&asked(), "need-under-cure"), "{:?}", needed(&asked()).parts);
    // Dry-off hotter than the supply of the cure zone: refused, and told where the supply is merely near.
    let hot_dry = with(&|plan| plan.enquiry.as_mut().unwrap().dry_off_c = Some(230.0));
    assert!(told(&hot_dry, "need-dry-off") && need(&hot_dry).need.is_none());
    let near = with(&|plan| {
        let enquiry = plan.enquiry.as_mut().unwrap();
        (enquiry.dry_off_c, enquiry.least_changes_per_min) = (Some(200.0), 40.0);
    });
    assert!(told(&near, "need-cold-supply") && !told(&asked(), "need-cold-supply"));
    // The cure zone's difference is what its air changes leave.
    let changed = with(&|plan| plan.enquiry.as_mut().unwrap().least_changes_per_min = 40.0);
    let cure = needed(&changed).zones[1].supply_difference_k;
    assert!(
        cure < 5.0
            && !need(&changed).findings.iter().any(|finding| {
                finding.id == "need-cold-supply"
                    && finding.message.show(Default::default()).contains("cure zone")
            })
    );
    let calm = with(&|plan| plan.enquiry.as_mut().unwrap().least_changes_per_min = 8.0);
    let changes = needed(&calm).zones.iter().map(|zone| zone.changes_per_min).fold(f64::INFINITY, f64::min);
    assert_eq!(told(&calm, "need-changes"), changes < 8.0 * 0.999 || changes > 6.0);
    // The burner that is entered must turn down to the empty line, not only the one proposed.
    let large = with(&|plan| plan.heater.burner = Some(burner(8e6)));
    let fits = with(&|plan| plan.heater.burner = Some(burner(needed(&asked()).burner.rated_w)));
    assert!(told(&large, "need-turn-down"), "{:?}", needed(&large).burner);
    assert!(!told(&fits, "need-turn-down"), "{:?}", needed(&fits).burner);
    let none = with(&|plan| plan.load = None);
    assert!(told(&none, "need-load"));
    let flooded = with(&|plan| plan.load.as_mut().unwrap().parts[0].water_kg_m2 = 40.0);
    assert!(told(&flooded, "need-never"));
    // Zero insulation is dear, and finite.
    let mut bare = asked();
    bare.enclosure.panels =
        Some(engine::plan::Panels { wall: Some(engine::plan::PanelBuildUp::new(0.0)), ..Default::default() });
    assert!(needed(&bare).burner.input_w > needed(&asked()).burner.input_w);
}

#[test]
fn more_insulation_never_loses_more_and_more_speed_never_shortens_the_oven() {
    let mut last = f64::INFINITY;
    for step in 0..12 {
        let mut plan = asked();
        let wall = engine::plan::PanelBuildUp::new(0.02 + 0.02 * f64::from(step));
        plan.enclosure.panels = Some(engine::plan::Panels { wall: Some(wall), ..Default::default() });
        let loss = row(&needed(&plan), "cure", HeatItem::Walls);
        assert!(loss < last, "{step}");
        last = loss;
    }
    let mut shortest = 0.0;
    for parts_per_hour in [60.0, 120.0, 180.0, 240.0, 360.0] {
        let mut plan = asked();
        plan.enquiry.as_mut().unwrap().parts_per_hour = Some(parts_per_hour);
        let length = needed(&plan).zones[1].length_m;
        assert!(length >= shortest, "{parts_per_hour}");
        shortest = length;
    }
}
