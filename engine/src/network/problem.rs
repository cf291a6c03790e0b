use crate::error::EngineError;
use crate::laws::{Law, Seen};

/// A place with one total pressure.
#[derive(Clone, Debug, PartialEq)]
pub struct Node {
    /// Name, for messages.
    pub id: String,
    /// Set total pressure, Pa gauge; free when none.
    pub fixed_pressure_pa: Option<f64>,
    /// Air brought in from outside the network, kg/s.
    pub inflow_kg_s: f64,
    /// Temperature of the air here, K.
    pub temperature_k: f64,
    /// Water in the air here, kg per kg of dry air.
    pub humidity_ratio: f64,
}

/// An element between two nodes with one flow of its own.
#[derive(Clone, Debug, PartialEq)]
pub struct Branch {
    /// Name, for messages.
    pub id: String,
    /// Index of the first node.
    pub from: usize,
    /// Index of the second node.
    pub to: usize,
    /// Its law.
    pub law: Law,
    /// Indices of the branches whose flows the law reads.
    pub reads: [Option<usize>; 2],
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Dynamic viscosity, Pa·s.
    pub viscosity_pa_s: f64,
    /// The plan item it came from.
    pub item: Option<String>,
}

/// A network ready to solve: indices checked, numbers finite.
#[derive(Clone, Debug, PartialEq)]
pub struct Network {
    pub(crate) nodes: Vec<Node>,
    pub(crate) branches: Vec<Branch>,
    /// Nodes held at their pressure: the fixed ones, and one in each piece that has none.
    pub(crate) held_pa: Vec<Option<f64>>,
    /// Names of the nodes held because nothing else sets the level of their piece.
    pub(crate) floating: Vec<String>,
}

impl Network {
    /// Checks and completes a network.
    pub fn new(nodes: Vec<Node>, branches: Vec<Branch>) -> Result<Self, EngineError> {
        for node in &nodes {
            if !node.fixed_pressure_pa.unwrap_or(0.0).is_finite() || !node.inflow_kg_s.is_finite() {
                return Err(EngineError::new(
                    &node.id,
                    "a pressure or inflow is not a number",
                    "enter a number",
                ));
            }
        }
        for branch in &branches {
            let read_ok = branch.reads.iter().flatten().all(|&i| i < branches.len());
            if branch.from >= nodes.len() || branch.to >= nodes.len() || !read_ok {
                return Err(EngineError::new(
                    &branch.id,
                    "refers to a node or branch that is not there",
                    "name an existing node or branch",
                ));
            }
            if branch.from == branch.to {
                return Err(EngineError::new(
                    &branch.id,
                    "begins and ends at the same node",
                    "connect it to two different nodes",
                ));
            }
            if !(branch.density_kg_m3 > 0.0 && branch.density_kg_m3.is_finite()) {
                return Err(EngineError::new(
                    &branch.id,
                    "density must be above zero",
                    "enter density_kg_m3",
                ));
            }
            if !(branch.viscosity_pa_s > 0.0 && branch.viscosity_pa_s.is_finite()) {
                return Err(EngineError::new(
                    &branch.id,
                    "viscosity must be above zero",
                    "enter viscosity_pa_s",
                ));
            }
        }
        let (held_pa, floating) = hold_levels(&nodes, &branches)?;
        Ok(Self { nodes, branches, held_pa, floating })
    }

    /// The nodes.
    pub fn nodes(&self) -> &[Node] {
        &self.nodes
    }

    /// The branches.
    pub fn branches(&self) -> &[Branch] {
        &self.branches
    }

    /// What branch `i` sees at a solution.
    pub(crate) fn seen(&self, solution: &super::Solution, i: usize) -> Seen {
        self.seen_at(&solution.pressures_pa, &solution.flows_kg_s, i, 1.0)
    }

