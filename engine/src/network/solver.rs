//! Newton on flows and pressures together, with line search, a secant start and continuation.

use super::linear::{Factors, NoInverse};
use super::problem::Network;
use super::residual::{Pattern, State, branch_residuals, imbalances, law_weight, residuals_nearby, seen};
use super::settings::Settings;
use super::solution::{Solution, Status};
use crate::laws::friction::Tangent;
use crate::laws::{Law, Residual};

/// Air speed assumed in every duct before anything is known, m/s.
const FIRST_GUESS_M_S: f64 = 5.0;
/// Steps taken with secants of the laws before Newton takes over.
const SECANT_STEPS: usize = 3;
/// The same for a network that resisted.
const PATIENT_SECANT_STEPS: usize = 25;

/// Solves a network from a cold start.
pub fn solve(network: &Network, settings: &Settings) -> Solution {
    Solver::new(network).solve(network, settings, None)
}

/// Working memory for networks of one topology.
pub struct Solver {
    pattern: Pattern,
    factors: Factors,
    residuals: Vec<Residual>,
    imbalances: Vec<f64>,
    values: Vec<f64>,
    step: Vec<f64>,
    /// What each branch's equation was multiplied by in the matrix factorised last.
    weights: Vec<f64>,
    /// Friction near the state that was followed last.
    friction: Vec<Tangent>,
}

/// What the two kinds of equations are measured against.
struct Scales {
    pressure_pa: f64,
    flow_kg_s: f64,
}

/// How far a state is from a solution.
struct Closure<'a> {
    mass: f64,
    pressure_pa: f64,
    worst: &'a str,
}

impl Solver {
    /// A solver for `network` and others with the same nodes and branches.
    pub fn new(network: &Network) -> Self {
        let pattern = Pattern::new(network);
        let factors = Factors::new(&pattern);
        Self {
            pattern,
            factors,
            residuals: vec![],
            imbalances: vec![],
            values: vec![],
            step: vec![],
            weights: vec![],
            friction: vec![],
        }
    }

    /// Solves a network that differs little from the one solved last, of which `last` is the solution: with the
    /// matrix of then as long as that leads on, and friction along its tangent. None where it does not lead there.
    pub(crate) fn follow(
        &mut self,
        network: &Network,
        settings: &Settings,
        last: &Solution,
    ) -> Option<Solution> {
        const MOST_STEPS: usize = 8;
        /// A step leaves no more than this of the error, or the matrix is made anew.
        const LEADS_ON: f64 = 0.2;
        if !self.pattern.fits(network) || self.weights.is_empty() {
            return None;
        }
        let mut state = state_of(network, last);
        let mut before = f64::INFINITY;
        for iterations in 0..MOST_STEPS {
            residuals_nearby(network, &state, &mut self.friction, &mut self.residuals);
            imbalances(network, &state.flows, &mut self.imbalances);
            let closure = self.closure(network, &state.flows);
            let near = closure.mass <= settings.mass_tolerance
                && closure.pressure_pa <= settings.pressure_tolerance_pa;
            if near {
                let (mass, pressure_pa) = (closure.mass, closure.pressure_pa);
                return Some(self.solution(Status::Converged, state, (mass, pressure_pa, ""), iterations));
            }
            let leads_on = closure.pressure_pa <= LEADS_ON * before;
            if !leads_on {
                self.factorise().ok()?;
            }
            before = closure.pressure_pa;
            self.back().ok()?;
            let from = state.clone();
            self.advance(network, &from, 1.0, &mut state);
        }
        None
    }

