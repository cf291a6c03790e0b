//! A first layout by the list of parts, carried through the commands that finish one.

use super::{Designed, EvenTarget, Progress, even_out, even_out_to, find_speed, set_returns};
use crate::analysis::{Analysis, analyse};
use crate::error::EngineError;
use crate::finding::{Finding, Message, Severity};
use crate::heat::need::{need, propose};
use crate::plan::Plan;
use crate::units::UnitSystem;

type Step = (&'static str, fn(&Plan) -> Result<Designed, EngineError>);

/// Slides first: they move the operating point. Equal temperature starts from equal shares.
const STEPS: [Step; 4] = [
    ("Set returns", set_returns),
    ("Find speed", find_speed),
    ("Even out", even_out),
    ("Even out to equal temperature", |plan| even_out_to(plan, EvenTarget::Temperature)),
];

/// The layout under way: call [`FirstLayout::step`] until it is complete, then [`FirstLayout::finish`].
pub struct FirstLayout {
    plan: Plan,
    before: Analysis,
    after: Option<Analysis>,
    findings: Vec<Finding>,
    done: usize,
    of: usize,
}

impl FirstLayout {
    /// Draws the oven that the enquiry and the parts of `plan` ask for, in the place of what is drawn;
    /// `finished` has slides, fan speed and slots set as well.
    ///
    /// # Errors
    /// When the enquiry does not say enough for an oven, or the oven drawn cannot be solved.
    pub fn new(plan: &Plan, finished: bool) -> Result<Self, EngineError> {
        let answer = need(plan);
        let Some(need) = answer.need else {
            let why = answer.findings.iter().find(|finding| finding.severity == Severity::Problem);
            let text = |message: &Message| message.show(UnitSystem::Si).trim_end_matches('.').to_owned();
            return Err(why.map_or_else(
                || EngineError::new("enquiry", "it does not say what the oven is for", "list the parts"),
                |why| {
                    let place = why.item.as_deref().unwrap_or("enquiry");
                    EngineError::new(place, text(&why.message), text(&why.remedy))
                },
            ));
        };
        let plan = propose(plan, &need);
        let before = analyse(&plan)?;
        let of = if finished { STEPS.len() } else { 0 };
        Ok(Self { plan, before, after: None, findings: Vec::new(), done: 0, of })
    }

    /// The layout so far.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// Runs the next command. One that refuses leaves the layout as it is and says so in a finding.
    pub fn step(&mut self) -> Progress {
        if let Some((name, command)) = STEPS[..self.of].get(self.done) {
            match command(&self.plan) {
                Ok(Designed { plan, after, findings, .. }) => {
                    self.plan = plan;
                    self.after = Some(after);
                    self.findings.retain(|old| findings.iter().all(|new| new.id != old.id));
                    self.findings.extend(findings);
                }
                Err(error) => self.findings.push(Finding::new(
                    Severity::Caution,
                    "layout-unfinished",
                    None,
                    Message::new(format!("{name} was left out: {error}.")),
                    "Bend the layout, then run it by itself.",
                    "the commands that finish a layout",
                )),
            }
            self.done += 1;
        }
        Progress { done: self.done, of: self.of }
    }

    /// The layout with its figures as first drawn and as it is.
    pub fn finish(self) -> Designed {
        let Self { plan, before, after, findings, .. } = self;
        let after = after.unwrap_or_else(|| before.clone());
        Designed { plan, before, after, findings }
    }
}
