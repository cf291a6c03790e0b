//! Reading quantities as people type them.

use super::table::{self, KINDS, Unit, fold};
use super::{Kind, UnitSystem};

/// Why a typed quantity was refused, and what to type instead.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum UnitError {
    /// Nothing was typed.
    #[error("empty: type a number")]
    Empty,
    /// No number could be read.
    #[error("“{0}” is not a number: type digits, a fraction as 1/2, and a unit if you like")]
    NotANumber(String),
    /// A comma before three digits.
    #[error("“{text}” could mean {thousand} or {decimal}: type one of these")]
    Ambiguous {
        /// As typed.
        text: String,
        /// With the comma as a group mark.
        thousand: String,
        /// With the comma as the decimal sign.
        decimal: String,
    },
    /// Divided by zero.
    #[error("“{0}” divides by zero: correct the fraction")]
    DividesByZero(String),
    /// No unit of that spelling.
    #[error("“{unit}” is no unit known here: use {known}")]
    UnknownUnit {
        /// As typed.
        unit: String,
        /// What may be typed.
        known: String,
    },
    /// A unit of something else.
    #[error("“{unit}” measures {measures}, but {wanted} is wanted: use {known}")]
    WrongKind {
        /// As typed.
        unit: String,
        /// What it measures.
        measures: &'static str,
        /// What should be measured.
        wanted: &'static str,
        /// What may be typed.
        known: String,
    },
    /// Standard instead of actual volume.
    #[error("“{0}” does not say at which density: type acfm or m³/h as the air is at that place")]
    NotActualVolume(String),
    /// More numbers than the quantity has.
    #[error("“{0}” has more than one number: type one, or feet and inches as 5' 6\"")]
    MoreThanOne(String),
    /// Larger than anything that could be meant.
    #[error("“{0}” is too large a number")]
    TooLarge(String),
}

/// Reads `text` as SI (temperatures as °C); a bare number is taken in the unit that `system` shows.
///
/// A decimal comma is as good as a point. Fractions and sums of lengths are read as the trade
/// writes them.
///
/// ```
/// use engine::units::{Kind, UnitSystem, parse};
/// let length = parse("5' 6 1/2\"", Kind::Length, UnitSystem::InchPound).unwrap();
/// assert!((length - 66.5 * 0.0254).abs() < 1e-12);
/// assert!(parse("1,234", Kind::Pressure, UnitSystem::Si).is_err());
/// ```
pub fn parse(text: &str, kind: Kind, system: UnitSystem) -> Result<f64, UnitError> {
    let typed = text.trim();
    let plain = normalise(typed);
    let (sign, rest) = match plain.strip_prefix('-') {
        Some(rest) => (-1.0, rest),
        None => (1.0, plain.strip_prefix('+').unwrap_or(&plain)),
    };
    if rest.trim().is_empty() {
        return Err(if typed.is_empty() {
            UnitError::Empty
        } else {
            UnitError::NotANumber(typed.to_owned())
        });
    }
    let terms = terms(rest, typed)?;
    let is_length = matches!(kind, Kind::Length | Kind::ShopLength);
    if terms.len() > 1 && !is_length {
        return Err(UnitError::MoreThanOne(typed.to_owned()));
    }
    let mut sum = 0.0;
    let mut after_feet = false;
    for (i, (value, written, dashed)) in terms.iter().enumerate() {
        // A dash joins inches to feet; anywhere else it would be a difference.
        if *dashed && !after_feet {
            return Err(UnitError::MoreThanOne(typed.to_owned()));
        }
        let unit = match written.as_str() {
            // 5' 6 means inches after feet.
            "" if after_feet => find("in", kind)?,
            "" if terms.len() > 1 => return Err(UnitError::MoreThanOne(typed.to_owned())),
            "" => table::shown(kind, system).unit,
            written => find(written, kind)?,
        };
        after_feet = is_length && unit.symbol() == "ft";
        let value = if i == 0 { sign * value } else { sign * *value };
        sum += value * unit.factor() + unit.zero();
    }
    if sum.is_finite() && sum.abs() < 1e12 { Ok(sum) } else { Err(UnitError::TooLarge(typed.to_owned())) }
}

