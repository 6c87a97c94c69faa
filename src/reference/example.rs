//! Examples, and the frames that complete them to whole dials.

use crate::project::MemoryProject;
use crate::units::{Dimension, Unit};
use crate::vocabulary::blocks::{BlockName, BlockSpec};
use crate::vocabulary::choices::Choice;
use crate::vocabulary::functions::{Function, Parameter};

/// What stands round an example.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Frame {
    /// Nothing: it is a whole design.
    Whole,
    /// A layer of 90 mm, which it is an item of.
    Layer,
    /// The dial of a ferry's crew, which it is an item of.
    Beside,
    /// A shop file that a small dial shares.
    Shop,
}

impl Frame {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Whole, Self::Layer, Self::Beside, Self::Shop];

    /// The words after the fence of an example.
    const fn fence(self) -> &'static str {
        match self {
            Self::Whole => "dial",
            Self::Layer => "dial layer",
            Self::Beside => "dial beside",
            Self::Shop => "dial shop",
        }
    }

    /// Where the example stands, to follow "An example".
    pub const fn place(self) -> &'static str {
        match self {
            Self::Whole => "a whole design",
            Self::Layer => "in a layer",
            Self::Beside => "in a design",
            Self::Shop => "in a shop file",
        }
    }

    /// The frame as text, the example's place marked by `…`.
    pub const fn text(self) -> &'static str {
        match self {
            Self::Whole => "…",
            Self::Layer => "dial \"Example\"\noutline circle(diameter: 90mm)\nlayer plate of birch {\n…\n}\n",
            Self::Beside => {
                "dial \"Ferry crew\"\noutline circle(diameter: 60mm)\n\
                 layer base of birch { engrave ring crew { labels 0 to 5 } }\n\
                 layer cover of birch { window peep = circle(diameter: 12mm) at polar(20mm, 0deg) }\n\
                 stack { base; turn on magnets(disc); cover }\nreads crew through peep\n…\n"
            }
            Self::Shop => "shop \"Reedbank workshop\"\n…\n",
        }
    }
}

/// The drawing that examples of `art` take.
const BOAT: &str = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"40mm\" height=\"30mm\" viewBox=\"0 0 40 30\">\
    <path id=\"hull\" d=\"M2 20H38L32 28H8Z\"/><path id=\"sail\" d=\"M19 2V18H6ZM21 4L34 18H21Z\"/></svg>\n";
/// The shop file that whole examples share.
const SHOP: &str = "shop \"Reedbank workshop\"\nstock birch { thickness 3mm; board 300mm by 300mm }\n";

/// The tables that examples of `column` and `rows` take.
const CREW: &str = "name,number\nAda,1\n\"Brun, the elder\",2\n";
const QUAYS: &str = "quay,depth\nReed,2m\nSluice,3m\nSaltern,1.5m\nHeron,4m\n";

/// An example of the reference.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Example {
    /// What completes it.
    pub frame: Frame,
    /// Its text.
    pub text: String,
}

impl Example {
    /// The design that [`Example::project`] holds.
    pub const FILE: &'static str = "example.dial";

    /// The first example of a page.
    pub fn in_page(page: &str) -> Option<Self> {
        let (_, after) = page.split_once("```")?;
        let (fence, text) = after.split_once('\n')?;
        let frame = Frame::ALL.into_iter().find(|frame| frame.fence() == fence.trim())?;
        let (text, _) = text.split_once("```")?;
        Some(Self { frame, text: text.trim_end().to_owned() })
    }

    /// The whole design, and the shop file where the example is one.
    pub fn project(&self) -> MemoryProject {
        let framed = self.frame.text().replace('…', &self.text);
        let (design, shop) = match self.frame {
            Frame::Shop => {
                let stock = self.text.split_once("stock ").and_then(|(_, after)| after.split_whitespace().next());
                let small = format!(
                    "dial \"Example\"\nwith \"shop.dial\"\noutline circle(diameter: 40mm)\nlayer only of {} {{ }}\n",
                    stock.unwrap_or("birch")
                );
                let named = if self.text.starts_with("shop ") { format!("{}\n", self.text) } else { framed };
                let more = if stock.is_some() { "" } else { "stock birch { thickness 3mm; board 300mm by 300mm }\n" };
                (small, named + more)
            }
            _ => (framed, SHOP.to_owned()),
        };
        MemoryProject::default()
            .with(Self::FILE, design)
            .with("shop.dial", shop)
            .with("boat.svg", BOAT)
            .with("crew.csv", CREW)
            .with("quays.csv", QUAYS)
    }
}

