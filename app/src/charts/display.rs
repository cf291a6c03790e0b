//! Numbers for drawings: the displayed scale of a quantity, short forms without a unit, round steps.

use engine::numerics::{log10, pow};
use engine::units::{Kind, UnitSystem, parse, symbol};

/// How a quantity is scaled for reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Display {
    /// SI per displayed unit.
    pub factor: f64,
    /// SI at the displayed zero.
    pub offset: f64,
    /// The unit's symbol.
    pub symbol: &'static str,
}

impl Display {
    /// How `kind` is read in `system`.
    pub fn of(kind: Kind, system: UnitSystem) -> Self {
        // The scale is a straight line: two of its readings tell it.
        let si = |number: &str| parse(number, kind, system).unwrap_or(0.0);
        let offset = si("0");
        let factor = si("1") - offset;
        Self { factor: if factor == 0.0 { 1.0 } else { factor }, offset, symbol: symbol(kind, system) }
    }

    /// The number to read for `si`.
    pub fn number(self, si: f64) -> f64 {
        (si - self.offset) / self.factor
    }

    /// SI of a read number.
    pub fn si(self, number: f64) -> f64 {
        number * self.factor + self.offset
    }
}

/// The least 1-2-5 step that divides `span` into at most `most` parts.
pub fn round_step(span: f64, most: usize) -> f64 {
    let wanted = span / most.max(1) as f64;
    if !wanted.is_finite() || wanted <= 0.0 {
        return 1.0;
    }
    let decade = pow(10.0, log10(wanted).floor());
    [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|m| m * decade)
        .find(|step| *step >= wanted * (1.0 - 1e-9))
        .unwrap_or(decade * 10.0)
}

/// `number` with the decimals a scale of this `step` needs.
pub fn tick_text(number: f64, step: f64) -> String {
    let digits = (-log10(step * 1.000_001).floor()).clamp(0.0, 9.0) as usize;
    let text = format!("{number:.digits$}");
    minus(if text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.') {
        text.trim_start_matches('-').to_owned()
    } else {
        text
    })
}

/// With a true minus sign.
fn minus(text: String) -> String {
    text.replace('-', "\u{2212}")
}

/// A deviation (a fraction) as percent with its sign: "+12", "−0.4", "0".
pub fn signed_percent(fraction: f64, digits: usize) -> String {
    let text = format!("{:+.digits$}", fraction * 100.0);
    let zero = text.chars().all(|c| matches!(c, '+' | '-' | '0' | '.'));
    if zero { text[1..].to_owned() } else { minus(text) }
}

/// Up to `digits` decimals, without trailing zeros.
pub fn short(number: f64, digits: usize) -> String {
    let text = format!("{number:.digits$}");
    let text =
        if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text };
    minus(if text == "-0" { "0".to_owned() } else { text })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_round() {
        assert_eq!(round_step(10.0, 5), 2.0);
        assert_eq!(round_step(1620.0, 5), 500.0);
        assert!((round_step(0.37, 6) - 0.1).abs() < 1e-12);
        assert_eq!(round_step(f64::NAN, 5), 1.0);
        assert_eq!(round_step(0.0, 5), 1.0);
    }

    #[test]
    fn numbers_carry_sign_and_no_negative_zero() {
        assert_eq!(signed_percent(0.1234, 0), "+12");
        assert_eq!(signed_percent(-0.004, 1), "\u{2212}0.4");
        assert_eq!(signed_percent(-0.0001, 0), "0");
        assert_eq!(tick_text(-0.0, 0.5), "0.0");
        assert_eq!(tick_text(-2.5, 0.5), "\u{2212}2.5");
        assert_eq!(tick_text(1500.0, 500.0), "1500");
        assert_eq!(short(14.50, 2), "14.5");
        assert_eq!(short(14.0, 1), "14");
        assert_eq!(short(-0.01, 1), "0");
    }

    #[test]
    fn a_displayed_number_goes_back_to_the_same_si() {
        for kind in [Kind::Length, Kind::ShopLength, Kind::Pressure, Kind::Velocity, Kind::VolumeFlow] {
            for system in [UnitSystem::Si, UnitSystem::InchPound] {
                let d = Display::of(kind, system);
                assert!((d.si(d.number(1.25)) - 1.25).abs() < 1e-12);
            }
        }
    }
}
