//! The blocks of the language and the fields each may hold. The checker, the evaluator and help all read
//! this one table.

use std::sync::LazyLock;

use super::kind::{Kind, ThingKind};
use crate::units::Dimension;

/// What a field holds.
#[derive(Clone, Debug, PartialEq)]
pub enum Holds {
    /// A value of this kind.
    Kind(Kind),
    /// A length, or a list of readings of it.
    Readings,
    /// A list of lengths, or of lists of readings of them.
    Ladder,
    /// A value of this kind for all labels, or a list with one for each.
    Each(Kind),
    /// One of these words.
    Word(&'static [&'static str]),
    /// One of these words, or a value of this kind.
    WordOr(&'static [&'static str], Kind),
    /// `A by B`, two lengths.
    Size,
    /// `A to B`, two lengths.
    Span,
    /// A count, or a list of bearings.
    Stops,
    /// True or false; a bare word means true.
    Flag,
}

/// One field.
#[derive(Clone, Debug)]
pub struct FieldSpec {
    /// The word.
    pub name: &'static str,
    /// What it holds.
    pub holds: Holds,
    /// Whether it must be given.
    pub required: bool,
    /// How it is written, for help.
    pub usage: &'static str,
}

/// One kind of block.
#[derive(Clone, Debug)]
pub struct BlockSpec {
    /// The word before it.
    pub word: &'static str,
    /// Its fields.
    pub fields: Vec<FieldSpec>,
}

fn field(name: &'static str, holds: Holds, usage: &'static str) -> FieldSpec {
    FieldSpec { name, holds, required: false, usage }
}

fn must(name: &'static str, holds: Holds, usage: &'static str) -> FieldSpec {
    FieldSpec { required: true, ..field(name, holds, usage) }
}

fn length(name: &'static str, usage: &'static str) -> FieldSpec {
    field(name, Holds::Kind(Kind::LENGTH), usage)
}

fn speed(name: &'static str, usage: &'static str) -> FieldSpec {
    field(name, Holds::Kind(Kind::Quantity(Dimension::SPEED)), usage)
}

fn time(name: &'static str, usage: &'static str) -> FieldSpec {
    field(name, Holds::Kind(Kind::Quantity(Dimension::TIME)), usage)
}

/// How the labels of a ring may face.
pub const FACINGS: &[&str] = &["outward", "inward", "upright", "clockwise", "anticlockwise"];

/// Where the north poles of a turn's magnets may look.
pub const POLES: &[&str] = &["up", "down"];

/// Every block with fields.
pub static BLOCKS: LazyLock<Vec<BlockSpec>> =
    LazyLock::new(|| [shop_blocks(), vec![ring(), turn(), run(), layer()]].concat());

/// The blocks that [`SHOP_WORDS`] begin.
fn shop_blocks() -> Vec<BlockSpec> {
    vec![stock(), magnet(), rivet(), adhesive(), finish(), spreads(), rates()]
}

/// The block of this word.
pub fn block_named(word: &str) -> Option<&'static BlockSpec> {
    BLOCKS.iter().find(|block| block.word == word)
}

/// The words that begin a block of the shop.
pub const SHOP_WORDS: [&str; 7] = ["stock", "magnet", "rivet", "adhesive", "finish", "spreads", "rates"];

fn cost() -> FieldSpec {
    field("cost", Holds::Kind(Kind::NUMBER), "cost 3.50")
}

fn stock() -> BlockSpec {
    BlockSpec {
        word: "stock",
        fields: vec![
            must("thickness", Holds::Readings, "thickness [2.94mm, 2.97mm]"),
            must("board", Holds::Size, "board 305mm by 305mm"),
            field("material", Holds::Kind(Kind::Text), "material \"birch plywood\""),
            field("kerf", Holds::Readings, "kerf 0.16mm"),
            field("passes", Holds::Ladder, "passes [0.42mm, 0.83mm]"),
            length("margin", "margin 5mm"),
            length("gap", "gap 1.5mm"),
            length("clear_edge", "clear_edge 0.5mm"),
            length("clear_opening", "clear_opening 1.2mm"),
            length("least_feature", "least_feature 0.3mm"),
            length("least_floor", "least_floor 0.5mm"),
            length("face_veneer", "face_veneer 0.4mm"),
            field("clear", Holds::Flag, "clear true"),
            field("colour", Holds::Kind(Kind::Colour), "colour #d9b98a"),
            field("engraved", Holds::Kind(Kind::Colour), "engraved #5b3a1e"),
            field("grain", Holds::Kind(Kind::ANGLE), "grain 90deg"),
            field("weighs", Holds::Kind(Kind::Quantity(Dimension::MASS)), "weighs 190g"),
            field("tilts", Holds::Kind(Kind::list(Kind::ANGLE)), "tilts [17deg, 19deg]"),
            field("keep_out", Holds::Kind(Kind::Region), "keep_out circle(diameter: 30mm) at (0mm, 150mm)"),
            speed("cut_speed", "cut_speed 8mm / 1s"),
            speed("score_speed", "score_speed 60mm / 1s"),
            speed("engrave_speed", "engrave_speed 250mm / 1s"),
            length("line_spacing", "line_spacing 0.1mm"),
            cost(),
        ],
    }
}

fn magnet() -> BlockSpec {
    let remanence = Holds::Kind(Kind::Quantity(Dimension::FLUX_DENSITY));
    BlockSpec {
        word: "magnet",
        fields: vec![
            must("diameter", Holds::Readings, "diameter 8mm"),
            must("height", Holds::Readings, "height 1.5mm"),
            must("remanence", remanence, "remanence 1.32T"),
            length("clearance", "clearance 0.1mm"),
            length("sink", "sink 0.1mm"),
            length("plating", "plating 0.015mm"),
            field("adhesive", Holds::Kind(Kind::Thing(ThingKind::Adhesive)), "adhesive epoxy"),
            cost(),
        ],
    }
}

