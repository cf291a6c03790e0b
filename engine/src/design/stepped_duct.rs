//! Equal slots on a duct that gets smaller along its way.

use super::cutting::style;
use super::exact::{needs, needs_from, with_speed};
use crate::error::EngineError;
use crate::network::Solution;
use crate::plan::{BuildStyle, Plan, Section, ShopRecord, SizeStep};

/// Rounds over all slots at which a size may move.
const ROUNDS: usize = 24;
/// Sections looked at when leaving out those that are not needed.
const MOST_SECTIONS: usize = 8;
/// Areas within this ratio are close enough to do without a section.
const CLOSE: f64 = 1.015;
/// Steps of duct sizes tried when asked for the nearest plan, m.
const FINER_M: [f64; 2] = [0.025, 0.010];
/// Fan speeds tried then.
const FASTER_PERCENT: [f64; 3] = [10.0, 20.0, 40.0];
/// Slots nearer to each other than this are in the same piece of duct, m.
const LEAST_PIECE_M: f64 = 0.020;
/// Ducts are made every so far where the shop record has no list, m.
const USUAL_STEP_M: f64 = 0.050;

/// Sides and diameters the shop makes ducts in up to `most_m`, rising. `most_m` itself is one where it is drawn
/// already, or where the shop record lists no sizes.
pub(super) fn stock_sizes(shop: &ShopRecord, least_m: f64, most_m: f64, drawn: bool) -> Vec<f64> {
    let mut sizes = if shop.duct_sizes_m.is_empty() {
        let steps = (most_m / USUAL_STEP_M + 1e-9).floor() as i64;
        (1..=steps).map(|n| (n as f64 * USUAL_STEP_M * 1e9).round() / 1e9).collect()
    } else {
        shop.duct_sizes_m.clone()
    };
    if drawn || shop.duct_sizes_m.is_empty() {
        sizes.push(most_m);
    }
    sizes.retain(|&size| size >= least_m - 1e-9 && size <= most_m + 1e-9);
    crate::numerics::sort_numbers(&mut sizes);
    sizes.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
    sizes
}

/// A section of this height (of a round one: diameter).
pub(super) fn of_height(section: Section, height: f64) -> Section {
    match section {
        Section::Rectangular { width_m, .. } => Section::Rectangular { width_m, height_m: height },
        Section::Round { .. } => Section::Round { diameter_m: height },
    }
}

/// Height of a section (of a round one: diameter), m.
pub(super) fn height_m(section: Section) -> f64 {
    match section {
        Section::Rectangular { height_m, .. } => height_m,
        Section::Round { diameter_m } => diameter_m,
    }
}

/// A duct whose sections are being chosen.
struct Run {
    duct: usize,
    /// Stations of its slots, rising, m.
    stations_m: Vec<f64>,
    sizes: Vec<f64>,
    /// Which size the duct has at each slot; never larger than before.
    chosen: Vec<usize>,
    score: Score,
}

/// How far the areas of a run's equal slots are apart.
#[derive(Clone, Copy, PartialEq)]
struct Score {
    /// Largest over smallest, the worst of its rows.
    ratio: f64,
    /// The same with a little of the mean square, so that slots between the two extremes count too.
    all: f64,
}

const UNKNOWN: Score = Score { ratio: f64::INFINITY, all: f64::INFINITY };

/// Steps the duct of every row whose slots are all alike, so that each needs the same width.
///
/// With all slots at their targets the law gives the area each would need. Along each run sections are made larger or
/// smaller, one stock size at one slot at a time and never larger than before it, while that lowers the ratio of the
/// largest to the smallest area; then sections that are not needed for that are left out. The search begins with the
/// velocity of the first section kept all along. All flows are set, so runs do not disturb each other and are tried
/// together. The first section stays as drawn.
pub(super) fn step_ducts(plan: &Plan) -> Result<Plan, EngineError> {
    let mut search = Search::new(plan);
    if search.runs.is_empty() {
        return Ok(plan.clone());
    }
    search.improve()?;
    search.simplify()?;
    Ok(search.plan_with_steps())
}

