//! A first layout to bend: one box with vestibules, runs on both sides of the conveyor, returns along one wall.

use super::Need;
use super::balance::DISCHARGE_M_S;
use crate::air::Air;
use crate::analysis::{Analysis, analyse, analyse_air};
use crate::error::EngineError;
use crate::plan::{
    Duct, DuctRole, ElbowStyle, Enquiry, Plan, Point, ReturnOpening, Section, SizeStep, SlotRow,
};

mod heat;

/// Share of a run's area that its slots may take: the published slot laws still agree well there.
const AREA_RATIO: f64 = 0.45;
/// Share of a slot's area that the jet fills.
const CONTRACTION: f64 = 0.65;
const TRUNK_M_S: f64 = 10.0;
/// Speed in the slots of the dry-off zone, m/s: the transfer damper takes what drives the others.
const DRY_DISCHARGE_M_S: f64 = 8.0;
/// How often the air of the zones is corrected by the heat balance of what is drawn.
const ROUNDS: usize = 2;
/// The transfer duct turns often and has a damper, so its air goes slower.
const TRANSFER_M_S: f64 = 3.0;
const RETURN_M_S: f64 = 8.0;

/// Where things go.
struct Frame<'a> {
    need: &'a Need,
    enquiry: Enquiry,
    /// Supply air of each zone, kg/s.
    air_kg_s: Vec<f64>,
    dry_m: f64,
    total_m: f64,
    width_m: f64,
    /// Clear space beside and under the parts, m.
    side_m: f64,
    under_m: f64,
    /// Trunk, along x.
    trunk_x: f64,
    /// Density of the supply air, kg/m³.
    rho: f64,
}

/// Up to the next 50 mm.
fn up(value: f64) -> f64 {
    (20.0 * value - 1e-9).ceil() / 20.0
}

/// A place to the millimetre.
fn at(x_m: f64, y_m: f64) -> Point {
    Point::new(tidy(x_m, 3), tidy(y_m, 3))
}

/// To so many decimals, as a person would write it.
fn tidy(value: f64, decimals: u32) -> f64 {
    let scale = f64::from(10_u32.pow(decimals));
    (value * scale).round() / scale
}

/// A rectangular section of `area`, no higher than `height_m`, in steps of 50 mm; at least 0.2 by 0.15 m.
fn section(area: f64, height_m: f64) -> Section {
    let height = up(area.sqrt().min(height_m)).clamp(0.15, height_m.max(0.15));
    Section::Rectangular { width_m: up(area / height).max(0.2), height_m: height }
}

fn duct(id: &str, name: &str, role: DuctRole, path: Vec<Point>, section: Section) -> Duct {
    Duct {
        name: name.to_owned(),
        elbows: if role == DuctRole::Supply { ElbowStyle::Mitred } else { ElbowStyle::Vaned },
        ..Duct::new(id, role, path, section)
    }
}

