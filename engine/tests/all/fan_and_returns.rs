//! The fan's duty and drive, and return slides as they can be set.

use crate::examples::{plan, two_zones};
use engine::analysis::{Analysis, analyse};
use engine::design::{duty_findings, even_out, fan_duty, find_speed, fit_drive, set_returns};
use engine::plan::{Drive, Plan};

/// Two zones with long rows of returns, kept as they were so that tests can count on their slides.
fn solved(plan: &Plan) -> Analysis {
    let analysis = analyse(plan).expect("calculated");
    assert_eq!(analysis.status, "converged");
    analysis
}

const PLANS: [&str; 4] = ["garden-gates", "lantern-box", "fence-tunnel", "shelving-frames"];

#[test]
fn the_duty_has_four_points_and_the_margin_is_the_worst() {
    for name in PLANS {
        let plan = find_speed(&set_returns(&plan(name)).unwrap().plan).unwrap().plan;
        let duty = fan_duty(&plan).unwrap();
        let margins: Vec<f64> = duty.points.iter().map(|point| point.stall_margin_percent).collect();
        let least = margins.iter().copied().fold(f64::INFINITY, f64::min);
        assert!(margins.len() == 4 && least == duty.worst_margin_percent);
        let [hot, dirty, cold, cold_dirty] = &duty.points[..] else { panic!("four points") };
        println!(
            "{name}: {:.2} m³/s, η {:.0} %, margin {least:.0} %, {:.0} W hot, {:.0} W cold, motor {:?} kW: {}",
            hot.flow_m3_s,
            duty.efficiency_percent,
            duty.motor.hot_w,
            duty.motor.cold_w,
            duty.motor.rating_kw,
            duty.motor.rule
        );
        // The same plan by hand: filters due for change.
        let mut by_hand = plan.clone();
        by_hand.heater.fixed_losses.iter_mut().for_each(|loss| loss.dirt_percent = 100.0);
        assert_eq!(solved(&by_hand).fan.flow_m3_s, dirty.flow_m3_s);
        assert!(dirty.flow_m3_s <= hot.flow_m3_s && cold_dirty.flow_m3_s <= cold.flow_m3_s);
        // Volume hardly changes with density, power goes with it.
        assert!((cold.flow_m3_s / hot.flow_m3_s - 1.0).abs() < 0.05, "{name}");
        assert!(cold.shaft_power_w > 1.4 * hot.shaft_power_w);
        // One motor a fan.
        let fans = f64::from(plan.heater.fan.count);
        assert!(
            (fans * duty.motor.cold_w / cold.shaft_power_w.max(cold_dirty.shaft_power_w) - 1.0).abs() < 1e-9
        );
        assert_eq!(duty.motor.needed_w, duty.motor.cold_w.max(1.15 * duty.motor.hot_w), "{name}");
        let rating = duty.motor.rating_kw.expect("a motor");
        assert!(rating * 1e3 >= duty.motor.needed_w && rating * 1e3 < 1.7 * duty.motor.needed_w);
        assert!((45.0..90.0).contains(&duty.efficiency_percent), "{name} {}", duty.efficiency_percent);
        assert_eq!(duty.tolerance_percent, None);
    }
}

