//! What may follow the shape of a mark, on its line.

use super::Word;
use super::types::Type;
use super::works::Work;

table! {
    /// Kinds of tail.
    enum TailKind of Word with pages "tails" {
        Depth = "depth" {
            usage: "pocket circle(diameter: 8mm) depth 1mm",
            snippet: "depth ${1:1mm}",
            takes: Some(Type::LENGTH),
            doc: "how deep the area is sunk; `through` for all the way",
        }
        Tone = "tone" {
            usage: "engrave circle(diameter: 8mm) tone 80%",
            snippet: "tone ${1:80%}",
            takes: Some(Type::NUMBER),
            doc: "how dark the engraving is",
        }
        Ink = "ink" {
            usage: "engrave text(\"CREW\", height: 6mm) ink \"black\"",
            snippet: "ink \"${1:black}\"",
            takes: Some(Type::Text),
            doc: "what the engraving is filled with afterwards",
        }
        Colour = "colour" {
            usage: "paint circle(diameter: 50mm) colour #204080",
            snippet: "colour ${1:#204080}",
            takes: Some(Type::Colour),
            doc: "the colour of the paint, of the print, or of the ink",
        }
        After = "after" {
            usage: "back engrave circle(diameter: 8mm) after rim",
            snippet: "after ${1:name}",
            takes: None,
            doc: "waits until the work of this name on the other face is done",
        }
    }
}

impl TailKind {
    /// The works that it may follow.
    pub const fn works(self) -> &'static [Work] {
        match self {
            Self::Depth => &[Work::Pocket, Work::Engrave],
            Self::Tone | Self::Ink => &[Work::Engrave],
            Self::Colour => &[Work::Paint, Work::Print, Work::Engrave],
            Self::After => Work::BURNT,
        }
    }

    /// Those that a value follows, not a name.
    pub fn with_value() -> impl Iterator<Item = Self> {
        Self::ALL.iter().copied().filter(|tail| tail.spec().takes.is_some())
    }
}
