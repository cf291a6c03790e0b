//! Sheet: how thick each duct has to be, and what all of them weigh.

use crate::network::from_plan::fan_curve;
use crate::plan::geometry::length_m;
use crate::plan::{Duct, Plan, Section};

/// Least thickness by the longer side of a rectangular duct or the diameter of a round one: (up to m, m).
const THICKNESS_M: [(f64, f64); 6] =
    [(0.3, 0.0006), (0.6, 0.0008), (1.0, 0.0010), (1.6, 0.0012), (2.5, 0.0015), (f64::INFINITY, 0.0020)];
/// Above each of these pressures the next thicker one is taken, Pa.
const HEAVIER_PA: [f64; 2] = [1_000.0, 2_500.0];

/// Least thickness of sheet for a duct, m.
///
/// 0.6 mm for sides or diameters up to 300 mm, 0.8 up to 600, 1.0 up to 1,000, 1.2 up to 1,600, 1.5 up to 2,500, 2.0
/// above; one thicker above 1,000 Pa and two above 2,500. For ducts stiffened as usual; common practice, no published
/// source, and the local code goes first.
///
/// ```
/// use engine::{design::least_sheet_m, plan::Section};
/// let trunk = Section::Rectangular { width_m: 1.2, height_m: 0.6 };
/// assert_eq!(least_sheet_m(trunk, 800.0), 0.0012);
/// assert_eq!(least_sheet_m(trunk, 1_200.0), 0.0015);
/// ```
pub fn least_sheet_m(section: Section, pressure_pa: f64) -> f64 {
    let side_m = match section {
        Section::Rectangular { width_m, height_m } => width_m.max(height_m),
        Section::Round { diameter_m } => diameter_m,
    };
    let by_side = THICKNESS_M.iter().position(|(up_to, _)| side_m <= up_to + 1e-9).unwrap_or(0);
    let by_pressure = HEAVIER_PA.iter().filter(|&&pa| pressure_pa > pa).count();
    THICKNESS_M[(by_side + by_pressure).min(THICKNESS_M.len() - 1)].1
}

/// The most any duct of the plan has to stand, Pa: the highest pressure of its fan at its speed, in cold air.
pub fn highest_pressure_pa(plan: &Plan) -> f64 {
    let fan = &plan.heater.fan;
    let Some(curve) = fan_curve(fan) else { return 0.0 };
    let ratio = fan.speed_rpm / fan.curve_speed_rpm;
    let count = f64::from(fan.count);
    let points = fan.points.iter().map(|point| ratio * count * point.flow_m3_s);
    points.map(|flow| curve.rise(flow, fan.curve_density_kg_m3).0).fold(0.0, f64::max)
}

/// Thickness of the sheet each duct is made of, m, and whether it is at least [`least_sheet_m`].
///
/// The thinnest gauge in stock that is thick enough for its largest section, the thickest in stock where none is; the
/// sheet of [`crate::plan::Weighing`] where the shop record lists no gauge.
pub fn gauges_m(plan: &Plan) -> Vec<(f64, bool)> {
    let mut stock = plan.shop.gauges_m.clone();
    crate::numerics::sort_numbers(&mut stock);
    let pressure_pa = highest_pressure_pa(plan);
    let of_duct = |duct: &Duct| {
        let sections = duct.steps.iter().map(|step| step.section).chain([duct.section]);
        let least = sections.map(|section| least_sheet_m(section, pressure_pa)).fold(0.0, f64::max);
        let thick = |gauge: &&f64| **gauge >= least - 1e-9;
        match (stock.iter().find(thick), stock.last()) {
            (Some(&gauge), _) => (gauge, true),
            (None, Some(&thickest)) => (thickest, false),
            (None, None) => (plan.weighing.sheet_m, true),
        }
    };
    plan.ducts.iter().map(of_duct).collect()
}

/// Sheet of all ducts, m²: girth and seam allowance times length.
///
/// ```
/// let text = include_str!("../../../tests/plans/minimal.evenrise.json");
/// let plan = engine::plan::file::read(text).unwrap();
/// let engine::plan::Section::Rectangular { width_m, height_m } = plan.ducts[0].section else { panic!() };
/// let by_hand = 2.0 * (width_m + height_m) * 6.0; // one duct of 6 m
/// assert!((engine::design::sheet_m2(&plan) - by_hand).abs() < 1e-9);
/// ```
pub fn sheet_m2(plan: &Plan) -> f64 {
    plan.ducts.iter().map(|duct| duct_sheet_m2(plan, duct)).sum()
}

fn duct_sheet_m2(plan: &Plan, duct: &Duct) -> f64 {
    let seam = plan.shop.seam_allowance_m.unwrap_or(0.0);
    let (mut from, mut sheet, mut section) = (0.0, 0.0, duct.section);
    for step in &duct.steps {
        sheet += (section.perimeter_m() + seam) * (step.station_m - from);
        (from, section) = (step.station_m, step.section);
    }
    sheet + (section.perimeter_m() + seam) * (length_m(&duct.path) - from)
}

/// Sheet in all ducts, kg: that of [`sheet_m2`] times the thickness of [`gauges_m`] and the density.
///
/// ```
/// let text = include_str!("../../../tests/plans/minimal.evenrise.json");
/// let mut plan = engine::plan::file::read(text).unwrap();
/// // No gauge in stock: 1.2 mm at 7,850 kg/m³ is 9.42 kg/m².
/// assert!((engine::design::sheet_kg(&plan) - 9.42 * engine::design::sheet_m2(&plan)).abs() < 1e-9);
/// plan.shop.gauges_m = vec![0.001, 0.0008];
/// assert!((engine::design::sheet_kg(&plan) - 6.28 * engine::design::sheet_m2(&plan)).abs() < 1e-9);
/// ```
pub fn sheet_kg(plan: &Plan) -> f64 {
    let ducts = plan.ducts.iter().zip(gauges_m(plan));
    ducts.map(|(duct, (gauge, _))| duct_sheet_m2(plan, duct) * gauge * plan.weighing.sheet_kg_m3).sum()
}
