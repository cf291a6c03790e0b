//! Build styles and limits of the shop record, on whole plans.

use crate::examples::{two_zones, with_returns as plan};
use engine::analysis::{Analysis, analyse};
use engine::design::even_out;
use engine::plan::{BuildStyle, Plan, SpeedLimit, file, take_shop, write_shop};
use engine::units::UnitSystem;

fn with(name: &str, build: BuildStyle) -> Plan {
    let mut plan = plan(name);
    plan.shop.build = build;
    plan
}

/// Evens out twice, writes and reads between; what a second run changes would show.
fn evened(plan: &Plan) -> (Plan, Analysis) {
    twice(even_out(plan).unwrap_or_else(|error| panic!("{error}")).plan)
}

fn twice(done: Plan) -> (Plan, Analysis) {
    let reread = file::read(&file::write(&done)).expect("a written plan opens");
    assert!(reread == done, "a plan read again differs");
    let again = even_out(&reread).unwrap_or_else(|error| panic!("{error}")).plan;
    assert!(again == done, "a second run changes something");
    let analysis = analyse(&done).expect("it can be calculated");
    assert_eq!(analysis.status, "converged");
    (done, analysis)
}

const STYLES: [BuildStyle; 7] = [
    BuildStyle::SteppedWidths,
    BuildStyle::SteppedLengths,
    BuildStyle::PunchedCount,
    BuildStyle::VariedPitch,
    BuildStyle::ContinuousTaper,
    BuildStyle::SteppedDuct,
    BuildStyle::AdjustableStrip { slot_width_m: 0.040 },
];

#[test]
fn every_build_style_evens_out_what_it_may_change() {
    let mut evened = 0;
    for name in ["lantern-box", "fence-tunnel", "garden-gates", "planter-ring", "shelving-frames"] {
        for style in STYLES {
            let mut start = with(name, style);
            if style == BuildStyle::ContinuousTaper {
                start.slot_rows.iter_mut().for_each(|row| row.length_m = row.length_m.min(row.pitch_m));
            }
            let designed = match even_out(&start) {
                Ok(designed) => designed,
                Err(error) => {
                    // What cannot be had says why, and what would help.
                    println!("{name} {style:?}: {error}");
                    assert!(!error.remedy.is_empty(), "{name} {style:?}: {error}");
                    continue;
                }
            };
            evened += 1;
            let coarse = designed.findings.iter().find(|finding| finding.id == "coarse-ducts").cloned();
            // The large one takes long.
            let once = |done: Plan| {
                let after = analyse(&done).expect("it can be calculated");
                (done, after)
            };
            let (done, after) =
                if name == "shelving-frames" { once(designed.plan) } else { twice(designed.plan) };
            let e = &after.evenness;
            let total = after.total_flow_kg_s / after.required_flow_kg_s;
            println!(
                "{name} {style:?}: worst {:.2} %, cv {:.2} %, floor {:.2} %, total {total:.4}",
                e.worst_percent, e.cv_percent, e.rounding_floor_percent
            );
            assert!((total - 1.0).abs() <= 0.02, "{name} {style:?}: {total}");
            let limit = if name == "shelving-frames" { 5.0 } else { 3.0 };
            if let Some(coarse) = coarse {
                let remedy = coarse.remedy.show(UnitSystem::Si);
                println!("    {} {remedy}", coarse.message.show(UnitSystem::Si));
                assert!(style == BuildStyle::SteppedDuct && remedy.contains("It needs"), "{name}: {remedy}");
                // The sizes it names do.
                if let Some(step_mm) = remedy.split_once("every ").map(|(_, rest)| number_before(rest, " mm"))
                {
                    let mut finer = start.clone();
                    finer.shop.duct_sizes_m = (1..600).map(|n| f64::from(n) * 1e-3 * step_mm).collect();
                    let e = even_out(&finer).expect("finer sizes can be had").after.evenness;
                    println!("    every {step_mm} mm: worst {:.2} %", e.worst_percent);
                    assert!(e.worst_percent < after.evenness.worst_percent, "{name}");
                    let limit = f64::max(limit, 1.3 * e.rounding_floor_percent);
                    assert!(e.worst_percent <= limit + 1.0, "{name}: {}", e.worst_percent);
                }
            } else {
                let limit = f64::max(limit, 1.3 * e.rounding_floor_percent);
                assert!(e.worst_percent <= limit, "{name} {style:?}: {}", e.worst_percent);
            }
            for (row, old) in done.slot_rows.iter().zip(&start.slot_rows) {
                let alike = |values: &[f64]| values.windows(2).all(|pair| pair[0] == pair[1]);
                match style {
                    BuildStyle::SteppedLengths => {
                        assert!(row.lengths_m.len() == row.count as usize && row.widths_m.len() == 1);
                    }
                    BuildStyle::PunchedCount => {
                        assert_eq!((row.widths_m.len(), row.width_m(0)), (1, old.width_m(0)));
                        assert_eq!(row.stations_m.len(), row.count as usize);
                    }
                    BuildStyle::VariedPitch => assert!(alike(&row.widths_m) && row.count == old.count),
                    BuildStyle::ContinuousTaper => assert_eq!(row.widths_m.len(), row.count as usize + 1),
                    BuildStyle::SteppedDuct => assert!(alike(&row.widths_m)),
                    _ => assert_eq!(row.widths_m.len(), row.count as usize),
                }
            }
        }
    }
    println!("{evened} of 35 evened out");
    assert!(evened >= 34, "{evened} of 35 evened out");
}