/// Odd spaces, signs, quotes and fractions become plain ones.
fn normalise(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\u{2212}' | '\u{2010}'..='\u{2014}' => out.push('-'),
            '′' | '’' | '‘' => out.push('\''),
            '″' | '”' | '“' => out.push('"'),
            '⁄' => out.push('/'),
            '½' => out.push_str(" 1/2"),
            '¼' => out.push_str(" 1/4"),
            '¾' => out.push_str(" 3/4"),
            '⅛' => out.push_str(" 1/8"),
            '⅜' => out.push_str(" 3/8"),
            '⅝' => out.push_str(" 5/8"),
            '⅞' => out.push_str(" 7/8"),
            c if c.is_whitespace() => out.push(' '),
            c => out.push(c),
        }
    }
    out.trim().to_owned()
}

fn is_number_char(c: char) -> bool {
    c.is_ascii_digit() || matches!(c, '.' | ',')
}

/// Splits into numbers with the unit that follows each, and whether a dash stands before it.
fn terms(text: &str, typed: &str) -> Result<Vec<(f64, String, bool)>, UnitError> {
    let mut rest = text;
    let mut dashed = false;
    let mut terms = Vec::new();
    while !rest.is_empty() {
        let (value, after) = number(rest, typed)?;
        let (unit, after) = unit_text(after.trim_start());
        terms.push((value, unit.trim().to_owned(), dashed));
        rest = after.trim_start();
        dashed = rest.starts_with('-');
        // "2 m + 30 cm", and the dash of 5'-6".
        if let Some(after) = rest.strip_prefix('+').or_else(|| rest.strip_prefix('-')) {
            rest = after.trim_start();
            if rest.is_empty() {
                return Err(UnitError::NotANumber(typed.to_owned()));
            }
        }
    }
    Ok(terms)
}

/// A number at the start of `text`: decimal, fraction, or whole and fraction.
fn number<'a>(text: &'a str, typed: &str) -> Result<(f64, &'a str), UnitError> {
    let (first, rest) = digits(text);
    let value = decimal(first, typed)?;
    let (value, rest) = match exponent(rest) {
        Some((power, after)) => (decimal_power(first, power, typed)?, after),
        None => (value, rest),
    };
    if let Some(after) = rest.trim_start().strip_prefix('/')
        && after.trim_start().starts_with(|c: char| c.is_ascii_digit())
    {
        let (below, after) = digits(after.trim_start());
        return Ok((divide(value, decimal(below, typed)?, typed)?, after));
    }
    // A whole number before a fraction: 6 1/2.
    let spaced = rest.trim_start();
    if spaced.len() < rest.len() || rest.starts_with('-') {
        let spaced = spaced.strip_prefix('-').unwrap_or(spaced);
        let (above, after) = digits(spaced);
        if !above.is_empty()
            && let Some(after) = after.strip_prefix('/')
        {
            let (below, after) = digits(after);
            let part = divide(decimal(above, typed)?, decimal(below, typed)?, typed)?;
            return Ok((value + part, after));
        }
    }
    Ok((value, rest))
}

fn digits(text: &str) -> (&str, &str) {
    let end = text.find(|c| !is_number_char(c)).unwrap_or(text.len());
    text.split_at(end)
}

fn divide(above: f64, below: f64, typed: &str) -> Result<f64, UnitError> {
    if below == 0.0 { Err(UnitError::DividesByZero(typed.to_owned())) } else { Ok(above / below) }
}

/// `e3`, `E-4`: the power and what follows it.
fn exponent(text: &str) -> Option<(&str, &str)> {
    let after = text.strip_prefix(['e', 'E'])?;
    let sign = usize::from(after.starts_with(['-', '+']));
    let count = after[sign..].find(|c: char| !c.is_ascii_digit()).unwrap_or(after.len() - sign);
    (count > 0).then(|| after.split_at(sign + count))
}

fn decimal_power(mantissa: &str, power: &str, typed: &str) -> Result<f64, UnitError> {
    let mantissa = plain_decimal(mantissa, typed)?;
    read(&mantissa, power).ok_or_else(|| UnitError::NotANumber(typed.to_owned()))
}

fn decimal(text: &str, typed: &str) -> Result<f64, UnitError> {
    read(&plain_decimal(text, typed)?, "0").ok_or_else(|| UnitError::NotANumber(typed.to_owned()))
}

