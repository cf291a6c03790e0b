//! Variants of a plan that differ in duct sizes, slot length and fan speed: made, evened out, studied, weighed.

use super::even_out::evened;
use super::find_speed::within_makers_speed;
use super::rounding::{QUICK, THOROUGH};
use super::stepped_duct::{height_m, of_height, stock_sizes};
use super::tolerance::{Progress, Settings, Tolerance, ToleranceResult};
use crate::analysis::Analysis;
use crate::error::EngineError;
use crate::network::from_plan::fan_curve;
use crate::plan::{DuctRole, Fan, Plan, Section, ShopRecord};

/// A run lies on the floor below hung parts: its height at most this share of their middle's.
const HEIGHT_SHARE: f64 = 0.4;
/// The same of the box's height where no conveyor is drawn.
const BOX_SHARE: f64 = 0.25;

/// What a variant changes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change {
    /// Slot area over duct area that every slotted run is sized for; as they are when none.
    pub ratio: Option<f64>,
    /// Whether runs may become smaller.
    pub shrink: bool,
    /// Factor on the pressure left at the slots, by the fan's speed.
    pub jet: f64,
    /// Factor on the length of every slot.
    pub slot_length: f64,
}

/// The plan as it is.
pub const AS_IS: Change = Change { ratio: None, shrink: false, jet: 1.0, slot_length: 1.0 };

/// The plan with a change made, not yet evened out.
///
/// A run keeps its width on the floor, which is spoken for, and changes in height; steps along it keep their
/// proportion; round runs change in diameter, all in the shop record's sizes. The fan's speed is that at which
/// its curve gives, at the required flow, the present pressure and what `jet` adds at the slots.
pub fn variant(plan: &Plan, analysis: &Analysis, change: Change) -> Plan {
    let mut changed = plan.clone();
    let count = analysis.slots.len().max(1) as f64;
    let at_slots_pa = analysis.slots.iter().map(|slot| slot.total_pressure_pa).sum::<f64>() / count;
    let wanted_pa = analysis.fan.total_pressure_pa + (change.jet - 1.0) * at_slots_pa;
    if change.jet != 1.0 {
        let flow = analysis.fan.flow_m3_s;
        changed.heater.fan.speed_rpm =
            speed_for(&plan.heater.fan, flow, wanted_pa, analysis.fan.density_kg_m3);
    }
    for row in &mut changed.slot_rows {
        let shorter = |m: f64| (change.slot_length * m * 1e3).round() / 1e3;
        row.length_m = shorter(row.length_m);
        row.lengths_m.iter_mut().for_each(|m| *m = shorter(*m));
    }
    let Some(ratio) = change.ratio else { return changed };
    let tallest_m = plan
        .conveyor
        .as_ref()
        .map_or(BOX_SHARE * plan.enclosure.height_m, |conveyor| HEIGHT_SHARE * conveyor.part_height_m);
    for duct in changed.ducts.iter_mut().filter(|duct| duct.role != DuctRole::Return) {
        let own = analysis.slots.iter().filter(|slot| slot.run == duct.id);
        let slots_m2 = own.map(|slot| slot.area_m2).sum::<f64>() / change.jet.sqrt();
        let factor = slots_m2 / ratio / duct.section.area_m2();
        if slots_m2 <= 0.0 || (factor < 1.0 && !change.shrink) {
            continue;
        }
        duct.section = sized(&plan.shop, duct.section, factor, tallest_m);
        for step in &mut duct.steps {
            step.section = sized(&plan.shop, step.section, factor, tallest_m);
        }
    }
    changed
}

/// The section of about `factor` times the area, in the shop's sizes: the next larger one, held below
/// `tallest_m` where it grows.
fn sized(shop: &ShopRecord, section: Section, factor: f64, tallest_m: f64) -> Section {
    let was_m = height_m(section);
    let wanted_m = match section {
        Section::Rectangular { .. } => factor * was_m,
        Section::Round { .. } => factor.sqrt() * was_m,
    };
    let sizes = stock_sizes(shop, 0.0, tallest_m.max(was_m), false);
    let next = sizes.iter().copied().find(|&size| size >= wanted_m - 1e-9);
    // A run that is taller already stays as tall.
    of_height(section, next.unwrap_or_else(|| sizes.last().map_or(was_m, |&largest| largest.max(was_m))))
}