#[test]
fn one_slot_through_all_panels_is_no_longer_than_they_are() {
    let mut start = with("lantern-box", BuildStyle::ContinuousTaper);
    let said = even_out(&start).map(|done| done.after.evenness).expect_err("too long").to_string();
    assert!(said.starts_with("slots-1") && said.contains("as long as its pitch"), "{said}");
    for row in &mut start.slot_rows {
        row.length_m = row.pitch_m;
        // Of another style before.
        row.lengths_m = vec![0.3; row.count as usize];
    }
    let (done, _) = evened(&start);
    assert!(done.slot_rows.iter().all(|row| row.lengths_m.is_empty()));
    // Along a narrow duct no panel leaves a web, and none is wanted.
    start.shop.min_web_m = Some(0.02);
    for duct in start.ducts.iter_mut().filter(|duct| duct.id.starts_with("run-")) {
        duct.section = engine::plan::Section::Rectangular { width_m: 0.25, height_m: 0.5 };
    }
    let built = engine::network::from_plan::build(&start).expect("a network");
    let breaches = engine::limits::breaches(&start, &built, &[]);
    assert!(breaches.iter().all(|breach| breach.id != "web"), "{breaches:?}");
}

#[test]
fn slots_under_a_strip_keep_their_web_as_cut() {
    let mut start = with("lantern-box", BuildStyle::AdjustableStrip { slot_width_m: 0.040 });
    // 270 mm less the slot of 40, whatever the strip leaves open.
    start.shop.min_web_m = Some(0.225);
    let (done, _) = evened(&start);
    assert!(done.slot_rows.iter().flat_map(|row| &row.widths_m).all(|&width| width <= 0.035));
    start.shop.min_web_m = Some(0.235);
    let said = even_out(&start).map(|done| done.after.evenness).expect_err("too near").to_string();
    assert!(said.contains("of web"), "{said}");
}

#[test]
fn few_patterns_are_kept_and_chosen_well() {
    for (name, most, limit) in [("garden-gates", 5, 6.0), ("fence-tunnel", 3, 3.0), ("lantern-box", 4, 3.0)] {
        let mut start = plan(name);
        start.shop.max_patterns = Some(most);
        let (done, after) = evened(&start);
        let mut widths: Vec<i64> =
            done.slot_rows.iter().flat_map(|row| &row.widths_m).map(|w| (w * 1e6).round() as i64).collect();
        widths.sort_unstable();
        widths.dedup();
        println!("{name}: {} patterns, worst {:.2} %", widths.len(), after.evenness.worst_percent);
        assert!(widths.len() <= most as usize, "{name} {widths:?}");
        assert!(after.evenness.worst_percent <= limit, "{name} {}", after.evenness.worst_percent);
    }
    let mut one = plan("garden-gates");
    one.shop.max_patterns = Some(3);
    let done = even_out(&one).expect("three patterns are possible, though uneven");
    let finding = done.findings.iter().find(|finding| finding.id == "few-patterns").expect("and is told");
    let remedy = finding.remedy.show(engine::units::UnitSystem::Si);
    let enough: u32 =
        remedy.split(' ').nth(1).and_then(|word| word.parse().ok()).expect("a number of patterns");
    one.shop.max_patterns = Some(enough);
    let e = even_out(&one).expect("it is enough").after.evenness;
    assert!(e.worst_percent <= f64::max(3.0, 1.3 * e.rounding_floor_percent) + 0.5, "{}", e.worst_percent);
}

/// The fan speed that a refusal names, against the present one.
fn named_speed(error: &str) -> Option<f64> {
    let (before, after) = error
        .split_once(" % more fan speed")
        .map(|(before, _)| (before, 1.0))
        .or_else(|| error.split_once(" % less fan speed").map(|(before, _)| (before, -1.0)))?;
    let percent: f64 = before.rsplit(' ').next()?.parse().ok()?;
    Some(1.0 + after * percent / 100.0)
}