/// The nearest number to what is written, by the reader that files need anyway: a second one, that of the
/// standard library, would be another 12 KB of the page's download.
fn read(mantissa: &str, power: &str) -> Option<f64> {
    if mantissa.is_empty() || mantissa == "." {
        return None;
    }
    // JSON wants a digit on both sides of the point, and no needless noughts before.
    let (whole, part) = mantissa.split_once('.').unwrap_or((mantissa, ""));
    let (whole, part) = (whole.trim_start_matches('0'), if part.is_empty() { "0" } else { part });
    let whole = if whole.is_empty() { "0" } else { whole };
    let text = format!("{whole}.{part}e{power}");
    // What is too large for a number is refused by its size, not as something that is no number.
    match serde_json::from_str::<f64>(&text) {
        Err(error) if error.to_string().starts_with("number out of range") => Some(f64::INFINITY),
        read => read.ok(),
    }
}

/// With a point for the decimal sign and no group marks.
fn plain_decimal(text: &str, typed: &str) -> Result<String, UnitError> {
    let not_a_number = || UnitError::NotANumber(typed.to_owned());
    let commas = text.matches(',').count();
    let points = text.matches('.').count();
    let grouped = |mark: char, whole: &str| {
        let mut groups = whole.split(mark);
        let first = groups.next().unwrap_or_default();
        let fits = (1..=3).contains(&first.len()) && groups.all(|group| group.len() == 3);
        fits.then(|| whole.replace(mark, ""))
    };
    match (commas, points) {
        (0, 0 | 1) => Ok(text.to_owned()),
        (1, 0) => {
            let (whole, part) = text.split_once(',').unwrap_or((text, ""));
            let could_be_thousands =
                part.len() == 3 && (1..=3).contains(&whole.len()) && !whole.starts_with('0');
            if could_be_thousands {
                return Err(UnitError::Ambiguous {
                    text: typed.to_owned(),
                    thousand: format!("{whole}{part}"),
                    decimal: format!("{whole}.{part}"),
                });
            }
            Ok(format!("{whole}.{part}"))
        }
        // 1,234,567 and 1.234.567 can only be grouped.
        (_, 0) => grouped(',', text).ok_or_else(not_a_number),
        (0, _) => grouped('.', text).ok_or_else(not_a_number),
        // 1,234.5 and 1.234,5: the last mark is the decimal sign.
        (_, 1) if text.rfind('.') > text.rfind(',') => {
            let (whole, part) = text.split_once('.').unwrap_or((text, ""));
            Ok(format!("{}.{part}", grouped(',', whole).ok_or_else(not_a_number)?))
        }
        (1, _) if text.rfind(',') > text.rfind('.') => {
            let (whole, part) = text.split_once(',').unwrap_or((text, ""));
            Ok(format!("{}.{part}", grouped('.', whole).ok_or_else(not_a_number)?))
        }
        _ => Err(not_a_number()),
    }
}

/// The unit at the start of `text`, up to the next number of a sum.
fn unit_text(text: &str) -> (&str, &str) {
    if let Some(after) = text.strip_prefix('\'')
        && !after.starts_with('\'')
    {
        return ("'", after);
    }
    let mut previous = ' ';
    for (at, c) in text.char_indices() {
        let next_term = match c {
            '+' => true,
            // The dash of 5'-6" or 5 ft - 6 in; not that of min-1.
            '-' => previous == ' ' || previous == '"',
            c if c.is_ascii_digit() => previous == ' ' && at > 0,
            _ => false,
        };
        if next_term || (at == 0 && is_number_char(c)) {
            return text.split_at(at);
        }
        previous = c;
    }
    (text, "")
}

fn find(written: &str, kind: Kind) -> Result<&'static Unit, UnitError> {
    let folded = fold(written);
    if let Some(unit) = table::units(kind).iter().find(|unit| unit.is_written(&folded)) {
        return Ok(unit);
    }
    let standard = ["cfm", "scfm", "ft3/min", "nm3/h", "nm3/hr", "sm3/h", "m3n/h"];
    if kind == Kind::VolumeFlow && standard.contains(&folded.as_str()) {
        return Err(UnitError::NotActualVolume(written.to_owned()));
    }
    let name =
        |wanted: Kind| KINDS.iter().find(|(kind, _)| *kind == wanted).map_or("a number", |(_, name)| name);
    let symbols: Vec<_> = table::units(kind).iter().map(Unit::symbol).filter(|s| !s.is_empty()).collect();
    let known = if symbols.is_empty() { "no unit".to_owned() } else { symbols.join(", ") };
    let other =
        KINDS.iter().find(|(kind, _)| table::units(*kind).iter().any(|unit| unit.is_written(&folded)));
    Err(match other {
        Some((_, measures)) => {
            UnitError::WrongKind { unit: written.to_owned(), measures, wanted: name(kind), known }
        }
        None => UnitError::UnknownUnit { unit: written.to_owned(), known },
    })
}

