//! The tools of the palette.

/// What the hand on the board does.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Tool {
    /// Selects and moves.
    #[default]
    Select,
    /// Selects all in a rectangle.
    Box,
    /// Moves the picture.
    Pan,
    /// The outline of the enclosure.
    Outline,
    /// An inner wall.
    Wall,
    /// A building column.
    Column,
    /// A zone.
    Zone,
    /// A product opening.
    Opening,
    /// The conveyor.
    Conveyor,
    /// Discharge and intake of the heater.
    Heater,
    /// A trunk or run.
    Supply,
    /// A transfer duct with its damper.
    Transfer,
    /// A return duct.
    Return,
    /// A change of size.
    Step,
    /// A row of slots.
    Slots,
    /// A return opening.
    Intake,
    /// An exhaust.
    Exhaust,
}

/// How many places a tool takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// None: it does not draw.
    None,
    /// One.
    Point,
    /// Two.
    Pair,
    /// A line of two or more.
    Line,
    /// An outline of three or more.
    Ring,
}

impl Tool {
    /// All, in the order of the palette.
    pub const ALL: [Self; 17] = [
        Self::Select,
        Self::Box,
        Self::Pan,
        Self::Outline,
        Self::Wall,
        Self::Column,
        Self::Zone,
        Self::Opening,
        Self::Conveyor,
        Self::Heater,
        Self::Supply,
        Self::Transfer,
        Self::Return,
        Self::Step,
        Self::Slots,
        Self::Intake,
        Self::Exhaust,
    ];

    /// Its name, the key that chooses it, and how it is used.
    pub fn about(self) -> (&'static str, char, &'static str) {
        match self {
            Self::Select => ("Select and move", 'a', "Select; drag what is selected"),
            Self::Box => ("Select in a box", 'x', "Two corners select all between them"),
            Self::Pan => ("Move the picture", 'h', "Drag the picture"),
            Self::Outline => ("Outline of the enclosure", 'o', "Corner by corner; Finish closes it"),
            Self::Wall => ("Inner wall", 'w', "Point by point, then Finish"),
            Self::Column => ("Building column", 'c', "Its middle"),
            Self::Zone => ("Zone", 'z', "Corner by corner; Finish closes it"),
            Self::Opening => ("Product opening", 'p', "Its middle, on a wall"),
            Self::Conveyor => ("Conveyor", 'v', "Point by point the way the parts go, then Finish"),
            Self::Heater => ("Heater", 'b', "First its discharge, then its intake"),
            Self::Supply => ("Trunk or run", 'd', "Point by point from the heater or a duct, then Finish"),
            Self::Transfer => {
                ("Transfer duct with damper", 't', "Point by point from the trunk, then Finish")
            }
            Self::Return => ("Return duct", 'r', "Point by point to the heater's intake, then Finish"),
            Self::Step => ("Change of duct size", 'n', "Its place on a duct"),
            Self::Slots => ("Slot row", 'l', "First and last slot on a duct"),
            Self::Intake => ("Return opening", 'i', "Its place on a return duct"),
            Self::Exhaust => ("Exhaust", 'e', "Its place in a zone"),
        }
    }

    /// How many places it takes.
    pub fn shape(self) -> Shape {
        match self {
            Self::Select | Self::Pan => Shape::None,
            Self::Column | Self::Opening | Self::Step | Self::Intake | Self::Exhaust => Shape::Point,
            Self::Box | Self::Heater | Self::Slots => Shape::Pair,
            Self::Wall | Self::Conveyor | Self::Supply | Self::Transfer | Self::Return => Shape::Line,
            Self::Outline | Self::Zone => Shape::Ring,
        }
    }

    /// Whether it places points.
    pub fn draws(self) -> bool {
        self.shape() != Shape::None
    }

    /// Whether what it draws runs level and upright.
    pub fn is_square(self) -> bool {
        matches!(self.shape(), Shape::Line | Shape::Ring) || self == Self::Heater
    }

    /// Whether what it draws may run at any angle as well.
    pub fn turns(self) -> bool {
        matches!(self, Self::Conveyor | Self::Supply | Self::Transfer | Self::Return)
    }

    /// Whether there is one of what it draws, so that it is put away after use.
    pub fn is_once(self) -> bool {
        matches!(self, Self::Box | Self::Outline | Self::Conveyor | Self::Heater)
    }

    /// The tool of this key.
    pub fn of_key(key: char) -> Option<Self> {
        Self::ALL.into_iter().find(|tool| tool.about().1 == key)
    }
}
