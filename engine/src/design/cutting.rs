//! What of each slot the shop varies, in whole steps, by build style.

use super::in_steps;
use crate::error::EngineError;
use crate::limits;
use crate::network::from_plan::Built;
use crate::plan::{BuildStyle, Plan, SlotRow};

/// What a dial's number of steps means; dials of one kind share the patterns of the shop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// A width cut.
    Width,
    /// A length cut.
    Length,
    /// Set on site, cut in a straight line from the next, or not to be changed: no pattern.
    Free,
}

/// One number the shop sets, in whole steps.
#[derive(Clone, Debug)]
pub(super) struct Dial {
    pub kind: Kind,
    pub step_m: f64,
    pub low: i64,
    pub high: i64,
}

/// How slot areas follow from dials: area = factor · mean of the dials' two sizes.
#[derive(Clone, Debug)]
pub(super) struct Cutting {
    pub dials: Vec<Dial>,
    /// The two dials of each slot in built order; the same one twice, but for a tapering panel.
    pub uses: Vec<[usize; 2]>,
    /// The size that stays, m.
    pub factors: Vec<f64>,
    /// First dial of each row.
    first: Vec<usize>,
}

/// The build style of a row.
pub(super) fn style(plan: &Plan, row: &SlotRow) -> BuildStyle {
    row.build.unwrap_or(plan.shop.build)
}

/// The least and the greatest number of steps within lengths `low_m` to `high_m`.
fn whole(low_m: f64, high_m: f64, step_m: f64) -> (i64, i64) {
    (((low_m / step_m - 1e-6).ceil() as i64).max(1), (high_m / step_m + 1e-6).floor() as i64)
}

impl Cutting {
    pub fn of(plan: &Plan, built: &Built) -> Result<Self, EngineError> {
        let shop = &plan.shop;
        let mut cutting = Self { dials: vec![], uses: vec![], factors: vec![], first: vec![] };
        for row in &plan.slot_rows {
            cutting.first.push(cutting.dials.len());
            let duct = plan.ducts.iter().find(|duct| duct.id == row.duct);
            let count = row.count as usize;
            let width = |kind, high_m: f64, narrowest_m: f64| {
                let step_m = shop.width_increment_m;
                let (low, high) = whole(narrowest_m, high_m, step_m);
                Dial { kind, step_m, low, high }
            };
            let widest =
                |k: usize| duct.map_or(f64::INFINITY, |duct| limits::widest_slot_m(shop, row, duct, k));
            let full = shop.max_width_m;
            let least = shop.min_width_m;
            let style = style(plan, row);
            match style {
                BuildStyle::SteppedWidths => {
                    cutting.dials.extend((0..count).map(|k| width(Kind::Width, full.min(widest(k)), least)));
                }
                BuildStyle::SteppedLengths => {
                    let longest = duct.map_or(row.length_m, |duct| limits::longest_slot_m(shop, row, duct));
                    let (low, high) = whole(row.width_m(0), longest, shop.length_increment_m);
                    let dial = Dial { kind: Kind::Length, step_m: shop.length_increment_m, low, high };
                    cutting.dials.extend((0..count).map(|_| dial.clone()));
                }
                BuildStyle::PunchedCount => {
                    cutting.dials.push(Dial { kind: Kind::Free, step_m: row.width_m(0), low: 1, high: 1 });
                }
                BuildStyle::VariedPitch | BuildStyle::SteppedDuct => {
                    let narrowest_web = (0..count).map(widest).fold(f64::INFINITY, f64::min);
                    cutting.dials.push(width(Kind::Width, full.min(narrowest_web), least));
                }
                BuildStyle::ContinuousTaper => {
                    if count > 1 && row.length_m > row.pitch_m + 1e-6 {
                        return Err(EngineError::new(
                            &row.id,
                            format!(
                                "has panels of {:.0} mm every {:.0} mm, so one slot through them cannot be cut",
                                1e3 * row.length_m,
                                1e3 * row.pitch_m
                            ),
                            "make its slots as long as its pitch, or choose another build style",
                        ));
                    }
                    cutting.dials.extend((0..=count).map(|_| width(Kind::Free, full, least)));
                }
                BuildStyle::AdjustableStrip { slot_width_m } => {
                    let dial = width(Kind::Free, slot_width_m, shop.width_increment_m);
                    cutting.dials.extend((0..count).map(|_| dial.clone()));
                }
            }
            let own = &cutting.dials[cutting.first[cutting.first.len() - 1]..];
            if own.iter().any(|dial| dial.low > dial.high) {
                let (place, what) = match style {
                    BuildStyle::SteppedLengths => (row.id.as_str(), "length"),
                    _ if shop.max_width_m >= full && widest(0) < full => (row.id.as_str(), "width"),
                    _ => ("shop", "width"),
                };
                return Err(EngineError::new(
                    place,
                    format!("no {what} between the least and the greatest is a whole number of steps"),
                    "widen the limits or make the step smaller",
                ));
            }
        }
        for site in &built.slots {
            let row = &plan.slot_rows[site.row];
            let first = cutting.first[site.row];
            let (factor, dials) = match style(plan, row) {
                BuildStyle::SteppedLengths => (row.width_m(0), [first + site.index; 2]),
                BuildStyle::PunchedCount | BuildStyle::VariedPitch | BuildStyle::SteppedDuct => {
                    (row.length_m, [first; 2])
                }
                BuildStyle::ContinuousTaper => (row.length_m, [first + site.index, first + site.index + 1]),
                _ => (row.slot_length_m(site.index), [first + site.index; 2]),
            };
            cutting.uses.push(dials);
            cutting.factors.push(factor);
        }
        Ok(cutting)
    }

