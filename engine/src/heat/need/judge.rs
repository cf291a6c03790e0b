//! What somebody should know about a need.

use super::Need;
use super::check::Asked;
use crate::finding::{Finding, Message, Severity};
use crate::heat::water::dew_point_c;
use crate::units::Kind;

/// Supply air this near to a zone cannot heat it.
pub(super) const LEAST_DIFFERENCE_K: f64 = 5.0;
const COMMON: &str = "common practice, no published source";

/// What somebody should know about a need.
pub(super) fn judge(asked: &Asked, need: &Need, findings: &mut Vec<Finding>) {
    let mut add = |severity, id: &str, item: Option<&str>, message: Message, remedy: &str, basis: &str| {
        findings.push(Finding::new(severity, id, item, message, remedy, basis));
    };
    let coating = asked.plan.coating.as_ref();
    for part in &need.parts {
        let allowed = coating.and_then(|coating| coating.over_bake_times);
        if let Some((cures, allowed)) = part.cures.zip(allowed)
            && cures > allowed
        {
            add(
                Severity::Caution,
                "need-over-bake",
                Some(&part.id),
                Message::new("At the speed of the slowest part this one gets ")
                    .value(Kind::Number, cures)
                    .text(" times its cure; the coating bears ")
                    .value(Kind::Number, allowed)
                    .text("."),
                "Run light and heavy parts apart, or lower the zone temperature and lengthen the oven.",
                "the coating's schedule; counted by ln t linear in temperature",
            );
        }
        if part.cures.is_some_and(|cures| cures < 0.995) {
            add(
                Severity::Problem,
                "need-under-cure",
                Some(&part.id),
                Message::new("In this oven the part gets ")
                    .value(Kind::Percent, 100.0 * part.cures.unwrap_or_default())
                    .text(" of its cure."),
                "Ask for a metal temperature of the coating's schedule, a longer dwell, or a hotter cure zone.",
                "the coating's schedule; counted by ln t linear in temperature",
            );
        }
        let limit = coating.and_then(|coating| coating.over_bake_c);
        if limit.is_some_and(|limit| part.exit_c > limit) {
            add(
                Severity::Problem,
                "need-over-heat",
                Some(&part.id),
                Message::new("This part reaches ")
                    .value(Kind::Temperature, part.exit_c)
                    .text(", more than the coating bears."),
                "Lower the zone temperature.",
                "the coating's limit",
            );
        }
    }
    for zone in &need.zones {
        let least = asked.enquiry.least_changes_per_min;
        if zone.changes_per_min < 0.999 * least || zone.changes_per_min > 6.0 {
            add(
                Severity::Caution,
                "need-changes",
                None,
                Message::new(format!("The air of the {} zone changes ", zone.id))
                    .value(Kind::Number, zone.changes_per_min)
                    .text(" times a minute, asked are ")
                    .value(Kind::Number, least)
                    .text("; 2 to 4 are usual in conveyor powder ovens, 5 in batch ovens."),
                "Change the allowed difference from supply to zone, or the room round the parts.",
                COMMON,
            );
        }
        // The cure zone's own difference follows from its load and its air.
        if zone.id != "cure" && zone.supply_difference_k < LEAST_DIFFERENCE_K {
            add(
                Severity::Problem,
                "need-cold-supply",
                None,
                Message::new("The supply air is ")
                    .value(Kind::TemperatureDifference, zone.supply_difference_k)
                    .text(format!(" above the {} zone: no sensible flow of it heats the zone.", zone.id)),
                "Give it its own heater, lower its temperature, or allow a larger difference from supply to zone and fewer air changes.",
                COMMON,
            );
        }
        if zone.supply_difference_k > 60.0 {
            add(
                Severity::Caution,
                "need-hot-supply",
                None,
                Message::new("The supply air is ")
                    .value(Kind::TemperatureDifference, zone.supply_difference_k)
                    .text(format!(" above the {} zone: a bay 10 % short of air is ", zone.id))
                    .value(Kind::TemperatureDifference, zone.supply_difference_k / 9.0)
                    .text(" colder."),
                "Mix return air into its supply, or bring the zones' temperatures nearer.",
                "δT = ΔT·e/(1 − e) of a bay with its share of air short by e",
            );
        }
        let dew = dew_point_c(zone.humidity_ratio, asked.pressure_pa);
        // A part comes into the cure zone as it left dry-off, or cooled on its way.
        let dried = need.parts.iter().map(|part| part.dry_off_exit_c).fold(f64::INFINITY, f64::min);
        let comes_in = match zone.id.as_str() {
            "cure" if asked.enquiry.dry_off_c.is_some() => asked.enquiry.cure_entry_c.unwrap_or(dried),
            _ => asked.load.entry_temperature_c,
        };
        if dew > comes_in {
            add(
                Severity::Note,
                "need-condensation",
                None,
                Message::new(format!("The dew point of the {} zone is ", zone.id))
                    .value(Kind::Temperature, dew)
                    .text(": metal colder than that, as it comes in, collects water before it dries."),
                "Draw more exhaust, or bring parts in warmer.",
                "psychrometrics",
            );
        }
        if zone.id == "dry-off" && zone.fume_share > 0.05 {
            add(
                Severity::Note,
                "need-fumes",
                None,
                Message::new("Both zones share one heater: air of the dry-off zone holds ")
                    .value(Kind::Percent, 100.0 * zone.fume_share)
                    .text(" of the cure fumes of the cure zone, and they settle on cold parts."),
                "Draw the exhaust from the cure zone, or give dry-off its own heater.",
                "mass balance of well-mixed zones",
            );
        }
    }
    let least = need.exhaust_reasons.iter().map(|reason| reason.kg_s).fold(0.0, f64::max);
    if need.exhaust_kg_s < 0.999 * least {
        add(
            Severity::Problem,
            "need-exhaust",
            None,
            Message::new("The exhaust of the enquiry is ")
                .value(Kind::MassFlow, need.exhaust_kg_s)
                .text("; water, dilution or practice ask for ")
                .value(Kind::MassFlow, least)
                .text("."),
            "Draw more. The code in force decides, and a licensed engineer must confirm it.",
            "the largest of the listed reasons",
        );
    }
    let burner = &need.burner;
    if burner.turn_down > asked.burner.turn_down {
        add(
            Severity::Caution,
            "need-turn-down",
            None,
            Message::new("Idling takes ")
                .value(Kind::HeatRate, burner.idle_w)
                .text(" of ")
                .value(Kind::HeatRate, burner.rated_w.max(asked.burner.rated_w))
                .text(", a turn-down of ")
                .value(Kind::Number, burner.turn_down)
                .text(" that the burner does not hold."),
            "Choose a burner with more turn-down, or it cycles and the limit trips.",
            "industrial burners 10:1 to 40:1 (common practice)",
        );
    }
    let entered = asked.plan.heater.burner.as_ref().map(|burner| burner.rated_w);
    if entered.is_some_and(|rated| rated < burner.input_w.max(burner.heating_up_w)) {
        add(
            Severity::Problem,
            "need-burner",
            Some(&asked.plan.heater.id),
            Message::new("The burner is rated ")
                .value(Kind::HeatRate, entered.unwrap_or_default())
                .text("; running takes ")
                .value(Kind::HeatRate, burner.input_w)
                .text(" and heating up ")
                .value(Kind::HeatRate, burner.heating_up_w)
                .text("."),
            "Choose a larger burner, or allow more time to heat up.",
            "the heat balance",
        );
    }
}
