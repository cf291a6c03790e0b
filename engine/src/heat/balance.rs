//! The enthalpy balance of all bays and ducts at given air flows.

use super::convection::radiation_w_m2k;
use super::drift::eliminate;
use super::frame::{Frame, Link, Place};
use super::moisture::Moist;
use super::stream::{enthalpy_j_kg, specific_heat_j_kgk, temperature_c, vapour_j_kg};

/// Steps of the iteration at most.
const MOST_STEPS: usize = 80;
/// The iteration ends when no temperature moves more, K.
const STILL_K: f64 = 1e-10;
/// Parts are followed anew until temperatures move less than this, K.
const PARTS_STILL_K: f64 = 1e-4;
/// Where a temperature leaves what an oven can be, °C.
const PHYSICAL_C: (f64, f64) = (-60.0, 600.0);

/// What sets the supply temperature.
#[derive(Clone, Debug, PartialEq)]
pub enum Control {
    /// The burner holds the weighted mean of some bays at a temperature, °C.
    Holds {
        /// Weight of each bay; they add up to one.
        weights: Vec<f64>,
        /// What it holds, °C.
        set_c: f64,
    },
    /// The supply air has this temperature, °C.
    Supply(f64),
}

/// Heat drawn from each bay by what passes through.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Drawn {
    /// By parts, W.
    pub parts_w: Vec<f64>,
    /// By hangers and chain, W.
    pub carried_w: Vec<f64>,
    /// By water, W.
    pub water_w: Vec<f64>,
    /// Water given off, kg/s.
    pub water_kg_s: Vec<f64>,
    /// Change of all of it with the bay's temperature, W/K, for the iteration.
    pub conductance_w_k: Vec<f64>,
}

/// Temperatures that balance.
#[derive(Clone, Debug, PartialEq)]
pub struct Thermal {
    /// Air of each bay, °C.
    pub bays_c: Vec<f64>,
    /// Supply air at the heater's discharge, °C.
    pub supply_c: f64,
    /// Air returned to the intake, °C.
    pub mix_c: f64,
    /// Each stream at its beginning and end, °C.
    pub links_c: Vec<(f64, f64)>,
    /// Heat the streams of ducts give each bay through their walls, W.
    pub duct_w: Vec<f64>,
    /// Heat ducts lose to the plant, W.
    pub duct_out_w: f64,
    /// What passes through.
    pub drawn: Drawn,
    /// Heat the air takes up between intake and discharge, W.
    pub heater_w: f64,
    /// Change of each bay with the supply temperature, K/K.
    pub gain: Vec<f64>,
}