#[cfg(test)]
mod tests {
    use super::super::UnitSystem::{InchPound, Si};
    use super::super::{edit_number, show};
    use super::*;

    #[track_caller]
    fn reads(text: &str, kind: Kind, system: UnitSystem, wanted: f64) {
        let got = parse(text, kind, system).unwrap_or_else(|e| panic!("{text}: {e}"));
        assert!((got - wanted).abs() <= 1e-9 * wanted.abs().max(1e-3), "{text}: {got} instead of {wanted}");
    }

    #[test]
    fn the_trades_own_writing() {
        let inch = 0.0254;
        reads("300", Kind::ShopLength, Si, 0.3);
        reads("300 mm", Kind::Length, InchPound, 0.3);
        reads("12in", Kind::ShopLength, Si, 12.0 * inch);
        reads("1/2 in", Kind::ShopLength, Si, 0.5 * inch);
        reads("1/2", Kind::ShopLength, InchPound, 0.5 * inch);
        reads("2½\"", Kind::ShopLength, Si, 2.5 * inch);
        reads("2 1/2\"", Kind::ShopLength, Si, 2.5 * inch);
        reads("2-1/2 in", Kind::ShopLength, Si, 2.5 * inch);
        reads("5' 6 1/2\"", Kind::Length, Si, 66.5 * inch);
        reads("5'-6\"", Kind::Length, Si, 66.0 * inch);
        reads("5 ft 6 in", Kind::Length, Si, 66.0 * inch);
        reads("5' 6", Kind::Length, InchPound, 66.0 * inch);
        reads("-5' 6\"", Kind::Length, InchPound, -66.0 * inch);
        reads("2 m + 30 cm", Kind::Length, Si, 2.3);
        reads("0.25 in. w.c.", Kind::Pressure, Si, 0.25 * 249.0889);
        reads("0.25 in H2O", Kind::Pressure, Si, 0.25 * 249.0889);
        reads("0.25\"wc", Kind::Pressure, Si, 0.25 * 249.0889);
        reads("0,25 inwg", Kind::Pressure, Si, 0.25 * 249.0889);
        reads("1000 fpm", Kind::Velocity, Si, 5.08);
        reads("3600 m3/h", Kind::VolumeFlow, Si, 1.0);
        reads("3600 m³/h", Kind::VolumeFlow, InchPound, 1.0);
        reads("383 °F", Kind::Temperature, Si, 195.0);
        reads("383", Kind::Temperature, InchPound, 195.0);
        reads("0 K", Kind::Temperature, Si, -273.15);
        reads("18 F", Kind::TemperatureDifference, Si, 10.0);
        reads("10 hp", Kind::ShaftPower, Si, 7456.999);
        reads("1450 rpm", Kind::Rotation, Si, 1450.0);
        reads("24 Hz", Kind::Rotation, Si, 1440.0);
        reads("80 %", Kind::Percent, Si, 80.0);
        reads("1e3", Kind::Pressure, Si, 1000.0);
        reads("6 ft/min", Kind::LineSpeed, Si, 0.03048);
        reads("\u{2212}12.5 Pa", Kind::Pressure, Si, -12.5);
        reads("45", Kind::Duration, InchPound, 2_700.0);
        reads("1 MMBtu/h", Kind::HeatRate, Si, 293_071.070_172);
        reads("1256 MBH", Kind::HeatRate, Si, 368_097.264_136);
        reads("7 lb/ft", Kind::LineMass, Si, 10.417_147_604_986_877);
        reads("100 g/m2", Kind::Film, InchPound, 0.1);
        reads("10000 ft3", Kind::Volume, Si, 283.168_465_92);
        reads("2000 scfm", Kind::StandardFlow, Si, 0.943_894_886_4);
        reads("0.12 Btu/(lb °F)", Kind::SpecificHeat, Si, 502.416);
        reads(
            "0.26 Btu·in/(h·ft²·°F)",
            Kind::Conductivity,
            Si,
            0.26 * 1_055.055_852_62 * 0.0254 / (3600.0 * 0.092_903_04 / 1.8),
        );
        reads("0.35 Btu/(h·ft²·°F)", Kind::LossFactor, Si, 1.987_392_17);
    }

