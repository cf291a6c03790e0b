//! What is in doubt and how it is drawn.

use super::{Input, Settings};
use crate::design::SLOT_LAWS;
use crate::design::bench_piece::BenchFit;
use crate::laws::{fan, slot};
use crate::network::from_plan::model_of;
use crate::numerics::{exp, ln, pow};
use crate::plan::{Plan, SlotModel};
use oorandom::Rand32;

/// One number in doubt.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// Its middle.
    pub mean: f64,
    /// Half the width of a rectangular distribution, or one standard deviation of a normal one.
    pub scale: f64,
    /// Normal, from a fit to readings; else rectangular: a bare ± says no more (JCGM 100:2008, 4.3.7).
    pub normal: bool,
}

impl Spread {
    fn rectangular(mean: f64, scale: f64) -> Self {
        Self { mean, scale, normal: false }
    }

    /// The value at probability `u`.
    fn at(self, u: f64) -> f64 {
        let standard = if self.normal { normal_quantile(u) } else { 2.0 * u - 1.0 };
        self.mean + self.scale * standard
    }
}

/// The standard normal value below which a share `u` lies: Newton on Φ(x) = u from the logistic curve.
///
/// Φ(x) = erfc(−x/√2)/2; 1e-9 < u < 1 − 1e-9, held there outside.
///
/// ```
/// assert!((engine::design::normal_quantile(0.975) - 1.959_964).abs() < 1e-6);
/// ```
pub fn normal_quantile(u: f64) -> f64 {
    let u = u.clamp(1e-9, 1.0 - 1e-9);
    let mut x = 0.55 * ln(u / (1.0 - u));
    for _ in 0..12 {
        let below = 0.5 * libm::erfc(-x * core::f64::consts::FRAC_1_SQRT_2);
        let density = 0.398_942_280_401_432_7 * exp(-0.5 * x * x);
        x -= ((below - u) / density).clamp(-1.0, 1.0);
    }
    x
}

/// One slot law nature may follow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LawDoubt {
    /// The law.
    pub model: slot::Model,
    /// Its share of the samples.
    pub weight: f64,
    /// Factor on its coefficient.
    pub coefficient: Spread,
    /// Regain factor under it.
    pub regain: Spread,
}

/// All that is in doubt about a plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Doubts {
    /// The laws; the first is the plan's own and may weigh nothing.
    pub laws: Vec<LawDoubt>,
    cut_m: f64,
    slot_to_slot: f64,
    roughness_factor: f64,
    /// Fan flow and pressure, ±.
    fan: f64,
    slide_m: f64,
    damper_percent: f64,
    temperature_k: f64,
}

/// How many there are of what each has a doubt of its own.
#[derive(Clone, Copy, Debug)]
pub struct Counts {
    pub slots: usize,
    pub slides: usize,
    pub dampers: usize,
}

/// One draw of everything in doubt.
#[derive(Clone, Debug, PartialEq)]
pub struct Draw {
    pub law: usize,
    pub coefficient: f64,
    pub regain: f64,
    /// Factor on roughness.
    pub roughness: f64,
    /// −1…1 of the fan's tolerance.
    pub fan: f64,
    pub temperature_k: f64,
    /// m.
    pub cuts: Vec<f64>,
    /// Factor less 1.
    pub slot_to_slot: Vec<f64>,
    /// m.
    pub slides: Vec<f64>,
    /// % of travel.
    pub dampers: Vec<f64>,
}

