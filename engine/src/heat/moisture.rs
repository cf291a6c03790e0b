//! Water, and whatever else the air carries along: how much of it is where.

use super::frame::{Frame, Link, Place};
use super::need::OUTSIDE_RATIO;
use super::solve_dense;

/// Sweeps over the nodes at most; two are enough where no air runs in a ring of ducts.
const MOST_SWEEPS: usize = 40;

/// Which share of the air of each node comes from each bay, from the heater and from the plant.
pub struct Blend {
    /// Shares of node after node: bays, heater, plant.
    shares: Vec<f64>,
    width: usize,
}

/// Mass of what is carried over mass of air with it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Contents {
    /// Of each bay.
    pub bays: Vec<f64>,
    /// Of the air the heater supplies.
    pub supply: f64,
    /// Of each node of the network.
    pub nodes: Vec<f64>,
}

impl Blend {
    /// Follows `links` through the nodes in the `order` in which air reaches them.
    pub fn of(frame: &Frame, links: &[Link], order: &[(usize, Vec<usize>)]) -> Self {
        let width = frame.bays.bays.len() + 2;
        let mut blend = Self { shares: vec![0.0; frame.nodes * width], width };
        let mut mix = vec![0.0; width];
        for _ in 0..MOST_SWEEPS {
            let mut moved = 0.0_f64;
            for (node, into) in order.iter().filter(|(node, _)| *node != frame.intake) {
                mix.fill(0.0);
                let mut flow = 0.0;
                for link in into.iter().map(|&i| &links[i]) {
                    flow += link.kg_s;
                    blend.add(frame, link.from, link.kg_s, &mut mix);
                }
                for (share, mix) in blend.shares[node * width..].iter_mut().zip(&mix) {
                    moved = moved.max((*share - mix / flow).abs());
                    *share = mix / flow;
                }
            }
            if moved < 1e-15 {
                break;
            }
        }
        blend
    }

    /// Adds `weight` of the air of a place to a row of shares.
    fn add(&self, frame: &Frame, place: Place, weight: f64, row: &mut [f64]) {
        match place {
            Place::Bay(bay) => row[bay] += weight,
            Place::Node(node) if node == frame.intake => row[self.width - 2] += weight,
            Place::Node(node) => {
                let shares = &self.shares[node * self.width..(node + 1) * self.width];
                row.iter_mut().zip(shares).for_each(|(sum, share)| *sum += weight * share);
            }
            Place::Outside => row[self.width - 1] += weight,
        }
    }

    /// How much of something that is given off at `source_kg_s` in each bay is where.
    ///
    /// Each bay is well mixed: Σ ṁ·y in + S = y·Σ ṁ out; for the heater Σ ṁ·y in = y_s·Σ ṁ in, ṁ kg/s of air with what
    /// it carries, y kg/kg, S kg/s. Plant air brings `outside`, what the burner adds `burned`. `None` where what is
    /// given off has no way out. Source: mass balance.
    pub fn contents(
        &self,
        frame: &Frame,
        links: &[Link],
        source_kg_s: &[f64],
        outside: f64,
        burned: f64,
    ) -> Option<Contents> {
        let n = self.width - 2;
        let mut rows = vec![vec![0.0; self.width]; n + 1];
        let mut given = vec![0.0; n + 1];
        for link in links {
            let to = match link.to {
                Place::Bay(bay) => bay,
                Place::Node(node) if node == frame.intake => n,
                _ => continue,
            };
            if link.is_burned(frame) {
                given[n] += link.kg_s * burned;
                rows[n][n] -= link.kg_s;
                continue;
            }
            self.add(frame, link.from, link.kg_s, &mut rows[to]);
            if to == n {
                rows[n][n] -= link.kg_s;
            }
        }
        for link in links {
            if let Place::Bay(bay) = link.from {
                rows[bay][bay] -= link.kg_s;
            }
        }
        let mut matrix = Vec::with_capacity(n + 1);
        for (i, mut row) in rows.into_iter().enumerate() {
            given[i] += row.pop().unwrap_or_default() * outside + source_kg_s.get(i).copied().unwrap_or(0.0);
            if row[i] == 0.0 {
                // No air reaches it.
                row[i] = -1.0;
                given[i] = outside;
            }
            matrix.push(row);
        }
        let mut found = solve_dense(matrix, given.into_iter().map(|x| -x).collect())?;
        // Without a way out the system is singular but for rounding.
        if !found.iter().all(|y| y.is_finite() && (-1e-9..0.9).contains(y)) {
            return None;
        }
        let supply = found[n];
        found.push(outside);
        let nodes = (0..frame.nodes)
            .map(|node| {
                let shares = &self.shares[node * self.width..(node + 1) * self.width];
                shares.iter().zip(&found).map(|(share, y)| share * y).sum()
            })
            .collect();
        found.truncate(n);
        Some(Contents { bays: found, supply, nodes })
    }
}