/// A whole plan by a need: box, zones, openings, conveyor, heater, trunk, runs and slots on both sides, returns and
/// exhausts, a vestibule with a hood at each end. Set returns, find speed, even out, then even out to equal temperature
/// finish it.
///
/// The air of the dry-off zone and the fan speed are corrected by solving what is drawn; where that does not close they
/// stay as the need has them.
///
/// The trunk comes in at the middle of the cure zone and crosses under the conveyor; the transfer duct leaves it
/// outside the box and comes down in the middle of the dry-off zone; returns run along the wall by the heater. What
/// the plan says of site, load, coating, panels and shop stays. Places and proportions: common practice, to be bent.
pub fn propose(plan: &Plan, need: &Need) -> Plan {
    let enquiry = super::enquiry_of(plan);
    let dry_m = if need.zones.len() > 1 { need.zones[0].length_m } else { 0.0 };
    let cure_m = need.zones[need.zones.len() - 1].length_m;
    let pressure = crate::network::from_plan::site_pressure_pa(plan);
    let mut frame = Frame {
        need,
        air_kg_s: need.zones.iter().map(|zone| zone.air_kg_s).collect(),
        dry_m,
        total_m: dry_m + cure_m,
        width_m: need.width_m,
        side_m: enquiry.side_clearance_m.max(0.3),
        under_m: enquiry.floor_clearance_m.max(0.3),
        trunk_x: dry_m + 0.5 * cure_m,
        rho: Air::at(need.supply_c, pressure, 0.0).density_kg_m3(),
        enquiry,
    };
    let mut made = frame.draw(plan);
    // What crosses the wall between the zones is known only once it is drawn: the dry-off zone then gets the air that
    // holds it, the cure zone the rest.
    for _ in 0..ROUNDS {
        let mut open = made.clone();
        open.ducts.iter_mut().filter_map(|duct| duct.damper.as_mut()).for_each(|damper| damper.size = None);
        // Held by the mean of each zone, as once it is evened out.
        open.sensors.clear();
        let Some(seen) = closed(analyse(&open)) else { break };
        let Some(damper) = seen.heat.as_ref().and_then(|heat| heat.dampers.first()) else { break };
        let dry_kg_s = damper.mass_flow_kg_s.min(0.5 * need.air_kg_s);
        frame.air_kg_s = vec![dry_kg_s, need.air_kg_s - dry_kg_s];
        made = frame.draw(plan);
    }
    if let Some(seen) = closed(analyse_air(&made)) {
        let off = made.required_flow_kg_s / seen.total_flow_kg_s;
        if (0.7..1.3).contains(&off) {
            made.heater.fan.speed_rpm = tidy(made.heater.fan.speed_rpm * off, 0);
        }
    }
    made
}

fn closed(seen: Result<Analysis, EngineError>) -> Option<Analysis> {
    seen.ok().filter(|seen| seen.worst_branch.is_none())
}

/// A sleeve wherever a duct passes a wall.
fn sleeves(made: &mut Plan) {
    for i in 0..made.ducts.len() {
        let crossings = crate::judge::wall_crossings(made, &made.ducts[i]);
        made.ducts[i].sleeves_m = crossings.into_iter().map(|(station_m, ..)| tidy(station_m, 3)).collect();
    }
}

fn rectangle(from_m: f64, to_m: f64, width_m: f64) -> Vec<Point> {
    vec![at(from_m, 0.0), at(to_m, 0.0), at(to_m, width_m), at(from_m, width_m)]
}