    /// Solves `network`, starting from `warm` where given, else from nothing.
    pub fn solve(&mut self, network: &Network, settings: &Settings, warm: Option<&Solution>) -> Solution {
        if !self.pattern.fits(network) {
            *self = Self::new(network);
        }
        let scales = scales(network);
        let mut iterations = 0;
        let mut starts = 0;
        let mut best: Option<Solution> = None;
        for attempt in 0..4 {
            let couplings: &[f64] = if attempt == 2 { &[0.0, 0.3, 0.6, 0.8, 1.0] } else { &[1.0] };
            let start = match (attempt, warm) {
                (0, Some(warm)) => Some(state_of(network, warm)),
                (0, None) => continue,
                (3, _) => self.secant_start(network, &scales, PATIENT_SECANT_STEPS),
                _ => self.secant_start(network, &scales, SECANT_STEPS),
            };
            let Some(mut state) = start else { continue };
            starts += 1;
            for &coupling in couplings {
                iterations += self.newton(network, settings, &scales, coupling, &mut state);
            }
            let solution = Solution { starts, ..self.finish(network, settings, state, iterations) };
            if solution.converged() {
                return solution;
            }
            let closer = |other: &Solution| {
                solution.pressure_residual_pa + solution.mass_residual * scales.pressure_pa
                    < other.pressure_residual_pa + other.mass_residual * scales.pressure_pa
            };
            if best.as_ref().is_none_or(closer) {
                best = Some(solution);
            }
        }
        let mut solution = best.unwrap_or_else(|| {
            let state = still(network);
            let mut solution = self.finish(network, settings, state, iterations);
            solution.status = Status::Singular;
            solution
        });
        (solution.iterations, solution.starts) = (iterations, starts);
        solution
    }

    /// One step of Newton's method from `from`: nearly the answer where little has changed since. `None` where there is
    /// no step. The status tells whether it closes.
    pub fn step(&mut self, network: &Network, from: &Solution) -> Option<Solution> {
        if !self.pattern.fits(network) {
            *self = Self::new(network);
        }
        let settings = Settings { max_iterations: 1, polish: 0, ..Settings::default() };
        let mut state = state_of(network, from);
        let before = state.clone();
        let taken = self.newton(network, &settings, &scales(network), 1.0, &mut state);
        (taken == 0 || state != before).then(|| self.finish(network, &settings, state, taken))
    }

    /// Newton steps from `state`; returns how many.
    fn newton(
        &mut self,
        network: &Network,
        settings: &Settings,
        scales: &Scales,
        coupling: f64,
        state: &mut State,
    ) -> usize {
        branch_residuals(network, state, coupling, &mut self.residuals);
        imbalances(network, &state.flows, &mut self.imbalances);
        let mut merit = self.merit(network, scales);
        let mut polish = settings.polish;
        let mut short_steps = 0;
        for iteration in 0..settings.max_iterations {
            let closure = self.closure(network, &state.flows);
            if closure.mass <= settings.mass_tolerance
                && closure.pressure_pa <= settings.pressure_tolerance_pa
            {
                if polish == 0 {
                    return iteration;
                }
                polish -= 1;
            }
            if self.newton_step().is_err() {
                return iteration;
            }
            let mut length = 1.0;
            let before = state.clone();
            loop {
                self.advance(network, &before, length, state);
                branch_residuals(network, state, coupling, &mut self.residuals);
                imbalances(network, &state.flows, &mut self.imbalances);
                let trial = self.merit(network, scales);
                if trial <= (1.0 - 1e-4 * length) * merit
                    || length < 1e-3
                    || (polish < settings.polish && trial.is_finite())
                {
                    if length < 1e-3 {
                        short_steps += 1;
                    }
                    merit = trial;
                    break;
                }
                length *= 0.5;
            }
            if short_steps > 3 || !merit.is_finite() {
                return iteration + 1;
            }
        }
        settings.max_iterations
    }

    /// Solves J·step = −residual for the residuals at hand.
    fn newton_step(&mut self) -> Result<(), NoInverse> {
        self.factorise()?;
        self.back()
    }

    /// Makes and factorises J at the residuals at hand.
    fn factorise(&mut self) -> Result<(), NoInverse> {
        self.weights.clear();
        self.weights.extend(self.residuals.iter().map(law_weight));
        self.pattern.assemble(&self.residuals, &mut self.values);
        self.factors.factorise(&self.pattern, &self.values)
    }

    /// The step for the residuals at hand with the J that was made last.
    fn back(&mut self) -> Result<(), NoInverse> {
        self.step.clear();
        self.step.resize(self.pattern.size, 0.0);
        for (step, (residual, weight)) in self.step.iter_mut().zip(self.residuals.iter().zip(&self.weights)) {
            *step = -residual.g * weight;
        }
        for (node, unknown) in self.pattern.pressure_unknown.iter().enumerate() {
            if let Some(unknown) = unknown {
                self.step[*unknown] = -self.imbalances[node] * self.pattern.balance_weight[node];
            }
        }
        self.factors.solve(&self.pattern, &mut self.step)
    }

