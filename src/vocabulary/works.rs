//! What is done to a face of a layer. Each work begins a mark.

use super::Word;
use super::types::Type;

table! {
    /// Kinds of work.
    enum Work of Word with pages "works" {
        Engrave = "engrave" {
            usage: "engrave text(\"CREW\", height: 6mm)",
            snippet: "engrave $1",
            takes: Some(Type::Region),
            doc: "burns a filled area",
        }
        Score = "score" {
            usage: "score line((0mm, 0mm), polar(12mm, 90deg))",
            snippet: "score $1",
            takes: Some(Type::Region),
            doc: "traces a line, not through",
        }
        Pocket = "pocket" {
            usage: "pocket circle(diameter: 8mm) depth 1mm",
            snippet: "pocket $1 depth ${2:1mm}",
            takes: Some(Type::Region),
            doc: "sinks an area to a depth",
        }
        Hole = "hole" {
            usage: "hole circle(diameter: 4mm)",
            snippet: "hole $1",
            takes: Some(Type::Region),
            doc: "cuts through",
        }
        Window = "window" {
            usage: "window peep = circle(diameter: 12mm) at polar(20mm, 0deg)",
            snippet: "window ${1:name} = $2",
            takes: Some(Type::Region),
            doc: "cuts through, to be looked through",
        }
        Paint = "paint" {
            usage: "paint circle(diameter: 50mm) colour #204080",
            snippet: "paint $1 colour ${2:#204080}",
            takes: Some(Type::Region),
            doc: "paints an area",
        }
        Print = "print" {
            usage: "print circle(diameter: 54mm) colour #204080",
            snippet: "print $1 colour ${2:#204080}",
            takes: Some(Type::Region),
            doc: "prints an area on the sheet, before anything is cut",
        }
        Bare = "bare" {
            usage: "bare circle(diameter: 12mm)",
            snippet: "bare $1",
            takes: Some(Type::Region),
            doc: "leaves an area of paint and print open",
        }
    }
}

impl Work {
    /// Work that the machine burns into a face.
    pub const BURNT: &'static [Self] = &[Self::Engrave, Self::Score, Self::Pocket];
}
