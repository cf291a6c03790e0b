//! Findings about safety, panels, floor, growth and moisture, and their acceptance with a reason.

use crate::examples::plan;
use engine::analysis::{Analysis, analyse};
use engine::finding::{Finding, Severity};
use engine::heat::envelope::{clear_panel, panel_loss};
use engine::heat::expansion::growth_m;
use engine::heat::floor_slab::{FloorPlace, slab_top_after_c, steady_floor};
use engine::heat::water::{ZoneAir, contents};
use engine::plan::{
    Accepted, FloorBuildUp, FloorGap, Growth, HungPart, Joints, PanelBuildUp, Panels, PartShape, Plan,
    SafetyDevice, Solvent,
};

fn gates() -> Plan {
    let mut plan = plan("garden-gates");
    // Panels and a floor that nothing is to be said against.
    let wall = PanelBuildUp { joints: Some(Joints::usual(0.6)), ..PanelBuildUp::new(0.15) };
    let mut floor = FloorBuildUp::new(0.15);
    floor.gap = Some(FloorGap { height_m: 0.1, ventilation_m3_s: 0.4, upper_emissivity: 0.26 });
    floor.duty_percent = 60.0;
    plan.coating.as_mut().unwrap().air_limit_before_fuse_m_s = Some(0.5);
    plan.enclosure.panels = Some(Panels { wall: Some(wall), floor: Some(floor), ..Panels::default() });
    plan
}

/// Growth of the longest stretch of duct at supply temperature.
fn grows_m(growth: &Growth) -> f64 {
    let supply_c = judged(|_| ()).heat.expect("a balance").supply_temperature_c;
    growth_m(growth.duct, growth.duct_stretch_m, gates().site.ambient_c, supply_c)
}

fn judged(change: impl Fn(&mut Plan)) -> Analysis {
    let mut plan = gates();
    change(&mut plan);
    analyse(&plan).expect("it can be calculated")
}

fn find<'a>(analysis: &'a Analysis, id: &str) -> Option<&'a Finding> {
    analysis.findings.iter().find(|finding| finding.id == id)
}

#[test]
fn the_demonstration_plan_holds_what_it_says() {
    let plan = gates();
    assert!(plan.unknown_fields().is_empty());
    let analysis = judged(|_| ());
    for id in ["dilution", "purge", "panel-methods", "slab"] {
        assert!(find(&analysis, id).is_some(), "{id}");
    }
    // Fumes are told where they come to, not where they come off.
    assert_eq!(find(&analysis, "cure-fumes").and_then(|fumes| fumes.item.as_deref()), Some("dry-off"));
    for id in
        ["dilution-short", "purge-short", "relief-small", "hot-skin-wall", "hot-slab", "humid", "lfl-share"]
    {
        assert!(find(&analysis, id).is_none(), "{id}");
    }
}