/// Finds bay and supply temperatures for given streams, by Newton's method on the bays with the ducts, and what
/// passes through, following.
///
/// For every bay Σ ṁ·h in − Σ ṁ·h out + heat through duct walls − losses·(T − T_a) − radiation − what passes + S·h_v = 0,
/// h of moist air by its own humidity; S kg/s of vapour comes in with its enthalpy h_v at the bay's temperature.
/// `None` where the controlled bay gets no supply air or a temperature leaves the physical range.
pub fn balance(
    frame: &Frame,
    links: &[Link],
    moist: &Moist,
    control: &Control,
    start: (&[f64], f64),
    drawn_at: &mut dyn FnMut(&[f64]) -> Drawn,
) -> Option<Thermal> {
    let n = frame.bays.bays.len();
    let (mut bays_c, mut supply_c) = (start.0.to_vec(), start.1);
    if let Control::Supply(celsius) = control {
        supply_c = *celsius;
    }
    let mut nodes = vec![(supply_c, 1.0); frame.nodes];
    let mut drawn = drawn_at(&bays_c);
    let mut moved = f64::INFINITY;
    for _ in 0..MOST_STEPS {
        mix_nodes(frame, links, moist, &bays_c, supply_c, &mut nodes);
        let mut residual = vec![0.0; n];
        let mut follows = vec![0.0; n];
        let mut matrix = vec![0.0; n * n];
        for link in links {
            let at = ends_of(frame, link, &bays_c, supply_c, &nodes);
            let flow = link.kg_s;
            let (h_in, h_out) = enthalpies(link, &at);
            let cp = flow * specific_heat_j_kgk(at.end_c, link.humidity_ratio);
            if let Place::Bay(i) = link.from {
                residual[i] -= flow * h_in;
                matrix[i * n + i] += flow * specific_heat_j_kgk(at.begin_c, link.humidity_ratio);
            }
            if let Place::Bay(j) = link.to {
                residual[j] += flow * h_out;
                match link.from {
                    Place::Bay(i) => matrix[j * n + i] -= cp,
                    _ => follows[j] += cp * at.follows * link.keep,
                }
            }
            if let (Place::Bay(k), true) = (link.around, link.keep < 1.0) {
                residual[k] += flow * (h_in - h_out);
                matrix[k * n + k] += cp * (1.0 - link.keep);
                follows[k] += cp * (1.0 - link.keep) * at.follows;
            }
        }
        for (face, conductance) in frame.bays.partitions.iter().zip(&frame.partition_w_k) {
            let passed = conductance * (bays_c[face.a] - bays_c[face.b]);
            residual[face.a] -= passed;
            residual[face.b] += passed;
            matrix[face.a * n + face.a] += conductance;
            matrix[face.b * n + face.b] += conductance;
            matrix[face.a * n + face.b] -= conductance;
            matrix[face.b * n + face.a] -= conductance;
        }
        for i in 0..n {
            let loss = &frame.loss[i];
            let radiation = radiation_w_m2k(loss.radiating_m2, bays_c[i], frame.ambient_c);
            let conductance = loss.conductance_w_k() + radiation;
            residual[i] -= conductance * (bays_c[i] - frame.ambient_c);
            residual[i] -= drawn.parts_w[i] + drawn.carried_w[i] + drawn.water_w[i];
            residual[i] += moist.vapour_kg_s[i] * vapour_j_kg(bays_c[i]);
            matrix[i * n + i] += conductance + drawn.conductance_w_k[i];
            matrix[i * n + i] -= moist.vapour_kg_s[i] * (1_855.0 + 0.44 * bays_c[i]);
            if matrix[i * n + i].is_nan() || matrix[i * n + i] <= 0.0 {
                // Nothing reaches this bay: it keeps its temperature.
                matrix[i * n + i] = 1.0;
            }
        }
        let mut sides = [residual, follows];
        eliminate(&mut matrix, &mut sides);
        let [alone, with_supply] = sides;
        let step = match control {
            Control::Supply(_) => 0.0,
            Control::Holds { weights, set_c } => {
                let dot = |x: &[f64]| weights.iter().zip(x).map(|(w, x)| w * x).sum::<f64>();
                let gain = dot(&with_supply);
                if gain.is_nan() || gain <= 1e-4 {
                    return None;
                }
                ((set_c - dot(&bays_c) - dot(&alone)) / gain).clamp(-200.0, 200.0)
            }
        };
        let last = moved;
        moved = step.abs();
        for i in 0..n {
            let change = alone[i] + with_supply[i] * step;
            moved = moved.max(change.abs());
            bays_c[i] += change;
        }
        supply_c += step;
        let sound = |c: &f64| (PHYSICAL_C.0..=PHYSICAL_C.1).contains(c);
        if !(bays_c.iter().all(sound) && (PHYSICAL_C.0..=3.0 * PHYSICAL_C.1).contains(&supply_c)) {
            return None;
        }
        if moved > PARTS_STILL_K {
            drawn = drawn_at(&bays_c);
        }
        if moved < STILL_K || (moved < 1e-7 && moved >= last) {
            return Some(finish(frame, links, moist, (bays_c, supply_c), nodes, drawn, with_supply));
        }
    }
    None
}

struct Ends {
    begin_c: f64,
    end_c: f64,
    /// Change of the beginning with the supply temperature, bays held.
    follows: f64,
}

fn enthalpies(link: &Link, at: &Ends) -> (f64, f64) {
    (enthalpy_j_kg(at.begin_c, link.humidity_ratio), enthalpy_j_kg(at.end_c, link.humidity_ratio))
}

fn ends_of(frame: &Frame, link: &Link, bays_c: &[f64], supply_c: f64, nodes: &[(f64, f64)]) -> Ends {
    let (begin_c, follows) = match link.from {
        Place::Outside => (frame.ambient_c, 0.0),
        Place::Bay(bay) => (bays_c[bay], 0.0),
        Place::Node(node) if node == frame.intake => (supply_c, 1.0),
        Place::Node(node) => nodes[node],
    };
    let around = match link.around {
        Place::Bay(bay) => bays_c[bay],
        _ => frame.ambient_c,
    };
    Ends { begin_c, end_c: around + (begin_c - around) * link.keep, follows }
}