/// Water per kilogram of dry air from water per kilogram of moist air.
pub fn ratio(content: f64) -> f64 {
    content / (1.0 - content)
}

/// Water per kilogram of moist air from water per kilogram of dry air.
pub fn content(ratio: f64) -> f64 {
    ratio / (1.0 + ratio)
}

/// Water in the air of every place, kg per kg of dry air.
#[derive(Clone, Debug, PartialEq)]
pub struct Moist {
    /// Nodes in the order the air reaches them, each with the links that end there.
    pub order: Vec<(usize, Vec<usize>)>,
    /// Of each bay.
    pub bays_w: Vec<f64>,
    /// Of the supply air.
    pub supply_w: f64,
    /// Of each node.
    pub nodes_w: Vec<f64>,
    /// Water given off in each bay, kg/s.
    pub vapour_kg_s: Vec<f64>,
    /// Whether it follows from a balance; without a way out of the oven it is what the plan says.
    pub is_balanced: bool,
}

impl Moist {
    /// Everywhere the same.
    pub fn uniform(frame: &Frame, humidity_ratio: f64) -> Self {
        let bays = frame.bays.bays.len();
        Self {
            order: vec![],
            bays_w: vec![humidity_ratio; bays],
            supply_w: humidity_ratio,
            nodes_w: vec![humidity_ratio; frame.nodes],
            vapour_kg_s: vec![0.0; bays],
            is_balanced: false,
        }
    }

    /// Of `links`, with `vapour_kg_s` given off in the bays and `burned_w` in what the burner adds; writes it into them.
    /// Where nothing `lets_out` air there is no balance, and all air is as the plan says.
    pub fn of(
        frame: &Frame,
        links: &mut [Link],
        vapour_kg_s: Vec<f64>,
        burned_w: f64,
        unknown_w: f64,
        lets_out: bool,
    ) -> Self {
        let order = super::balance::order(frame, links);
        let found = lets_out.then(|| {
            let (plant, burned) = (content(OUTSIDE_RATIO), content(burned_w));
            Blend::of(frame, links, &order).contents(frame, links, &vapour_kg_s, plant, burned)
        });
        let mut moist = Self { order, ..Self::uniform(frame, unknown_w) };
        let (mut outside_w, mut added_w) = (unknown_w, unknown_w);
        if let Some(found) = found.flatten() {
            let ratios = |contents: Vec<f64>| contents.into_iter().map(ratio).collect();
            (moist.bays_w, moist.nodes_w) = (ratios(found.bays), ratios(found.nodes));
            (moist.supply_w, moist.is_balanced) = (ratio(found.supply), true);
            moist.nodes_w[frame.intake] = moist.supply_w;
            (outside_w, added_w) = (OUTSIDE_RATIO, burned_w);
        }
        for link in links {
            link.humidity_ratio = match link.from {
                Place::Bay(bay) => moist.bays_w[bay],
                Place::Node(node) if node == frame.intake => moist.supply_w,
                Place::Node(node) => moist.nodes_w[node],
                Place::Outside if link.is_burned(frame) => added_w,
                Place::Outside => outside_w,
            };
        }
        moist.vapour_kg_s = vapour_kg_s;
        moist
    }
}