#[test]
fn every_shortcoming_is_told_and_defers_to_the_code() {
    type Change<'a> = &'a dyn Fn(&mut Plan);
    let cases: [(&str, Change); 23] = [
        ("dilution-short", &|p| p.exhausts.iter_mut().for_each(|e| e.mass_flow_kg_s = 0.03)),
        ("dilution-unknown", &|p| {
            p.coating.as_mut().unwrap().solvents.push(Solvent {
                name: "thinner".into(),
                kg_s: 1e-4,
                lfl_percent: 0.0,
                molar_mass_g_mol: 100.0,
                specific_gravity: None,
            });
        }),
        ("exhaust-zero", &|p| p.exhausts[0].mass_flow_kg_s = 0.0),
        ("purge-short", &|p| p.safety.as_mut().unwrap().purge_time_s = Some(300.0)),
        ("purge-volumes", &|p| p.safety.as_mut().unwrap().purge_volumes = Some(2.0)),
        ("purge-none", &|p| p.safety.as_mut().unwrap().purge_flow_std_m3_s = Some(0.0)),
        ("relief-small", &|p| p.safety.as_mut().unwrap().relief_area_m2 = Some(20.0)),
        ("unpurged-volume", &|p| {
            let devices = &mut p.safety.as_mut().unwrap().devices;
            devices.retain(|device| *device != SafetyDevice::PurgePositionProving);
            p.ducts[1].damper.as_mut().unwrap().modulation.as_mut().unwrap().least_percent = 0.0;
        }),
        ("devices", &|p| p.safety.as_mut().unwrap().devices.retain(|d| *d != SafetyDevice::FlameSafeguard)),
        ("no-limit-sensor", &|p| p.sensors.truncate(2)),
        ("limit-setting", &|p| p.sensors[2].set_c = Some(200.0)),
        ("motor-small", &|p| p.safety.as_mut().unwrap().fan_motor_w = Some(5_000.0)),
        ("hot-skin-wall", &|p| {
            let wall = p.enclosure.panels.as_mut().unwrap().wall.as_mut().unwrap();
            wall.joints.as_mut().unwrap().metal_percent = 100.0;
            wall.insulation_m = 0.1;
        }),
        ("hot-slab", &|p| {
            let floor = p.enclosure.panels.as_mut().unwrap().floor.as_mut().unwrap();
            (floor.gap, floor.duty_percent, floor.insulation_m) = (None, 100.0, 0.05);
        }),
        ("panel-growth", &|p| p.enclosure.growth.as_mut().unwrap().panel_gap_m = Some(0.0005)),
        // Twice the growth must be free along a duct.
        ("duct-growth", &|p| {
            let growth = p.enclosure.growth.as_mut().unwrap();
            growth.duct_gap_m = Some(1.2 * grows_m(growth));
        }),
        ("lfl-share", &|p| p.safety.as_mut().unwrap().lfl_share_percent = Some(40.0)),
        ("lfl-share", &|p| {
            let safety = p.safety.as_mut().unwrap();
            safety.devices.push(SafetyDevice::VapourMonitor);
            safety.lfl_share_percent = Some(60.0);
        }),
        // What hoods in the vestibules draw thins no vapour.
        ("dilution-short", &|p| p.exhausts.retain(|exhaust| exhaust.zone.starts_with("vestibule"))),
        ("purge-none", &|p| {
            p.safety.as_mut().unwrap().purge_flow_std_m3_s = None;
            p.exhausts.retain(|exhaust| exhaust.zone.starts_with("vestibule"));
        }),
        ("dilution-short", &|p| p.coating.as_mut().unwrap().volatile_percent = Some(60.0)),
        ("burner-turn-down", &|p| p.heater.burner.as_mut().unwrap().turn_down = 1.5),
        ("humid", &|p| p.load.as_mut().unwrap().parts[0].water_kg_m2 = 3.0),
    ];
    for (id, change) in cases {
        assert!(
            find(&judged(|_| ()), id).is_none_or(|f| id == "devices" && f.id == id),
            "{id} is told without cause"
        );
        let analysis = judged(change);
        let finding = find(&analysis, id).unwrap_or_else(|| panic!("{id} is not told"));
        assert!(finding.severity >= Severity::Caution && !finding.basis.is_empty(), "{id}");
        let words = finding.remedy.show(Default::default());
        let safety =
            !["panel-growth", "duct-growth", "burner-turn-down", "humid", "motor-small"].contains(&id);
        assert!(
            !safety || words.contains("code in force") || words.contains("licensed engineer"),
            "{id}: {words}"
        );
    }
}

#[test]
fn an_accepted_finding_stays_with_its_reason() {
    let accept = |reason: &str| {
        let reason = reason.to_owned();
        judged(move |plan| {
            plan.accepted = vec![Accepted {
                finding: "powder-blown".into(),
                item: Some("gate-tube".into()),
                severity: None,
                reason: reason.clone(),
            }];
        })
    };
    let (with, without) = (accept("Tried on the line."), judged(|plan| plan.accepted.clear()));
    assert_eq!(with.findings.len(), without.findings.len());
    let reasons = |analysis: &Analysis| -> Vec<(Option<String>, String)> {
        let accepted = analysis.findings.iter().filter_map(|f| Some((f.item.clone(), f.accepted.clone()?)));
        accepted.collect()
    };
    assert_eq!(reasons(&with), [(Some("gate-tube".to_owned()), "Tried on the line.".to_owned())]);
    assert!(reasons(&without).is_empty() && reasons(&accept("  ")).is_empty());
}