fn rivet() -> BlockSpec {
    BlockSpec {
        word: "rivet",
        fields: vec![
            must("shank", Holds::Readings, "shank 4mm"),
            must("head", Holds::Readings, "head 7mm"),
            must("grips", Holds::Span, "grips 3mm to 4mm"),
            length("clearance", "clearance 0.1mm"),
            cost(),
        ],
    }
}

fn adhesive() -> BlockSpec {
    BlockSpec {
        word: "adhesive",
        fields: vec![
            must("cure", Holds::Kind(Kind::Quantity(Dimension::TIME)), "cure 24h"),
            length("gap", "gap 0.05mm"),
            field("strength", Holds::Kind(Kind::Quantity(Dimension::PRESSURE)), "strength 2MPa"),
            cost(),
        ],
    }
}

fn spreads() -> BlockSpec {
    BlockSpec {
        word: "spreads",
        fields: vec![
            length("kerf", "kerf 0.03mm"),
            length("concentricity", "concentricity 0.1mm"),
            field("placing", Holds::Kind(Kind::ANGLE), "placing 1deg"),
            field("clicked", Holds::Kind(Kind::ANGLE), "clicked 0.25deg"),
            field("remanence", Holds::Kind(Kind::NUMBER), "remanence 1%"),
            length("depth", "depth 0.05mm"),
            length("film", "film 0.02mm"),
        ],
    }
}

/// When a stain goes on.
pub const STAINED: &[&str] = &["before", "after"];

fn finish() -> BlockSpec {
    BlockSpec {
        word: "finish",
        fields: vec![
            field("stain", Holds::Kind(Kind::Colour), "stain #6b4423"),
            field("stained", Holds::Word(STAINED), "stained before"),
            field("fill", Holds::Kind(Kind::Colour), "fill #f5f0e6"),
            cost(),
        ],
    }
}

fn rates() -> BlockSpec {
    BlockSpec {
        word: "rates",
        fields: vec![
            field("currency", Holds::Kind(Kind::Text), "currency \"crowns\""),
            field("machine_hour", Holds::Kind(Kind::NUMBER), "machine_hour 18"),
            field("bench_hour", Holds::Kind(Kind::NUMBER), "bench_hour 24"),
            time("setup_time", "setup_time 4min"),
            time("turn_time", "turn_time 15s"),
            time("dial_time", "dial_time 5min"),
            field("extra", Holds::Kind(Kind::NUMBER), "extra 10%"),
        ],
    }
}

fn ring() -> BlockSpec {
    BlockSpec {
        word: "ring",
        fields: vec![
            must("labels", Holds::Kind(Kind::list(Kind::Label)), "labels 0 to 9"),
            length("radius", "radius 20mm"),
            field("height", Holds::Each(Kind::LENGTH), "height 8mm"),
            field("tilt", Holds::Each(Kind::ANGLE), "tilt [0deg, 90deg]"),
            field("curved", Holds::Flag, "curved true"),
            field("typeface", Holds::Kind(Kind::Text), "typeface \"DejaVu Serif\""),
            field("ticks", Holds::Kind(Kind::NUMBER), "ticks 4"),
            field("tick", Holds::Size, "tick 2mm by 0.4mm"),
            length("ticks_at", "ticks_at 22mm"),
            field("bearings", Holds::Kind(Kind::list(Kind::ANGLE)), "bearings [0deg, 40deg, 130deg]"),
            field("first", Holds::Kind(Kind::ANGLE), "first 180deg"),
            field("facing", Holds::Word(FACINGS), "facing outward"),
            length("stroke", "stroke 0.3mm"),
            field("tone", Holds::Kind(Kind::NUMBER), "tone 80%"),
            field("ink", Holds::Kind(Kind::Text), "ink \"white paint\""),
            field("colour", Holds::Kind(Kind::Colour), "colour #ffffff"),
        ],
    }
}

fn turn() -> BlockSpec {
    let layer = || Holds::Kind(Kind::Thing(ThingKind::Layer));
    BlockSpec {
        word: "turn",
        fields: vec![
            field("pocket", Holds::WordOr(&["through"], Kind::LENGTH), "pocket 1.6mm"),
            field("stops", Holds::Stops, "stops 12"),
            field("turning", layer(), "turning base"),
            field("lower", layer(), "lower base"),
            field("upper", layer(), "upper cover"),
            field("clicks", Holds::Kind(Kind::Pivot), "clicks magnets(tiny, radius: 15mm)"),
            field("knock", Holds::Kind(Kind::NUMBER), "knock 25"),
            field("north", Holds::Word(POLES), "north up"),
        ],
    }
}

fn run() -> BlockSpec {
    BlockSpec {
        word: "run",
        fields: vec![
            length("margin", "margin 5mm"),
            length("gap", "gap 1.5mm"),
            field("spares", Holds::Kind(Kind::NUMBER), "spares 2"),
            field("wanted", Holds::Kind(Kind::Text), "wanted \"2026-12-04 18:00\""),
        ],
    }
}

fn layer() -> BlockSpec {
    BlockSpec {
        word: "layer",
        fields: vec![
            field("grain", Holds::Kind(Kind::ANGLE), "grain 90deg"),
            field("finish", Holds::Kind(Kind::Thing(ThingKind::Finish)), "finish smoked"),
        ],
    }
}