    /// state = before + length·step.
    fn advance(&self, network: &Network, before: &State, length: f64, state: &mut State) {
        for (i, flow) in state.flows.iter_mut().enumerate() {
            *flow = before.flows[i] + length * self.step[i];
        }
        for node in 0..network.nodes.len() {
            if let Some(unknown) = self.pattern.pressure_unknown[node] {
                state.pressures[node] = before.pressures[node] + length * self.step[unknown];
            }
        }
    }

    fn merit(&self, network: &Network, scales: &Scales) -> f64 {
        let laws: f64 = network
            .branches
            .iter()
            .zip(&self.residuals)
            .map(|(branch, r)| {
                let scaled =
                    r.g / if branch.law.in_flow_form() { scales.flow_kg_s } else { scales.pressure_pa };
                scaled * scaled
            })
            .sum();
        let balances: f64 =
            self.imbalances.iter().map(|x| (x / scales.flow_kg_s) * (x / scales.flow_kg_s)).sum();
        laws + balances
    }

    /// Residuals in the user's terms: mass over the reference flow, pressure in Pa.
    fn closure<'a>(&self, network: &'a Network, flows: &[f64]) -> Closure<'a> {
        let mut closure = Closure { mass: 0.0, pressure_pa: 0.0, worst: "" };
        let reference = reference_flow(network, flows);
        for (branch, r) in network.branches.iter().zip(&self.residuals) {
            let pa = match (branch.law.in_flow_form(), r.d_p_to) {
                (false, _) => r.g.abs(),
                // A set flow or a shut plate carries no pressure; its misfit is one of mass.
                (true, 0.0) => {
                    closure.mass = closure.mass.max(r.g.abs() / reference);
                    continue;
                }
                (true, slope) => (r.g / slope).abs(),
            };
            if pa > closure.pressure_pa || pa.is_nan() {
                closure.pressure_pa = pa;
                closure.worst = &branch.id;
            }
        }
        for (node, imbalance) in network.nodes.iter().zip(&self.imbalances) {
            let share = imbalance.abs() / reference;
            if share > closure.mass || share.is_nan() {
                closure.mass = share;
                if share > 1e-9 {
                    closure.worst = &node.id;
                }
            }
        }
        closure
    }

    fn finish(
        &mut self,
        network: &Network,
        settings: &Settings,
        state: State,
        iterations: usize,
    ) -> Solution {
        branch_residuals(network, &state, 1.0, &mut self.residuals);
        imbalances(network, &state.flows, &mut self.imbalances);
        let closure = self.closure(network, &state.flows);
        let converged =
            closure.mass <= settings.mass_tolerance && closure.pressure_pa <= settings.pressure_tolerance_pa;
        let status = if converged { Status::Converged } else { Status::NotConverged };
        self.solution(status, state, (closure.mass, closure.pressure_pa, closure.worst), iterations)
    }

    fn solution(
        &self,
        status: Status,
        state: State,
        (mass_residual, pressure_residual_pa, worst): (f64, f64, &str),
        iterations: usize,
    ) -> Solution {
        Solution {
            status,
            pressures_pa: state.pressures,
            flows_kg_s: state.flows,
            mass_residual,
            pressure_residual_pa,
            worst: worst.to_owned(),
            iterations,
            starts: 0,
        }
    }

    /// A start that already obeys every mass balance: solves the network with each law replaced by a
    /// straight line through rest and a reference point, which then moves to the answer.
    fn secant_start(&mut self, network: &Network, scales: &Scales, steps: usize) -> Option<State> {
        let mut state = still(network);
        let mut reference: Vec<f64> = network
            .branches
            .iter()
            .map(|branch| match branch.law.in_flow_form() {
                true => 0.3 * scales.pressure_pa,
                false => branch.density_kg_m3 * branch.law.reference_area_m2() * FIRST_GUESS_M_S,
            })
            .collect();
        for step in 0..steps {
            self.residuals.clear();
            for (i, branch) in network.branches.iter().enumerate() {
                let here = seen(network, &state, i, 0.0);
                self.residuals.push(secant(&branch.law, &here, reference[i]));
            }
            imbalances(network, &state.flows, &mut self.imbalances);
            self.newton_step().ok()?;
            let before = state.clone();
            self.advance(network, &before, 1.0, &mut state);
            for (i, branch) in network.branches.iter().enumerate() {
                let now = match branch.law.in_flow_form() {
                    true => (state.pressures[branch.from] - state.pressures[branch.to]).abs(),
                    false => state.flows[i].abs(),
                };
                let floor =
                    1e-6 * if branch.law.in_flow_form() { scales.pressure_pa } else { scales.flow_kg_s };
                reference[i] = if step == 0 { now } else { 0.5 * (now + reference[i]) }.max(floor);
            }
        }
        Some(state)
    }
}

