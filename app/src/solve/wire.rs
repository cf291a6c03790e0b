//! What travels between page and worker: only what the other side does not know yet.
//!
//! Of a plan that the worker knows but for an item, that item travels; of an analysis whose names the page knows,
//! the numbers. Both sides remember the last of each, and one worker's end and its page's begin together.

use super::{Answer, Job, Outcome, Request};
use engine::analysis::Analysis;
use engine::plan::Plan;
use engine::plan::change::{Change, changes};
use serde::{Deserialize, Serialize};
use std::rc::Rc;

/// A request as it travels.
#[derive(Serialize, Deserialize)]
struct Posted {
    generation: u64,
    job: Job,
    plan: Sent,
}

#[derive(Serialize, Deserialize)]
enum Sent {
    Whole(#[serde(with = "as_file")] Rc<Plan>),
    Changes(Vec<Change>),
}

/// The page's end.
#[derive(Debug, Default)]
pub struct PageEnd {
    plan: Option<Rc<Plan>>,
    followed: Option<Box<Analysis>>,
}

impl PageEnd {
    /// The bytes of a request.
    pub fn write(&mut self, request: &Request) -> Result<Vec<u8>, String> {
        let Request { generation, job, plan } = request;
        let few = self.plan.as_ref().and_then(|known| changes(known, plan));
        let sent = few.map_or_else(|| Sent::Whole(plan.clone()), Sent::Changes);
        let bytes = postcard::to_allocvec(&Posted { generation: *generation, job: *job, plan: sent });
        self.plan = Some(plan.clone());
        bytes.map_err(|error| error.to_string())
    }

    /// The answer in `bytes`.
    pub fn read(&mut self, bytes: &[u8]) -> Result<Answer, String> {
        let mut answer: Answer = postcard::from_bytes(bytes).map_err(|error| error.to_string())?;
        match (answer.job, &mut answer.outcome) {
            (Job::Follow, Outcome::Analysed(analysis)) => self.followed = Some(analysis.clone()),
            (_, Outcome::Numbers(numbers)) => {
                let known = self.followed.as_mut().ok_or("numbers without names")?;
                take_numbers(known, numbers);
                answer.outcome = Outcome::Analysed(known.clone());
            }
            _ => {}
        }
        Ok(answer)
    }
}

/// The worker's end.
#[derive(Debug, Default)]
pub struct WorkerEnd {
    plan: Option<Rc<Plan>>,
    shape: Option<u64>,
}

impl WorkerEnd {
    /// The request in `bytes`.
    pub fn read(&mut self, bytes: &[u8]) -> Result<Request, String> {
        let Posted { generation, job, plan } = postcard::from_bytes(bytes).map_err(|e| e.to_string())?;
        let plan = match plan {
            Sent::Whole(plan) => plan,
            Sent::Changes(changes) => {
                let known = self.plan.as_ref().ok_or("changes without a plan")?;
                Rc::new(known.changed(&changes).map_err(|error| error.to_string())?)
            }
        };
        self.plan = Some(plan.clone());
        Ok(Request { generation, job, plan })
    }

    /// The bytes of an answer.
    pub fn write(&mut self, mut answer: Answer) -> Result<Vec<u8>, String> {
        if let (Job::Follow, Outcome::Analysed(analysis)) = (answer.job, &mut answer.outcome) {
            let shape = Some(analysis.shape());
            if self.shape == shape {
                answer.outcome = Outcome::Numbers(numbers(analysis));
            }
            self.shape = shape;
        }
        postcard::to_allocvec(&answer).map_err(|error| error.to_string())
    }
}

fn numbers(analysis: &mut Analysis) -> Vec<u8> {
    let mut bytes = Vec::with_capacity(1 << 18);
    analysis.numbers(&mut |number| bytes.extend_from_slice(&number.to_le_bytes()));
    bytes
}

fn take_numbers(analysis: &mut Analysis, bytes: &[u8]) {
    let mut numbers = bytes.chunks_exact(8);
    analysis.numbers(&mut |number| {
        if let Some(next) = numbers.next().and_then(|next| next.try_into().ok()) {
            *number = f64::from_le_bytes(next);
        }
    });
    analysis.name_worst_slot();
}

/// Plans travel as the text of their file: the reader of files is in the download anyway, a second
/// one would be another 40 KB.
pub(super) mod as_file {
    use engine::plan::{Plan, file};
    use serde::{Deserialize, Deserializer, Serializer, de::Error};
    use std::rc::Rc;

