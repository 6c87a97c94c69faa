//! The rows of the blocks.

use super::*;
use crate::units::{Angle, Dimension, Length};
use crate::vocabulary::choices::{FacingWord, FilesWord, HiddenWord, PoleWord, RunsWord, StainedWord, ThroughWord};
use crate::vocabulary::usual;

const fn of(dimension: Dimension) -> Holds {
    Holds::Type(Type::Quantity(dimension))
}

const fn mm(length: f64) -> DefaultValue {
    DefaultValue::Length(Length::mm(length))
}

const fn degrees(angle: f64) -> DefaultValue {
    DefaultValue::Angle(Angle::degrees(angle))
}

const LENGTH: Holds = of(Dimension::LENGTH);
const ANGLE: Holds = of(Dimension::ANGLE);
const NUMBER: Holds = of(Dimension::NUMBER);
const TIME: Holds = of(Dimension::TIME);
const SPEED: Holds = of(Dimension::SPEED);
const TEXT: Holds = Holds::Type(Type::Text);
const COLOUR: Holds = Holds::Type(Type::Colour);
const LAYER: Holds = Holds::Type(Type::Thing(ThingKind::Layer));
const STOCK: Holds = Holds::Type(Type::Thing(ThingKind::Stock));
const REGION: Holds = Holds::Type(Type::Region);
/// A name says it as well.
const NO_LOGO: DefaultValue = DefaultValue::Described("the name stands alone");
const REQUIRED: DefaultValue = DefaultValue::Required;
/// The quote leaves out what has no price.
const NO_PRICE: DefaultValue = DefaultValue::Described("the quote leaves it out");
/// The quote leaves out what takes a time that nobody measured.
const NOT_TIMED: DefaultValue = DefaultValue::Described("the quote states no time for it");

