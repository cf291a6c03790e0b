//! What to do about the doubts, led by what matters most.

use super::results::{Input, ToleranceResult};
use crate::finding::{Finding, Message, Severity};
use crate::plan::Plan;
use crate::units::Kind;

/// What to do, led by what matters most.
pub(super) fn advice(plan: &Plan, result: &ToleranceResult) -> Vec<Finding> {
    let mut findings = Vec::new();
    let basis =
        "tolerance study over the published slot laws and the plan's tolerances; computed, not measured";
    if let Some(first) = result.inputs.first()
        && result.p90.worst_bay_percent > 1.0
    {
        let remedy = match first.input {
            Input::SlotLaw | Input::Regain | Input::Coefficient => Message::new(
                "Make the slot-to-duct area ratio smaller: larger ducts, or fewer and narrower slots at a higher \
                 pressure. It is ",
            )
            .value(Kind::Number, result.area_ratio)
            .text(
                " at most now; at 0.4 the published laws agree within 3 to 6 %. A bench piece, or one traverse with \
                 one static pressure, settles which law holds.",
            ),
            Input::Cut | Input::SlotToSlot => Message::new(
                "Use fewer and wider slots, or cut closer than ± ",
            )
            .value(Kind::ShopLength, plan.tolerances.cut_m)
            .text(
                "; wider slots need larger ducts to keep the slot-to-duct area ratio small: it is ",
            )
            .value(Kind::Number, result.area_ratio)
            .text(" at most now."),
            Input::Dampers => "Pin slides and dampers where they are set, and use larger openings less open.".into(),
            Input::Fan | Input::Temperature | Input::Roughness => {
                "Measure it on site before slots are changed: it is not the slots.".into()
            }
        };
        let severity = if result.p90.worst_bay_percent > 10.0 { Severity::Caution } else { Severity::Note };
        findings.push(Finding::new(
            severity,
            "tolerance",
            None,
            Message::new("As built, one oven in ten will have a bay more than ")
                .value(Kind::Percent, result.p90.worst_bay_percent)
                .text(" and a slot more than ")
                .value(Kind::Percent, result.p90.worst_slot_percent)
                .text(format!(" off its share of the air; {} matters most.", first.input.name())),
            remedy,
            basis,
        ));
    }
    if result.failed * 50 > result.samples {
        findings.push(Finding::new(
            Severity::Caution,
            "tolerance-failed",
            None,
            Message::new(format!(
                "In {} of {} samples the air balance did not close; they are left out.",
                result.failed,
                result.samples + result.failed
            )),
            "The plan works near a limit: look at its findings first.",
            basis,
        ));
    }
    findings
}