/// The nearest plan whose equal slots would be within `limit_percent` of their shares: by finer duct sizes, or by more
/// fan speed, which makes the velocity in the duct matter less. Computed by trying; `None` where neither does.
pub(super) fn nearest(plan: &Plan, limit_percent: f64) -> Option<String> {
    let within = 0.01 * limit_percent;
    let does = |plan: &Plan| {
        let mut search = Search::new(plan);
        let most = (1.0 + within) / (1.0 - within);
        search.improve().is_ok() && search.runs.iter().all(|run| run.score.ratio <= most)
    };
    let mut ways = Vec::new();
    let finer = FINER_M.iter().find(|&&step_m| {
        let mut changed = plan.clone();
        let steps = (plan.enclosure.height_m / step_m).floor() as i64;
        changed.shop.duct_sizes_m = (1..=steps).map(|n| super::in_steps(n, step_m)).collect();
        does(&changed)
    });
    ways.extend(finer.map(|step_m| format!("duct sizes every {:.0} mm", 1e3 * step_m)));
    let allowed = plan.heater.fan.allowed_speed_rpm().unwrap_or(f64::INFINITY);
    let faster = FASTER_PERCENT.iter().find(|&&percent| {
        let factor = 1.0 + 0.01 * percent;
        plan.heater.fan.speed_rpm * factor <= allowed && does(&with_speed(plan, factor))
    });
    ways.extend(faster.map(|percent| format!("{percent:.0} % more fan speed")));
    (!ways.is_empty()).then(|| ways.join(", or "))
}

struct Search<'a> {
    plan: &'a Plan,
    runs: Vec<Run>,
    last: Option<Solution>,
}

impl<'a> Search<'a> {
    fn new(plan: &'a Plan) -> Self {
        let mut runs = Vec::new();
        for (index, duct) in plan.ducts.iter().enumerate() {
            let rows = plan.slot_rows.iter().filter(|row| row.duct == duct.id);
            let rows = rows.filter(|row| style(plan, row) == BuildStyle::SteppedDuct);
            let mut stations_m: Vec<f64> =
                rows.flat_map(|row| (0..row.count as usize).map(|k| row.station_m(k))).collect();
            if stations_m.is_empty() {
                continue;
            }
            crate::numerics::sort_numbers(&mut stations_m);
            stations_m.dedup_by(|a, b| *a - *b < LEAST_PIECE_M);
            let root = height_m(duct.section);
            let sizes = stock_sizes(&plan.shop, 0.25 * root, root, true);
            let n = stations_m.len();
            let chosen = (0..n)
                .map(|k| {
                    let wanted = root * (n - k) as f64 / n as f64;
                    sizes.iter().position(|&size| size >= wanted - 1e-9).unwrap_or(sizes.len() - 1)
                })
                .collect();
            runs.push(Run { duct: index, stations_m, sizes, chosen, score: UNKNOWN });
        }
        Self { plan, runs, last: None }
    }

    /// Moves the size at single slots by one while that helps.
    fn improve(&mut self) -> Result<(), EngineError> {
        let begun = self.chosen();
        self.set(|run| vec![run.sizes.len() - 1; run.stations_m.len()]);
        let drawn = self.scores()?;
        self.keep(drawn, &begun);
        let drawn = self.chosen();
        self.runs.iter_mut().zip(begun).for_each(|(run, chosen)| run.chosen = chosen);
        let first = self.scores()?;
        self.keep(first, &drawn);
        for _ in 0..ROUNDS {
            let moves: Vec<Vec<(usize, bool)>> = self.runs.iter().map(Run::moves).collect();
            let most = moves.iter().map(Vec::len).max().unwrap_or(0);
            let mut helped = false;
            for i in 0..most {
                let before = self.chosen();
                for (run, moves) in self.runs.iter_mut().zip(&moves) {
                    if let Some(&(slot, up)) = moves.get(i) {
                        run.shift(slot, up);
                    }
                }
                let tried = self.scores()?;
                helped |= self.keep(tried, &before);
            }
            if !helped {
                break;
            }
        }
        Ok(())
    }

    /// Leaves out sections, the shortest first, while the areas stay within [`CLOSE`] or no further apart than before.
    fn simplify(&mut self) -> Result<(), EngineError> {
        for turn in 0..MOST_SECTIONS {
            let before = self.chosen();
            for run in &mut self.runs {
                run.merge(turn);
            }
            let tried = self.scores()?;
            for ((run, old), score) in self.runs.iter_mut().zip(before).zip(tried) {
                if score.ratio <= f64::max(CLOSE, run.score.ratio) {
                    run.score = score;
                } else {
                    run.chosen = old;
                }
            }
        }
        Ok(())
    }

    fn chosen(&self) -> Vec<Vec<usize>> {
        self.runs.iter().map(|run| run.chosen.clone()).collect()
    }

    fn set(&mut self, sizes: impl Fn(&Run) -> Vec<usize>) {
        for run in &mut self.runs {
            run.chosen = sizes(run);
        }
    }

    /// Each run keeps what helps it, else goes back to `before`; whether any did.
    fn keep(&mut self, tried: Vec<Score>, before: &[Vec<usize>]) -> bool {
        let mut helped = false;
        for ((run, old), score) in self.runs.iter_mut().zip(before).zip(tried) {
            if score.all < run.score.all - 1e-6 {
                (run.score, helped) = (score, true);
            } else {
                run.chosen.clone_from(old);
            }
        }
        helped
    }