#[test]
fn the_fan_speed_that_a_refusal_names_is_enough_and_hardly_more() {
    let limited = |name, change: &dyn Fn(&mut Plan)| {
        let mut plan = plan(name);
        change(&mut plan);
        plan
    };
    for (what, start) in [
        ("slow discharge", limited("garden-gates", &|p| p.shop.min_discharge_m_s = 13.0)),
        ("slower discharge", limited("garden-gates", &|p| p.shop.min_discharge_m_s = 10.0)),
        ("a run cut short", limited("garden-gates", &|p| p.ducts[3].path[1].x_m = 20.0)),
        ("fast discharge", limited("lantern-box", &|p| p.shop.max_discharge_m_s = 16.0)),
        (
            "powder not yet gelled",
            limited("lantern-box", &|p| {
                p.shop.speed_limits = vec![SpeedLimit {
                    max_discharge_m_s: 15.5,
                    zone: Some("chamber".into()),
                    conveyor_m: None,
                }];
            }),
        ),
    ] {
        let error = even_out(&start).map(|done| done.after.evenness).expect_err(what).to_string();
        let factor = named_speed(&error).unwrap_or_else(|| panic!("{what}: {error}"));
        println!("{what}: {factor:.3} by {error}");
        let at = |factor: f64| {
            let mut plan = start.clone();
            plan.heater.fan.speed_rpm *= factor;
            even_out(&plan).map(|done| done.after.evenness.worst_percent)
        };
        assert!(at(factor).is_ok(), "{what}: {:?}", at(factor));
        assert!(at(1.0 + 0.6 * (factor - 1.0)).is_err(), "{what}: less than {factor} would do");
    }
}

#[test]
fn slots_keep_clear_of_what_the_shop_record_says_or_the_row_is_named() {
    let refused = |name: &str, change: &dyn Fn(&mut Plan)| {
        let mut start = plan(name);
        change(&mut start);
        even_out(&start).map(|done| done.after.evenness).expect_err("must be refused").to_string()
    };
    let tie = refused("lantern-box", &|p| p.shop.max_slot_length_m = Some(0.3));
    assert!(tie.contains("slots-1") && tie.contains("tie"), "{tie}");
    let seam = refused("lantern-box", &|p| p.shop.edge_distance_m = Some(0.06));
    assert!(seam.contains("slots-1") && seam.contains("seam"), "{seam}");
    let joint = refused("lantern-box", &|p| p.shop.sheet_length_m = Some(0.67));
    assert!(joint.contains("slots-1/2") && joint.contains("sheet joint"), "{joint}");
    // No speed of the fan moves a joint.
    assert!(!joint.contains("fan speed"), "{joint}");
    let blank = refused("lantern-box", &|p| p.slot_rows[1].blanked_m = vec![[1.0, 1.3]]);
    assert!(blank.contains("slots-2") && blank.contains("blanked"), "{blank}");
    let ratio = refused("lantern-box", &|p| p.shop.max_area_ratio = Some(0.4));
    assert!(
        ratio.contains("run-") && ratio.contains("more height") && ratio.contains("more fan speed"),
        "{ratio}"
    );
    let mut loose = two_zones();
    loose.shop.speed_limits = vec![SpeedLimit {
        max_discharge_m_s: 19.0,
        zone: Some("cure".into()),
        conveyor_m: Some([9.5, 12.0]),
    }];
    let gel = even_out(&loose).map(|done| done.after.evenness).expect_err("must be refused").to_string();
    assert!(gel.contains("cure-") && gel.contains("lower the fan speed"), "{gel}");
    // Within the limits nothing is refused, and wide slots stay a web apart.
    let mut kept = plan("lantern-box");
    kept.shop.max_slot_length_m = Some(0.36);
    kept.shop.edge_distance_m = Some(0.045);
    kept.shop.min_web_m = Some(0.245);
    let (done, _) = evened(&kept);
    assert!(done.slot_rows.iter().flat_map(|row| &row.widths_m).all(|&w| w <= 0.27 - 0.245 + 1e-9));
}

#[test]
fn a_varied_pitch_leaves_joints_and_blanked_stretches_whole() {
    let mut start = with("garden-gates", BuildStyle::VariedPitch);
    start.shop.sheet_length_m = Some(1.25);
    start.shop.edge_distance_m = Some(0.03);
    start.slot_rows[0].blanked_m = vec![[7.0, 7.3]];
    // Slots of 0.36 m across 0.5 m of duct leave 70 mm; those of 0.22 across 0.3 leave 40.
    let (done, after) = evened(&start);
    println!("joints kept: worst {:.2} %", after.evenness.worst_percent);
    for row in &done.slot_rows {
        for k in 0..row.count as usize {
            let (at, half) = (row.station_m(k), 0.5 * row.width_m(k));
            let joint = (at / 1.25).round() * 1.25;
            assert!(
                joint < 1.0 || (at - joint).abs() >= half + 0.03 - 1e-9,
                "{} crosses {joint}",
                row.slot_id(k)
            );
        }
    }
    let row = &done.slot_rows[0];
    assert!(
        (0..28).all(|k| row.station_m(k) + 0.5 * row.width_m(k) <= 7.0
            || row.station_m(k) - 0.5 * row.width_m(k) >= 7.3)
    );
    assert!(after.evenness.worst_percent < 15.0);
}

