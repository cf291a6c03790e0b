//! What has a field that no table makes, with an edit of that field: for the tests.

use crate::edit::{
    ColumnEdit, ConveyorEdit, DuctEdit, Each, Edit, EnclosureEdit, ExhaustEdit, FanEdit, FixedLossEdit,
    HeaterEdit, ModelsEdit, NewItem, OpeningEdit, PathEdit, ReturnEdit, SiteEdit, SlotRowEdit, ZoneEdit,
};
use engine::plan::{
    Blades, DuctRole, ElbowStyle, Face, LeakageClass, Plan, Point, PressureBasis, Section, SlotModel,
    SlotVelocity,
};
use serde_json::json;

/// A plan with one of everything that these edits change.
pub fn plan() -> Plan {
    let mut plan = super::tests::full();
    let duct = plan.ducts[0].id.clone();
    let start = [
        Edit::Enclosure(EnclosureEdit::AddWall),
        Edit::Add(NewItem::Column),
        Edit::Add(NewItem::Exhaust),
        Edit::Add(NewItem::FixedLoss),
        Edit::Duct { id: duct.clone(), edit: DuctEdit::AddStep },
    ];
    for edit in &start {
        crate::edit::apply(&mut plan, edit).unwrap_or_else(|error| panic!("{edit:?}: {error}"));
    }
    plan.ducts[0].sleeves_m = vec![0.5];
    plan.returns[0].at = Some(Point::new(1.0, 1.0));
    plan.openings[0].to_zone = None;
    plan
}

