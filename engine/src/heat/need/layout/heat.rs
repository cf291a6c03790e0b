//! What goes by heat in a first layout: box and vestibules, heater, transfer damper, exhausts, sensors.

use super::{Frame, at, rectangle, tidy};
use crate::air::Air;
use crate::heat::combustion;
use crate::heat::need::balance::HEATER_DROP_PA;
use crate::laws::doorway::{Doorway, GRAVITY_M_S2};
use crate::network::from_plan::damper_coefficient;
use crate::plan::{
    BladeDamper, Burner, Conveyor, Duct, Exhaust, Extra, Fan, FanPoint, FixedLoss, Fuel, HeaterHouse,
    Modulation, Opening, Plan, PressureBasis, Section, Sensor, SensorKind, Zone,
};
use crate::safety;

/// Length of a vestibule, m, and what its air is taken to come to, °C (common practice, no published source).
const VESTIBULE_M: f64 = 2.0;
const VESTIBULE_C: f64 = 60.0;
/// Effectiveness of the curtain between heated air and other air, where the enquiry seals less: reached by good air
/// curtains and silhouettes (common practice, no published source).
const INNER_SEAL: f64 = 0.8;
/// What the open transfer damper drops at the air its zone needs, Pa: about a third of what drives that air.
const DAMPER_PA: f64 = 58.0;