#[test]
fn a_drive_that_can_be_bought_is_fitted() {
    for name in PLANS {
        let start = set_returns(&plan(name)).unwrap().plan;
        let wanted = find_speed(&start).unwrap().plan.heater.fan.speed_rpm;
        let belts = fit_drive(&start).unwrap();
        let Some(Drive::Belt { motor_speed_rpm, motor_pulley_m, fan_pulley_m }) = belts.plan.heater.fan.drive
        else {
            panic!("belts")
        };
        let speed = motor_speed_rpm * motor_pulley_m.unwrap() / fan_pulley_m.unwrap() * 0.99;
        assert!(
            (speed / belts.plan.heater.fan.speed_rpm - 1.0).abs() < 1e-9
                && (speed / wanted - 1.0).abs() < 0.01
        );
        assert!((belts.after.total_flow_kg_s / belts.after.required_flow_kg_s - 1.0).abs() < 0.012, "{name}");
        let mut on_frequency = start.clone();
        on_frequency.heater.fan.drive =
            Some(Drive::Frequency { motor_speed_rpm: 1_460.0, base_hz: 50.0, set_hz: None });
        on_frequency.heater.fan.tolerance_grade = Some(3);
        let fitted = fit_drive(&on_frequency).unwrap();
        let Some(Drive::Frequency { set_hz: Some(hz), .. }) = fitted.plan.heater.fan.drive else {
            panic!("hz")
        };
        assert!((hz * 10.0 - (hz * 10.0).round()).abs() < 1e-6);
        assert!(
            (fitted.after.total_flow_kg_s / fitted.after.required_flow_kg_s - 1.0).abs() < 0.003,
            "{name}"
        );
        let duty = fan_duty(&fitted.plan).unwrap();
        assert!(duty.frequency_hz == Some(hz) && duty.tolerance_percent.is_some());
        // With a drive that starts slowly the motor need not carry the cold start, but it gives its torque only.
        let slower = (1_460.0 / duty.speed_rpm).max(1.0);
        assert!((duty.motor.needed_w / (1.15 * duty.motor.hot_w * slower) - 1.0).abs() < 1e-9, "{name}");
        assert!(duty.motor.cold_w < fan_duty(&belts.plan).unwrap().motor.cold_w * 1.01);
        // The speed goes with the drive entered.
        let told = |plan: &Plan| solved(plan).findings.iter().any(|finding| finding.id == "drive-speed");
        for mut fitted in [belts.plan, fitted.plan] {
            assert!(!told(&fitted), "{name}");
            fitted.heater.fan.speed_rpm *= 1.02;
            assert!(told(&fitted), "{name}");
        }
        assert!((80.0..95.0).contains(&duty.motor.cold_start_speed_percent));
    }
}

#[test]
fn a_frequency_far_above_the_motors_is_told() {
    let mut start = plan("garden-gates");
    let speed = find_speed(&start).unwrap().plan.heater.fan.speed_rpm;
    let told = |over: f64, start: &mut Plan| {
        let motor_speed_rpm = speed / over;
        start.heater.fan.drive = Some(Drive::Frequency { motor_speed_rpm, base_hz: 50.0, set_hz: None });
        fit_drive(start).unwrap().findings.iter().any(|finding| finding.id == "above-base")
    };
    assert!(!told(1.1, &mut start) && told(1.3, &mut start));
}

#[test]
fn the_worst_of_the_four_margins_is_told() {
    let mut start = find_speed(&plan("garden-gates")).unwrap().plan;
    let clean = start.heater.fixed_losses[0].drop_pa;
    let now = solved(&start).fan.stall_margin_percent;
    assert!(now > 10.0 && duty_findings(&start, &fan_duty(&start).unwrap()).is_empty());
    for times in 2..60 {
        start.heater.fixed_losses[0].dirty_drop_pa = Some(f64::from(times) * clean);
        if fan_duty(&start).unwrap().worst_margin_percent < 10.0 {
            break;
        }
    }
    assert!(solved(&start).fan.stall_margin_percent > 10.0);
    let found = find_speed(&start).unwrap().findings;
    let stall = found.iter().find(|finding| finding.id == "stall").expect("it is told");
    let said = stall.message.show(engine::units::UnitSystem::Si);
    assert!(said.contains("dirty filters") && said.contains("right of its"), "{said}");
}

#[test]
fn a_cold_start_in_frost_takes_the_power_of_its_dense_air() {
    let cold_w = |ambient_c: f64| {
        let mut start = plan("lantern-box");
        start.site.ambient_c = ambient_c;
        fan_duty(&start).unwrap().motor.cold_w
    };
    // By hand: absolute temperatures.
    let by_hand = 273.15 / (273.15 - 30.0);
    assert!((cold_w(-30.0) / cold_w(0.0) / by_hand - 1.0).abs() < 1e-3);
}