    /// The plan with the sections chosen.
    fn plan_with_steps(&self) -> Plan {
        let mut changed = self.plan.clone();
        for run in &self.runs {
            let duct = &mut changed.ducts[run.duct];
            duct.steps.clear();
            for k in 1..run.chosen.len() {
                if run.chosen[k] != run.chosen[k - 1] {
                    let middle = 0.5 * (run.stations_m[k - 1] + run.stations_m[k]);
                    let section = of_height(duct.section, run.sizes[run.chosen[k]]);
                    duct.steps.push(SizeStep { station_m: (middle * 1e3).round() / 1e3, section });
                }
            }
        }
        changed
    }

    /// How far apart the areas are that the slots of each run would need; unknown where one cannot be had.
    fn scores(&mut self) -> Result<Vec<Score>, EngineError> {
        let plan = self.plan_with_steps();
        let Ok(needs) = needs_from(&plan, self.last.as_ref()) else {
            // Nothing to begin with is for the caller to tell; a trial that fails is none.
            if self.last.is_none() {
                needs(&plan)?;
            }
            return Ok(vec![UNKNOWN; self.runs.len()]);
        };
        let mut areas: Vec<Vec<f64>> = vec![Vec::new(); plan.slot_rows.len()];
        let mut rows: Vec<Vec<usize>> = vec![Vec::new(); plan.ducts.len()];
        for (site, need) in needs.built.slots.iter().zip(&needs.slots) {
            if style(&plan, &plan.slot_rows[site.row]) == BuildStyle::SteppedDuct {
                if areas[site.row].is_empty() {
                    rows[site.duct].push(site.row);
                }
                areas[site.row].push(need.area_m2.unwrap_or(f64::INFINITY));
            }
        }
        let score = |areas: &[f64]| {
            let (low, high) =
                areas.iter().fold((f64::INFINITY, 0.0_f64), |(low, high), &a| (low.min(a), high.max(a)));
            let mean = areas.iter().sum::<f64>() / areas.len() as f64;
            let square = areas.iter().map(|a| (a / mean - 1.0) * (a / mean - 1.0)).sum::<f64>();
            let ratio = high / low;
            if high.is_finite() && low > 0.0 {
                Score { ratio, all: ratio + 0.2 * (square / areas.len() as f64).sqrt() }
            } else {
                UNKNOWN
            }
        };
        let worst = |a: Score, b: Score| if b.all > a.all { b } else { a };
        let of_run = |run: &Run| {
            rows[run.duct].iter().map(|&row| score(&areas[row])).fold(Score { ratio: 1.0, all: 0.0 }, worst)
        };
        let scores = self.runs.iter().map(of_run).collect();
        self.last = Some(needs.solution);
        Ok(scores)
    }
}

impl Run {
    /// Single slots whose size may be moved by one, up or down.
    fn moves(&self) -> Vec<(usize, bool)> {
        let c = &self.chosen;
        let ends = |k: usize| k + 1 == c.len() || c[k + 1] < c[k];
        let mut moves = Vec::new();
        for k in 1..c.len() {
            if c[k] < c[k - 1] {
                moves.push((k, true));
            }
            if ends(k) && c[k] > 0 {
                moves.push((k, false));
            }
        }
        moves
    }

    /// Moves the size at `slot` by one where the sizes still only fall.
    fn shift(&mut self, slot: usize, up: bool) {
        let c = &mut self.chosen;
        if up && c[slot] < c[slot - 1] {
            c[slot] += 1;
        } else if !up && c[slot] > c.get(slot + 1).copied().unwrap_or(0) {
            c[slot] -= 1;
        }
    }

    /// Gives the `turn`-th shortest section but the first the size of the one before it.
    fn merge(&mut self, turn: usize) {
        let starts: Vec<usize> =
            (1..self.chosen.len()).filter(|&k| self.chosen[k] != self.chosen[k - 1]).collect();
        let end = |i: usize| starts.get(i + 1).copied().unwrap_or(self.chosen.len());
        let mut order: Vec<usize> = (0..starts.len()).collect();
        crate::numerics::sort_short(&mut order, |&a, &b| {
            (end(a) - starts[a]).cmp(&(end(b) - starts[b])).then(a.cmp(&b))
        });
        let Some(&i) = order.get(turn) else { return };
        let (from, to, size) = (starts[i], end(i), self.chosen[starts[i] - 1]);
        self.chosen[from..to].fill(size);
    }
}
