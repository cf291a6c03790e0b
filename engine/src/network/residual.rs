//! Residual of the whole network and the pattern of its Jacobian; nothing else.

use super::problem::Network;
use crate::laws::friction::Tangent;
use crate::laws::{Law, Residual, Seen};
use crate::numerics::sort_keys;

/// Where each derivative goes in the compressed-column matrix.
///
/// Unknowns: all branch flows, then the pressures of the nodes that are not held.
/// Rows: one law per branch, then one mass balance per such node.
pub(super) struct Pattern {
    pub column_starts: Vec<usize>,
    pub rows: Vec<usize>,
    /// Per branch: positions of ∂g/∂m, ∂g/∂m₁, ∂g/∂m₂, ∂g/∂p_from, ∂g/∂p_to; `usize::MAX` where none.
    slots: Vec<[usize; 5]>,
    /// Values that never change: ±1 of the mass balances.
    constants: Vec<(usize, f64)>,
    /// Unknown of each node's pressure.
    pub pressure_unknown: Vec<Option<usize>>,
    /// Factor on each node's mass balance, see [`BALANCE_WEIGHT`].
    pub balance_weight: Vec<f64>,
    /// Order in which unknowns are eliminated.
    pub order: Vec<usize>,
    pub size: usize,
}

/// A mass balance weighs this much against a law, whose ∂g/∂m is brought to 1. So partial pivoting
/// eliminates each flow by its own law where that has a slope, and what is left is a small, sparse
/// system in the node pressures; a duct without length gives way to a balance of its nodes instead.
const BALANCE_WEIGHT: f64 = 1e-2;
/// A node with more branches weighs less: chosen early, the balance of a zone with a thousand slots
/// would fill the matrix.
const CROWDED: f64 = 8.0;
/// Pressure laws flatter than this, Pa/(kg/s), are not brought to slope 1.
const FLAT: f64 = 1e-4;

const NONE: usize = usize::MAX;

impl Pattern {
    pub fn new(network: &Network) -> Self {
        let branches = network.branches.len();
        let mut size = branches;
        let pressure_unknown: Vec<Option<usize>> = network
            .held_pa
            .iter()
            .map(|held| {
                held.is_none().then(|| {
                    size += 1;
                    size - 1
                })
            })
            .collect();
        let mut degree = vec![0.0_f64; network.nodes.len()];
        for branch in &network.branches {
            degree[branch.from] += 1.0;
            degree[branch.to] += 1.0;
        }
        let balance_weight: Vec<f64> =
            degree.iter().map(|d| BALANCE_WEIGHT * (CROWDED / d.max(CROWDED))).collect();
        // (column, row, owner): owner < 5·branches marks a derivative, else a constant.
        // Packed into one key, 32 bits each.
        let entry = |column: usize, row: usize, owner: usize| {
            (column as u128) << 64 | (row as u128) << 32 | owner as u128
        };
        let mut entries: Vec<u128> = Vec::with_capacity(6 * branches);
        let mut constant_values = Vec::new();
        for (i, branch) in network.branches.iter().enumerate() {
            entries.push(entry(i, i, 5 * i));
            for (k, read) in branch.reads.iter().enumerate() {
                if let Some(read) = read {
                    entries.push(entry(*read, i, 5 * i + 1 + k));
                }
            }
            for (k, (node, sign)) in [(branch.from, -1.0), (branch.to, 1.0)].into_iter().enumerate() {
                if let Some(unknown) = pressure_unknown[node] {
                    entries.push(entry(unknown, i, 5 * i + 3 + k));
                    entries.push(entry(i, unknown, 5 * branches + constant_values.len()));
                    constant_values.push(sign * balance_weight[node]);
                }
            }
        }
        sort_keys(&mut entries);
        let mut pattern = Self {
            column_starts: vec![0; size + 1],
            rows: Vec::with_capacity(entries.len()),
            slots: vec![[NONE; 5]; branches],
            constants: Vec::with_capacity(constant_values.len()),
            pressure_unknown,
            balance_weight,
            order: Vec::new(),
            size,
        };
        let mut last = (NONE, NONE);
        for key in entries {
            let part = |shift: u32| (key >> shift) as u32 as usize;
            let (column, row, owner) = (part(64), part(32), part(0));
            // A branch may read the same flow twice; both derivatives share one place.
            if (column, row) != last {
                pattern.rows.push(row);
                pattern.column_starts[column + 1] += 1;
                last = (column, row);
            }
            let position = pattern.rows.len() - 1;
            if owner < 5 * branches {
                pattern.slots[owner / 5][owner % 5] = position;
            } else {
                pattern.constants.push((position, constant_values[owner - 5 * branches]));
            }
        }
        for column in 0..size {
            pattern.column_starts[column + 1] += pattern.column_starts[column];
        }
        pattern.order = elimination_order(network, &pattern);
        pattern
    }