    #[test]
    fn decimal_comma_and_groups() {
        reads("12,5", Kind::ShopLength, Si, 0.0125);
        reads("0,125", Kind::Length, Si, 0.125);
        reads("1,2345", Kind::Length, Si, 1.2345);
        reads("1,234.5", Kind::Pressure, Si, 1234.5);
        reads("1.234,5", Kind::Pressure, Si, 1234.5);
        reads("1,234,567", Kind::Pressure, Si, 1_234_567.0);
        let error = parse("1,234 Pa", Kind::Pressure, Si).unwrap_err();
        assert_eq!(error.to_string(), "“1,234 Pa” could mean 1234 or 1.234: type one of these");
    }

    #[test]
    fn refusals_say_why() {
        let why = |text, kind| parse(text, kind, Si).unwrap_err().to_string();
        assert_eq!(parse("  ", Kind::Length, Si), Err(UnitError::Empty));
        assert!(why("wide", Kind::Length).contains("not a number"));
        assert!(why("12 bananas", Kind::Length).contains("no unit known here: use m, mm, cm, ft, in"));
        assert!(why("12 Pa", Kind::Length).contains("measures a pressure, but a length is wanted"));
        assert!(why("800 cfm", Kind::VolumeFlow).contains("acfm"));
        assert!(why("800 scfm", Kind::VolumeFlow).contains("acfm"));
        assert!(why("1/0 in", Kind::Length).contains("divides by zero"));
        assert!(why("12 000", Kind::Pressure).contains("more than one number"));
        assert!(why("3 4", Kind::Length).contains("more than one number"));
        assert!(why("2 m - 30 cm", Kind::Length).contains("more than one number"));
        assert!(why("2 m \u{2212} 30 cm", Kind::Length).contains("more than one number"));
        assert!(why("6\" - 2\"", Kind::Length).contains("more than one number"));
        assert!(why("1e999", Kind::Length).contains("too large"));
        assert!(why("-", Kind::Length).contains("not a number"));
        assert!(why("1,23,4", Kind::Length).contains("not a number"));
    }

    #[test]
    fn what_is_shown_reads_back_within_its_rounding_and_what_is_edited_within_six_digits() {
        let mut seed = 7_u64;
        for (kind, _) in KINDS {
            for system in [Si, InchPound] {
                let shown = table::shown(kind, system);
                for _ in 0..500 {
                    seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
                    let unit = (seed >> 11) as f64 / (1_u64 << 53) as f64;
                    let value = (unit - 0.3) * 2_000.0 * shown.unit.factor();
                    let step = libm::pow(0.1, shown.digits as f64) * shown.unit.factor();
                    let back =
                        parse(&show(value, kind, system), kind, system).expect("what is shown can be typed");
                    assert!((back - value).abs() <= step * 0.500_001, "{kind:?} {system:?} {value}");
                    let text = edit_number(value, kind, system);
                    let back = parse(&text, kind, system).expect("what is edited can be typed");
                    let size = value.abs() + shown.unit.zero().abs();
                    assert!((back - value).abs() <= 1e-5 * size, "{kind:?} {system:?} {value} {text}");
                    // Shown again it is the same text: leaving a field unchanged changes nothing.
                    assert_eq!(edit_number(back, kind, system), text);
                }
            }
        }
    }

    #[test]
    fn no_text_makes_it_fall_over() {
        let pieces =
            ["1", ",", ".", "/", " ", "'", "\"", "-", "+", "e", "ft", "½", "é", "in", "0", "°F", "w.c."];
        let mut seed = 3_u64;
        for _ in 0..20_000 {
            let mut text = String::new();
            for _ in 0..7 {
                seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
                text.push_str(pieces[(seed >> 33) as usize % pieces.len()]);
            }
            for (kind, _) in KINDS {
                if let Ok(value) = parse(&text, kind, Si) {
                    assert!(value.is_finite());
                }
            }
        }
    }
}