impl Frame<'_> {
    pub(super) fn box_and_line(&self, made: &mut Plan) {
        let (first_m, last_m) = (-VESTIBULE_M, self.total_m + VESTIBULE_M);
        made.enclosure.outline = rectangle(first_m, last_m, self.width_m);
        made.enclosure.height_m = self.need.height_m;
        let mut walls = vec![0.0, self.total_m];
        walls.extend((self.dry_m > 0.0).then_some(self.dry_m));
        made.enclosure.walls = walls.into_iter().map(|x| vec![at(x, 0.0), at(x, self.width_m)]).collect();
        made.zones = self
            .zones()
            .into_iter()
            .zip(&self.need.zones)
            .map(|((id, from, to), zone)| Zone {
                name: if id == "cure" { "Cure" } else { "Dry-off" }.to_owned(),
                ..Zone::new(id, rectangle(from, to, self.width_m), zone.temperature_c)
            })
            .collect();
        for (id, name, from, to) in [
            ("vestibule-entry", "Vestibule at the entry", first_m, 0.0),
            ("vestibule-exit", "Vestibule at the exit", self.total_m, last_m),
        ] {
            made.zones.push(Zone {
                name: name.to_owned(),
                unheated: true,
                ..Zone::new(id, rectangle(from, to, self.width_m), VESTIBULE_C)
            });
        }
        let middle = 0.5 * self.width_m;
        let clear = self.enquiry.opening_clearance_m;
        let opening = |id: &str, zone: &str, to_zone: Option<&str>, x: f64, seal: f64| Opening {
            id: id.to_owned(),
            zone: zone.to_owned(),
            to_zone: to_zone.map(str::to_owned),
            at: at(x, middle),
            width_m: self.enquiry.part_width_m + 2.0 * clear,
            height_m: self.enquiry.part_height_m + 2.0 * clear,
            sill_m: (self.enquiry.floor_clearance_m - clear).max(0.0),
            curtain_effectiveness: (seal > 0.0).then_some(seal),
            discharge_coefficient: 0.65,
            extra: Extra::new(),
        };
        let first = if self.dry_m > 0.0 { "dry-off" } else { "cure" };
        let outer = self.enquiry.opening_seal;
        let inner = outer.max(INNER_SEAL);
        made.openings = vec![
            opening("entry", "vestibule-entry", None, first_m, outer),
            opening("way-in", first, Some("vestibule-entry"), 0.0, inner),
        ];
        if self.dry_m > 0.0 {
            made.openings.push(opening("pass", "dry-off", Some("cure"), self.dry_m, inner));
        }
        made.openings.push(opening("way-out", "cure", Some("vestibule-exit"), self.total_m, inner));
        made.openings.push(opening("exit", "vestibule-exit", None, last_m, outer));
        made.conveyor = Some(Conveyor {
            path: vec![at(first_m - 1.5, middle), at(last_m + 1.5, middle)],
            part_height_m: self.enquiry.floor_clearance_m + 0.5 * self.enquiry.part_height_m,
            speed_m_s: tidy(self.need.speed_m_s, 5),
            extra: Extra::new(),
        });
    }

    /// A damper that holds the dry-off zone, smaller than its duct, so that its whole travel does some work.
    pub(super) fn damper(&self, made: &Plan, duct: &Duct, kg_s: f64) -> BladeDamper {
        let mut damper = BladeDamper {
            modulation: Some(Modulation {
                zone: "dry-off".to_owned(),
                least_percent: 15.0,
                most_percent: 100.0,
            }),
            ..BladeDamper::new(90.0)
        };
        // The smallest square that drops no more, of the sides the shop stocks or in steps of 10 mm.
        let mut sides = made.shop.damper_sizes_m.clone();
        sides.sort_by(f64::total_cmp);
        if sides.is_empty() {
            sides = (8..200).map(|step| tidy(0.01 * f64::from(step), 2)).collect();
        }
        for side in sides {
            damper.size = Some(Section::Rectangular { width_m: side, height_m: side });
            let free = damper_coefficient(duct, &damper, 100.0) * damper.area_m2(duct);
            if kg_s * kg_s / (free * free * 2.0 * self.rho) <= DAMPER_PA {
                break;
            }
        }
        damper
    }

    /// What a hood in a vestibule has to draw so that all air of the outer opening goes inwards, kg/s.
    fn hood_kg_s(&self, made: &Plan) -> f64 {
        let air = |celsius: f64| {
            let pressure = crate::network::from_plan::site_pressure_pa(made);
            Air::at(celsius, pressure, 0.0).density_kg_m3()
        };
        let entry = &made.openings[0];
        let door = Doorway {
            coefficient: entry.discharge_coefficient * (1.0 - entry.curtain_effectiveness.unwrap_or(0.0)),
            width_m: entry.width_m,
            sill_m: entry.sill_m,
            height_m: entry.height_m,
            from_density: air(VESTIBULE_C),
            to_density: air(made.site.ambient_c),
        };
        // Its neutral level at the lintel.
        let level = entry.sill_m + entry.height_m;
        door.exchange(-GRAVITY_M_S2 * (door.to_density - door.from_density) * level).in_kg_s
    }

    pub(super) fn heater(&self, made: &mut Plan) {
        let need = self.need;
        let (flow, pressure) = (tidy(need.fan.flow_m3_s, 2), 1.15 * need.fan.pressure_pa * 1.2 / self.rho);
        // Shape of a backward-curved radial fan, its peak left of the working point.
        const SHAPE: [(f64, f64); 8] = [
            (0.0, 1.18),
            (0.25, 1.24),
            (0.5, 1.26),
            (0.7, 1.22),
            (0.9, 1.09),
            (1.1, 0.9),
            (1.35, 0.55),
            (1.6, 0.1),
        ];
        let heater = &mut made.heater;
        heater.intake = at(self.trunk_x, self.width_m + 2.2);
        heater.discharge = at(self.trunk_x, self.width_m + 1.0);
        heater.supply_temperature_c = tidy(need.supply_c, 1);
        heater.fan = Fan {
            name: "To be chosen; shape of a backward-curved radial fan".to_owned(),
            points: SHAPE
                .iter()
                .map(|(q, p)| FanPoint {
                    flow_m3_s: q * flow,
                    pressure_pa: p * pressure,
                    shaft_power_w: None,
                })
                .collect(),
            basis: PressureBasis::Total,
            curve_density_kg_m3: 1.2,
            curve_speed_rpm: 1_450.0,
            speed_rpm: 1_450.0,
            max_speed_rpm: None,
            max_speed_hot_rpm: None,
            count: 1,
            system_effect: 0.0,
            outlet_area_m2: tidy(flow / 14.0, 3),
            efficiency_percent: 60.0,
            drive: None,
            tolerance_grade: None,
            extra: Extra::new(),
        };
        let loss = |id: &str, name: &str, drop_pa: f64| FixedLoss {
            id: id.to_owned(),
            name: name.to_owned(),
            flow_m3_s: flow,
            drop_pa,
            dirty_drop_pa: None,
            dirt_percent: 0.0,
            density_kg_m3: tidy(self.rho, 4),
            extra: Extra::new(),
        };
        heater.fixed_losses = vec![
            loss("burner", "Burner box", 0.6 * HEATER_DROP_PA),
            loss("filter", "Filter", 0.4 * HEATER_DROP_PA),
        ];
        let rated_w = 25e3 * (need.burner.rated_w / 25e3).ceil();
        heater.burner.get_or_insert(Burner {
            fuel: Fuel::NaturalGas,
            rated_w,
            turn_down: 20.0,
            excess_air_percent: 50.0,
            direct: true,
            efficiency_percent: None,
            extra: Extra::new(),
        });
        // A house the air passes in about a second and a half, 2.4 m high.
        heater.house.get_or_insert_with(|| {
            let volume_m3 = tidy((1.5 * flow).max(4.0), 1);
            let side = (volume_m3 / 2.4).sqrt();
            HeaterHouse {
                surface_m2: tidy(4.0 * side * 2.4 + 2.0 * side * side, 1),
                volume_m3,
                panel: None,
                metal_kg: tidy(150.0 * side * side, 0),
                extra: Extra::new(),
            }
        });
    }

    pub(super) fn exhausts_and_sensors(&self, made: &mut Plan) {
        let near_wall = self.width_m - 0.1;
        let part_m = self.enquiry.floor_clearance_m + 0.5 * self.enquiry.part_height_m;
        let (mut exhausts, mut sensors) = (Vec::new(), Vec::new());
        // The zones draw what dilution and water ask for, the hoods the rest and what else would roll out.
        let reasons = self.need.exhaust_reasons.iter().filter(|reason| !reason.what.starts_with("tenth"));
        let drawn = reasons.map(|reason| reason.kg_s).fold(0.0, f64::max).min(self.need.exhaust_kg_s);
        // What the drawn plan asks for, with its burner and speed in round figures.
        let asked: f64 = safety::demands(made).iter().map(|demand| demand.std_m3_s).sum();
        let drawn = drawn.max(asked * safety::STANDARD_DENSITY_KG_M3);
        let of = |id: &str| {
            let share = match id {
                "cure" if self.dry_m == 0.0 => 1.0,
                "cure" => 0.6,
                _ => 0.4,
            };
            drawn * share
        };
        // What is burnt into the air fills the oven, so that less comes in by its openings.
        let burner = made.heater.burner.as_ref();
        let burned = burner.map_or(0.0, |own| combustion::added_kg_s(own, self.need.burner.input_w));
        let level = self.hood_kg_s(made) + 0.5 * burned;
        let hood = (level - 0.4 * drawn).max(0.5 * (self.need.exhaust_kg_s - drawn));
        for (id, from, to) in self.zones() {
            let end = if id == "cure" { to - 1.0 } else { from + 1.0 };
            exhausts.push(Exhaust {
                id: format!("exhaust-{id}"),
                zone: id.to_owned(),
                at: at(end, near_wall),
                mass_flow_kg_s: 1e-3 * (1e3 * of(id)).ceil(),
                extra: Extra::new(),
            });
            sensors.push(Sensor {
                id: format!("control-{id}"),
                name: String::new(),
                kind: SensorKind::Control,
                zone: Some(id.to_owned()),
                at: at(0.5 * (from + to) + 1.0, 0.5 * (self.width_m + self.enquiry.part_width_m) + 0.1),
                height_m: part_m,
                set_c: None,
                extra: Extra::new(),
            });
        }
        for (end, x) in [("entry", -0.5 * VESTIBULE_M), ("exit", self.total_m + 0.5 * VESTIBULE_M)] {
            exhausts.push(Exhaust {
                id: format!("hood-{end}"),
                zone: format!("vestibule-{end}"),
                at: at(x, 0.5 * self.width_m),
                mass_flow_kg_s: tidy(hood, 3),
                extra: Extra::new(),
            });
        }
        sensors.push(Sensor {
            id: "limit-supply".to_owned(),
            name: String::new(),
            kind: SensorKind::Limit,
            zone: None,
            at: at(self.trunk_x, self.width_m + 0.9),
            height_m: 0.5 * self.under_m,
            set_c: Some((self.need.supply_c + 30.0).round()),
            extra: Extra::new(),
        });
        made.exhausts = exhausts;
        if made.sensors.is_empty() {
            made.sensors = sensors;
        }
        let safety = made.safety.get_or_insert_with(Default::default);
        safety.fan_motor_w.get_or_insert(self.need.fan.motor_w);
    }
}