blocks! {
    Stock = "stock" {
        usage: "stock birch { thickness 3mm; board 305mm by 305mm }",
        snippet: "stock ${1:birch} {\n  thickness ${2:3mm}\n  board ${3:305mm} by ${4:305mm}\n}",
        doc: "a sheet material",
        fields: {
            Thickness = "thickness" {
                holds: Holds::Readings, default: REQUIRED, usage: "thickness [2.94mm, 2.97mm]",
                doc: "how thick the boards are, as one reading or several",
            }
            Board = "board" {
                holds: Holds::Size, default: REQUIRED, usage: "board 305mm by 305mm",
                doc: "how wide and how high a board is",
            }
            Material = "material" {
                holds: TEXT, default: DefaultValue::Described("nothing is known of it"), usage: "material \"birch plywood\"",
                doc: "what it is made of; whatever holds chlorine is refused",
            }
            Kerf = "kerf" {
                holds: Holds::Readings, default: mm(0.15), usage: "kerf 0.16mm",
                doc: "how wide a cut is, as one reading or several",
            }
            Passes = "passes" {
                holds: Holds::PassDepths, default: DefaultValue::Described("a pocket states its depth alone"), usage: "passes [0.42mm, 0.83mm]",
                doc: "how deep a pocket is after one pass, two, three and on; readings of a pass stand in a list",
            }
            Margin = "margin" {
                holds: LENGTH, default: mm(5.0), usage: "margin 5mm",
                doc: "how far parts stay from the edge of a board",
            }
            Gap = "gap" {
                holds: LENGTH, default: mm(2.0), usage: "gap 1.5mm",
                doc: "how far parts stay from each other",
            }
            ClearEdge = "clear_edge" {
                holds: LENGTH, default: mm(0.5), usage: "clear_edge 0.5mm",
                doc: "how near a mark may come to an edge",
            }
            ClearOpening = "clear_opening" {
                holds: LENGTH, default: mm(1.2), usage: "clear_opening 1.2mm",
                doc: "how far labels should stay from the edge of the opening that they are read through",
            }
            LeastFeature = "least_feature" {
                holds: LENGTH, default: mm(0.3), usage: "least_feature 0.3mm",
                doc: "the finest stroke or gap that an engraving keeps",
            }
            LeastFloor = "least_floor" {
                holds: LENGTH, default: mm(0.5), usage: "least_floor 0.5mm",
                doc: "the thinnest floor that may be left under a pocket",
            }
            FaceVeneer = "face_veneer" {
                holds: LENGTH, default: DefaultValue::Described("it has none"), usage: "face_veneer 0.4mm",
                doc: "how thick its face veneer is; engraving must not go through it",
            }
            Clear = "clear" {
                holds: Holds::Flag, default: DefaultValue::Truth(false), usage: "clear true",
                doc: "whether it can be looked through",
            }
            Colour = "colour" {
                holds: COLOUR, default: DefaultValue::Colour([0xd9, 0xb9, 0x8a]), usage: "colour #d9b98a",
                doc: "the colour of its face",
            }
            Engraved = "engraved" {
                holds: COLOUR, default: DefaultValue::Colour([0x5b, 0x3a, 0x1e]), usage: "engraved #5b3a1e",
                doc: "the colour of an engraving in it",
            }
            Grain = "grain" {
                holds: ANGLE, default: DefaultValue::Described("parts may lie either way"), usage: "grain 90deg",
                doc: "the bearing of its grain on a board",
            }
            Weighs = "weighs" {
                holds: of(Dimension::MASS), default: DefaultValue::Described("what needs its mass is not measured"), usage: "weighs 190g",
                doc: "what one board weighs; friction and knocks are judged by it",
            }
            Tilts = "tilts" {
                holds: Holds::List(Type::ANGLE), default: DefaultValue::Described("friction is taken from tables"), usage: "tilts [17deg, 19deg]",
                doc: "the tilts at which a piece of it begins to slide on another",
            }
            KeepOut = "keep_out" {
                holds: Holds::Type(Type::Region), default: DefaultValue::Described("no such area"), usage: "keep_out circle(diameter: 30mm) at (0mm, 150mm)",
                doc: "a part of a board that stays free, such as for a clamp, seen from its lower left corner",
            }
            CutSpeed = "cut_speed" {
                holds: SPEED, default: NOT_TIMED, usage: "cut_speed 8mm / 1s",
                doc: "how fast it is cut",
            }
            ScoreSpeed = "score_speed" {
                holds: SPEED, default: NOT_TIMED, usage: "score_speed 60mm / 1s",
                doc: "how fast a line is scored",
            }
            EngraveSpeed = "engrave_speed" {
                holds: SPEED, default: NOT_TIMED, usage: "engrave_speed 250mm / 1s",
                doc: "how fast the head runs along each line of an engraving",
            }
            LineSpacing = "line_spacing" {
                holds: LENGTH, default: NOT_TIMED, usage: "line_spacing 0.1mm",
                doc: "from one line of an engraving to the next",
            }
            Cost = "cost" { holds: NUMBER, default: NO_PRICE, usage: "cost 3.50", doc: "price of a board" }
        },
    }
    Magnet = "magnet" {
        usage: "magnet disc { diameter 8mm; height 1.5mm; remanence 1.32T }",
        snippet: "magnet ${1:disc} {\n  diameter ${2:8mm}\n  height ${3:1.5mm}\n  remanence ${4:1.32T}\n}",
        doc: "a disc magnet",
        fields: {
            Diameter = "diameter" {
                holds: Holds::Readings, default: REQUIRED, usage: "diameter 8mm",
                doc: "how far across it is, as one reading or several",
            }
            Height = "height" {
                holds: Holds::Readings, default: REQUIRED, usage: "height 1.5mm",
                doc: "how high it is, as one reading or several",
            }
            Remanence = "remanence" {
                holds: of(Dimension::FLUX_DENSITY), default: REQUIRED, usage: "remanence 1.32T",
                doc: "the remanence of its material, as its maker states it",
            }
            Clearance = "clearance" {
                holds: LENGTH, default: mm(0.1), usage: "clearance 0.1mm",
                doc: "how much wider its pocket is",
            }
            Sink = "sink" {
                holds: LENGTH, default: mm(0.1), usage: "sink 0.1mm",
                doc: "how far it lies below the face",
            }
            Plating = "plating" {
                holds: LENGTH, default: mm(0.015), usage: "plating 0.015mm",
                doc: "how thick its plating is, which is not magnetic",
            }
            Adhesive = "adhesive" {
                holds: Holds::Type(Type::Thing(ThingKind::Adhesive)), default: DefaultValue::Described("the first in the shop, by name"), usage: "adhesive epoxy",
                doc: "what it is glued in with",
            }
            Cost = "cost" { holds: NUMBER, default: NO_PRICE, usage: "cost 3.50", doc: "price of one" }
        },
    }
    Washer = "washer" {
        usage: "washer keeper { diameter 9mm; hole 3.2mm; height 0.8mm }",
        snippet: "washer ${1:keeper} {\n  diameter ${2:9mm}\n  hole ${3:3.2mm}\n  height ${4:0.8mm}\n}",
        doc: "a steel washer, which a magnet holds by",
        fields: {
            Diameter = "diameter" {
                holds: Holds::Readings, default: REQUIRED, usage: "diameter 9mm",
                doc: "how far across it is, as one reading or several",
            }
            Hole = "hole" {
                holds: Holds::Readings, default: REQUIRED, usage: "hole 3.2mm",
                doc: "how wide the hole through its middle is, as one reading or several",
            }
            Height = "height" {
                holds: Holds::Readings, default: REQUIRED, usage: "height 0.8mm",
                doc: "how high it is, as one reading or several",
            }
            Saturation = "saturation" {
                holds: of(Dimension::FLUX_DENSITY), default: DefaultValue::Described("1.5T, which is nominal for mild steel"), usage: "saturation 1.5T",
                doc: "how strongly its steel is magnetised at the most",
            }
            Clearance = "clearance" {
                holds: LENGTH, default: mm(0.1), usage: "clearance 0.1mm",
                doc: "how much wider its pocket is",
            }
            Sink = "sink" {
                holds: LENGTH, default: mm(0.1), usage: "sink 0.1mm",
                doc: "how far it lies below the face",
            }
            Adhesive = "adhesive" {
                holds: Holds::Type(Type::Thing(ThingKind::Adhesive)), default: DefaultValue::Described("the first in the shop, by name"), usage: "adhesive epoxy",
                doc: "what it is glued in with",
            }
            Cost = "cost" { holds: NUMBER, default: NO_PRICE, usage: "cost 3.50", doc: "price of one" }
        },
    }
    Rivet = "rivet" {
        usage: "rivet eyelet { shank 4mm; head 7mm; grips 3mm to 4mm }",
        snippet: "rivet ${1:eyelet} {\n  shank ${2:4mm}\n  head ${3:7mm}\n  grips ${4:3mm} to ${5:4mm}\n}",
        doc: "a rivet or eyelet",
        fields: {
            Shank = "shank" {
                holds: Holds::Readings, default: REQUIRED, usage: "shank 4mm",
                doc: "diameter of its shank, as one reading or several",
            }
            Head = "head" {
                holds: Holds::Readings, default: REQUIRED, usage: "head 7mm",
                doc: "diameter of its head, as one reading or several",
            }
            HeadHeight = "head_height" {
                holds: LENGTH, default: mm(1.0), usage: "head_height 0.8mm",
                doc: "how far each head stands out of the face that it lies on",
            }
            Grips = "grips" {
                holds: Holds::Span, default: REQUIRED, usage: "grips 3mm to 4mm",
                doc: "the least and the most thickness that it holds together",
            }
            Clearance = "clearance" {
                holds: LENGTH, default: mm(0.1), usage: "clearance 0.1mm",
                doc: "how much wider its hole is",
            }
            Cost = "cost" { holds: NUMBER, default: NO_PRICE, usage: "cost 3.50", doc: "price of one" }
        },
    }
    Pin = "pin" {
        usage: "pin m4 { shank 3.9mm; head 7mm by 2.6mm; nut 7mm by 3.2mm; grips 5mm to 12mm }",
        snippet: "pin ${1:m4} {\n  shank ${2:3.9mm}\n  head ${3:7mm} by ${4:2.6mm}\n  nut ${5:7mm} by ${6:3.2mm}\n  grips ${7:5mm} to ${8:12mm}\n}",
        doc: "a screw with its nut, or a dowel",
        fields: {
            Shank = "shank" {
                holds: Holds::Readings, default: REQUIRED, usage: "shank 3.9mm",
                doc: "how thick it is, as one reading or several",
            }
            Head = "head" {
                holds: Holds::Size, default: DefaultValue::Described("it has none, and is glued in"), usage: "head 7mm by 2.6mm",
                doc: "how wide its head is, and how far it stands out; it lies on the front",
            }
            Nut = "nut" {
                holds: Holds::Size, default: DefaultValue::Described("it has none, and is glued in"), usage: "nut 7mm by 3.2mm",
                doc: "how wide its nut is, and how far it stands out; it lies on the back",
            }
            Grips = "grips" {
                holds: Holds::Span, default: DefaultValue::Described("it clamps nothing"), usage: "grips 5mm to 12mm",
                doc: "the least and the most thickness between head and nut",
            }
            Length = "length" {
                holds: LENGTH, default: DefaultValue::Described("asked for where it has no head"), usage: "length 5mm",
                doc: "how long it is, where it has no head",
            }
            Adhesive = "adhesive" {
                holds: Holds::Type(Type::Thing(ThingKind::Adhesive)), default: DefaultValue::Described("the first in the shop, by name"), usage: "adhesive epoxy",
                doc: "what it is glued in with, where it has no head",
            }
            Clearance = "clearance" {
                holds: LENGTH, default: mm(0.1), usage: "clearance 0.1mm",
                doc: "how much wider its hole is",
            }
            Cost = "cost" { holds: NUMBER, default: NO_PRICE, usage: "cost 3.50", doc: "price of one" }
        },
    }
    Adhesive = "adhesive" {
        usage: "adhesive pva { cure 24h }",
        snippet: "adhesive ${1:pva} { cure ${2:24h} }",
        doc: "a glue",
        fields: {
            Cure = "cure" { holds: TIME, default: REQUIRED, usage: "cure 24h", doc: "how long it takes to harden" }
            Gap = "gap" { holds: LENGTH, default: mm(0.05), usage: "gap 0.05mm", doc: "how thick its film is" }
            Strength = "strength" {
                holds: of(Dimension::PRESSURE), default: DefaultValue::Described("what it holds is not measured"), usage: "strength 2MPa",
                doc: "the pull that tears what is glued apart, for each area",
            }
            Cost = "cost" {
                holds: NUMBER, default: NO_PRICE, usage: "cost 3.50",
                doc: "the price of a millilitre",
            }
        },
    }
    Finish = "finish" {
        usage: "finish dusk { stain #4a3b2c }",
        snippet: "finish ${1:dusk} { stain ${2:#4a3b2c} }",
        doc: "how a layer is stained and filled",
        fields: {
            Stain = "stain" {
                holds: COLOUR, default: DefaultValue::Described("it is not stained"), usage: "stain #6b4423",
                doc: "the colour of a stain over the whole layer",
            }
            Stained = "stained" {
                holds: Holds::Word(StainedWord::ROWS), default: DefaultValue::Word(StainedWord::DEFAULT.word()), usage: "stained before",
                doc: "when the stain goes on",
            }
            Fill = "fill" {
                holds: COLOUR, default: DefaultValue::Described("engravings are not filled"), usage: "fill #f5f0e6",
                doc: "the colour that engravings are filled with",
            }
            Cost = "cost" { holds: NUMBER, default: NO_PRICE, usage: "cost 3.50", doc: "price of finishing one layer with it" }
        },
    }
    Friction = "friction" {
        usage: "friction smooth { of birch; on birch; tilts [13deg, 15deg] }",
        snippet: "friction ${1:smooth} { of ${2:birch}; on ${3:card}; tilts [${4:15deg}] }",
        doc: "how one stock slides on another",
        fields: {
            Of = "of" { holds: STOCK, default: REQUIRED, usage: "of birch", doc: "one of the two stocks" }
            On = "on" { holds: STOCK, default: REQUIRED, usage: "on birch", doc: "the other one" }
            Tilts = "tilts" {
                holds: Holds::List(Type::ANGLE), default: REQUIRED, usage: "tilts [13deg, 15deg]",
                doc: "the tilts at which a piece of the one begins to slide on the other",
            }
        },
    }
    Spreads = "spreads" {
        usage: "spreads usual { kerf 0.03mm }",
        snippet: "spreads ${1:usual} { $0 }",
        doc: "how far what is made strays from what is drawn",
        fields: {
            Kerf = "kerf" {
                holds: LENGTH, default: DefaultValue::Length(usual::KERF_SPREAD), usage: "kerf 0.03mm",
                doc: "standard deviation of the width of a cut",
            }
            Concentricity = "concentricity" {
                holds: LENGTH, default: DefaultValue::DescribedOr("what turning parts over leaves of it", usual::CENTRING_SPREAD), usage: "concentricity 0.1mm",
                doc: "standard deviation of the middle of a pocket off the axis, in x and in y",
            }
            Placing = "placing" {
                holds: ANGLE, default: DefaultValue::Angle(usual::PLACING_SPREAD), usage: "placing 1deg",
                doc: "standard deviation of a stop that is set by hand",
            }
            Clicked = "clicked" {
                holds: ANGLE, default: DefaultValue::Angle(usual::CLICKED_SPREAD), usage: "clicked 0.25deg",
                doc: "standard deviation of a stop that clicks hold",
            }
            Glued = "glued" {
                holds: LENGTH, default: DefaultValue::Length(usual::GLUED_SPREAD), usage: "glued 0.1mm",
                doc: "standard deviation of how far a glued layer lies off the one beneath it, in x and in y",
            }
            Printing = "printing" {
                holds: LENGTH, default: DefaultValue::Length(usual::PRINTING_SPREAD), usage: "printing 0.3mm",
                doc: "standard deviation of how far a print lies off what is cut, in x and in y",
            }
            Remanence = "remanence" {
                holds: NUMBER, default: DefaultValue::Ratio(usual::REMANENCE_SPREAD), usage: "remanence 1%",
                doc: "standard deviation of how strongly magnets are magnetised, as a share",
            }
            Depth = "depth" {
                holds: LENGTH, default: DefaultValue::Length(usual::DEPTH_SPREAD), usage: "depth 0.05mm",
                doc: "standard deviation of the depth of a pocket",
            }
            Film = "film" {
                holds: LENGTH, default: DefaultValue::Length(usual::FILM_SPREAD), usage: "film 0.02mm",
                doc: "standard deviation of the glue beneath a magnet",
            }
        },
    }
    Printer = "printer" {
        usage: "printer ours { sheet 210mm by 297mm }",
        snippet: "printer ${1:ours} { sheet ${2:210mm} by ${3:297mm} }",
        doc: "what prints on sheets before they are cut",
        fields: {
            Sheet = "sheet" {
                holds: Holds::Size, default: DefaultValue::Described("any sheet is taken"), usage: "sheet 210mm by 297mm",
                doc: "the largest sheet that it takes, either way round",
            }
            Border = "border" {
                holds: LENGTH, default: DefaultValue::Length(usual::PRINTER_BORDER), usage: "border 5mm",
                doc: "how near to the edge of a sheet it prints",
            }
            Cost = "cost" { holds: NUMBER, default: NO_PRICE, usage: "cost 0.12", doc: "price of printing one face of a sheet" }
        },
    }
    Drawing = "drawing" {
        usage: "drawing ours { cut #d00000; line 0.01mm }",
        snippet: "drawing ${1:ours} {\n  cut ${2:#d00000}\n  score ${3:#0000d0}\n  engrave ${4:#000000}\n}",
        doc: "the colours and lines of the shop's drawings",
        fields: {
            Cut = "cut" {
                holds: COLOUR, default: DefaultValue::Colour(usual::CUT), usage: "cut #d00000",
                doc: "the colour of outlines that are cut",
            }
            Openings = "openings" {
                holds: COLOUR, default: DefaultValue::Described("that of `cut` where it is written, else #e69f00"), usage: "openings #d08000",
                doc: "the colour of openings, which are cut before the outlines",
            }
            Score = "score" {
                holds: COLOUR, default: DefaultValue::Colour(usual::SCORE), usage: "score #0000d0",
                doc: "the colour of scored lines",
            }
            Engrave = "engrave" {
                holds: COLOUR, default: DefaultValue::Colour(usual::ENGRAVE), usage: "engrave #000000",
                doc: "the colour of what is engraved all the way; lighter tones are mixed with white",
            }
            Pocket = "pocket" {
                holds: COLOUR, default: DefaultValue::Colour(usual::POCKET), usage: "pocket #008000",
                doc: "the colour of pockets",
            }
            Construction = "construction" {
                holds: Holds::WordOr(HiddenWord::ROWS, Type::Colour), default: DefaultValue::Colour(usual::CONSTRUCTION), usage: "construction hidden",
                doc: "the colour of the board's edge and of whatever else is not burnt",
            }
            Line = "line" {
                holds: LENGTH, default: DefaultValue::Length(usual::LINE), usage: "line 0.01mm",
                doc: "how wide every stroke is",
            }
            Files = "files" {
                holds: Holds::Word(FilesWord::ROWS), default: DefaultValue::Word(FilesWord::DEFAULT.word()), usage: "files work",
                doc: "whether each kind of work has a file of its own",
            }
        },
    }
    Rates = "rates" {
        usage: "rates ours { machine_hour 18 }",
        snippet: "rates ${1:ours} { $0 }",
        doc: "what the shop's time costs",
        fields: {
            Currency = "currency" {
                holds: TEXT, default: DefaultValue::Described("sums stand without a word"), usage: "currency \"crowns\"",
                doc: "what sums of money are called",
            }
            MachineHour = "machine_hour" {
                holds: NUMBER, default: NO_PRICE, usage: "machine_hour 18",
                doc: "price of an hour of the machine",
            }
            BenchHour = "bench_hour" {
                holds: NUMBER, default: NO_PRICE, usage: "bench_hour 24",
                doc: "price of an hour of a person",
            }
            SetupTime = "setup_time" {
                holds: TIME, default: NOT_TIMED, usage: "setup_time 4min",
                doc: "how long it takes to lay and start a board",
            }
            TurnTime = "turn_time" {
                holds: TIME, default: NOT_TIMED, usage: "turn_time 15s",
                doc: "how long it takes to turn one part over",
            }
            DialTime = "dial_time" {
                holds: TIME, default: NOT_TIMED, usage: "dial_time 5min",
                doc: "how long it takes to finish and assemble one dial",
            }
            Extra = "extra" {
                holds: NUMBER, default: DefaultValue::Ratio(usual::EXTRA), usage: "extra 10%",
                doc: "magnets, rivets and pins bought beyond what is needed, as a share of it",
            }
        },
    }
    Client = "client" {
        usage: "client lanternfolk { name \"The Lanternfolk\" }",
        snippet: "client ${1:them} {\n  name \"${2:Whom it is for}\"\n}",
        doc: "whom the dials are made for",
        fields: {
            Name = "name" {
                holds: TEXT, default: REQUIRED, usage: "name \"The Lanternfolk\"",
                doc: "what stands on the proof and in the quote",
            }
            Logo = "logo" {
                holds: REGION, default: NO_LOGO, usage: "logo circle(diameter: 10mm)",
                doc: "a shape or drawing beside the name, in one ink",
            }
        },
    }
    Maker = "maker" {
        usage: "maker ours { name \"Reedbank Workshop\" }",
        snippet: "maker ${1:ours} {\n  name \"${2:Who makes it}\"\n}",
        doc: "who makes the dials",
        fields: {
            Name = "name" {
                holds: TEXT, default: REQUIRED, usage: "name \"Reedbank Workshop\"",
                doc: "what stands on the proof and in the quote",
            }
            Logo = "logo" {
                holds: REGION, default: NO_LOGO, usage: "logo circle(diameter: 10mm)",
                doc: "a shape or drawing beside the name, in one ink",
            }
        },
    }
    Ring = "ring" {
        usage: "engrave ring crew { labels 0 to 9 }",
        snippet: "ring ${1:crew} { labels ${2:0 to 9} }",
        doc: "labels round the axis",
        fields: {
            Labels = "labels" {
                holds: Holds::List(Type::Label), default: REQUIRED, usage: "labels 0 to 9",
                doc: "what stands on it, clockwise from the first",
            }
            Centre = "centre" {
                holds: Holds::Type(Type::Point), default: DefaultValue::Described("the axis of its layer"), usage: "centre (26mm, 0mm)",
                doc: "the point that its labels stand round: the axis of the hand that is read there",
            }
            Radius = "radius" {
                holds: LENGTH, default: DefaultValue::Described("as far out as what it is read by"), usage: "radius 20mm",
                doc: "how far out the middle of each label stands",
            }
            Height = "height" {
                holds: Holds::Each(Type::LENGTH), default: DefaultValue::DescribedOr("the largest at which every label clears its opening", usual::LABEL_HEIGHT), usage: "height 8mm",
                doc: "height of the labels, for all or for each",
            }
            Tilt = "tilt" {
                holds: Holds::Each(Type::ANGLE), default: degrees(0.0), usage: "tilt [0deg, 90deg]",
                doc: "how far labels are turned about their own middle, for all or for each",
            }
            Curved = "curved" {
                holds: Holds::Flag, default: DefaultValue::Truth(false), usage: "curved true",
                doc: "whether the letters of a label run along the ring",
            }
            SingleStroke = "single_stroke" {
                holds: Holds::Flag, default: DefaultValue::Truth(false), usage: "single_stroke true",
                doc: "whether letters are single lines, in a ring that is scored",
            }
            Underlined = "underlined" {
                holds: Holds::List(Type::Label), default: DefaultValue::Described("no label is"), usage: "underlined [6, 9]",
                doc: "which labels have a line under them",
            }
            Typeface = "typeface" {
                holds: Holds::OneOrList(Type::Text), default: DefaultValue::Described("that of the dial"), usage: "typeface \"DejaVu Serif\"",
                doc: "a family or a font file, or several: each character is of the first that has it",
            }
            Ticks = "ticks" {
                holds: NUMBER, default: DefaultValue::Described("no ticks"), usage: "ticks 4",
                doc: "how many ticks stand between two labels",
            }
            Tick = "tick" {
                holds: Holds::Size, default: DefaultValue::Size(Length::mm(2.0), Length::mm(0.4)), usage: "tick 2mm by 0.4mm",
                doc: "how long and how wide a tick is",
            }
            TicksAt = "ticks_at" {
                holds: LENGTH, default: DefaultValue::Described("on the radius of the ring"), usage: "ticks_at 22mm",
                doc: "how far out the middle of each tick stands",
            }
            Bearings = "bearings" {
                holds: Holds::List(Type::ANGLE), default: DefaultValue::Described("where the stops carry the labels, else evenly all round"), usage: "bearings [0deg, 40deg, 130deg]",
                doc: "where each label stands",
            }
            Runs = "runs" {
                holds: Holds::Word(RunsWord::ROWS), default: DefaultValue::Described("as the stops carry the labels, else clockwise"), usage: "runs anticlockwise",
                doc: "which way round the labels go, seen from the front of the layer",
            }
            First = "first" {
                holds: ANGLE, default: DefaultValue::Described("where what it is read by stands, else 0deg"), usage: "first 180deg",
                doc: "where the first label stands",
            }
            Facing = "facing" {
                holds: Holds::EachWord(FacingWord::ROWS), default: DefaultValue::Word(FacingWord::DEFAULT.word()), usage: "facing outward",
                doc: "where the heads of the letters look, for all labels or for each",
            }
            Stroke = "stroke" {
                holds: LENGTH, default: DefaultValue::Described("letters are filled"), usage: "stroke 0.3mm",
                doc: "draws each label as a band of this width inside its outline",
            }
            Tone = "tone" {
                holds: NUMBER, default: DefaultValue::Ratio(1.0), usage: "tone 80%",
                doc: "how dark the engraving is",
            }
            Ink = "ink" {
                holds: Holds::Each(Type::Text), default: DefaultValue::Described("not filled"), usage: "ink \"white paint\"",
                doc: "what the engraving is filled with afterwards, for all labels or for each",
            }
            Colour = "colour" {
                holds: Holds::Each(Type::Colour), default: DefaultValue::Described("the colour of the ink is not stated"), usage: "colour #ffffff",
                doc: "the colour of the ink once dry, for all labels or for each",
            }
        },
    }
    Turn = "turn" {
        usage: "turn on magnets(disc) { stops 12 }",
        snippet: "turn on ${1:magnets(disc)} { $0 }",
        doc: "how two halves turn on one another",
        fields: {
            Pocket = "pocket" {
                holds: Holds::WordOr(ThroughWord::ROWS, Type::LENGTH), default: DefaultValue::Described("as deep as the magnet is high plus its sink; through where a thin layer carries two"), usage: "pocket 1.6mm",
                doc: "how deep the pockets of its magnets are",
            }
            PocketLower = "pocket_lower" {
                holds: Holds::WordOr(ThroughWord::ROWS, Type::LENGTH), default: DefaultValue::Described("as `pocket`"), usage: "pocket_lower 1.6mm",
                doc: "how deep the pocket in the lower half is, where the other has another depth",
            }
            PocketUpper = "pocket_upper" {
                holds: Holds::WordOr(ThroughWord::ROWS, Type::LENGTH), default: DefaultValue::Described("as `pocket`"), usage: "pocket_upper 1.2mm",
                doc: "how deep the pocket in the upper half is",
            }
            Stops = "stops" {
                holds: Holds::Stops, default: DefaultValue::Described("one for each label of the ring that is read across it"), usage: "stops 12",
                doc: "how many stops it has, evenly spread, or a list of their bearings",
            }
            Turning = "turning" {
                holds: LAYER, default: DefaultValue::Described("the upper half turns"), usage: "turning base",
                doc: "a layer of the half that is turned while the other is held",
            }
            Lower = "lower" {
                holds: LAYER, default: DefaultValue::Described("the layer right below"), usage: "lower base",
                doc: "the layer that the lower magnet lies in",
            }
            Upper = "upper" {
                holds: LAYER, default: DefaultValue::Described("the layer right above"), usage: "upper cover",
                doc: "the layer that the upper magnet lies in",
            }
            Clicks = "clicks" {
                holds: Holds::Type(Type::Pivot), default: DefaultValue::Described("it does not click"), usage: "clicks magnets(tiny, radius: 15mm)",
                doc: "the magnets that make it click, and how far out they sit",
            }
            Ends = "ends" {
                holds: Holds::Type(Type::Pivot), default: DefaultValue::Described("it turns on and on"), usage: "ends pin(dowel, radius: 8mm)",
                doc: "the pin that keeps it from turning past its first and last stop, and how far out it stands",
            }
            Knock = "knock" {
                holds: NUMBER, default: DefaultValue::Number(usual::KNOCK), usage: "knock 25",
                doc: "the knock that it must bear, in multiples of gravity",
            }
            North = "north" {
                holds: Holds::Word(PoleWord::ROWS), default: DefaultValue::Described("as another turn of the axis says, else up"), usage: "north up",
                doc: "where the north poles of its magnets look",
            }
        },
    }
    Seek = "seek" {
        usage: "seek smallest { free across; least across; step 0.1mm }",
        snippet: "seek ${1:smallest} {\n  free ${2:across}\n  least ${3:across}\n  step ${4:0.1mm}\n}",
        doc: "values that are found instead of tried",
        fields: {
            Free = "free" {
                holds: Holds::Params, default: REQUIRED, usage: "free [across, eye]",
                doc: "the params whose values are sought, each with bounds",
            }
            Least = "least" {
                holds: Holds::Sought, default: DefaultValue::Described("nothing is sought the least of"), usage: "least across",
                doc: "what is wanted the least of",
            }
            Most = "most" {
                holds: Holds::Sought, default: DefaultValue::Described("nothing is sought the most of"), usage: "most lift_off(cover)",
                doc: "what is wanted the most of",
            }
            Keep = "keep" {
                holds: Holds::Kept, default: DefaultValue::Described("what the file expects, and no finding stands"), usage: "keep thumb_force(cover) < 4N",
                doc: "what must hold beside all that the file expects",
            }
            Step = "step" {
                holds: Holds::Steps, default: DefaultValue::Described("values are not rounded"), usage: "step 0.1mm",
                doc: "what the values are rounded to, one step for each kind of quantity",
            }
        },
    }
    Run = "run" {
        usage: "run 8 { spares 2 }",
        snippet: "run ${1:8} { $0 }",
        doc: "how many dials are made, and on what boards",
        fields: {
            Margin = "margin" {
                holds: LENGTH, default: DefaultValue::Described("that of the stock"), usage: "margin 5mm",
                doc: "how far parts stay from the edge of a board",
            }
            Gap = "gap" {
                holds: LENGTH, default: DefaultValue::Described("that of the stock"), usage: "gap 1.5mm",
                doc: "how far parts stay from each other",
            }
            Spares = "spares" {
                holds: NUMBER, default: DefaultValue::Number(0.0), usage: "spares 2",
                doc: "how many dials are made beside those wanted",
            }
            Wanted = "wanted" {
                holds: TEXT, default: DefaultValue::Described("no day is stated"), usage: "wanted \"2026-12-04 18:00\"",
                doc: "when the dials must be ready: a date with a time of day",
            }
        },
    }
    Layer = "layer" {
        usage: "layer cover of birch { grain 90deg }",
        snippet: "layer ${1:cover} of ${2:birch} {\n  $0\n}",
        doc: "what a layer says beside its outline and its marks",
        fields: {
            Grain = "grain" {
                holds: ANGLE, default: DefaultValue::Described("that of the stock, however the part lies"), usage: "grain 90deg",
                doc: "the bearing that the grain has on the layer",
            }
            Finish = "finish" {
                holds: Holds::Type(Type::Thing(ThingKind::Finish)), default: DefaultValue::Described("it is left as it is"), usage: "finish smoked",
                doc: "how it is stained and filled",
            }
            Witness = "witness" {
                holds: ANGLE, default: DefaultValue::Described("no tick is scored"), usage: "witness 180deg",
                doc: "where a tick is scored across its rim into the waste, by which a part that was lifted out is laid back",
            }
        },
    }
}
