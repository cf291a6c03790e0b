//! Axes that plotters can be trusted with: finite, ordered, of some length, with round marks.

use super::display::{Display, round_step, tick_text};
use std::ops::Range;

/// The finite ones of `values` as a range, padded by `pad` of its length; at least `least` long.
///
/// Plotters panics on not-a-number and can loop for ever on absurd ranges: every axis comes from here.
pub fn guarded(values: impl IntoIterator<Item = f64>, pad: f64, least: f64) -> Range<f64> {
    let (low, high) = values
        .into_iter()
        .filter(|v| v.is_finite() && v.abs() < 1e12)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
    if low > high {
        return 0.0..least;
    }
    let (low, high) = (low - pad * (high - low), high + pad * (high - low));
    let missing = (least - (high - low)).max(0.0) / 2.0;
    (low - missing)..(high + missing)
}

/// `range` widened to round ends, so that an axis stays as it is while what it shows changes a little.
pub fn settled(range: Range<f64>) -> Range<f64> {
    let step = round_step(range.end - range.start, 12);
    let (start, end) = ((range.start / step + 1e-9).floor(), (range.end / step - 1e-9).ceil());
    if start < end { start * step..end * step } else { range }
}

/// `range` clipped to numbers an axis can hold.
pub fn finite(points: impl IntoIterator<Item = (f64, f64)>) -> Vec<(f64, f64)> {
    points
        .into_iter()
        .filter(|(x, y)| x.is_finite() && y.is_finite() && x.abs() < 1e12 && y.abs() < 1e12)
        .collect()
}

/// The round marks of an axis.
#[derive(Clone, Debug, PartialEq)]
pub struct Ticks {
    /// Each mark in SI, with what stands beside it.
    pub marks: Vec<(f64, String)>,
}

impl Ticks {
    /// At most about `most` marks in `range` (SI), round in the reader's unit.
    pub fn new(range: &Range<f64>, display: Display, most: usize) -> Self {
        let (a, b) = (display.number(range.start), display.number(range.end));
        let step = round_step(b - a, most);
        let (first, last) = ((a / step - 1e-9).ceil(), (b / step + 1e-9).floor());
        let n = if (last - first).is_finite() { (last - first + 1.0).clamp(0.0, 100.0) as usize } else { 0 };
        let marks = (0..n)
            .map(|i| (first + i as f64) * step)
            .map(|number| (display.si(number), tick_text(number, step)))
            .collect();
        Self { marks }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use engine::units::{Kind, UnitSystem};

    #[test]
    fn bad_numbers_never_reach_an_axis() {
        assert_eq!(guarded([f64::NAN, f64::INFINITY], 0.1, 2.0), 0.0..2.0);
        assert_eq!(guarded([5.0, 5.0, f64::NAN], 0.1, 2.0), 4.0..6.0);
        assert_eq!(guarded([0.0, 10.0, f64::NEG_INFINITY], 0.0, 1.0), 0.0..10.0);
        assert_eq!(finite([(1.0, f64::NAN), (1.0, 2.0), (f64::INFINITY, 0.0)]), [(1.0, 2.0)]);
    }

    #[test]
    fn an_axis_stays_while_its_values_change_a_little() {
        let ends = settled(-3.1..81.0);
        assert_eq!(ends, -10.0..90.0);
        for range in [-4.0..80.2, -1.0..84.0, -10.0..90.0] {
            assert_eq!(settled(range), ends);
        }
        assert_eq!(settled(0.0..0.25), 0.0..0.25);
        assert_eq!(settled(5.0..5.0), 5.0..5.0);
    }

    #[test]
    fn marks_are_round_in_the_readers_unit() {
        let d = Display::of(Kind::Pressure, UnitSystem::InchPound);
        let ticks = Ticks::new(&(0.0..1620.0), d, 5);
        let words: Vec<&str> = ticks.marks.iter().map(|m| m.1.as_str()).collect();
        assert_eq!(words, ["0", "2", "4", "6"]);
        assert!((ticks.marks[1].0 - 498.18).abs() < 0.1);
        let si = Ticks::new(&(-3.0..11.0), Display::of(Kind::Length, UnitSystem::Si), 8);
        assert_eq!(si.marks.first().map(|m| m.1.as_str()), Some("\u{2212}2"));
    }
}