/// Speed at which the fan gives `pressure_pa` in all at `flow_m3_s`, by bisection, rpm to a tenth.
fn speed_for(fan: &Fan, flow_m3_s: f64, pressure_pa: f64, density: f64) -> f64 {
    let mut trial = fan.clone();
    let mut gives = |rpm: f64| {
        trial.speed_rpm = rpm;
        fan_curve(&trial).map_or(f64::NAN, |curve| curve.rise(flow_m3_s, density).0)
    };
    let (mut low, mut high) = (0.3 * fan.speed_rpm, 3.0 * fan.speed_rpm);
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        if gives(middle) < pressure_pa { low = middle } else { high = middle }
    }
    (5.0 * (low + high)).round() / 10.0
}

/// Energy the fan takes from the mains in a year, kWh: shaft power over drive efficiency times hours.
pub fn fan_kwh_per_year(plan: &Plan, analysis: &Analysis) -> f64 {
    let w = &plan.weighing;
    analysis.fan.shaft_power_w / 1e3 / (w.drive_efficiency_percent / 100.0) * w.hours_per_year
}

/// A variant evened out.
#[derive(Clone, Debug)]
pub struct Weighed {
    /// What was changed.
    pub change: Change,
    /// The plan with the change, evened out.
    pub plan: Plan,
    /// The plan solved.
    pub analysis: Analysis,
    /// P90 of the worst bay over the first draws, %: tells variants apart, no more.
    pub glance_percent: f64,
    /// Its tolerance study, once it was worth one.
    pub study: Option<ToleranceResult>,
}

impl Weighed {
    /// P90 of the worst bay by its study, %.
    pub fn p90_percent(&self) -> Option<f64> {
        self.study.as_ref().map(|study| study.p90.worst_bay_percent)
    }
}

/// Variants worked through one after another: each evened out quickly and glanced at with the draws all have in common,
/// few of them evened out with care and studied. A step is a variant or a solve.
pub struct Queue {
    plan: Plan,
    analysis: Analysis,
    settings: Settings,
    waiting: Vec<Change>,
    /// Places in `done` of those to be studied.
    chosen: Vec<usize>,
    running: Option<(usize, Tolerance)>,
    /// Those that came through.
    pub done: Vec<Weighed>,
    /// Why others did not.
    pub refused: Vec<(Change, EngineError)>,
}

/// Draws of a glance. The draws fill the space of the common inputs from the first on, so that a few tell variants apart.
const GLANCE: usize = 16;
/// Steps counted for a variant, against one for a solve of its study.
pub const VARIANT: usize = 60;

impl Queue {
    /// Variants of `plan`, whose figures are `analysis`.
    pub fn new(plan: &Plan, analysis: &Analysis, settings: Settings) -> Self {
        let (plan, analysis) = (plan.clone(), analysis.clone());
        let (waiting, chosen, done, refused) = (vec![], vec![], vec![], vec![]);
        Self { plan, analysis, settings, waiting, chosen, running: None, done, refused }
    }

    /// Adds a change unless it has been tried.
    pub fn add(&mut self, change: Change) {
        let known = self.done.iter().map(|weighed| weighed.change);
        let known = known.chain(self.refused.iter().map(|(change, _)| *change));
        if known.chain(self.waiting.iter().copied()).all(|known| known != change) {
            self.waiting.push(change);
        }
    }

    /// Has the variant at `place` studied, unless it is or will be.
    pub fn study(&mut self, place: usize) {
        let known = self.chosen.contains(&place) || self.running.as_ref().is_some_and(|(i, _)| *i == place);
        if self.done[place].study.is_none() && !known {
            self.chosen.push(place);
        }
    }

