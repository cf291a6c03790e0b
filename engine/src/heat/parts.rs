//! Whether a part cures on its way, and how fast or slow the line could run.

use super::coupled::Coupled;
use super::part::Schedule;
use super::results::PartHeat;
use super::way::{Hung, PartPoint, Passed};
use crate::plan::Plan;

/// Line speeds are looked for within this factor of the plan's.
const SPEED_RANGE: f64 = 64.0;
/// Bisections of a speed in its last step.
const REFINEMENTS: usize = 12;

/// The schedule of a plan's coating.
pub fn schedule(plan: &Plan) -> Option<Schedule> {
    let coating = plan.coating.as_ref()?;
    Schedule::new(coating.cure_points.iter().map(|point| (point.temperature_c, 60.0 * point.minutes)))
}

/// Share of its cure a skin gets along `points` at `line_m_s`: ∫ dt/t_req(T).
///
/// Between two points the skin goes in a straight line; only the time above the schedule's least temperature counts.
pub fn cure_index(schedule: &Schedule, points: &[PartPoint], line_m_s: f64) -> f64 {
    let least = schedule.least_c();
    points
        .windows(2)
        .map(|pair| {
            let (a, b) = (pair[0].skin_c, pair[1].skin_c);
            let share = time_above(a, b, least);
            if share == 0.0 {
                return 0.0;
            }
            let seconds = (pair[1].station_m - pair[0].station_m) / line_m_s;
            let rate = 0.5 * (schedule.rate(a.max(least)) + schedule.rate(b.max(least)));
            share * seconds * rate
        })
        .sum()
}

/// Share of a straight way from `a` to `b` that lies above `level`.
fn time_above(a: f64, b: f64, level: f64) -> f64 {
    let (low, high) = (a.min(b), a.max(b));
    if high < level {
        0.0
    } else if low >= level {
        1.0
    } else {
        (high - level) / (high - low)
    }
}

impl Coupled<'_> {
    /// What becomes of a part in the oven's air.
    pub fn judge_part(&self, hung: &Hung, speeds: &[f64]) -> Option<PartHeat> {
        let line = self.line_m_s()?;
        let air_c = &self.thermal.as_ref()?.bays_c;
        let pass = |line_m_s: f64| self.pass(hung, line_m_s, air_c, speeds);
        let passed = pass(line);
        let first = passed.points.first()?.station_m;
        let schedule = schedule(self.plan);
        let coating = self.plan.coating.as_ref();
        let cure_c = coating.and_then(|coating| coating.cure_points.first()).map(|point| point.temperature_c);
        let index = |passed: &Passed, line_m_s: f64| {
            schedule.as_ref().map(|schedule| cure_index(schedule, &passed.points, line_m_s))
        };
        let at_speed = |line_m_s: f64| index(&pass(line_m_s), line_m_s).unwrap_or(0.0);
        let now = index(&passed, line);
        let (fastest_m_s, slowest_m_s) = match now {
            Some(now) => {
                let limit = coating.and_then(|coating| coating.over_bake_times).filter(|times| *times >= 1.0);
                let slowest = limit.and_then(|times| speed_where(times, line, now, &at_speed));
                (speed_where(1.0, line, now, &at_speed), slowest)
            }
            None => (None, None),
        };
        let skins = || passed.points.iter().map(|point| point.skin_c);
        let (mut bring_up_s, mut dwell_s) = (None, 0.0);
        if let Some(cure) = cure_c {
            for pair in passed.points.windows(2) {
                let (a, b) = (pair[0].skin_c, pair[1].skin_c);
                let length = pair[1].station_m - pair[0].station_m;
                dwell_s += time_above(a, b, cure) * length / line;
                if bring_up_s.is_none() && b >= cure {
                    let share = if a < cure { (cure - a) / (b - a) } else { 0.0 };
                    bring_up_s = Some((pair[0].station_m + share * length - first) / line);
                }
            }
        }
        Some(PartHeat {
            id: hung.id.clone(),
            biot: passed.biot,
            is_thick: passed.is_thick,
            exit_c: skins().next_back()?,
            peak_c: skins().fold(f64::NEG_INFINITY, f64::max),
            cure_c,
            bring_up_s,
            dwell_s,
            cure_index: now,
            fastest_m_s,
            slowest_m_s,
            coated_from_m: passed.coated_from_m,
            wet_share: passed.wet_share,
            points: passed.points,
        })
    }
}

/// The line speed at which the cure index is `wanted`: it falls with speed in given air. `None` where no speed
/// within the range has it.
fn speed_where(wanted: f64, line_m_s: f64, now: f64, index_at: &dyn Fn(f64) -> f64) -> Option<f64> {
    let is_more = now >= wanted;
    let factor: f64 = if is_more { 1.5 } else { 1.0 / 1.5 };
    let (mut near, mut far) = (line_m_s, line_m_s * factor);
    while (index_at(far) >= wanted) == is_more {
        near = far;
        far *= factor;
        if !(line_m_s / SPEED_RANGE..=line_m_s * SPEED_RANGE).contains(&far) {
            return None;
        }
    }
    for _ in 0..REFINEMENTS {
        let middle = (near * far).sqrt();
        if (index_at(middle) >= wanted) == is_more { near = middle } else { far = middle }
    }
    // The side on which the wish is met.
    Some(if is_more { near } else { far })
}