    /// Whether the same nodes are held: a shut plate that opens can tie a piece to the rest.
    pub fn fits(&self, network: &Network) -> bool {
        let held = network.held_pa.iter().map(Option::is_none);
        held.eq(self.pressure_unknown.iter().map(Option::is_some))
    }

    /// Fills `values` from the branch residuals.
    pub fn assemble(&self, residuals: &[Residual], values: &mut Vec<f64>) {
        values.clear();
        values.resize(self.rows.len(), 0.0);
        for &(position, value) in &self.constants {
            values[position] = value;
        }
        for (slots, r) in self.slots.iter().zip(residuals) {
            let derivatives = [r.d_m, r.d_others[0], r.d_others[1], r.d_p_from, r.d_p_to];
            let weight = law_weight(r);
            for (&position, derivative) in slots.iter().zip(derivatives) {
                if position != NONE {
                    values[position] += weight * derivative;
                }
            }
        }
    }
}

/// Factor on a branch's equation in the linear system.
pub(super) fn law_weight(r: &Residual) -> f64 {
    1.0 / r.d_m.abs().max(FLAT)
}

/// Flows first, then pressures by approximate minimum degree of the pressure system that is left:
/// nodes are neighbours when a branch ties them, or when one of its ends feels a flow at the other.
fn elimination_order(network: &Network, pattern: &Pattern) -> Vec<usize> {
    let branches = network.branches.len();
    let mut pairs: Vec<(usize, usize)> = Vec::with_capacity(4 * branches);
    for branch in &network.branches {
        let read = branch.reads.iter().flatten().map(|&i| &network.branches[i]);
        let ends = read.flat_map(|other| [other.from, other.to]).chain([branch.from, branch.to]);
        let unknowns: Vec<usize> = ends.filter_map(|node| pattern.pressure_unknown[node]).collect();
        for &own in
            [branch.from, branch.to].iter().filter_map(|&node| pattern.pressure_unknown[node].as_ref())
        {
            pairs.extend(
                unknowns
                    .iter()
                    .filter(|&&other| other != own)
                    .map(|other| (own - branches, other - branches)),
            );
        }
    }
    let by_degree = super::linear::minimum_degree(pattern.size - branches, pairs);
    (0..branches).chain(by_degree.into_iter().map(|p| p + branches)).collect()
}

/// A state of the network: flows and pressures of all nodes, held ones included.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct State {
    pub flows: Vec<f64>,
    pub pressures: Vec<f64>,
}

/// What branch `i` sees in `state`.
pub(super) fn seen(network: &Network, state: &State, i: usize, coupling: f64) -> Seen {
    network.seen_at(&state.pressures, &state.flows, i, coupling)
}

/// All branch residuals.
pub(super) fn branch_residuals(network: &Network, state: &State, coupling: f64, out: &mut Vec<Residual>) {
    out.clear();
    out.extend(
        (0..network.branches.len())
            .map(|i| network.branches[i].law.residual(&seen(network, state, i, coupling))),
    );
}

/// All branch residuals, with friction factors as `known` has them for flows close by.
pub(super) fn residuals_nearby(
    network: &Network,
    state: &State,
    known: &mut Vec<Tangent>,
    out: &mut Vec<Residual>,
) {
    out.clear();
    known.resize(network.branches.len(), Tangent::default());
    for (i, (branch, known)) in network.branches.iter().zip(known).enumerate() {
        let seen = seen(network, state, i, 1.0);
        out.push(match &branch.law {
            Law::Duct(law) => law.residual_nearby(&seen, known),
            law => law.residual(&seen),
        });
    }
}

/// Mass imbalance of every node, kg/s; zero at held nodes.
pub(super) fn imbalances(network: &Network, flows: &[f64], out: &mut Vec<f64>) {
    out.clear();
    out.extend(network.nodes.iter().map(|node| node.inflow_kg_s));
    for (branch, flow) in network.branches.iter().zip(flows) {
        out[branch.from] -= flow;
        out[branch.to] += flow;
    }
    for (imbalance, held) in out.iter_mut().zip(&network.held_pa) {
        if held.is_some() {
            *imbalance = 0.0;
        }
    }
}