/// The law as a straight line: through rest and `reference` (a flow or a pressure difference).
fn secant(law: &Law, here: &crate::laws::Seen, reference: f64) -> Residual {
    use crate::laws::Seen;
    let apart = here.p_from - here.p_to;
    match law {
        Law::Prescribed { .. } => law.residual(here),
        Law::Fan(curve) => {
            let (rise, slope) = curve.rise(reference / here.density, here.density);
            let falling = slope.min(-rise.abs() * here.density / reference.max(1e-9) * 0.1) / here.density;
            Residual {
                g: apart + rise + falling * (here.m - reference),
                d_p_from: 1.0,
                d_p_to: -1.0,
                d_m: falling,
                d_others: [0.0; 2],
            }
        }
        _ if law.in_flow_form() => {
            let at = law.residual(&Seen { p_from: reference, p_to: 0.0, m: 0.0, others: [0.0; 2], ..*here });
            Residual::flow_form(here, -at.g / reference * apart, -at.g / reference)
        }
        _ => {
            let at = law.residual(&Seen { p_from: 0.0, p_to: 0.0, m: reference, others: [0.0; 2], ..*here });
            let resistance = (-at.g / reference).max(0.0);
            Residual::pressure_form(here, resistance * here.m, resistance)
        }
    }
}

fn still(network: &Network) -> State {
    State {
        flows: vec![0.0; network.branches.len()],
        pressures: network.held_pa.iter().map(|held| held.unwrap_or(0.0)).collect(),
    }
}

fn state_of(network: &Network, solution: &Solution) -> State {
    let mut state = State { flows: solution.flows_kg_s.clone(), pressures: solution.pressures_pa.clone() };
    for (pressure, held) in state.pressures.iter_mut().zip(&network.held_pa) {
        if let Some(held) = held {
            *pressure = *held;
        }
    }
    state
}

fn scales(network: &Network) -> Scales {
    let mut pressure_pa: f64 = 0.0;
    let mut flow_kg_s: f64 = 0.0;
    let held = network.held_pa.iter().flatten();
    let (low, high) = held.fold((0.0_f64, 0.0_f64), |(low, high), &p| (low.min(p), high.max(p)));
    pressure_pa = pressure_pa.max(high - low);
    for branch in &network.branches {
        match &branch.law {
            Law::Fan(curve) => {
                pressure_pa = pressure_pa.max(curve.rise(0.0, branch.density_kg_m3).0);
                flow_kg_s += curve.last_flow_m3_s() * branch.density_kg_m3;
            }
            Law::Prescribed { mass_flow_kg_s } => flow_kg_s = flow_kg_s.max(mass_flow_kg_s.abs()),
            _ => {}
        }
    }
    flow_kg_s = flow_kg_s.max(network.nodes.iter().map(|node| node.inflow_kg_s.max(0.0)).sum());
    Scales {
        pressure_pa: if pressure_pa > 0.0 { pressure_pa } else { 100.0 },
        flow_kg_s: if flow_kg_s > 0.0 { flow_kg_s } else { 1.0 },
    }
}

/// The flow that mass imbalances are measured against: all fans together, else the largest flow.
fn reference_flow(network: &Network, flows: &[f64]) -> f64 {
    let fans: f64 = network
        .branches
        .iter()
        .zip(flows)
        .filter(|(branch, _)| matches!(branch.law, Law::Fan(_)))
        .map(|(_, flow)| flow.abs())
        .sum();
    let reference = if fans > 0.0 { fans } else { flows.iter().fold(0.0, |m: f64, flow| m.max(flow.abs())) };
    if reference > 1e-12 { reference } else { 1.0 }
}
