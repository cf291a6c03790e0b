//! Findings: diagnostics about a plan as data. They never stop a calculation.

pub use crate::plan::Severity;
use crate::plan::{Accepted, Point};
use crate::units::{self, Kind, UnitSystem};
use serde::{Deserialize, Serialize};

/// A sentence with quantities in it, written out in the reader's units.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Message(Vec<Part>);

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
enum Part {
    Text(String),
    Value { kind: Kind, si: f64 },
}

impl Message {
    /// A sentence that begins with `text`.
    pub fn new(text: impl Into<String>) -> Self {
        Self(vec![Part::Text(text.into())])
    }

    /// Appends a quantity given in SI.
    #[must_use]
    pub fn value(mut self, kind: Kind, si: f64) -> Self {
        self.0.push(Part::Value { kind, si });
        self
    }

    /// Appends the size of a difference given in SI, and whether it is more or less.
    #[must_use]
    pub fn difference(self, kind: Kind, si: f64) -> Self {
        self.value(kind, si.abs()).text(if si < 0.0 { " less" } else { " more" })
    }

    /// Appends another sentence.
    #[must_use]
    pub fn and(mut self, other: Self) -> Self {
        self.0.extend(other.0);
        self
    }

    /// Appends words.
    #[must_use]
    pub fn text(mut self, text: impl Into<String>) -> Self {
        self.0.push(Part::Text(text.into()));
        self
    }

    /// The sentence in `system`.
    pub fn show(&self, system: UnitSystem) -> String {
        self.0
            .iter()
            .map(|part| match part {
                Part::Text(text) => text.clone(),
                Part::Value { kind, si } => units::show(*si, *kind, system),
            })
            .collect()
    }
}

/// One thing about a plan that somebody should know, with its place and what to do.
///
/// It travels without keys: no field may be skipped when it is empty.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Finding {
    /// A stable name of the rule.
    pub id: String,
    /// How much it matters.
    pub severity: Severity,
    /// The plan item it is about; none for the plan as a whole.
    pub item: Option<String>,
    /// Where on the floor, when it is narrower than the item.
    #[serde(default)]
    pub at: Option<Point>,
    /// What is the case.
    pub message: Message,
    /// What to do about it.
    pub remedy: Message,
    /// Where the rule comes from.
    pub basis: String,
    /// The written reason for which a person accepted it; it stays in the list.
    #[serde(default)]
    pub accepted: Option<String>,
}

impl Finding {
    /// A finding of rule `id`.
    pub fn new(
        severity: Severity,
        id: &str,
        item: Option<&str>,
        message: Message,
        remedy: impl Into<Message>,
        basis: &str,
    ) -> Self {
        Self {
            id: id.to_owned(),
            severity,
            item: item.map(str::to_owned),
            at: None,
            message,
            remedy: remedy.into(),
            basis: basis.to_owned(),
            accepted: None,
        }
    }

    /// Whether `entry` accepts it, as grave as it is now.
    pub fn is_accepted_by(&self, entry: &Accepted) -> bool {
        self.is_meant_by(entry)
            && entry.severity.is_none_or(|severity| self.severity <= severity)
            && !entry.reason.trim().is_empty()
    }

    /// Whether `entry` is about it, however grave it was then.
    pub fn is_meant_by(&self, entry: &Accepted) -> bool {
        // Before faces were told apart all of them were one rule.
        let is_rule = entry.finding == self.id
            || (entry.severity.is_none() && entry.finding == "hot-skin" && self.id.starts_with("hot-skin-"));
        is_rule && entry.item == self.item
    }

    /// The same at a place of the floor.
    #[must_use]
    pub fn at(mut self, at: Point) -> Self {
        self.at = Some(at);
        self
    }
}

/// Puts the gravest first; of equal ones the order stays.
#[inline(never)]
pub fn worst_first(findings: &mut Vec<Finding>) {
    let (mut cautions, mut notes) = (Vec::new(), Vec::new());
    for finding in core::mem::take(findings) {
        match finding.severity {
            Severity::Problem => findings.push(finding),
            Severity::Caution => cautions.push(finding),
            Severity::Note => notes.push(finding),
        }
    }
    findings.append(&mut cautions);
    findings.append(&mut notes);
}

impl From<&str> for Message {
    fn from(text: &str) -> Self {
        Self::new(text)
    }
}

impl From<String> for Message {
    fn from(text: String) -> Self {
        Self::new(text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_difference_is_more_or_less_and_sentences_join() {
        let said = |si: f64| Message::new("It takes ").difference(Kind::Percent, si).text(" than its share.");
        assert!(said(4.0).show(UnitSystem::Si).ends_with("% more than its share."));
        let less = Message::new("run-1: ").and(said(-4.0)).show(UnitSystem::Si);
        assert!(less.starts_with("run-1: It takes 4") && less.ends_with("% less than its share."), "{less}");
    }
}
