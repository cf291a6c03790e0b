//! The questions: a table of them, each with its choices and its one number.

use crate::session::Step;
use engine::units::Kind;
use serde::{Deserialize, Serialize};

/// What can be asked, in the order of [`ASKS`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum What {
    /// A first layout by the list of parts.
    Propose,
    /// Sizes for every slot.
    EvenOut,
    /// Positions for every slide.
    SetReturns,
    /// The speed that gives the wanted air.
    FindSpeed,
    /// Pressure of runs against each other.
    Level,
    /// Sizes along trunk and runs.
    Sections,
    /// The methods of a course side by side.
    Courses,
    /// The plan under each slot law.
    Laws,
    /// How even as built.
    AsBuilt,
    /// Ducts and slots for evenness as built.
    ForP90,
    /// Which law the bench pieces speak for.
    Bench,
    /// Pulleys or frequency that can be bought.
    Drive,
    /// The fan cold and hot, filter clean and dirty.
    Duty,
    /// Air speed where the parts hang.
    Coverage,
    /// Three plans to choose from.
    Alternatives,
}

/// A number that a choice asks for.
#[derive(Clone, Copy, Debug)]
pub struct Number {
    /// What it is.
    pub label: &'static str,
    /// What it measures.
    pub kind: Kind,
    /// Lowest and highest, SI.
    pub range: (f64, f64),
    /// Where nobody has said otherwise; none for a number that may be left out.
    pub usual: Option<f64>,
}

/// One of the ways to ask.
#[derive(Clone, Copy, Debug)]
pub struct Choice {
    /// What it is called.
    pub label: &'static str,
    /// The number that goes with it.
    pub number: Option<Number>,
}

/// A question.
#[derive(Clone, Copy, Debug)]
pub struct About {
    /// Which.
    pub what: What,
    /// For tests.
    pub testid: &'static str,
    /// On the button, and beside Undo.
    pub label: &'static str,
    /// The step of the work it belongs to.
    pub step: Step,
    /// What it is for.
    pub teach: &'static str,
    /// A command that stands in the top bar too.
    pub in_bar: bool,
    /// What to ask next.
    pub then: &'static [What],
    /// What the choices are about.
    pub choose: &'static str,
    /// The choices.
    pub choices: &'static [Choice],
}

const fn plain(label: &'static str) -> Choice {
    Choice { label, number: None }
}
const fn numbered(
    label: &'static str,
    number: &'static str,
    kind: Kind,
    range: (f64, f64),
    usual: Option<f64>,
) -> Choice {
    Choice { label, number: Some(Number { label: number, kind, range, usual }) }
}
const ONE: &[Choice] = &[plain("")];
/// Draws of each choice of the tolerance study.
pub const SAMPLES: [usize; 3] = [500, 200, 2_000];
/// Draws of each variant of a search.
pub const SEARCH_SAMPLES: usize = 100;

const fn about(
    what: What,
    testid: &'static str,
    label: &'static str,
    step: Step,
    teach: &'static str,
) -> About {
    About { what, testid, label, step, teach, in_bar: false, then: &[], choose: "", choices: ONE }
}