    /// Whether nothing waits or runs.
    pub fn idle(&self) -> bool {
        self.waiting.is_empty() && self.chosen.is_empty() && self.running.is_none()
    }

    /// Steps still to be done, about.
    pub fn left(&self) -> usize {
        let running = self.running.as_ref().map_or(0, |(_, study)| {
            let Progress { done, of } = study.progress();
            of - done
        });
        running + self.waiting.len() * VARIANT + self.chosen.len() * self.settings.samples
    }

    /// Does the next piece of work.
    pub fn step(&mut self) {
        if let Some((place, mut study)) = self.running.take() {
            if !study.step().complete() {
                self.running = Some((place, study));
                return;
            }
            match study.finish() {
                Ok(study) => self.done[place].study = Some(study),
                Err(error) => self.refuse(place, error),
            }
        } else if !self.chosen.is_empty() {
            let place = self.chosen.remove(0);
            match self.begin(place) {
                Ok(study) => self.running = Some((place, study)),
                Err(error) => self.refuse(place, error),
            }
        } else if !self.waiting.is_empty() {
            let change = self.waiting.remove(0);
            match self.weigh(change) {
                Ok(weighed) => self.done.push(weighed),
                Err(error) => self.refused.push((change, error)),
            }
        }
    }

    fn made(&self, change: Change) -> Result<Plan, EngineError> {
        let plan = variant(&self.plan, &self.analysis, change);
        within_makers_speed(&plan)?;
        Ok(plan)
    }

    fn weigh(&self, change: Change) -> Result<Weighed, EngineError> {
        let (plan, analysis, _) = evened(&self.made(change)?, None, QUICK)?;
        let glance_percent = Tolerance::new(&plan, self.settings)?.glance(GLANCE)?;
        Ok(Weighed { change, plan, analysis, glance_percent, study: None })
    }

    /// Evens out the variant at `place` with all care, and prepares its study.
    fn begin(&mut self, place: usize) -> Result<Tolerance, EngineError> {
        let changed = self.made(self.done[place].change)?;
        let weighed = &mut self.done[place];
        (weighed.plan, weighed.analysis, _) = evened(&changed, None, THOROUGH)?;
        Tolerance::new(&weighed.plan, self.settings)
    }

    /// A variant that cannot be studied is none. Its place stays, so that the others keep theirs.
    fn refuse(&mut self, place: usize, error: EngineError) {
        self.done[place].glance_percent = f64::INFINITY;
        self.refused.push((self.done[place].change, error));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::analyse_air;

    #[test]
    fn a_variant_keeps_to_the_makers_speed_and_to_stock() {
        let text = include_str!("../../../tests/plans/lantern-box.evenrise.json");
        let mut plan = crate::plan::file::read(text).expect("opens");
        plan.heater.fan.max_speed_rpm = Some(1.01 * plan.heater.fan.speed_rpm);
        plan.shop.duct_sizes_m = (4..20).map(|n| 0.037 * f64::from(n)).collect();
        let analysis = analyse_air(&plan).expect("calculated");
        let mut queue = Queue::new(&plan, &analysis, Settings { samples: 10, seed: 1 });
        let fast = Change { jet: 1.25, ..AS_IS };
        queue.add(fast);
        queue.step();
        let [(change, error)] = &queue.refused[..] else { panic!("it must be refused") };
        assert!(*change == fast && error.to_string().contains("the maker allows"), "{error}");
        let large = variant(&plan, &analysis, Change { ratio: Some(0.1), shrink: true, ..AS_IS });
        assert!(large.ducts != plan.ducts);
        for (duct, old) in large.ducts.iter().zip(&plan.ducts) {
            let height = height_m(duct.section);
            let listed = plan.shop.duct_sizes_m.iter().any(|size| (size - height).abs() < 1e-9);
            assert!(listed || duct.section == old.section, "{}: {height} m is not in stock", duct.id);
        }
    }
}
