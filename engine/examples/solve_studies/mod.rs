//! What the first JSON door says about a plan as it will be built.

use engine::analysis::Analysis;
use engine::coverage::coverage;
use engine::design::{
    self, EvenedForP90, ToleranceResult, ToleranceSettings, alternatives, even_out_p90, fit_bench_pieces,
};
use engine::error::EngineError;
use engine::finding::Finding;
use engine::plan::Plan;
use engine::units::UnitSystem;
use serde_json::{Value, json};

/// The part of the usage line that is answered here.
pub const USAGE: &str = "[--bench-fit] [--tolerance] [--even-out-p90 PERCENT|best] [--coverage] [--alternatives] [--samples N] [--seed N]";

/// Variants are told apart by fewer draws than a plan is judged by.
const SEARCH_SAMPLES: usize = 64;

/// Which studies are wanted.
#[derive(Default)]
pub struct Studies {
    bench_fit: bool,
    tolerance: bool,
    coverage: bool,
    alternatives: bool,
    /// A target in %, or none for the best there is.
    p90: Option<Option<f64>>,
    samples: Option<usize>,
    seed: Option<u64>,
}

impl Studies {
    /// Takes an option; says whether it is known, none where its value is missing or not a number.
    pub fn take(&mut self, word: &str, words: &mut impl Iterator<Item = String>) -> Option<bool> {
        match word {
            "--bench-fit" => self.bench_fit = true,
            "--tolerance" => self.tolerance = true,
            "--coverage" => self.coverage = true,
            "--alternatives" => self.alternatives = true,
            "--samples" => self.samples = Some(words.next()?.parse().ok()?),
            "--seed" => self.seed = Some(words.next()?.parse().ok()?),
            "--even-out-p90" => {
                let target = words.next()?;
                self.p90 = Some(if target == "best" { None } else { Some(target.parse().ok()?) });
            }
            _ => return Some(false),
        }
        Some(true)
    }

    fn settings(&self, usual: usize) -> ToleranceSettings {
        ToleranceSettings { samples: self.samples.unwrap_or(usual), seed: self.seed.unwrap_or(1) }
    }

    /// Even out for P90, where wanted.
    pub fn even_out(&self, plan: &Plan) -> Result<Option<EvenedForP90>, EngineError> {
        self.p90.map(|target| even_out_p90(plan, target, self.settings(SEARCH_SAMPLES))).transpose()
    }

    /// Adds what is wanted to the answer.
    pub fn answer(
        &self,
        plan: &Plan,
        analysis: &Analysis,
        p90: Option<&EvenedForP90>,
        answer: &mut Value,
    ) -> Result<(), EngineError> {
        if let Some(done) = p90 {
            answer["even_out_p90"] = json!({
                "before": study(&done.study_before), "after": study(&done.study_after),
                "sheet_kg": done.sheet_kg,
                "shaft_power_w": [done.before.fan.shaft_power_w, done.after.fan.shaft_power_w],
            });
        }
        if self.bench_fit {
            let fit = fit_bench_pieces(plan)?;
            answer["bench_fit"] = with_findings(json!(fit), &fit.findings);
        }
        if self.tolerance {
            let settings = self.settings(ToleranceSettings::default().samples);
            answer["tolerance"] = study(&design::tolerance(plan, settings)?);
        }
        if self.coverage {
            let found = coverage(plan, analysis)?;
            answer["coverage"] = with_findings(json!(found), &found.findings);
        }
        if self.alternatives {
            let found = alternatives(plan, self.settings(SEARCH_SAMPLES))?;
            let each = found.alternatives.iter().map(|one| {
                json!({
                    "merit": one.merit, "sheet_kg": one.sheet_kg, "fan_kwh_per_year": one.fan_kwh_per_year,
                    "p90_percent": one.p90_percent, "tolerance": study(&one.study), "plan": one.plan,
                })
            });
            answer["alternatives"] = each.collect();
            answer["alternatives_tried"] = json!(found.tried);
            answer["alternatives_findings"] = told(&found.findings);
        }
        Ok(())
    }
}

fn study(result: &ToleranceResult) -> Value {
    with_findings(json!(result), &result.findings)
}

fn with_findings(mut value: Value, findings: &[Finding]) -> Value {
    value["findings"] = told(findings);
    value
}

/// Findings in words.
pub fn told(findings: &[Finding]) -> Value {
    findings
        .iter()
        .map(|finding| {
            json!({
                "id": finding.id, "severity": finding.severity, "item": finding.item,
                "message": finding.message.show(UnitSystem::Si),
                "remedy": finding.remedy.show(UnitSystem::Si), "basis": finding.basis,
            })
        })
        .collect()
}