#[test]
fn a_speed_above_the_limit_at_temperature_is_refused() {
    let mut start = plan("garden-gates");
    let wanted = find_speed(&start).unwrap().plan.heater.fan.speed_rpm;
    start.heater.fan.max_speed_rpm = Some(2.0 * wanted);
    start.heater.fan.max_speed_hot_rpm = Some(0.98 * wanted);
    let said = find_speed(&start).expect_err("too fast when hot").to_string();
    assert!(said.contains("hot"), "{said}");
    assert!(fit_drive(&start).is_err());
    start.heater.fan.max_speed_hot_rpm = Some(1.001 * wanted);
    let fitted = fit_drive(&start).unwrap().plan.heater.fan.speed_rpm;
    assert!(fitted <= 1.001 * wanted);
}

#[test]
fn a_dip_near_the_duty_is_told() {
    let mut dipped = plan("garden-gates");
    let told = |plan: &Plan| solved(plan).findings.iter().any(|finding| finding.id == "fan-dip");
    assert!(!told(&dipped));
    let fan = &mut dipped.heater.fan;
    fan.points.iter_mut().for_each(|point| point.shaft_power_w = None);
    let pressures = [900.0, 1_000.0, 820.0, 760.0, 800.0, 950.0, 1_010.0, 980.0, 700.0];
    fan.points.iter_mut().zip(pressures).for_each(|(point, pressure)| point.pressure_pa = pressure);
    assert!(told(&dipped));
    // The same dip far to the left of the duty does no harm.
    for (k, point) in dipped.heater.fan.points.iter_mut().enumerate() {
        point.flow_m3_s *= if k < 8 { 0.4 } else { 1.2 };
    }
    assert!(!told(&dipped));
}

#[test]
fn slides_stand_in_their_pin_holes() {
    for name in PLANS {
        let mut start = plan(name);
        for (k, opening) in start.returns.iter_mut().enumerate() {
            opening.pin_pitch_m = (k % 2 == 0).then_some(0.0125);
        }
        let done = set_returns(&start).unwrap();
        for (opening, result) in done.plan.returns.iter().zip(&done.after.returns) {
            let pitch = opening.pin_pitch_m.unwrap_or(start.shop.slide_increment_m);
            let holes = opening.open_m / pitch;
            assert!((holes - holes.round()).abs() < 1e-6, "{name} {}", opening.id);
            let told = done.findings.iter().any(|f| f.item.as_deref() == Some(&opening.id));
            let off = (result.share / result.target_share - 1.0).abs();
            assert!(off <= 0.03 || told, "{name} {}: {off}", opening.id);
            // The reading to expect follows from flow and free area.
            assert!(result.drop_pa > 1.0, "{name} {}", opening.id);
        }
        assert!(set_returns(&done.plan).unwrap().plan == done.plan, "{name}: a second run changes something");
        assert!(done.after.return_area_ratio > 1.0, "{name} {}", done.after.return_area_ratio);
    }
}