/// Every question, in the order of [`What`].
pub const ASKS: [About; 15] = [
    About {
        choose: "Drawn and",
        choices: &[plain("finished: slides, speed and slots set"), plain("left to be bent first")],
        ..about(
            What::Propose,
            "propose",
            "Propose a first layout",
            Step::Need,
            "Draws the oven that the enquiry and the list of parts ask for, in the place of what is drawn: box, ducts, slots, returns. Then sets slides, fan speed and slots. A start to be bent; Undo brings back what was drawn.",
        )
    },
    About {
        in_bar: true,
        choose: "Even out to",
        choices: &[
            plain("the weights the plan has"),
            plain("the same air for every metre of row"),
            plain("equal temperature of the bays"),
        ],
        then: &[What::AsBuilt],
        ..about(
            What::EvenOut,
            "even-out",
            "Even out",
            Step::Slots,
            "Sizes every slot so that each discharges its share, the way the shop record builds them, in steps the shop can cut.",
        )
    },
    About {
        in_bar: true,
        ..about(
            What::SetReturns,
            "set-returns",
            "Set returns",
            Step::Returns,
            "Sets every slide to its share of the air and lists the mm to set and the reading to expect at each.",
        )
    },
    About {
        in_bar: true,
        ..about(
            What::FindSpeed,
            "find-speed",
            "Find speed",
            Step::Fan,
            "Finds the fan speed at which all slots together pass the wanted air; a speed above the maker's maximum when hot is refused.",
        )
    },
    About {
        choose: "Take up the difference by",
        choices: &[
            plain("slot totals: no pressure added"),
            plain("run dampers"),
            plain("smaller ducts"),
            plain("each of the three, side by side, evened out"),
        ],
        ..about(
            What::Level,
            "level",
            "Level runs",
            Step::Layout,
            "Brings all runs to the same pressure at their slots with the least added at the fan. Even out comes after.",
        )
    },
    About {
        choose: "Within",
        choices: &[
            numbered("a greatest velocity", "At most", Kind::Velocity, (0.5, 60.0), Some(8.0)),
            numbered("a pressure budget", "At most", Kind::Pressure, (0.1, 5_000.0), Some(200.0)),
        ],
        ..about(
            What::Sections,
            "sections",
            "Suggest sections",
            Step::Layout,
            "Sizes trunk and runs, stretch by stretch, in the sizes of the shop record; says what they cost in metal and power.",
        )
    },
    About {
        choices: &[numbered(
            "",
            "Velocity at the heater's discharge",
            Kind::Velocity,
            (0.5, 60.0),
            Some(8.0),
        )],
        then: &[What::EvenOut],
        ..about(
            What::Courses,
            "courses",
            "Compare course methods",
            Step::Layout,
            "Constant velocity, equal friction and static regain from the same first velocity: what each costs, and how even equal slots would be on it.",
        )
    },
    About {
        then: &[What::AsBuilt, What::Bench],
        ..about(
            What::Laws,
            "laws",
            "Compare slot laws",
            Step::Slots,
            "The plan as it is under each published slot law. Which one nature follows is the largest doubt; the spread shows what a nominal figure hides.",
        )
    },
    About {
        choose: "Builds drawn",
        choices: &[plain("500"), plain("200, quicker"), plain("2,000, steadier")],
        // Slot law and cut rule; both weigh less the smaller the slots are against their duct.
        then: &[What::ForP90, What::Alternatives, What::Bench],
        ..about(
            What::AsBuilt,
            "as-built",
            "How even as built",
            Step::Slots,
            "Solves many ovens as they might be built: cut, slot law, regain, fan, slides and temperature all within their doubts. P90 is what nine of ten stay within.",
        )
    },
    About {
        choices: &[numbered(
            "",
            "P90 of the worst bay; empty for the best there is",
            Kind::Percent,
            (0.1, 100.0),
            None,
        )],
        ..about(
            What::ForP90,
            "for-p90",
            "Even out for P90",
            Step::Slots,
            "Chooses duct sizes and slot totals so that the oven as built is even, not only as drawn; at most 10 % more shaft power.",
        )
    },
    about(
        What::Bench,
        "bench",
        "Fit bench pieces",
        Step::Slots,
        "Holds the readings on a slotted length against every published slot law, fits coefficient and regain, and narrows P90. Enter a bench piece on this step first.",
    ),
    about(
        What::Drive,
        "drive",
        "Fit drive",
        Step::Fan,
        "Finds the speed, then the pulley pair or the step of the frequency drive nearest to it that can be bought.",
    ),
    about(
        What::Duty,
        "duty",
        "Fan in four states",
        Step::Fan,
        "Solves the fan hot and cold, filter clean and dirty: the margin to stall is the worst of the four. Motor by the cold-start rule, pulleys, the tolerance of the fan's grade.",
    ),
    about(
        What::Coverage,
        "coverage",
        "Air at the parts",
        Step::Layout,
        "Air speed where the parts hang, over the floor and along the conveyor, from merged slot jets: uniformity at the part, and where loose powder would be blown off.",
    ),
    about(
        What::Alternatives,
        "alternatives",
        "Find alternatives",
        Step::Layout,
        "Searches duct sizes, slot lengths and fan speed for three plans: least metal, least fan energy, most even as built. Pick one and it becomes the plan; Undo brings yours back.",
    ),
];

impl What {
    /// All about it.
    pub fn about(self) -> &'static About {
        &ASKS[self as usize]
    }
}

/// A question with its choice and number.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Ask {
    /// Which.
    pub what: What,
    /// Which of its choices.
    pub choice: u8,
    /// The number, SI; none where it is left out or none is asked for.
    pub number: Option<f64>,
}

impl Ask {
    /// The question with this choice and its usual number.
    pub fn usual(what: What, choice: u8) -> Self {
        let ask = Self { what, choice, number: None };
        Self { number: ask.chosen().number.and_then(|number| number.usual), ..ask }
    }

    /// The choice made.
    pub fn chosen(&self) -> &'static Choice {
        let choices = self.what.about().choices;
        &choices[usize::from(self.choice).min(choices.len() - 1)]
    }
}
