//! Follows a plan while a hand drags: each state solved from the one before.

use super::describe::of_the_air;
use super::results::Analysis;
use crate::error::EngineError;
use crate::network::from_plan;
use crate::network::{Network, Settings, Solution, Solver};
use crate::plan::Plan;

/// Who reads which branch between which nodes: what a solver is made for.
type Shape = Vec<(usize, usize, [Option<usize>; 2])>;

/// Solves one state of a plan after another, from the state before where the networks are of one shape.
///
/// Its flows are those of [`analyse`](super::analyse) within 10⁻⁴; the last digits depend on what was solved before.
/// Its answers have no findings and no heat. What stands is for `analyse` to say.
#[derive(Default)]
pub struct Follower(Option<(Shape, Solver, Option<Solution>)>);

impl Follower {
    /// The air of the next state of the plan.
    pub fn follow(&mut self, plan: &Plan) -> Result<Analysis, EngineError> {
        let built = from_plan::build_nameless(plan)?;
        let network = &built.network;
        let shape = shape(network);
        if self.0.as_ref().is_none_or(|(known, ..)| *known != shape) {
            self.0 = Some((shape, Solver::new(network), None));
        }
        let Some((_, solver, last)) = &mut self.0 else { unreachable!("there is a solver now") };
        let nearby = last.as_ref().and_then(|last| solver.follow(network, &Settings::PICTURE, last));
        let solution = nearby.unwrap_or_else(|| solver.solve(network, &Settings::PICTURE, last.as_ref()));
        let analysis = of_the_air(plan, &built, &solution);
        *last = solution.converged().then_some(solution);
        Ok(analysis)
    }
}

fn shape(network: &Network) -> Shape {
    network.branches().iter().map(|branch| (branch.from, branch.to, branch.reads)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::analyse;
    use crate::plan::{Section, file};

    #[test]
    fn a_followed_plan_has_the_figures_of_one_solved_by_itself() {
        let text = include_str!("../../../tests/plans/garden-gates.evenrise.json");
        let mut plan = file::read(text).expect("the demonstration opens");
        let mut follower = Follower::default();
        let mut steps = Vec::new();
        for k in 0..6 {
            let run = plan.ducts.iter_mut().find(|duct| duct.id == "cure-2").expect("the run is there");
            run.path.last_mut().expect("it has an end").x_m -= 0.05 * f64::from(k % 3);
            if let Section::Rectangular { height_m, .. } = &mut run.section {
                *height_m += 0.025;
            }
            plan.slot_rows[1].widths_m[0] *= 1.03;
            plan.heater.fan.speed_rpm *= if k == 4 { 1.4 } else { 0.99 };
            let (followed, own) = (follower.follow(&plan).unwrap(), analyse(&plan).unwrap());
            assert_eq!(followed.status, "converged");
            for (a, b) in followed.slots.iter().zip(&own.slots) {
                assert!(
                    (a.mass_flow_kg_s / b.mass_flow_kg_s - 1.0).abs() < 1e-4,
                    "{k} {}: {} {}",
                    a.id,
                    a.mass_flow_kg_s,
                    b.mass_flow_kg_s
                );
            }
            assert_eq!(followed.slots.len(), own.slots.len());
            steps.push((followed.iterations, own.iterations));
        }
        assert!(steps[1..].iter().all(|(followed, own)| followed < own), "{steps:?}");
    }
}