impl Doubts {
    /// The doubts the plan states, narrowed by what its bench pieces said.
    pub fn of(plan: &Plan, fit: Option<&BenchFit>) -> Self {
        let t = &plan.tolerances;
        let own = law_index(plan.models.slot);
        let mut laws = Vec::with_capacity(SLOT_LAWS.len());
        for (i, (_, law)) in SLOT_LAWS.iter().enumerate() {
            // The plan's own constant stands for the published one of its kind.
            let model = model_of(if i == own { plan.models.slot } else { *law });
            // What the published laws differ in is how discharge falls as air passes; its level in still air
            // is a doubt of its own, so each law is brought to the plan's level.
            let level = model_of(plan.models.slot).coefficient(0.0).0 / model.coefficient(0.0).0;
            let coefficient = Spread::rectangular(level, level * t.coefficient_percent / 100.0);
            let regain = Spread::rectangular(plan.models.regain, t.regain);
            let weight = t.slot_law_weights.get(i).copied().unwrap_or(1.0);
            laws.push(LawDoubt { model, weight, coefficient, regain });
            if let Some(found) = fit.and_then(|fit| fit.laws.iter().find(|found| found.law == SLOT_LAWS[i].0))
            {
                let law = &mut laws[i];
                // A fit counts from the published coefficient.
                law.model = model_of(SLOT_LAWS[i].1);
                law.weight = found.weight;
                let spread = |mean: f64, scale: f64| Spread { mean, scale, normal: true };
                law.coefficient = spread(found.coefficient, found.coefficient_doubt);
                law.regain = spread(found.regain, found.regain_doubt);
            }
        }
        let all: f64 = laws.iter().map(|law| law.weight).sum();
        laws.iter_mut().for_each(|law| law.weight /= all);
        laws.swap(0, own);
        Self {
            laws,
            cut_m: t.cut_m,
            slot_to_slot: t.slot_to_slot_percent / 100.0,
            roughness_factor: t.roughness_factor,
            fan: fan::tolerance_percent(plan.heater.fan.tolerance_grade.unwrap_or(t.fan_grade))
                .map_or(0.05, |grade| grade[1] / 100.0),
            slide_m: t.slide_m,
            damper_percent: t.damper_percent,
            temperature_k: t.temperature_k,
        }
    }

    /// Everything at its middle, under law `law`.
    pub fn nominal(&self, law: usize, counts: Counts) -> Draw {
        Draw {
            law,
            coefficient: self.laws[law].coefficient.mean,
            regain: self.laws[law].regain.mean,
            roughness: 1.0,
            fan: 0.0,
            temperature_k: 0.0,
            cuts: vec![0.0; counts.slots],
            slot_to_slot: vec![0.0; counts.slots],
            slides: vec![0.0; counts.slides],
            dampers: vec![0.0; counts.dampers],
        }
    }

    /// Sets one common input to `x` of its scale from the middle.
    pub fn shift(&self, draw: &mut Draw, input: Input, x: f64) {
        let law = &self.laws[draw.law];
        match input {
            Input::Coefficient => draw.coefficient = law.coefficient.mean + x * law.coefficient.scale,
            Input::Regain => draw.regain = law.regain.mean + x * law.regain.scale,
            Input::Roughness => draw.roughness = pow(self.roughness_factor, x),
            Input::Fan => draw.fan = x * self.fan,
            Input::Temperature => draw.temperature_k = x * self.temperature_k,
            _ => {}
        }
    }

    /// How far a common input of `draw` lies from its middle, in scales of the first law.
    pub fn shifted(&self, draw: &Draw, input: Input) -> f64 {
        let (law, first) = (&self.laws[draw.law], &self.laws[0]);
        let over = |x: f64, scale: f64| if scale > 0.0 { x / scale } else { 0.0 };
        match input {
            Input::Coefficient => over(
                draw.coefficient / law.coefficient.mean - 1.0,
                first.coefficient.scale / first.coefficient.mean,
            ),
            Input::Regain => over(draw.regain - law.regain.mean, first.regain.scale),
            Input::Roughness if self.roughness_factor > 1.0 => ln(draw.roughness) / ln(self.roughness_factor),
            Input::Fan => over(draw.fan, self.fan),
            Input::Temperature => over(draw.temperature_k, self.temperature_k),
            _ => 0.0,
        }
    }

    /// ± of a slide, m, and of a blade damper, % of travel.
    pub fn settings(&self) -> (f64, f64) {
        (self.slide_m, self.damper_percent)
    }

