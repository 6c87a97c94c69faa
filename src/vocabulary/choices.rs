//! Words that a field or argument may hold, list by list.

/// One of the words that a field or argument may hold.
#[derive(Debug)]
pub struct Choice {
    /// The word.
    pub word: &'static str,
    /// What it means.
    pub doc: &'static str,
}

table! {
    /// How the labels of a ring may face.
    enum FacingWord of Choice {
        Outward = "outward" { doc: "the heads of the letters look away from the axis" }
        Inward = "inward" { doc: "the heads of the letters look to the axis" }
        Upright = "upright" { doc: "every label stands upright where the dial lies as it is drawn" }
        Clockwise = "clockwise" { doc: "the letters run in to the axis, and their heads look clockwise" }
        Anticlockwise = "anticlockwise" { doc: "the letters run out from the axis, and their heads look anticlockwise" }
    }
}

impl FacingWord {
    /// Taken where nothing is said.
    pub const DEFAULT: Self = Self::Outward;
    /// Those along which text can be bent.
    pub const BENT: &'static [Self] = &[Self::Outward, Self::Inward];
    /// Their rows.
    pub const BENT_ROWS: &'static [&'static Choice] = &[Self::Outward.spec(), Self::Inward.spec()];
}

table! {
    /// Which way round the labels of a ring may go.
    enum RunsWord of Choice {
        Clockwise = "clockwise" { doc: "each label stands clockwise of the one before it" }
        Anticlockwise = "anticlockwise" { doc: "each label stands anticlockwise of the one before it" }
    }
}

table! {
    /// Which part of a text stands where the text is placed.
    enum AlignWord of Choice {
        Start = "start" { doc: "the end where it begins: the left one, or the right one of Hebrew and Arabic" }
        Middle = "middle" { doc: "its middle" }
        End = "end" { doc: "the other end" }
    }
}

impl AlignWord {
    /// Taken where nothing is said.
    pub const DEFAULT: Self = Self::Middle;
}

table! {
    /// Where the north poles of a turn's magnets may look.
    enum PoleWord of Choice {
        Up = "up" { doc: "to the player" }
        Down = "down" { doc: "away from the player" }
    }
}

table! {
    /// When a stain goes on.
    enum StainedWord of Choice {
        Before = "before" { doc: "before the engraving, which stays clear of it" }
        After = "after" { doc: "after the engraving, which takes it as well" }
    }
}

impl StainedWord {
    /// Taken where nothing is said.
    pub const DEFAULT: Self = Self::Before;
}

table! {
    /// The word for what a drawing leaves out.
    enum HiddenWord of Choice {
        Hidden = "hidden" { doc: "it is left out" }
    }
}

table! {
    /// Of what a file of its own is written.
    enum FilesWord of Choice {
        Setup = "setup" { doc: "one drawing for each setup" }
        Work = "work" { doc: "beside it one for each kind of work in the setup" }
    }
}

impl FilesWord {
    /// Where nothing is said.
    pub const DEFAULT: Self = Self::Setup;
}

table! {
    /// The word for a pocket that goes all the way.
    enum ThroughWord of Choice {
        Through = "through" { doc: "all the way, so that one magnet serves both faces" }
    }
}