/// The share of one return may be more than the fan can draw through it: then a width is named that does.
#[test]
fn a_share_out_of_reach_names_a_size_that_reaches() {
    let mut start = two_zones();
    let told = |plan: &Plan| {
        let done = set_returns(plan).unwrap();
        let finding = done.findings.iter().find(|finding| finding.id == "return-out-of-reach").cloned();
        (done, finding)
    };
    assert!(told(&start).1.is_none());
    // Six times the weight through a fifth of the width.
    start.returns[1].weight = 6.0;
    start.returns[1].width_m = 0.16;
    let (_, finding) = told(&start);
    let finding = finding.expect("it cannot be had");
    assert_eq!(finding.item.as_deref(), Some("return-2"));
    let remedy = finding.remedy.show(engine::units::UnitSystem::Si);
    println!("{} {remedy}", finding.message.show(engine::units::UnitSystem::Si));
    let numbers: Vec<f64> = remedy
        .split_whitespace()
        .filter_map(|word| word.trim_end_matches([',', '.']).replace(',', "").parse().ok())
        .collect();
    let [width_mm, was_mm, share, ..] = numbers[..] else { panic!("{remedy}") };
    assert!(was_mm == 160.0 && width_mm > 160.0 && share < 100.0, "{remedy}");
    let with_width = |width_m: f64| {
        let mut wider = start.clone();
        wider.returns[1].width_m = width_m;
        told(&wider)
    };
    let (reached, finding) = with_width(1e-3 * width_mm + 0.010);
    assert!(finding.is_none(), "{width_mm} mm do not reach");
    // The reserve of the slide is a fifth.
    assert!(with_width(0.7e-3 * width_mm).1.is_some(), "far less than {width_mm} mm do");
    for result in &reached.after.returns {
        let off = (result.share / result.target_share - 1.0).abs();
        let fine = reached.findings.iter().any(|f| f.item.as_deref() == Some(&result.id));
        assert!(off <= 0.03 || fine, "{}: {off}", result.id);
    }
    // In the sizes of the shop it is the next larger one.
    start.shop.damper_sizes_m = vec![0.1, 0.2, 0.3, 0.4, 0.6, 0.8, 1.2];
    let remedy = told(&start).1.expect("still").remedy.show(engine::units::UnitSystem::Si);
    let stock = start.shop.damper_sizes_m.iter().find(|&&size| size >= 1e-3 * width_mm - 1e-9).unwrap();
    let named: Option<f64> = remedy.split_whitespace().nth(2).and_then(|word| word.parse().ok());
    assert_eq!(named, Some(1e3 * stock), "{remedy}");
}

#[test]
fn slides_too_nearly_shut_are_kept_from_or_told_with_a_width() {
    let mut start = two_zones();
    for opening in &mut start.returns {
        opening.duct = None;
        opening.at = Some(engine::plan::Point::new(16.0, 6.0));
        (opening.width_m, opening.height_m, opening.open_m) = (0.6, 0.4, 0.3);
    }
    start.ducts.retain(|duct| duct.role != engine::plan::DuctRole::Return);
    // All in one zone: the dry-off gets no return, so its air comes through the pass.
    let even = set_returns(&start).unwrap();
    assert!(even.after.returns.iter().all(|result| (result.share / result.target_share - 1.0).abs() < 0.03));
    // Opened to the trim reserve this one would stand below 40 mm, fully open above it.
    start.returns[0].weight = 0.115;
    let kept = set_returns(&start).unwrap();
    assert!(kept.findings.iter().any(|finding| finding.id == "trim-reserve-used"), "{:?}", kept.findings);
    assert!(kept.plan.returns.iter().all(|opening| opening.open_m >= 0.040));
    // Nearly shut beside a weight twenty times as large.
    start.returns[0].weight = 0.04;
    let done = set_returns(&start).unwrap();
    let fine = done.findings.iter().find(|finding| finding.id == "fine-slide").expect("it is told");
    let remedy = fine.remedy.show(engine::units::UnitSystem::Si);
    let width_mm: f64 = remedy.split_whitespace().nth(3).and_then(|word| word.parse().ok()).expect(&remedy);
    start.returns[0].width_m = 1e-3 * width_mm;
    let narrower = set_returns(&start).unwrap();
    assert!(narrower.findings.iter().all(|finding| finding.id != "fine-slide"), "{remedy}");
}