#[test]
fn what_has_become_graver_since_it_was_accepted_is_open_again() {
    let hot = |metal_percent: f64, accepted_as: Option<Severity>| {
        let analysis = judged(move |plan| {
            let wall = plan.enclosure.panels.as_mut().unwrap().wall.as_mut().unwrap();
            wall.joints.as_mut().unwrap().metal_percent = metal_percent;
            (wall.insulation_m, plan.accepted) = (0.1, vec![]);
            plan.accepted.extend(accepted_as.map(|severity| Accepted {
                finding: "hot-skin-wall".into(),
                item: None,
                severity: Some(severity),
                reason: "Behind a fence.".into(),
            }));
        });
        let finding = find(&analysis, "hot-skin-wall").unwrap_or_else(|| panic!("at {metal_percent} %"));
        (finding.severity, finding.accepted.is_some())
    };
    let (mild, grave) = (60.0, 100.0);
    assert_eq!(hot(mild, None).0, Severity::Caution);
    assert_eq!(hot(mild, Some(Severity::Caution)), (Severity::Caution, true));
    assert_eq!(hot(grave, Some(Severity::Caution)), (Severity::Problem, false));
    assert_eq!(hot(grave, Some(Severity::Problem)), (Severity::Problem, true));
    // An entry from before the faces were told apart.
    let old = judged(|plan| {
        let wall = plan.enclosure.panels.as_mut().unwrap().wall.as_mut().unwrap();
        (wall.joints.as_mut().unwrap().metal_percent, wall.insulation_m) = (grave, 0.1);
        let (finding, reason) = ("hot-skin".to_owned(), "Behind a fence.".to_owned());
        plan.accepted = vec![Accepted { finding, item: None, severity: None, reason }];
    });
    assert!(find(&old, "hot-skin-wall").is_some_and(|finding| finding.accepted.is_some()));
    // The roof is a finding of its own.
    let analysis = judged(|plan| {
        let panels = plan.enclosure.panels.as_mut().unwrap();
        panels.roof = Some(PanelBuildUp::new(0.005));
    });
    assert!(find(&analysis, "hot-skin-roof").is_some() && find(&analysis, "hot-skin-wall").is_none());
}

#[test]
fn limits_are_held_against_the_supply_that_the_balance_finds() {
    let finds_c = judged(|_| ()).heat.expect("a balance").supply_temperature_c;
    let told = |trip_c: f64| {
        let analysis = judged(|plan| {
            let limit = &mut plan.sensors[2];
            (limit.zone, limit.set_c) = (None, Some(trip_c));
            // What the balance starts from does not matter.
            plan.heater.supply_temperature_c -= 30.0;
        });
        find(&analysis, "limit-setting").is_some()
    };
    assert!(told(finds_c + 1.0) && told(finds_c + 14.0) && told(finds_c + 62.0));
    assert!(!told(finds_c + 16.0) && !told(finds_c + 58.0));
}

#[test]
fn every_kind_of_part_is_judged_and_the_thirstiest_loads_the_oven() {
    let with = |parts: &[(&str, f64, f64, f64)]| {
        judged(|plan| {
            let load = plan.load.as_mut().unwrap();
            let sheet = load.parts[1].clone();
            let kind = |&(id, kg_per_m, thickness_m, water_kg_m2): &(&str, f64, f64, f64)| HungPart {
                id: id.into(),
                kg_per_m,
                shape: PartShape::Sheet { thickness_m },
                water_kg_m2,
                ..sheet.clone()
            };
            load.parts = parts.iter().map(kind).collect();
        })
    };
    // Neither the heaviest nor the lightest, and too thick to cure.
    let analysis =
        with(&[("heavy", 12.0, 0.001, 0.0), ("thick", 8.0, 0.03, 0.0), ("light", 4.0, 0.001, 0.0)]);
    let heat = analysis.heat.as_ref().expect("a balance");
    assert_eq!(heat.parts().map(|part| part.id.as_str()).collect::<Vec<_>>(), ["heavy", "light", "thick"]);
    let under: Vec<_> = analysis.findings.iter().filter(|finding| finding.id == "under-cure").collect();
    assert_eq!(under.iter().map(|finding| finding.item.as_deref()).collect::<Vec<_>>(), [Some("thick")]);
    // Water takes more than metal.
    let wet = with(&[("dry", 9.0, 0.001, 0.0), ("wet", 8.0, 0.001, 0.2)]);
    let heat = wet.heat.as_ref().expect("a balance");
    assert_eq!(heat.parts().map(|part| part.id.as_str()).collect::<Vec<_>>(), ["wet", "dry"]);
    assert!(heat.part.is_some() && heat.lightest.is_some());
    assert!(heat.goes.water_w > 0.0 && heat.idle_input_w < heat.burner_input_w);
}