    /// The size dial `d` has at `n` steps, m.
    pub fn size_m(&self, d: usize, n: i64) -> f64 {
        in_steps(n, self.dials[d].step_m)
    }

    /// Area of slot `i`, m².
    pub fn area_m2(&self, i: usize, steps: &[i64]) -> f64 {
        let [a, b] = self.uses[i];
        let size = self.size_m(a, steps[a]);
        let mean = if a == b { size } else { 0.5 * (size + self.size_m(b, steps[b])) };
        self.factors[i] * mean
    }

    /// Slots that each dial sets, by dial.
    pub fn slots_of_dials(&self) -> Vec<Vec<usize>> {
        let mut slots = vec![Vec::new(); self.dials.len()];
        for (i, &[a, b]) in self.uses.iter().enumerate() {
            slots[a].push(i);
            if b != a {
                slots[b].push(i);
            }
        }
        slots
    }

    /// Dial sizes, m, that give these slot areas: exactly where each slot has its own dial, else with the
    /// flow of the row kept. A dial no slot uses is NaN.
    pub fn sizes_for(&self, areas_m2: &[f64], targets: &[f64]) -> Vec<f64> {
        let wanted: Vec<f64> =
            areas_m2.iter().zip(&self.factors).map(|(area, factor)| area / factor).collect();
        let slots = self.slots_of_dials();
        let shared = |own: &[usize]| match own {
            [] => f64::NAN,
            [one] => wanted[*one],
            // Flow goes by area: Σ target·(size/wanted) = Σ target.
            many => {
                let all: f64 = many.iter().map(|&i| targets[i]).sum();
                all / many.iter().map(|&i| targets[i] / wanted[i]).sum::<f64>()
            }
        };
        let mut sizes: Vec<f64> = slots.iter().map(|own| shared(own)).collect();
        let tapering: Vec<usize> =
            (0..self.uses.len()).filter(|&i| self.uses[i][0] != self.uses[i][1]).collect();
        // Each panel's mean is wanted; both its joints move by half of what it lacks. The ends take up the
        // rest, and the joints stay as smooth as the start.
        for _ in 0..if tapering.is_empty() { 0 } else { 400 } {
            for &i in &tapering {
                let [a, b] = self.uses[i];
                let lack = wanted[i] - 0.5 * (sizes[a] + sizes[b]);
                sizes[a] += 0.5 * lack;
                sizes[b] += 0.5 * lack;
            }
        }
        sizes
    }

    /// The plan with these steps.
    pub fn apply(&self, plan: &Plan, steps: &[i64]) -> Plan {
        let mut designed = plan.clone();
        let used = self.slots_of_dials();
        for (r, row) in designed.slot_rows.iter_mut().enumerate() {
            let (first, count) = (self.first[r], row.count as usize);
            // Slots beyond the end of their duct keep what they have.
            let sized = |d: usize, old: f64| if used[d].is_empty() { old } else { self.size_m(d, steps[d]) };
            match style(plan, &plan.slot_rows[r]) {
                BuildStyle::SteppedLengths => {
                    row.widths_m.truncate(1);
                    row.lengths_m = (0..count).map(|k| sized(first + k, row.slot_length_m(k))).collect();
                }
                BuildStyle::PunchedCount => row.widths_m.truncate(1),
                BuildStyle::VariedPitch | BuildStyle::SteppedDuct => {
                    row.widths_m = vec![sized(first, row.width_m(0))];
                }
                BuildStyle::ContinuousTaper => {
                    let old = row.width_m(0);
                    row.widths_m = (0..=count).map(|k| sized(first + k, old)).collect();
                }
                _ => row.widths_m = (0..count).map(|k| sized(first + k, row.width_m(k))).collect(),
            }
        }
        designed
    }
}