    /// What branch `i` sees at these pressures and flows.
    pub(super) fn seen_at(&self, pressures_pa: &[f64], flows_kg_s: &[f64], i: usize, coupling: f64) -> Seen {
        let branch = &self.branches[i];
        Seen {
            p_from: pressures_pa[branch.from],
            p_to: pressures_pa[branch.to],
            m: flows_kg_s[i],
            others: branch.reads.map(|read| read.map_or(0.0, |j| flows_kg_s[j])),
            density: branch.density_kg_m3,
            viscosity: branch.viscosity_pa_s,
            coupling,
        }
    }

    /// Nodes held at 0 Pa because their piece of the network has no set pressure.
    pub fn floating(&self) -> &[String] {
        &self.floating
    }

    /// Replaces the law of a branch. The pieces of the network are found anew.
    pub fn set_law(&mut self, branch: usize, law: Law) -> Result<(), EngineError> {
        self.set_laws([(branch, law)])
    }

    /// Replaces the laws of several branches. The pieces of the network are found anew once.
    pub fn set_laws(&mut self, laws: impl IntoIterator<Item = (usize, Law)>) -> Result<(), EngineError> {
        let mut same_ties = true;
        for (branch, law) in laws {
            let Some(entry) = self.branches.get_mut(branch) else { continue };
            same_ties &= entry.law.ties_pressures() == law.ties_pressures();
            entry.law = law;
        }
        if !same_ties {
            (self.held_pa, self.floating) = hold_levels(&self.nodes, &self.branches)?;
        }
        Ok(())
    }
}

/// Finds the pieces of the network whose level nothing sets and holds one node of each at 0 Pa.
/// The mass balance of that node then follows from the others, so what enters the piece must leave it.
#[allow(clippy::type_complexity)]
fn hold_levels(nodes: &[Node], branches: &[Branch]) -> Result<(Vec<Option<f64>>, Vec<String>), EngineError> {
    let mut parent: Vec<usize> = (0..nodes.len()).collect();
    fn root(parent: &mut [usize], mut i: usize) -> usize {
        while parent[i] != i {
            parent[i] = parent[parent[i]];
            i = parent[i];
        }
        i
    }
    for branch in branches.iter().filter(|branch| branch.law.ties_pressures()) {
        let (a, b) = (root(&mut parent, branch.from), root(&mut parent, branch.to));
        parent[a.max(b)] = a.min(b);
    }
    let mut held: Vec<Option<f64>> = nodes.iter().map(|node| node.fixed_pressure_pa).collect();
    let mut has_level = vec![false; nodes.len()];
    let mut brought = vec![(0.0, 0.0); nodes.len()];
    for (i, node) in nodes.iter().enumerate() {
        let piece = root(&mut parent, i);
        has_level[piece] |= node.fixed_pressure_pa.is_some();
        brought[piece].0 += node.inflow_kg_s;
        brought[piece].1 += node.inflow_kg_s.abs();
    }
    for branch in branches {
        if let Law::Prescribed { mass_flow_kg_s } = branch.law {
            let (a, b) = (root(&mut parent, branch.from), root(&mut parent, branch.to));
            brought[a].0 -= mass_flow_kg_s;
            brought[b].0 += mass_flow_kg_s;
            brought[a].1 += mass_flow_kg_s.abs();
            brought[b].1 += mass_flow_kg_s.abs();
        }
    }
    let mut floating = Vec::new();
    for i in 0..nodes.len() {
        let piece = root(&mut parent, i);
        if !has_level[piece] {
            has_level[piece] = true;
            let (net, gross) = brought[piece];
            if net.abs() > 1e-9 * gross {
                let (way, other) = if net > 0.0 { ("enters", "leave") } else { ("leaves", "enter") };
                return Err(EngineError::new(
                    &nodes[i].id,
                    format!(
                        "{:.4} kg/s more air {way} this part of the network than can {other} it",
                        net.abs()
                    ),
                    "give it an opening to outside, or make inflow and outflow equal",
                ));
            }
            held[i] = Some(0.0);
            floating.push(nodes[i].id.clone());
        }
    }
    Ok((held, floating))
}