    /// Draw number `index` (from 0).
    ///
    /// The six common inputs follow a Halton sequence shifted by the seed (Halton 1960; Cranley & Patterson
    /// 1976), so that even a few hundred draws fill their space and each law gets its share to within one.
    /// What every slot, slide and damper has of its own (a thousand numbers or more, where no sequence fills
    /// anything) comes from a seeded generator: such errors average out within each draw.
    pub fn draw(&self, settings: &Settings, index: usize, counts: Counts) -> Draw {
        const BASES: [u8; 6] = [5, 2, 3, 7, 11, 13];
        let mut shifts = Rand32::new(settings.seed);
        let common = BASES.map(|base| {
            let x = halton::number(base, index + 1) + f64::from(shifts.rand_u32()) / 4_294_967_296.0;
            x - x.floor()
        });
        let mut left = common[0];
        let last = self.laws.iter().rposition(|law| law.weight > 0.0).unwrap_or(0);
        let law = self
            .laws
            .iter()
            .position(|law| {
                let here = left < law.weight;
                left -= law.weight;
                here
            })
            .unwrap_or(last);
        // One stream a draw, so that a draw is the same whatever was drawn before.
        let mut own = Rand32::new_inc(settings.seed ^ 0x5eed, index as u64);
        let mut each = |count: usize, scale: f64| -> Vec<f64> {
            (0..count).map(|_| scale * (f64::from(own.rand_u32()) / 2_147_483_648.0 - 1.0)).collect()
        };
        Draw {
            law,
            coefficient: self.laws[law].coefficient.at(common[1]).max(0.05),
            regain: self.laws[law].regain.at(common[2]),
            roughness: pow(self.roughness_factor, 2.0 * common[3] - 1.0),
            fan: self.fan * (2.0 * common[4] - 1.0),
            temperature_k: self.temperature_k * (2.0 * common[5] - 1.0),
            cuts: each(counts.slots, self.cut_m),
            slot_to_slot: each(counts.slots, self.slot_to_slot),
            slides: each(counts.slides, self.slide_m),
            dampers: each(counts.dampers, self.damper_percent),
        }
    }
}

/// Place of a plan's law among the published ones.
pub fn law_index(law: SlotModel) -> usize {
    let same = |other: &SlotModel| core::mem::discriminant(other) == core::mem::discriminant(&law);
    SLOT_LAWS.iter().position(|(_, other)| same(other)).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_normal_quantile_undoes_the_distribution() {
        for u in [1e-8, 1e-4, 0.02, 0.3, 0.5, 0.8, 0.999, 1.0 - 1e-7] {
            let back = 0.5 * libm::erfc(-normal_quantile(u) * core::f64::consts::FRAC_1_SQRT_2);
            assert!((back / u - 1.0).abs() < 1e-7, "{u} {back}");
        }
    }

    #[test]
    fn a_fitted_coefficient_counts_once() {
        let text = include_str!("../../../../tests/plans/minimal.evenrise.json");
        let mut plan = crate::plan::file::read(text).unwrap();
        let (name, _) =
            SLOT_LAWS.iter().find(|(_, law)| matches!(law, SlotModel::ConstantTotal { .. })).unwrap();
        let law = crate::design::LawFit {
            law: (*name).to_owned(),
            weight: 1.0,
            chi_square: 0.0,
            coefficient: 1.1,
            coefficient_doubt: 0.01,
            regain: 1.0,
            regain_doubt: 0.01,
            fitted: vec![],
        };
        let fit = BenchFit { laws: vec![law], readings: vec![], spare_readings: 0, findings: vec![] };
        // As drawn by the published law, and once the fit has been taken over.
        for cd in [0.61, 0.671] {
            plan.models.slot = SlotModel::ConstantTotal { cd };
            let own = &Doubts::of(&plan, Some(&fit)).laws[0];
            let middle = own.model.coefficient(0.0).0 * own.coefficient.mean;
            assert!((middle - 0.671).abs() < 1e-9, "{cd}: {middle}");
        }
    }

    #[test]
    fn draws_are_theirs_alone_and_fill_every_law() {
        let plan =
            crate::plan::file::read(include_str!("../../../../tests/plans/minimal.evenrise.json")).unwrap();
        let doubts = Doubts::of(&plan, None);
        let counts = Counts { slots: 3, slides: 1, dampers: 0 };
        let settings = Settings { samples: 100, seed: 4 };
        let mut seen = [0; 5];
        for k in 0..100 {
            let draw = doubts.draw(&settings, k, counts);
            seen[draw.law] += 1;
            assert_eq!(draw, doubts.draw(&settings, k, counts));
            assert!(draw.cuts.iter().all(|cut| cut.abs() <= 0.000_25));
        }
        assert!(seen.iter().all(|n| (19..=21).contains(n)), "{seen:?}");
        assert_ne!(
            doubts.draw(&settings, 0, counts),
            doubts.draw(&Settings { seed: 5, ..settings }, 0, counts)
        );
    }
}