#[test]
fn the_index_slide_keeps_its_reserve_and_returns_are_held_against_supply() {
    let start = plan("shelving-frames");
    for percent in [80.0, 65.0, 100.0] {
        let mut asked = start.clone();
        asked.shop.index_opening_percent = percent;
        let done = set_returns(&asked).unwrap();
        let widest = done.after.returns.iter().map(|result| result.free_fraction).fold(0.0, f64::max);
        println!("{percent} %: index {widest:.3}, return area {:.2}", done.after.return_area_ratio);
        assert!((100.0 * widest - percent).abs() < 1.5, "{percent} {widest}");
        for result in &done.after.returns {
            let opening = done.plan.returns.iter().find(|opening| opening.id == result.id).unwrap();
            assert!((1e-3 * result.opening_mm - opening.open_m).abs() < 1e-9);
            // What a manometer reads and the area set give back the air, by the textbook's orifice.
            assert!(result.drop_pa > 1.0 && result.mass_flow_kg_s > 0.0);
        }
        let slots: f64 = done.after.slots.iter().map(|slot| slot.area_m2).sum();
        let returns: f64 = done.plan.returns.iter().map(|opening| opening.width_m * opening.open_m).sum();
        assert!((returns / slots / done.after.return_area_ratio - 1.0).abs() < 1e-9);
    }
    let mut small = start.clone();
    small.returns.iter_mut().for_each(|opening| opening.width_m *= 0.2);
    let done = set_returns(&small).unwrap();
    assert!(done.after.return_area_ratio < 1.0, "{}", done.after.return_area_ratio);
    assert!(done.findings.iter().any(|finding| finding.id == "return-area"), "{:?}", done.findings);
}

#[test]
fn impossible_demands_are_refused_by_each_command() {
    let start = plan("lantern-box");
    let mut still = start.clone();
    still.heater.fan.speed_rpm = 0.0;
    assert!(even_out(&still).is_err());
    // A fan that gives nothing at any speed.
    let mut dead = start.clone();
    dead.heater.fan.points.iter_mut().for_each(|point| point.pressure_pa = 0.0);
    assert!(find_speed(&dead).expect_err("no speed does it").to_string().contains("fan"));
    assert!(fit_drive(&dead).is_err());
    let mut shut = start.clone();
    shut.returns.iter_mut().for_each(|opening| opening.open_m = 0.0);
    assert!(even_out(&shut).expect_err("no return").to_string().contains("return"));
    // Set returns opens them again.
    assert!(set_returns(&shut).unwrap().plan.returns.iter().all(|opening| opening.open_m > 0.0));
    let mut none = start.clone();
    none.returns.clear();
    assert!(set_returns(&none).is_err());
    let mut closed = start;
    closed.slot_rows.iter_mut().for_each(|row| row.widths_m = vec![0.0]);
    assert!(find_speed(&closed).expect_err("no slot").to_string().contains("slot"));
}

#[test]
fn openings_between_air_of_one_temperature_solve_from_cold() {
    for name in ["garden-gates", "minimal", "planter-ring", "lantern-box", "fence-tunnel", "shelving-frames"]
    {
        for celsius in [0.0, 18.0, 60.0] {
            let mut even = plan(name);
            (even.site.ambient_c, even.heater.supply_temperature_c) = (celsius, celsius);
            even.zones.iter_mut().for_each(|zone| zone.set_temperature_c = celsius);
            (even.site.oven_humidity_ratio, even.load) = (0.0, None);
            let solved = analyse(&even).expect("it can be calculated");
            println!("{name} {celsius}: {} {} {:?}", solved.status, solved.iterations, solved.worst_branch);
            assert_eq!(solved.status, "converged", "{name} at {celsius}: {:?}", solved.worst_branch);
            // A hundredth of a degree apart is nearly the same.
            for (k, zone) in even.zones.iter_mut().enumerate() {
                zone.set_temperature_c = celsius + 0.01 * (1.0 + k as f64);
            }
            let apart = analyse(&even).expect("it can be calculated");
            let off = apart.total_flow_kg_s / solved.total_flow_kg_s - 1.0;
            assert!(off.abs() < 1e-4, "{name} at {celsius}: {off}");
        }
    }
}