/// Nodes in the order the air reaches them, each with the links that end there.
pub(super) fn order(frame: &Frame, links: &[Link]) -> Vec<(usize, Vec<usize>)> {
    let mut waiting = vec![0usize; frame.nodes];
    let mut into: Vec<Vec<usize>> = vec![vec![]; frame.nodes];
    let mut out: Vec<Vec<usize>> = vec![vec![]; frame.nodes];
    for (i, link) in links.iter().enumerate() {
        let Place::Node(to) = link.to else { continue };
        into[to].push(i);
        if let Place::Node(from) = link.from
            && from != frame.intake
        {
            waiting[to] += 1;
            out[from].push(to);
        }
    }
    let mut ready: Vec<usize> = (0..frame.nodes).filter(|&node| waiting[node] == 0).collect();
    let mut order = Vec::with_capacity(frame.nodes);
    let mut done = vec![false; frame.nodes];
    let mut next = 0;
    loop {
        while let Some(node) = ready.pop() {
            if std::mem::replace(&mut done[node], true) {
                continue;
            }
            for &to in &out[node] {
                waiting[to] -= 1;
                if waiting[to] == 0 {
                    ready.push(to);
                }
            }
            if !into[node].is_empty() {
                order.push((node, std::mem::take(&mut into[node])));
            }
        }
        // Air that runs in a ring: the iteration closes it.
        let Some(stuck) = (next..frame.nodes).find(|&node| !done[node]) else { return order };
        next = stuck + 1;
        ready.push(stuck);
    }
}

fn mix_nodes(
    frame: &Frame,
    links: &[Link],
    moist: &Moist,
    bays_c: &[f64],
    supply_c: f64,
    nodes: &mut [(f64, f64)],
) {
    for (node, into) in &moist.order {
        if let [only] = into.as_slice() {
            let link = &links[*only];
            let at = ends_of(frame, link, bays_c, supply_c, nodes);
            nodes[*node] = (at.end_c, at.follows * link.keep);
            continue;
        }
        let (mut flow, mut enthalpy, mut follows) = (0.0, 0.0, 0.0);
        for link in into.iter().map(|&i| &links[i]) {
            let at = ends_of(frame, link, bays_c, supply_c, nodes);
            flow += link.kg_s;
            enthalpy += link.kg_s * enthalpy_j_kg(at.end_c, link.humidity_ratio);
            follows += link.kg_s * at.follows * link.keep;
        }
        nodes[*node] = (temperature_c(enthalpy / flow, moist.nodes_w[*node]), follows / flow);
    }
}

#[allow(clippy::too_many_arguments)]
fn finish(
    frame: &Frame,
    links: &[Link],
    moist: &Moist,
    (bays_c, supply_c): (Vec<f64>, f64),
    mut nodes: Vec<(f64, f64)>,
    drawn: Drawn,
    gain: Vec<f64>,
) -> Thermal {
    mix_nodes(frame, links, moist, &bays_c, supply_c, &mut nodes);
    let mut duct_w = vec![0.0; bays_c.len()];
    let (mut duct_out_w, mut heater_w, mut returned) = (0.0, 0.0, (0.0, 0.0));
    let mut links_c = Vec::with_capacity(links.len());
    for link in links {
        let at = ends_of(frame, link, &bays_c, supply_c, &nodes);
        let (h_in, h_out) = enthalpies(link, &at);
        let lost = link.kg_s * (h_in - h_out);
        match link.around {
            Place::Bay(bay) => duct_w[bay] += lost,
            _ => duct_out_w += lost,
        }
        if link.to == Place::Node(frame.intake) {
            heater_w -= link.kg_s * h_out;
            if !link.is_burned(frame) {
                returned.0 += link.kg_s;
                returned.1 += link.kg_s * at.end_c;
            }
        }
        if link.from == Place::Node(frame.intake) {
            heater_w += link.kg_s * h_in;
        }
        links_c.push((at.begin_c, at.end_c));
    }
    // By mass: their specific heats differ by less than a hundredth.
    let mix_c = if returned.0 > 0.0 { returned.1 / returned.0 } else { supply_c };
    Thermal { bays_c, supply_c, mix_c, links_c, duct_w, duct_out_w, drawn, heater_w, gain }
}