/// Paths in the file, and an edit that changes all of them.
pub fn all() -> Vec<(Vec<String>, Edit)> {
    let plan = plan();
    let to = Point::new(1.23, 2.34);
    let moved = PathEdit::Move { point: 0, to };
    let round = Section::Round { diameter_m: 0.123 };
    let flat = Section::Rectangular { width_m: 0.123, height_m: 0.234 };
    let other_zone = plan.zones[1].id.clone();
    let duct = |edit| Edit::Duct { id: plan.ducts[0].id.clone(), edit };
    let row = |edit| Edit::SlotRow { id: plan.slot_rows[0].id.clone(), edit };
    let opening = |edit| Edit::Opening { id: plan.openings[0].id.clone(), edit };
    let zone = |edit| Edit::Zone { id: plan.zones[0].id.clone(), edit };
    let back = |edit| Edit::Return { id: plan.returns[0].id.clone(), edit };
    let loss = |edit| Edit::FixedLoss { id: plan.heater.fixed_losses[0].id.clone(), edit };
    let exhaust = |edit| Edit::Exhaust { id: plan.exhausts[0].id.clone(), edit };
    let column = |edit| Edit::Column { id: plan.enclosure.columns[0].id.clone(), edit };
    let set = |path: &str, value| Edit::Set { what: "it", path: path.to_owned(), value: Some(value) };
    let one = |each| row(SlotRowEdit::One { slot: 0, each, to: each.value(&plan.slot_rows[0], 0) + 0.001 });
    let other_row_duct = plan.ducts.iter().rev().find(|d| d.role == DuctRole::Supply).map(|d| d.id.clone());
    let law = |cd| Edit::Models(ModelsEdit::Slot(SlotModel::ConstantTotal { cd }));
    let list: Vec<(&[&str], Edit)> = vec![
        (&["/name"], Edit::Name("other".into())),
        (&["/notes"], Edit::Notes("other".into())),
        (&["/required_flow_kg_s"], Edit::RequiredFlow(1.234)),
        (&["/site/altitude_m"], Edit::Site(SiteEdit::Altitude(123.0))),
        (&["/site/ambient_c"], Edit::Site(SiteEdit::Ambient(12.3))),
        (&["/site/barometer_pa"], Edit::Site(SiteEdit::Barometer(Some(98_765.0)))),
        (&["/site/oven_humidity_ratio"], Edit::Site(SiteEdit::Humidity(0.0123))),
        (&["/enclosure/height_m"], Edit::Enclosure(EnclosureEdit::Height(3.21))),
        (
            &["/enclosure/outline/0/x_m", "/enclosure/outline/0/y_m"],
            Edit::Enclosure(EnclosureEdit::Outline(moved)),
        ),
        (
            &["/enclosure/walls/0/0/x_m", "/enclosure/walls/0/0/y_m"],
            Edit::Enclosure(EnclosureEdit::Wall { wall: 0, edit: moved }),
        ),
        (&["/enclosure/columns/0/at/x_m", "/enclosure/columns/0/at/y_m"], column(ColumnEdit::At(to))),
        (&["/enclosure/columns/0/width_m"], column(ColumnEdit::Width(0.321))),
        (&["/enclosure/columns/0/depth_m"], column(ColumnEdit::Depth(0.321))),
        (&["/zones/0/name"], zone(ZoneEdit::Name("other".into()))),
        (&["/zones/0/set_temperature_c"], zone(ZoneEdit::SetTemperature(123.0))),
        (&["/zones/0/outline/0/x_m", "/zones/0/outline/0/y_m"], zone(ZoneEdit::Outline(moved))),
        (&["/openings/0/zone"], opening(OpeningEdit::Zone(other_zone.clone()))),
        (&["/openings/0/to_zone"], opening(OpeningEdit::ToZone(Some(other_zone.clone())))),
        (&["/openings/0/at/x_m", "/openings/0/at/y_m"], opening(OpeningEdit::At(to))),
        (&["/openings/0/width_m"], opening(OpeningEdit::Width(0.987))),
        (&["/openings/0/height_m"], opening(OpeningEdit::Height(0.987))),
        (&["/openings/0/sill_m"], opening(OpeningEdit::Sill(0.123))),
        (&["/openings/0/discharge_coefficient"], opening(OpeningEdit::Coefficient(0.777))),
        (&["/conveyor/path/0/x_m", "/conveyor/path/0/y_m"], Edit::Conveyor(ConveyorEdit::Path(moved))),
        (&["/conveyor/part_height_m"], Edit::Conveyor(ConveyorEdit::PartHeight(1.357))),
        (&["/conveyor/speed_m_s"], Edit::Conveyor(ConveyorEdit::Speed(0.0357))),
        (&["/heater/discharge/x_m", "/heater/discharge/y_m"], Edit::Heater(HeaterEdit::Discharge(to))),
        (&["/heater/intake/x_m", "/heater/intake/y_m"], Edit::Heater(HeaterEdit::Intake(to))),
        (&["/heater/supply_temperature_c"], Edit::Heater(HeaterEdit::SupplyTemperature(123.0))),
        (&["/heater/fan/name"], Edit::Fan(FanEdit::Name("other".into()))),
        (&["/heater/fan/speed_rpm"], Edit::Fan(FanEdit::Speed(987.0))),
        (&["/heater/fan/max_speed_rpm"], Edit::Fan(FanEdit::MaxSpeed(Some(2_345.0)))),
        (&["/heater/fan/max_speed_hot_rpm"], Edit::Fan(FanEdit::MaxSpeedHot(Some(2_345.0)))),
        (&["/heater/fan/count"], Edit::Fan(FanEdit::Count(3))),
        (&["/heater/fan/system_effect"], Edit::Fan(FanEdit::SystemEffect(0.77))),
        (&["/heater/fan/curve_speed_rpm"], Edit::Fan(FanEdit::CurveSpeed(987.0))),
        (&["/heater/fan/curve_density_kg_m3"], Edit::Fan(FanEdit::CurveDensity(0.77))),
        (
            &["/heater/fan/basis"],
            Edit::Fan(FanEdit::Basis(other(
                plan.heater.fan.basis,
                [PressureBasis::Total, PressureBasis::Static],
            ))),
        ),
        (&["/heater/fan/outlet_area_m2"], Edit::Fan(FanEdit::OutletArea(0.77))),
        (&["/heater/fan/efficiency_percent"], Edit::Fan(FanEdit::Efficiency(77.0))),
        (&["/heater/fan/points/0/flow_m3_s"], Edit::Fan(FanEdit::PointFlow { point: 0, flow_m3_s: 0.0123 })),
        (
            &["/heater/fan/points/0/pressure_pa"],
            Edit::Fan(FanEdit::PointPressure { point: 0, pressure_pa: 1_234.0 }),
        ),
        (
            &["/heater/fan/points/0/shaft_power_w"],
            Edit::Fan(FanEdit::PointPower { point: 0, shaft_power_w: Some(1_234.0) }),
        ),
        (&["/heater/fixed_losses/0/name"], loss(FixedLossEdit::Name("other".into()))),
        (&["/heater/fixed_losses/0/flow_m3_s"], loss(FixedLossEdit::Flow(1.234))),
        (&["/heater/fixed_losses/0/drop_pa"], loss(FixedLossEdit::Drop(123.0))),
        (&["/heater/fixed_losses/0/dirty_drop_pa"], loss(FixedLossEdit::DirtyDrop(Some(234.0)))),
        (&["/heater/fixed_losses/0/dirt_percent"], loss(FixedLossEdit::Dirt(12.0))),
        (&["/heater/fixed_losses/0/density_kg_m3"], loss(FixedLossEdit::Density(0.77))),
        (&["/ducts/0/name"], duct(DuctEdit::Name("other".into()))),
        (&["/ducts/0/role"], duct(DuctEdit::Role(DuctRole::Transfer))),
        (&["/ducts/0/path/0/x_m", "/ducts/0/path/0/y_m"], duct(DuctEdit::MovePoint { point: 0, to })),
        (&["/ducts/0/section/width_m", "/ducts/0/section/height_m"], duct(DuctEdit::Section(flat))),
        (&["/ducts/0/section/diameter_m"], duct(DuctEdit::Section(round))),
        (&["/ducts/0/steps/0/station_m"], duct(DuctEdit::StepStation { step: 0, station_m: 0.123 })),
        (
            &["/ducts/0/steps/0/section/width_m", "/ducts/0/steps/0/section/height_m"],
            duct(DuctEdit::StepSection { step: 0, section: flat }),
        ),
        (&["/ducts/0/steps/0/section/diameter_m"], duct(DuctEdit::StepSection { step: 0, section: round })),
        (&["/ducts/0/sleeves_m/0"], duct(DuctEdit::Sleeve { sleeve: 0, station_m: 0.123 })),
        (&["/ducts/0/underside_m"], duct(DuctEdit::Underside(0.123))),
        (&["/ducts/0/clean_out"], duct(DuctEdit::CleanOut(!plan.ducts[0].clean_out))),
        (&["/ducts/0/roughness_m"], duct(DuctEdit::Roughness(0.000_77))),
        (
            &["/ducts/0/elbows"],
            duct(DuctEdit::Elbows(other(plan.ducts[0].elbows, [ElbowStyle::Radius, ElbowStyle::Mitred]))),
        ),
        (
            &["/ducts/0/leakage_class"],
            duct(DuctEdit::Leakage(other(
                plan.ducts[0].leakage_class,
                [Some(LeakageClass::C), Some(LeakageClass::B)],
            ))),
        ),
        (&["/ducts/0/damper/open_percent"], duct(DuctEdit::DamperOpen(12.3))),
        (&["/ducts/0/damper/leakage_percent"], duct(DuctEdit::DamperLeakage(12.3))),
        (&["/ducts/0/damper/blades"], duct(DuctEdit::DamperBlades(Blades::Parallel))),
        (
            &["/ducts/0/damper/size/width_m", "/ducts/0/damper/size/height_m"],
            duct(DuctEdit::DamperSize(Some(flat))),
        ),
        (&["/ducts/0/damper/size/diameter_m"], duct(DuctEdit::DamperSize(Some(round)))),
        (&["/ducts/0/damper/modulation/zone"], set("/ducts/0/damper/modulation/zone", json!("dry-off"))),
        (&["/slot_rows/0/duct"], row(SlotRowEdit::Duct(other_row_duct.unwrap_or_default()))),
        (
            &["/slot_rows/0/face"],
            row(SlotRowEdit::Face(other(plan.slot_rows[0].face, [Face::Left, Face::Right]))),
        ),
        (&["/slot_rows/0/first_station_m"], row(SlotRowEdit::FirstStation(0.123))),
        (&["/slot_rows/0/pitch_m"], row(SlotRowEdit::Pitch(0.123))),
        (&["/slot_rows/0/count"], row(SlotRowEdit::Count(3))),
        (&["/slot_rows/0/length_m"], row(SlotRowEdit::Length(0.123))),
        (&["/slot_rows/0/widths_m/0"], row(SlotRowEdit::Width { slot: 0, width_m: 0.0123 })),
        (&["/slot_rows/0/weight"], row(SlotRowEdit::Weight(0.77))),
        (&["/slot_rows/0/lengths_m/0"], one(Each::Length)),
        (&["/slot_rows/0/stations_m/0"], one(Each::Station)),
        (&["/slot_rows/0/shares/0"], one(Each::Share)),
        (&["/returns/0/name"], back(ReturnEdit::Name("other".into()))),
        (&["/returns/0/duct"], back(ReturnEdit::Duct(None))),
        (&["/returns/0/station_m"], back(ReturnEdit::Station(0.123))),
        (&["/returns/0/at/x_m", "/returns/0/at/y_m"], back(ReturnEdit::At(to))),
        (&["/returns/0/width_m"], back(ReturnEdit::Width(0.123))),
        (&["/returns/0/height_m"], back(ReturnEdit::Height(0.987))),
        (&["/returns/0/open_m"], back(ReturnEdit::Open(0.0123))),
        (&["/returns/0/weight"], back(ReturnEdit::Weight(0.77))),
        (&["/exhausts/0/zone"], exhaust(ExhaustEdit::Zone(other_of(&plan, &plan.exhausts[0].zone)))),
        (&["/exhausts/0/mass_flow_kg_s"], exhaust(ExhaustEdit::Flow(0.0123))),
        (&["/exhausts/0/at/x_m", "/exhausts/0/at/y_m"], exhaust(ExhaustEdit::At(to))),
        (
            &["/sensors/0/at/x_m", "/sensors/0/at/y_m"],
            set("/sensors/0/at", json!({ "x_m": 1.5, "y_m": 2.5 })),
        ),
        (&["/sensors/0/zone"], set("/sensors/0/zone", json!(null))),
        (&["/shop/width_increment_m"], set("/shop/width_increment_m", json!(0.000_77))),
        (&["/shop/min_width_m"], set("/shop/min_width_m", json!(0.000_77))),
        (&["/shop/max_width_m"], set("/shop/max_width_m", json!(0.077))),
        (&["/shop/min_discharge_m_s"], set("/shop/min_discharge_m_s", json!(0.77))),
        (&["/shop/max_discharge_m_s"], set("/shop/max_discharge_m_s", json!(77.0))),
        (&["/shop/slide_increment_m"], set("/shop/slide_increment_m", json!(0.077))),
        (&["/shop/index_opening_percent"], set("/shop/index_opening_percent", json!(77.0))),
        (&["/models/slot", "/models/slot/cd"], law(0.77)),
        (
            &["/models/slot_velocity"],
            Edit::Models(ModelsEdit::Velocity(other(
                plan.models.slot_velocity,
                [SlotVelocity::Mean, SlotVelocity::Upstream],
            ))),
        ),
        (&["/models/regain"], Edit::Models(ModelsEdit::Regain(0.77))),
    ];
    list.into_iter()
        .map(|(paths, edit)| (paths.iter().map(|path| (*path).to_owned()).collect(), edit))
        .collect()
}

/// One of two that is not `now`.
fn other<T: PartialEq + Copy>(now: T, either: [T; 2]) -> T {
    if now == either[0] { either[1] } else { either[0] }
}

/// A zone that is not `id`.
fn other_of(plan: &Plan, id: &str) -> String {
    plan.zones.iter().map(|zone| zone.id.clone()).find(|zone| zone != id).unwrap_or_default()
}