/// The field, as it is written, in a block with all that the block must have.
pub(super) fn of_field(block: &'static BlockSpec, usage: &str) -> Option<Example> {
    let word = usage.split_whitespace().next()?;
    let must = block.fields.iter().filter(|field| field.is_required() && field.word != word).map(|field| field.usage);
    let listed = usage.split_once('[').map(|(_, items)| items.split(',').count());
    let mut lines: Vec<String> = must.map(str::to_owned).collect();
    if let (BlockName::Ring, true) = (block.name, word != "labels") {
        // What is underlined are labels of the ring itself, not one thing for each of them.
        let labels =
            usage.strip_prefix("underlined ").map_or_else(|| format!("1 to {}", listed.unwrap_or(6)), str::to_owned);
        lines = vec![format!("labels {labels}")];
    }
    lines.extend(needed(block.name, word).iter().map(|line| (*line).to_owned()));
    lines.push(usage.to_owned());
    let inner = lines.join("\n  ");
    Some(match block.name {
        BlockName::Ring => {
            let work = if word == "single_stroke" { "score" } else { "engrave" };
            Example { frame: Frame::Layer, text: format!("{work} ring hour {{\n  {inner}\n}}") }
        }
        BlockName::Run => Example { frame: Frame::Beside, text: format!("run 8 {{\n  {inner}\n}}") },
        BlockName::Turn => Example {
            frame: Frame::Whole,
            text: format!(
                "dial \"Example\"\noutline circle(diameter: 60mm)\nlayer base of birch {{ }}\nlayer cover of birch {{ }}\n\
                 {}stack {{\n  base\n  turn on magnets(disc) {{\n    {}\n  }}\n  cover\n}}",
                if word == "ends" { "pin dowel { shank 3mm; length 5mm }\n" } else { "" },
                lines.join("\n    ")
            ),
        },
        BlockName::Seek => Example {
            frame: Frame::Beside,
            text: format!(
                "param across: length = 60mm from 44mm to 80mm\nparam eye: length = 12mm from 8mm to 20mm\n\
                 seek sample {{\n  {inner}\n}}"
            ),
        },
        BlockName::Layer => Example {
            frame: Frame::Whole,
            text: format!(
                "dial \"Example\"\nfinish smoked {{ stain #4a3b2c }}\nlayer plate of birch {{\n  outline circle(diameter: 60mm)\n  \
                 {inner}\n}}"
            ),
        },
        _ => {
            let glue = if word == "adhesive" { "\nadhesive epoxy { cure 24h }" } else { "" };
            Example { frame: Frame::Shop, text: format!("{} sample {{\n  {inner}\n}}{glue}", block.word) }
        }
    })
}

/// What a field needs beside it to say anything.
fn needed(block: BlockName, word: &str) -> &'static [&'static str] {
    match (block, word) {
        (BlockName::Ring, "radius") => &["height 6mm"],
        (BlockName::Ring, "tick" | "ticks_at") => &["radius 30mm", "height 6mm", "ticks 3"],
        (BlockName::Ring, "ticks") => &["radius 30mm", "height 6mm"],
        (BlockName::Ring, "colour") => &["radius 30mm", "ink \"white paint\""],
        (BlockName::Ring, "facing") => &["radius 30mm", "height 12mm"],
        (BlockName::Ring, _) => &["radius 30mm"],
        (BlockName::Layer, "witness") => {
            &["engrave text(\"CREW\", height: 10mm)", "back engrave text(\"Keep dry\", height: 8mm)"]
        }
        (BlockName::Pin, "head") => &["nut 7mm by 3.2mm", "grips 5mm to 12mm"],
        (BlockName::Pin, "nut") => &["head 7mm by 2.6mm", "grips 5mm to 12mm"],
        (BlockName::Pin, "grips") => &["head 7mm by 2.6mm", "nut 7mm by 3.2mm"],
        (BlockName::Pin, "length") => &[],
        (BlockName::Pin, _) => &["length 5mm"],
        (BlockName::Turn, "stops") => &[],
        (BlockName::Turn, _) => &["stops 6"],
        (BlockName::Finish, "stained") => &["stain #6b4423"],
        _ => &[],
    }
}

/// A call that holds the word.
pub(super) fn of_argument(
    function: &'static Function,
    parameter: &'static Parameter,
    choice: &'static Choice,
) -> Option<Example> {
    let example = super::function(function.word)?.example()?;
    let more = if parameter.word == "facing" { ", around: 30mm" } else { "" };
    let given = format!("(\"No. 7\", height: 9mm{more}, {}: \"{}\")", parameter.word, choice.word);
    let work = example.text.split_whitespace().next()?;
    Some(Example { frame: Frame::Layer, text: format!("{work} {}{given}", function.word) })
}

/// A name for a number in the unit.
pub(super) fn of_unit(unit: Unit) -> Example {
    let number = if unit.dimension == Dimension::NUMBER { "60" } else { "3" };
    Example { frame: Frame::Beside, text: format!("let size = {number}{}", unit.name) }
}