/// The number before `unit` in `text`.
fn number_before(text: &str, unit: &str) -> f64 {
    let head = &text[..text.find(unit).unwrap_or_else(|| panic!("{unit} in {text}"))];
    head.split_whitespace().last().and_then(|word| word.parse().ok()).expect("a number")
}

#[test]
fn the_nearest_plan_that_can_is_computed() {
    let mut start = plan("lantern-box");
    start.shop.max_area_ratio = Some(0.4);
    let said = even_out(&start).expect_err("must be refused").to_string();
    let run = said.split(':').next().unwrap().to_owned();
    let height_mm = number_before(&said, " mm more height");
    let speed_percent = number_before(&said, " % more fan speed");
    println!("{said}");
    let faster = |percent: f64| {
        let mut changed = start.clone();
        changed.heater.fan.speed_rpm *= 1.0 + percent / 100.0;
        even_out(&changed)
    };
    // Rounding to whole steps moves the ratio by up to its own share.
    assert!(faster(speed_percent + 1.5).is_ok() && faster(speed_percent - 1.5).is_err(), "{said}");
    assert!((1.0..400.0).contains(&height_mm) && run.starts_with("run-"), "{said}");
}

#[test]
fn settings_that_cannot_be_reached_name_the_way_out() {
    let mut start = plan("garden-gates");
    start.ducts.iter_mut().find(|duct| duct.id == "cure-1").unwrap().section =
        engine::plan::Section::Rectangular { width_m: 0.5, height_m: 0.12 };
    let said = even_out(&start).expect_err("too small a duct").to_string();
    println!("{said}");
    assert!(said.starts_with("cure-1") && said.contains("cure-1 needs"), "{said}");
    let more = number_before(&said, " mm more height") * 1e-3;
    let with_height = |height_m: f64| {
        let mut changed = start.clone();
        changed.ducts.iter_mut().find(|duct| duct.id == "cure-1").unwrap().section =
            engine::plan::Section::Rectangular { width_m: 0.5, height_m };
        even_out(&changed).is_ok_and(|done| done.findings.iter().all(|finding| finding.id != "width-limit"))
    };
    assert!(with_height(0.12 + more + 0.002));
    assert!(!with_height(0.12 + more - 0.010));
}

#[test]
fn a_shop_record_is_taken_from_another_plan_or_a_file_of_its_own() {
    let (mine, mut other) = (plan("garden-gates"), plan("shelving-frames"));
    other.shop.duct_sizes_m = vec![0.3, 0.4, 0.5];
    other.shop.max_patterns = Some(5);
    let limit = |zone: Option<&str>| SpeedLimit {
        max_discharge_m_s: 12.0,
        zone: zone.map(str::to_owned),
        conveyor_m: None,
    };
    other.shop.speed_limits = vec![limit(Some("nowhere here")), limit(None)];
    for text in [file::write(&other), write_shop(&other)] {
        let taken = take_shop(&mine, &text).expect("it holds a shop record");
        assert_eq!(taken.shop.duct_sizes_m, other.shop.duct_sizes_m);
        assert_eq!((taken.shop.max_patterns, taken.shop.max_width_m), (Some(5), other.shop.max_width_m));
        // What names a place of the other layout stays there.
        assert_eq!(taken.shop.speed_limits, [limit(None)]);
        assert!(taken.ducts == mine.ducts && taken.slot_rows == mine.slot_rows);
    }
    let refused = |text: &str| take_shop(&mine, text).expect_err("must be refused").to_string();
    let bad = refused(r#"{"shop": {"min_width_m": -1}}"#);
    assert!(bad.starts_with("shop") && bad.contains("min_width_m"), "{bad}");
    let word = refused(r#"{"shop": {"min_width_m": "four"}}"#);
    assert!(word.contains("shop.min_width_m") && word.contains("correct the value"), "{word}");
    let none = refused(r#"{"format": "evenrise-plan", "version": 1}"#);
    assert!(none.contains("no shop record") && none.contains("choose"), "{none}");
    let alien = refused(r#"{"format": "recipe", "shop": {}}"#);
    assert!(alien.contains("neither") && alien.contains("evenrise-shop"), "{alien}");
    let newer = refused(r#"{"format": "evenrise-shop", "version": 99, "shop": {}}"#);
    assert!(newer.contains("newer version"), "{newer}");
    assert!(refused("{").contains("JSON"));
}
