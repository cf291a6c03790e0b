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
    points.windows(2).map(|pair| got_between(schedule, pair, line_m_s)).sum()
}

fn got_between(schedule: &Schedule, pair: &[PartPoint], line_m_s: f64) -> f64 {
    let least = schedule.least_c();
    let (a, b) = (pair[0].skin_c, pair[1].skin_c);
    let share = time_above(a, b, least);
    if share == 0.0 {
        return 0.0;
    }
    let seconds = (pair[1].station_m - pair[0].station_m) / line_m_s;
    let rate = 0.5 * (schedule.rate(a.max(least)) + schedule.rate(b.max(least)));
    share * seconds * rate
}

/// Where on the path the cure index has come to `wanted`, m; none where it never does.
fn cured_at_m(schedule: &Schedule, points: &[PartPoint], line_m_s: f64, wanted: f64) -> Option<f64> {
    let mut sum = 0.0;
    points.windows(2).find_map(|pair| {
        let got = got_between(schedule, pair, line_m_s);
        sum += got;
        (sum >= wanted)
            .then(|| pair[1].station_m - (pair[1].station_m - pair[0].station_m) * (sum - wanted) / got)
    })
}

/// One temperature of a cure window.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CureLimit {
    /// Metal temperature, °C.
    pub temperature_c: f64,
    /// Least time at it, s: less is under-cured.
    pub cure_s: f64,
    /// Longest time at it, s: more is over-baked; none where the coating names no limit.
    pub over_bake_s: Option<f64>,
}

/// The cure window of a coating: the times that metal may stand at each temperature.
///
/// t_least = t_req(T) of [`Schedule::seconds_at`], t_most = n·t_least with n the times the cure that the coating bears.
/// T in °C goes from the coolest schedule to where it discolours, or 10 K past the hottest schedule. A part of cure
/// index I whose skin peaks at T stands in it at the equivalent time I·t_req(T). Empty without a schedule. Source: the
/// supplier's schedules and limits, as entered.
///
/// ```
/// let schedule = engine::heat::part::Schedule::new([(190.0, 720.0), (210.0, 480.0)]).unwrap();
/// let window = engine::heat::parts::cure_window(&schedule, Some(2.5), Some(230.0));
/// let (first, last) = (window[0], window[window.len() - 1]);
/// assert_eq!((first.temperature_c, first.cure_s, first.over_bake_s), (190.0, 720.0, Some(1_800.0)));
/// assert_eq!((last.temperature_c, last.cure_s), (230.0, 480.0));
/// ```
pub fn cure_window(
    schedule: &Schedule,
    bears_times: Option<f64>,
    discolours_c: Option<f64>,
) -> Vec<CureLimit> {
    let (least, hottest) = (schedule.least_c(), schedule.most_c());
    let most = discolours_c.filter(|c| *c > least).unwrap_or(hottest + 10.0);
    let mut at: Vec<f64> = (0..=24).map(|k| least + (most - least) * f64::from(k) / 24.0).collect();
    // Where the shortest schedule begins to hold, the line has a corner.
    at.extend([hottest].into_iter().filter(|c| *c < most));
    crate::numerics::sort_numbers(&mut at);
    at.into_iter()
        .filter_map(|temperature_c| {
            let cure_s = schedule.seconds_at(temperature_c)?;
            let over_bake_s = bears_times.filter(|times| *times >= 1.0).map(|times| times * cure_s);
            Some(CureLimit { temperature_c, cure_s, over_bake_s })
        })
        .collect()
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
    pub fn judge_part(&self, hung: &Hung) -> Option<PartHeat> {
        let line = self.line_m_s()?;
        let air_c = &self.thermal.as_ref()?.bays_c;
        let pass = |line_m_s: f64| self.pass(hung, line_m_s, air_c);
        let passed = pass(line);
        let schedule = schedule(self.plan);
        let coating = self.plan.coating.as_ref();
        let cure_c = schedule.as_ref().map(Schedule::least_c);
        let index = |passed: &Passed, line_m_s: f64| {
            schedule.as_ref().map(|schedule| cure_index(schedule, passed.coated(), line_m_s))
        };
        let at_speed = |line_m_s: f64| index(&pass(line_m_s), line_m_s).unwrap_or(0.0);
        let now = index(&passed, line);
        let limit = coating.and_then(|coating| coating.over_bake_times).filter(|times| *times >= 1.0);
        let reached = |wanted| cured_at_m(schedule.as_ref()?, passed.coated(), line, wanted);
        let (cured_at_m, over_baked_at_m) = (reached(1.0), limit.and_then(reached));
        let (fastest_m_s, slowest_m_s) = match now {
            Some(now) => {
                let slowest = limit.and_then(|times| speed_where(times, line, now, &at_speed));
                (speed_where(1.0, line, now, &at_speed), slowest)
            }
            None => (None, None),
        };
        let first = passed.coated().first()?.station_m;
        let skins = || passed.coated().iter().map(|point| point.skin_c);
        let (mut bring_up_s, mut dwell_s) = (None, 0.0);
        if let Some(cure) = cure_c {
            for pair in passed.coated().windows(2) {
                let (a, b) = (pair[0].skin_c, pair[1].skin_c);
                let length = pair[1].station_m - pair[0].station_m;
                dwell_s += time_above(a, b, cure) * length / line;
                if bring_up_s.is_none() && b >= cure {
                    let share = if a < cure { (cure - a) / (b - a) } else { 0.0 };
                    bring_up_s = Some((pair[0].station_m + share * length - first) / line);
                }
            }
        }
        let peak_c = skins().fold(f64::NEG_INFINITY, f64::max);
        let at_peak = schedule.as_ref().and_then(|schedule| schedule.seconds_at(peak_c));
        Some(PartHeat {
            id: hung.id.clone(),
            biot: passed.biot,
            is_thick: passed.is_thick,
            exit_c: skins().next_back()?,
            peak_c,
            cure_c,
            bring_up_s,
            dwell_s,
            cure_index: now,
            fastest_m_s,
            slowest_m_s,
            cured_at_m,
            over_baked_at_m,
            equivalent_s: now.zip(at_peak).map(|(index, seconds)| index * seconds),
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_at_one_temperature_is_cured_where_its_time_is_up() {
        let schedule = Schedule::new([(190.0, 720.0), (210.0, 480.0)]).expect("two schedules");
        let at = |station_m: f64| PartPoint { station_m, skin_c: 210.0, ..PartPoint::default() };
        let points = [at(1.0), at(5.0), at(20.0)];
        // 480 s at 0.02 m/s are 9.6 m.
        let cured = cured_at_m(&schedule, &points, 0.02, 1.0).expect("it cures");
        assert!((cured - 10.6).abs() < 1e-9, "{cured}");
        assert_eq!(cured_at_m(&schedule, &points, 0.02, 2.0), None);
    }
}