#[test]
fn more_insulation_is_never_worse_and_nothing_breaks_at_the_edges() {
    let place = FloorPlace { area_m2: 120.0, perimeter_m: 52.0, inside_c: 200.0, ambient_c: 20.0 };
    let (mut loss, mut skin, mut slab, mut joined) = (f64::MAX, f64::MAX, f64::MAX, f64::MAX);
    for step in 0..30 {
        let thickness = 0.01 * f64::from(step);
        let mut panel = PanelBuildUp::new(thickness);
        let clear = clear_panel(&panel, 200.0, 20.0, 3.0);
        panel.joints = Some(Joints::usual(0.6));
        let both = panel_loss(&panel, 200.0, 20.0, 3.0);
        let steady = steady_floor(&FloorBuildUp::new(thickness), &place);
        let now = (clear.flux_w_m2, clear.skin_c, steady.slab_top_c, both.clear_and_joints_w_m2k);
        assert!([now.0, now.1, now.2, now.3].iter().all(|value| value.is_finite()), "{thickness}");
        assert!(now.0 < loss && now.1 < skin && now.2 < slab && now.3 < joined, "{thickness}");
        (loss, skin, slab, joined) = now;
    }
    // No difference, no loss; colder inside, a loss the other way.
    assert!(clear_panel(&PanelBuildUp::new(0.1), 20.0, 20.0, 3.0).flux_w_m2.abs() < 1e-9);
    assert!(clear_panel(&PanelBuildUp::new(0.1), -10.0, 20.0, 3.0).flux_w_m2 < 0.0);
}

#[test]
fn concrete_warms_towards_where_it_settles_and_led_air_keeps_it_cool() {
    let place = FloorPlace { area_m2: 180.0, perimeter_m: 72.0, inside_c: 200.0, ambient_c: 20.0 };
    let with_air = |ventilation_m3_s: f64| {
        let mut floor = FloorBuildUp::new(0.15);
        floor.gap = Some(FloorGap { height_m: 0.1, ventilation_m3_s, upper_emissivity: 0.26 });
        floor
    };
    let still = with_air(0.0);
    let hours = [1.0, 24.0, 168.0, 720.0, 8_760.0, 100_000.0];
    let tops = slab_top_after_c(&still, &place, &hours);
    assert!(tops.windows(2).all(|pair| pair[0] < pair[1] + 1e-9), "{tops:?}");
    let steady = steady_floor(&still, &place);
    assert!((tops[5] - steady.slab_top_c).abs() < 0.5, "{tops:?} {steady:?}");
    let mut last = f64::MAX;
    for flow in [0.05, 0.1, 0.3, 1.0, 5.0] {
        let cooled = steady_floor(&with_air(flow), &place);
        assert!(cooled.slab_top_c < last);
        last = cooled.slab_top_c;
        // What comes down goes into the air or into the ground.
        let carried =
            2.0 * flow * 1.2 * 1_006.0 * (0.5 * (cooled.gap_air_out_c + 20.0) - 20.0) / place.area_m2;
        assert!((cooled.flux_w_m2 - cooled.into_ground_w_m2 - carried).abs() < 0.02 * cooled.flux_w_m2);
    }
}

#[test]
fn water_and_fumes_balance_over_both_zones() {
    // Two zones: one kilogram a second of supply each, a quarter exchanged, water in the first.
    let zone = |other: usize, source_kg_s: f64, outside_kg_s: f64| ZoneAir {
        supply_kg_s: 1.0,
        return_kg_s: 1.0,
        outside_kg_s,
        from_zone_kg_s: if other == 1 { vec![0.0, 0.25] } else { vec![0.25, 0.0] },
        source_kg_s,
    };
    let zones = [zone(1, 0.01, 0.2), zone(0, 0.0, 0.1)];
    let w = contents(&zones, 0.008, 0.0, 0.0).expect("it balances");
    // What comes in leaves: exhaust and roll-out are what came from outside.
    let out = 0.2 * (w[0] - 0.008) + 0.1 * (w[1] - 0.008);
    assert!((out - 0.01).abs() < 1e-12, "{w:?}");
    assert!(w[0] > w[1] && w[1] > 0.008);
    assert!((w[2] - 0.5 * (w[0] + w[1])).abs() < 1e-12);
    // A closed oven has no steady humidity.
    let shut = [zone(1, 0.01, 0.0), zone(0, 0.0, 0.0)];
    assert!(contents(&shut, 0.008, 0.0, 0.0).is_none_or(|w| w.iter().all(|w| w.abs() < 1e12)));
}
