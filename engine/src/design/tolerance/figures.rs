//! Figures of evenness: of one set of flows, and of many.

use crate::network::from_plan::SlotSite;
use serde::{Deserialize, Serialize};

/// Slots within this distance of each other along a run are one bay, m.
pub const BAY_M: f64 = 1.0;

/// How far flows are from their targets, all measured against their own total: the balancer brings the
/// total right at the fan.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Figures {
    /// The bay furthest from its share, %.
    pub worst_bay_percent: f64,
    /// The slot furthest from its share, %.
    pub worst_slot_percent: f64,
    /// Standard deviation over the slots, weighted by target, %.
    pub cv_percent: f64,
}

/// A bay: neighbouring slots of one run.
#[derive(Clone, Debug, PartialEq)]
pub struct Bay {
    /// Index of the duct in the plan.
    pub duct: usize,
    /// Indices of its slots.
    pub slots: Vec<usize>,
    /// First and last station, m.
    pub from_m: f64,
    /// Last station, m.
    pub to_m: f64,
    /// Target of all its slots, kg/s.
    target: f64,
}

/// Slots by run and station, a new bay begun where a slot lies [`BAY_M`] or more from the first of the last.
pub fn bays(sites: &[SlotSite], targets: &[f64]) -> Vec<Bay> {
    let mut order: Vec<usize> = (0..sites.len()).collect();
    crate::numerics::sort_short(&mut order, |&a, &b| {
        let (a, b) = (&sites[a], &sites[b]);
        (a.duct, a.zone).cmp(&(b.duct, b.zone)).then(a.station_m.total_cmp(&b.station_m))
    });
    let mut bays: Vec<Bay> = Vec::new();
    let mut zone = None;
    for i in order {
        let site = &sites[i];
        match bays.last_mut() {
            Some(bay)
                if bay.duct == site.duct
                    && zone == Some(site.zone)
                    && site.station_m - bay.from_m < BAY_M - 1e-9 =>
            {
                bay.slots.push(i);
                bay.to_m = site.station_m;
                bay.target += targets[i];
            }
            _ => bays.push(Bay {
                duct: site.duct,
                slots: vec![i],
                from_m: site.station_m,
                to_m: site.station_m,
                target: targets[i],
            }),
        }
        zone = Some(site.zone);
    }
    bays
}

/// Deviations of one set of flows.
pub struct Deviations {
    pub figures: Figures,
    /// Each bay's, 1 for 100 %.
    pub bays: Vec<f64>,
    /// The slot furthest from its share.
    pub worst_slot: usize,
    /// The same of each bay.
    pub worst_of_bays: Vec<usize>,
}

/// Deviation of every bay, and the figures.
pub fn deviations(flows: &[f64], targets: &[f64], bays: &[Bay]) -> Deviations {
    let (all, wanted): (f64, f64) = (flows.iter().sum(), targets.iter().sum());
    let scale = wanted / all;
    let mut found = Deviations {
        figures: Figures::default(),
        bays: Vec::with_capacity(bays.len()),
        worst_slot: 0,
        worst_of_bays: Vec::with_capacity(bays.len()),
    };
    let mut squares = 0.0;
    for (i, (flow, target)) in flows.iter().zip(targets).enumerate() {
        let off = scale * flow / target - 1.0;
        squares += target * off * off;
        if 100.0 * off.abs() > found.figures.worst_slot_percent {
            (found.figures.worst_slot_percent, found.worst_slot) = (100.0 * off.abs(), i);
        }
    }
    found.figures.cv_percent = 100.0 * (squares / wanted).sqrt();
    for bay in bays {
        let off = scale * bay.slots.iter().map(|&i| flows[i]).sum::<f64>() / bay.target - 1.0;
        found.figures.worst_bay_percent = found.figures.worst_bay_percent.max(100.0 * off.abs());
        found.bays.push(off);
        let of = |&i: &usize| (scale * flows[i] / targets[i] - 1.0).abs();
        let worst = bay.slots.iter().copied().reduce(|a, b| if of(&b) > of(&a) { b } else { a });
        found.worst_of_bays.extend(worst);
    }
    found
}

/// The value below which a share `p` of `values` lies, by straight lines between them (Hyndman & Fan 1996,
/// type 7). Sorts them.
///
/// ```
/// assert_eq!(engine::design::quantile(&mut [3.0, 1.0, 2.0], 0.75), 2.5);
/// ```
pub fn quantile(values: &mut [f64], p: f64) -> f64 {
    crate::numerics::sort_numbers(values);
    let Some(last) = values.len().checked_sub(1) else { return f64::NAN };
    let place = p * last as f64;
    let below = place.floor() as usize;
    let above = (below + 1).min(last);
    values[below] + (place - below as f64) * (values[above] - values[below])
}

/// Counts in steps of equal width.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Histogram {
    /// Where the first step begins, %.
    pub from_percent: f64,
    /// Width of a step, %.
    pub step_percent: f64,
    /// Samples by their worst bay.
    pub worst_bay: Vec<u32>,
    /// Samples by their worst slot.
    pub worst_slot: Vec<u32>,
}

/// Steps of a histogram.
const STEPS: usize = 24;

impl Histogram {
    /// Counts of both figures over one common axis.
    pub fn of(figures: &[Figures]) -> Self {
        let values = || figures.iter().flat_map(|f| [f.worst_bay_percent, f.worst_slot_percent]);
        let (low, high) = values().fold((f64::INFINITY, 0.0_f64), |(low, high), v| (low.min(v), high.max(v)));
        let step_percent = ((high - low) / STEPS as f64).max(1e-9);
        let count = |value: &dyn Fn(&Figures) -> f64| {
            let mut counts = vec![0; STEPS];
            for figure in figures {
                counts[(((value(figure) - low) / step_percent) as usize).min(STEPS - 1)] += 1;
            }
            counts
        };
        Self {
            from_percent: low,
            step_percent,
            worst_bay: count(&|f| f.worst_bay_percent),
            worst_slot: count(&|f| f.worst_slot_percent),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn site(duct: usize, station_m: f64) -> SlotSite {
        SlotSite { id: String::new(), branch: 0, row: 0, index: 0, duct, zone: 0, station_m }
    }

    #[test]
    fn bays_are_a_metre_of_one_run() {
        let sites = [site(1, 0.0), site(0, 0.0), site(0, 0.5), site(0, 1.0), site(0, 1.9), site(0, 2.0)];
        let bays = bays(&sites, &[1.0; 6]);
        let slots: Vec<_> = bays.iter().map(|bay| bay.slots.as_slice()).collect();
        assert_eq!(slots, [&[1, 2][..], &[3, 4], &[5], &[0]]);
    }

    #[test]
    fn errors_within_a_bay_even_out_and_the_total_does_not_count() {
        let sites = [site(0, 0.0), site(0, 0.4), site(1, 0.0)];
        let targets = [1.0, 1.0, 2.0];
        let bays = bays(&sites, &targets);
        let found = deviations(&[3.3, 2.7, 6.0], &targets, &bays);
        assert!((found.figures.worst_slot_percent - 10.0).abs() < 1e-9);
        assert!(found.figures.worst_bay_percent < 1e-9);
        assert!((found.figures.cv_percent - 100.0 * (0.02_f64 / 4.0).sqrt()).abs() < 1e-9);
    }
}