impl Frame<'_> {
    fn draw(&self, plan: &Plan) -> Plan {
        let mut made = plan.clone();
        made.required_flow_kg_s = tidy(self.need.air_kg_s, 3);
        made.ducts.clear();
        made.slot_rows.clear();
        made.returns.clear();
        self.box_and_line(&mut made);
        self.heater(&mut made);
        self.supply(&mut made);
        self.returns(&mut made);
        self.exhausts_and_sensors(&mut made);
        sleeves(&mut made);
        made
    }

    /// Zones from left to right: name, from, to.
    fn zones(&self) -> Vec<(&str, f64, f64)> {
        let cure = ("cure", self.dry_m, self.total_m);
        if self.dry_m > 0.0 { vec![("dry-off", 0.0, self.dry_m), cure] } else { vec![cure] }
    }

    /// A run from (x, y) to `end_x` with slots for `kg_s`.
    #[allow(clippy::too_many_arguments)] // a run is its place and its air
    fn run(
        &self,
        made: &mut Plan,
        id: &str,
        name: &str,
        x: f64,
        y: f64,
        end_x: f64,
        root_m: f64,
        kg_s: f64,
        weight: f64,
    ) {
        let length = (end_x - x).abs();
        let shop = &made.shop;
        let is_dry = id.starts_with("dry-off");
        let discharge = if is_dry { DRY_DISCHARGE_M_S } else { DISCHARGE_M_S };
        // Little pressure drives the dry-off slots, so their runs are wide.
        let ratio = if is_dry { 0.25 } else { AREA_RATIO };
        let slots_area = kg_s / (self.rho * discharge * CONTRACTION);
        let widest = (self.side_m - 0.1).max(0.2);
        let mut size = section(slots_area / ratio, (self.under_m - 0.3).max(0.2));
        if size.plan_width_m() > widest {
            let height = up(slots_area / ratio / widest).min(self.under_m);
            size = Section::Rectangular { width_m: widest, height_m: height };
        }
        let first = root_m + 0.2;
        let reach = (length - first - 0.15).max(0.0);
        // The widest pitch at which three times the width, as the end of a zone may need, is still what the shop cuts.
        let (mut pitch, mut count, mut slot) = (0.5, 1.0, 0.3);
        for tried in [0.5, 0.45, 0.4, 0.35, 0.3, 0.25] {
            (pitch, count) = (tried, (reach / tried).floor() + 1.0);
            slot = (0.8 * size.plan_width_m()).max(0.1);
            if slots_area / (count * slot) <= 0.33 * shop.max_width_m {
                break;
            }
        }
        // In a short run the slots grow longer, and the run wider with them.
        let needed = slots_area / (count * 0.7 * shop.max_width_m);
        if needed > slot {
            let height = match size {
                Section::Rectangular { height_m, .. } => height_m,
                Section::Round { diameter_m } => diameter_m,
            };
            size = Section::Rectangular { width_m: up(needed / 0.8).min(widest), height_m: height };
            slot = 0.8 * size.plan_width_m();
        }
        // Thin slots round badly: shorter ones are cut at least 26 steps wide.
        let thick = (26.0 * shop.width_increment_m).min(0.7 * shop.max_width_m);
        slot = slot.min(slots_area / (count * thick)).max(0.06);
        let width =
            (slots_area / (count * slot)).clamp(shop.min_width_m.min(shop.max_width_m), shop.max_width_m);
        let width = (width / shop.width_increment_m).round().max(1.0) * shop.width_increment_m;
        // The last slot stands at the end of the run, where the air of the opening comes in.
        let first = first + reach - (count - 1.0) * pitch;
        let path = vec![at(x, y), at(end_x, y)];
        made.ducts.push(Duct { clean_out: true, ..duct(id, name, DuctRole::Supply, path, size) });
        let places = (tidy(first, 3), pitch, count as u32);
        let row = SlotRow::new(format!("slots-{id}"), id, places, tidy(slot, 3), tidy(width, 6));
        made.slot_rows.push(SlotRow { weight, ..row });
    }

    /// Runs to both ends of a zone on both sides of the conveyor, from a duct that crosses at `x`.
    fn runs(&self, made: &mut Plan, zone: (&str, f64, f64), x: f64, root_m: f64, kg_s: f64) {
        let (id, from, to) = zone;
        let name = if id == "cure" { "Cure" } else { "Dry-off" };
        let (north, south) = (self.width_m - 0.5 * self.side_m, 0.5 * self.side_m);
        let first = made.slot_rows.len();
        for (k, (y, side)) in [(north, "heater side"), (south, "far side")].into_iter().enumerate() {
            for (m, (end, way)) in
                [(from + 0.25, "towards entry"), (to - 0.25, "towards exit")].into_iter().enumerate()
            {
                let number = 2 * k + m + 1;
                self.run(
                    made,
                    &format!("{id}-{number}"),
                    &format!("{name}, {side}, {way}"),
                    x,
                    y,
                    end,
                    root_m,
                    0.25 * kg_s,
                    1.0,
                );
            }
        }
        // Every slot of the zone takes the same air; a weight says how much that is against the other zone.
        let slots: u32 = made.slot_rows[first..].iter().map(|row| row.count).sum();
        let share = kg_s / f64::from(slots.max(1));
        made.slot_rows[first..].iter_mut().for_each(|row| row.weight = share);
    }

    fn supply(&self, made: &mut Plan) {
        let need = self.need;
        let (north, south) = (self.width_m - 0.5 * self.side_m, 0.5 * self.side_m);
        let cure_kg_s = self.air_kg_s[self.air_kg_s.len() - 1];
        let area = |kg_s: f64| kg_s / self.rho / TRUNK_M_S;
        let height = (self.under_m - 0.15).max(0.25);
        let whole = section(area(need.air_kg_s), height);
        let mut trunk = duct(
            "trunk",
            "Trunk",
            DuctRole::Supply,
            vec![at(self.trunk_x, self.width_m + 1.0), at(self.trunk_x, south)],
            whole,
        );
        trunk.steps = vec![SizeStep {
            station_m: tidy(self.width_m + 1.0 - north + 0.5 * whole.plan_width_m().max(0.6), 3),
            section: section(area(0.5 * cure_kg_s), height),
        }];
        made.ducts.push(trunk);
        if self.dry_m > 0.0 {
            let dry_kg_s = self.air_kg_s[0];
            let size = section(dry_kg_s / self.rho / TRANSFER_M_S, height);
            let x = 0.5 * self.dry_m;
            let outside = self.width_m + 0.55;
            let path = vec![at(self.trunk_x, outside), at(x, outside), at(x, south)];
            let mut transfer = duct("transfer", "Transfer duct", DuctRole::Transfer, path, size);
            transfer.insulation_m = 0.1;
            transfer.damper = Some(self.damper(made, &transfer, dry_kg_s));
            made.ducts.push(transfer);
            self.runs(made, ("dry-off", 0.0, self.dry_m), x, 0.5 * size.plan_width_m(), dry_kg_s);
        }
        let zone = ("cure", self.dry_m, self.total_m);
        self.runs(made, zone, self.trunk_x, 0.5 * whole.plan_width_m(), cure_kg_s);
        let most = made.slot_rows.iter().map(|row| row.weight).fold(0.0, f64::max);
        made.slot_rows
            .iter_mut()
            .for_each(|row| row.weight = (row.weight / most * 1e3).round().max(1.0) / 1e3);
    }

    fn returns(&self, made: &mut Plan) {
        let along = self.width_m - 0.3;
        let intake = self.width_m + 2.2;
        let cure_kg_s = self.air_kg_s[self.air_kg_s.len() - 1];
        let dry_kg_s = if self.dry_m > 0.0 { self.air_kg_s[0] } else { 0.0 };
        let hot = self.rho;
        let riser = 1.3;
        let sides = [
            ("return-entry", "Return, entry side", 0.6, self.trunk_x - riser, dry_kg_s + 0.5 * cure_kg_s),
            ("return-exit", "Return, exit side", self.total_m - 0.6, self.trunk_x + riser, 0.5 * cure_kg_s),
        ];
        // Places about three metres apart: (duct, station, place along the oven).
        let mut places = Vec::new();
        for (id, name, end, near, kg_s) in sides {
            let path = vec![at(end, along), at(near, along), at(near, intake), at(self.trunk_x, intake)];
            let size = section(kg_s / hot / RETURN_M_S, 0.8);
            // Led over the runs and the trunk, which keep to the space under the parts.
            let underside_m = tidy(self.under_m, 3);
            made.ducts.push(Duct {
                clean_out: true,
                underside_m,
                ..duct(id, name, DuctRole::Return, path, size)
            });
            let length = (near - end).abs();
            let inner = if id == "return-entry" { self.dry_m } else { self.total_m };
            for (from, to) in [(0.0, inner), (inner, self.total_m)] {
                // The stretch of this duct that lies between these two places.
                let (low, high) = (end.min(near).max(from) + 0.4, end.max(near).min(to) - 0.4);
                if high - low < 0.5 {
                    continue;
                }
                let count = ((high - low) / 3.0).ceil().max(1.0);
                for k in 0..count as usize {
                    let x = low + (high - low) * (k as f64 + 0.5) / count;
                    places.push((id, (x - end).abs().min(length), x));
                }
            }
        }
        let dry_count = places.iter().filter(|place| place.2 < self.dry_m).count();
        let cure_each = cure_kg_s / (places.len() - dry_count).max(1) as f64;
        let dry_each = dry_kg_s / dry_count.max(1) as f64;
        let step = made.shop.slide_increment_m.max(1e-4);
        for (i, (duct, station_m, x)) in places.into_iter().enumerate() {
            let each = if x < self.dry_m { dry_each } else { cure_each };
            // Four metres a second through two thirds of the opening.
            let area = each / hot / 4.0 * 1.5;
            let width_m = up(area.sqrt() * 1.3).clamp(0.2, 1.2);
            let height_m = up(area / width_m).max(0.15);
            let open_m = tidy((0.67 * height_m / step).round() * step, 6);
            made.returns.push(ReturnOpening {
                name: format!("Return {}", i + 1),
                duct: Some(duct.to_owned()),
                station_m: tidy(station_m, 3),
                weight: (each / cure_each.max(dry_each) * 1e3).round().max(1.0) / 1e3,
                ..ReturnOpening::new(format!("return-{}", i + 1), width_m, height_m, open_m)
            });
        }
    }
}