    pub fn serialize<S: Serializer>(plan: &Rc<Plan>, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&file::write(plan))
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Rc<Plan>, D::Error> {
        let text = String::deserialize(deserializer)?;
        file::read(&text).map(Rc::new).map_err(D::Error::custom)
    }
}

/// Bytes in one piece, where serde would take them one by one.
pub(super) mod as_bytes {
    use serde::de::{Deserializer, Error, Visitor};
    use serde::ser::Serializer;

    pub fn serialize<S: Serializer>(bytes: &[u8], serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_bytes(bytes)
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Vec<u8>, D::Error> {
        struct Bytes;
        impl Visitor<'_> for Bytes {
            type Value = Vec<u8>;

            fn expecting(&self, to: &mut std::fmt::Formatter) -> std::fmt::Result {
                to.write_str("bytes")
            }

            fn visit_bytes<E: Error>(self, bytes: &[u8]) -> Result<Vec<u8>, E> {
                Ok(bytes.to_vec())
            }
        }
        deserializer.deserialize_bytes(Bytes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::solve::answer;
    use crate::starter;
    use crate::studies::What;

    /// One request through both ends and back.
    fn ask(page: &mut PageEnd, worker: &mut WorkerEnd, job: Job, plan: &Rc<Plan>) -> (Answer, [usize; 2]) {
        let request = Request { generation: 7, job, plan: plan.clone() };
        let there = page.write(&request).expect("a request can be written");
        let arrived = worker.read(&there).expect("and can be read");
        assert_eq!(arrived, request);
        let answered = answer(&arrived, &mut |_| {});
        let back = worker.write(answered.clone()).expect("an answer can be written");
        assert_eq!(page.read(&back).expect("and can be read"), answered);
        (answered, [there.len(), back.len()])
    }

    #[test]
    fn a_dragged_plan_travels_as_what_changed_and_arrives_whole() {
        let (mut page, mut worker) = (PageEnd::default(), WorkerEnd::default());
        let mut plan = starter::demo();
        let mut sizes = Vec::new();
        for k in 0..4 {
            plan.ducts[3].path[1].x_m -= 0.05 * f64::from(k);
            sizes.push(ask(&mut page, &mut worker, Job::Follow, &Rc::new(plan.clone())).1);
        }
        assert!(sizes[1..].iter().all(|[there, back]| there * 10 < sizes[0][0] && *back < sizes[0][1]));
        // Other names, and then the numbers again.
        plan.slot_rows[0].id.push('x');
        let renamed = ask(&mut page, &mut worker, Job::Follow, &Rc::new(plan.clone())).1;
        assert!(renamed[1] > sizes[3][1], "{renamed:?} {sizes:?}");
        plan.heater.fan.speed_rpm *= 0.9;
        ask(&mut page, &mut worker, Job::Follow, &Rc::new(plan.clone()));
        plan.zones.clear();
        let (answer, _) = ask(&mut page, &mut worker, Job::Follow, &Rc::new(plan));
        assert!(matches!(answer.outcome, Outcome::Refused(_)));
    }

    /// Without keys, a field that is left out shifts all that follow.
    #[test]
    fn an_answer_arrives_as_it_was_sent() {
        let mut alone = starter::demo();
        alone.openings.clear();
        let mut plans = vec![starter::demo(), starter::empty(), alone];
        plans[0].ducts[1].damper = None;
        let look = [Job::Look(super::super::Look::Need), Job::Look(super::super::Look::Travel)];
        let design =
            [What::EvenOut, What::FindSpeed].map(|what| Job::Ask(crate::studies::Ask::usual(what, 0)));
        let (mut page, mut worker) = (PageEnd::default(), WorkerEnd::default());
        for plan in plans {
            let plan = Rc::new(plan);
            for job in [Job::Analyse, Job::Follow, Job::Follow, design[0], design[1], look[0], look[1]] {
                ask(&mut page, &mut worker, job, &plan);
            }
        }
    }
}
