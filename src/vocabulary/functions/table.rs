//! The rows of the functions.

use super::*;
use crate::units::{Angle, Length};
use crate::vocabulary::choices::{AlignWord, FacingWord};
use crate::vocabulary::usual;

const LENGTH: Takes = Takes::Type(Type::LENGTH);
const ANGLE: Takes = Takes::Type(Type::ANGLE);
const NUMBER: Takes = Takes::Type(Type::NUMBER);
const TEXT: Takes = Takes::Type(Type::Text);
const REGION: Takes = Takes::Type(Type::Region);
const POINT: Takes = Takes::Type(Type::Point);
const QUANTITY: Takes = Takes::Quantity;
const SHAPE: Gives = Gives::Type(Type::Region);
const LINE: Gives = Gives::Type(Type::Trace);
const PIVOT: Gives = Gives::Type(Type::Pivot);
const PURE: Gives = Gives::Type(Type::NUMBER);
const REQUIRED: DefaultValue = DefaultValue::Required;
const ONE_OF: DefaultValue = DefaultValue::OneOfGroup;
const ZERO: DefaultValue = DefaultValue::Length(Length::ZERO);

functions! {
    Circle = "circle" in Shape {
        usage: "circle(diameter: 60mm)",
        doc: "a disc about the axis",
        gives: SHAPE,
        one_of: [Diameter, Radius],
        words: {
            Diameter = "diameter" { takes: LENGTH, default: ONE_OF, doc: "from edge to edge through the middle" }
            Radius = "radius" { takes: LENGTH, default: ONE_OF, doc: "from the middle to the edge" }
        },
    }
    Ellipse = "ellipse" in Shape {
        usage: "ellipse(width: 15mm, height: 12mm)",
        doc: "an ellipse about the axis",
        gives: SHAPE,
        words: {
            Width = "width" { takes: LENGTH, default: REQUIRED, doc: "from left to right" }
            Height = "height" { takes: LENGTH, default: REQUIRED, doc: "from bottom to top" }
        },
    }
    Polygon = "polygon" in Shape {
        usage: "polygon(sides: 6, across_corners: 58mm, corner: 4mm)",
        doc: "a polygon with equal sides, a corner at the top",
        gives: SHAPE,
        one_of: [AcrossCorners, AcrossFlats, Side],
        words: {
            Sides = "sides" { takes: NUMBER, default: REQUIRED, doc: "how many sides it has" }
            AcrossCorners = "across_corners" {
                takes: LENGTH, default: ONE_OF,
                doc: "from corner to corner, the longest way",
            }
            AcrossFlats = "across_flats" {
                takes: LENGTH, default: ONE_OF,
                doc: "from a side straight across",
            }
            Side = "side" { takes: LENGTH, default: ONE_OF, doc: "the length of one side" }
            Corner = "corner" { takes: LENGTH, default: ZERO, doc: "the radius that its corners are rounded to" }
        },
    }
    Rectangle = "rectangle" in Shape {
        usage: "rectangle(width: 20mm, height: 10mm, corner: 2mm)",
        doc: "a rectangle about the axis",
        gives: SHAPE,
        words: {
            Width = "width" { takes: LENGTH, default: REQUIRED, doc: "from left to right" }
            Height = "height" { takes: LENGTH, default: REQUIRED, doc: "from bottom to top" }
            Corner = "corner" { takes: LENGTH, default: ZERO, doc: "the radius that its corners are rounded to" }
        },
    }
    Obround = "obround" in Shape {
        usage: "obround(width: 14mm, height: 12mm)",
        doc: "a rectangle about the axis whose short sides are half circles",
        gives: SHAPE,
        words: {
            Width = "width" { takes: LENGTH, default: REQUIRED, doc: "from left to right" }
            Height = "height" { takes: LENGTH, default: REQUIRED, doc: "from bottom to top" }
        },
    }
    Sector = "sector" in Shape {
        usage: "sector(radius: 36mm, inner: 20mm, from: -24deg, to: 24deg)",
        doc: "a piece of a disc or of a band round the axis",
        gives: SHAPE,
        words: {
            Radius = "radius" { takes: LENGTH, default: REQUIRED, doc: "from the axis to the outer edge" }
            Inner = "inner" { takes: LENGTH, default: ZERO, doc: "from the axis to the inner edge" }
            From = "from" { takes: ANGLE, default: REQUIRED, doc: "the bearing where it begins" }
            To = "to" { takes: ANGLE, default: REQUIRED, doc: "the bearing where it ends, clockwise from there" }
        },
    }
    Star = "star" in Shape {
        usage: "star(points: 8, diameter: 20mm, inner: 12mm, corner: 0.5mm)",
        doc: "a star about the axis, a point at the top",
        gives: SHAPE,
        words: {
            Points = "points" { takes: NUMBER, default: REQUIRED, doc: "how many points it has" }
            Diameter = "diameter" {
                takes: LENGTH, default: REQUIRED,
                doc: "across the circle that its points lie on",
            }
            Inner = "inner" {
                takes: LENGTH, default: REQUIRED,
                doc: "across the circle that its notches lie on",
            }
            Corner = "corner" { takes: LENGTH, default: ZERO, doc: "the radius that points and notches are rounded to" }
        },
    }
    Scallop = "scallop" in Shape {
        usage: "scallop(diameter: 66mm, lobes: 12, depth: 2.5mm)",
        doc: "a disc about the axis with a wavy rim",
        gives: SHAPE,
        words: {
            Diameter = "diameter" { takes: LENGTH, default: REQUIRED, doc: "across the crests of its lobes" }
            Lobes = "lobes" { takes: NUMBER, default: REQUIRED, doc: "how many lobes it has" }
            Depth = "depth" { takes: LENGTH, default: REQUIRED, doc: "from the crests down to the bottom of the hollows" }
        },
    }
    Path = "path" in Shape {
        usage: "path(\"M 0 0 L 10 0 L 0 10 Z\")",
        doc: "an area from path data as in SVG, in mm",
        gives: SHAPE,
        places: { Data = "data" { takes: TEXT, doc: "the path data, in quotes" } },
    }
    Text = "text" in Shape {
        usage: "text(\"CREW\", height: 6mm, align: \"middle\")",
        doc: "letters, set about the axis",
        gives: SHAPE,
        places: { Words = "words" { takes: TEXT, doc: "what it says; `\\n` begins a new line" } },
        words: {
            Height = "height" { takes: LENGTH, default: REQUIRED, doc: "the height of capitals" }
            Align = "align" {
                takes: Takes::Word(AlignWord::ROWS), default: DefaultValue::Word(AlignWord::DEFAULT.word()),
                doc: "which end of its lines stands where the text is placed: \"start\", \"middle\" or \"end\"",
            }
            Tracking = "tracking" {
                takes: LENGTH, default: ZERO,
                doc: "room added between letters; below zero they stand closer",
            }
            Width = "width" {
                takes: LENGTH, default: DefaultValue::Described("as wide as the letters come"),
                doc: "the widest that it may be; a wider text is made smaller as a whole",
            }
            Spacing = "spacing" {
                takes: NUMBER, default: DefaultValue::Number(usual::LINE_SPACING),
                doc: "from one baseline to the next, in heights of capitals",
            }
            Around = "around" {
                takes: LENGTH, default: DefaultValue::Described("the text stands straight"),
                doc: "the radius of the circle that its letters run along",
            }
            Facing = "facing" {
                takes: Takes::Word(FacingWord::BENT_ROWS), default: DefaultValue::Word(FacingWord::DEFAULT.word()),
                doc: "which way the tops of bent letters face: \"outward\" or \"inward\"",
            }
            Typeface = "typeface" {
                takes: Takes::OneOrList(Type::Text), default: DefaultValue::Described("that of the dial"),
                doc: "a family or a font file, or several: each character is of the first that has it",
            }
            Underlined = "underlined" {
                takes: Takes::Type(Type::Truth), default: DefaultValue::Truth(false),
                doc: "whether a line stands under it, as under a 6 that could be a 9",
            }
        },
    }
    Stencil = "stencil" in Shape {
        usage: "stencil(text(\"80\", height: 12mm), bridge: 0.8mm)",
        doc: "a shape with bridges to all that would fall out of it when it is cut",
        gives: SHAPE,
        places: { Shape = "shape" { takes: REGION, doc: "the region that gets bridges" } },
        words: {
            Bridge = "bridge" { takes: LENGTH, default: REQUIRED, doc: "how wide each bridge is" }
            Bearing = "bearing" {
                takes: ANGLE, default: DefaultValue::Angle(Angle::ZERO),
                doc: "how far the bridges are turned, clockwise from upright",
            }
        },
    }
    Art = "art" in Shape {
        usage: "art(\"goods.svg\", part: \"wheat\", height: 9mm)",
        doc: "the dark areas of a drawing or picture, about the axis",
        gives: SHAPE,
        places: { File = "file" { takes: TEXT, doc: "the drawing or picture, beside the design" } },
        words: {
            Part = "part" {
                takes: TEXT, default: DefaultValue::Described("the whole drawing"),
                doc: "the id of one part of a drawing",
            }
            Height = "height" {
                takes: LENGTH, default: DefaultValue::Described("as large as it is drawn; on a ring, as high as its labels"),
                doc: "how high it is made",
            }
            InPlace = "in_place" {
                takes: Takes::Type(Type::Truth),
                default: DefaultValue::Truth(false),
                doc: "whether it stays where it stands on its page",
            }
            Width = "width" {
                takes: LENGTH, default: DefaultValue::Described("what follows from the height"),
                doc: "how wide it is made, in place of a height",
            }
            Tone = "tone" {
                takes: Takes::Type(Type::Colour),
                default: DefaultValue::Described("every dark tone"),
                doc: "the colour that is taken from a picture, and nothing else of it",
            }
            Threshold = "threshold" {
                takes: NUMBER, default: DefaultValue::Described("halfway between the picture's dark and light tones"),
                doc: "where dark begins in a picture: `0%` is white, `100%` black",
            }
        },
    }
    Wrapped = "wrapped" in Shape {
        usage: "wrapped(a, b)",
        doc: "the area that a band round both shapes takes in",
        gives: SHAPE,
        places: {
            First = "first" { takes: REGION, doc: "one region" }
            Second = "second" { takes: REGION, doc: "the other region" }
        },
    }
    Line = "line" in Line {
        usage: "line((0mm, 0mm), polar(12mm, 90deg))",
        doc: "a line from point to point",
        gives: LINE,
        rest: Rest::Type(Type::Point),
        places: {
            From = "from" { takes: POINT, doc: "where it begins" }
            To = "to" { takes: POINT, doc: "where it goes; more points may follow" }
        },
    }
    Trace = "trace" in Line {
        usage: "trace(\"M -10 0 L 10 0\")",
        doc: "a line from path data as in SVG, in mm",
        gives: LINE,
        places: { Data = "data" { takes: TEXT, doc: "the path data, in quotes" } },
    }
    SingleStroke = "single_stroke" in Line {
        usage: "single_stroke(\"CREW\", height: 5mm)",
        doc: "letters of single lines, to be scored",
        gives: LINE,
        places: { Words = "words" { takes: TEXT, doc: "what it says; `\\n` begins a new line" } },
        words: {
            Height = "height" { takes: LENGTH, default: REQUIRED, doc: "the height of capitals" }
            Align = "align" {
                takes: Takes::Word(AlignWord::ROWS), default: DefaultValue::Word(AlignWord::DEFAULT.word()),
                doc: "which end of its lines stands where the text is placed: \"start\", \"middle\" or \"end\"",
            }
            Tracking = "tracking" {
                takes: LENGTH, default: ZERO,
                doc: "room added between letters; below zero they stand closer",
            }
            Width = "width" {
                takes: LENGTH, default: DefaultValue::Described("as wide as the letters come"),
                doc: "the widest that it may be; a wider text is made smaller as a whole",
            }
            Spacing = "spacing" {
                takes: NUMBER, default: DefaultValue::Number(usual::LINE_SPACING),
                doc: "from one baseline to the next, in heights of capitals",
            }
            Around = "around" {
                takes: LENGTH, default: DefaultValue::Described("the text stands straight"),
                doc: "the radius of the circle that its letters run along",
            }
            Facing = "facing" {
                takes: Takes::Word(FacingWord::BENT_ROWS), default: DefaultValue::Word(FacingWord::DEFAULT.word()),
                doc: "which way the tops of bent letters face: \"outward\" or \"inward\"",
            }
        },
    }
    Polar = "polar" in Point {
        usage: "polar(20mm, 0deg)",
        doc: "the point at a distance from the axis and a bearing",
        gives: Gives::Type(Type::Point),
        places: {
            Radius = "radius" { takes: LENGTH, doc: "from the axis to the point" }
            Bearing = "bearing" { takes: ANGLE, doc: "where it lies, clockwise from the top" }
        },
    }
    Magnets = "magnets" in Pivot {
        usage: "magnets(disc)",
        doc: "disc magnets on the axis, or a magnet and a washer, or for `clicks` magnets on a circle about it",
        gives: PIVOT,
        places: {
            Magnet = "magnet" {
                takes: Takes::Type(Type::Thing(ThingKind::Magnet)), or: DefaultValue::Described("`lower` and `upper` say what"),
                doc: "the magnet of the shop that lies in both halves, by its name",
            }
        },
        words: {
            Lower = "lower" {
                takes: Takes::Type(Type::Thing(ThingKind::Magnet)), default: DefaultValue::Described("as `magnet`"),
                doc: "the magnet or washer in the lower half",
            }
            Upper = "upper" {
                takes: Takes::Type(Type::Thing(ThingKind::Magnet)), default: DefaultValue::Described("as `magnet`"),
                doc: "the magnet or washer in the upper half",
            }
            Radius = "radius" {
                takes: LENGTH, default: DefaultValue::Described("on the axis"),
                doc: "how far from the axis they sit; for clicks alone",
            }
        },
    }
    Rivet = "rivet" in Pivot {
        usage: "rivet(eyelet)",
        doc: "a rivet or eyelet through the axis",
        gives: PIVOT,
        places: { Rivet = "rivet" { takes: Takes::Type(Type::Thing(ThingKind::Rivet)), doc: "the rivet of the shop, by its name" } },
    }
    Pin = "pin" in Pivot {
        usage: "pin(m4)",
        doc: "a screw through the axis, or for `ends` a dowel beside it",
        gives: PIVOT,
        places: { Pin = "pin" { takes: Takes::Type(Type::Thing(ThingKind::Pin)), doc: "the pin of the shop, by its name" } },
        words: {
            Radius = "radius" {
                takes: LENGTH, default: DefaultValue::Described("on the axis"),
                doc: "how far from the axis it stands; for ends alone",
            }
            Bearing = "bearing" {
                takes: ANGLE, default: DefaultValue::Angle(Angle::degrees(180.0)),
                doc: "where it stands on the half that stays; for ends alone",
            }
            Play = "play" {
                takes: LENGTH, default: DefaultValue::Length(Length::mm(0.5)),
                doc: "how far it may go beyond the first and the last stop, along its way; for ends alone",
            }
        },
    }
    Min = "min" in Arithmetic {
        usage: "min(a, b)",
        doc: "the least of its values",
        gives: Gives::SameAsFirst,
        rest: Rest::SameAsFirst,
        places: {
            First = "first" { takes: QUANTITY, doc: "one value" }
            Second = "second" { takes: QUANTITY, doc: "another of the same kind; more may follow" }
        },
    }
    Max = "max" in Arithmetic {
        usage: "max(a, b)",
        doc: "the greatest of its values",
        gives: Gives::SameAsFirst,
        rest: Rest::SameAsFirst,
        places: {
            First = "first" { takes: QUANTITY, doc: "one value" }
            Second = "second" { takes: QUANTITY, doc: "another of the same kind; more may follow" }
        },
    }
    Abs = "abs" in Arithmetic {
        usage: "abs(a)",
        doc: "the value without its sign",
        gives: Gives::SameAsFirst,
        places: { Value = "value" { takes: QUANTITY, doc: "a value with any unit" } },
    }
    Floor = "floor" in Arithmetic {
        usage: "floor(2.7)",
        doc: "the whole number at or below",
        gives: PURE,
        places: { Value = "value" { takes: NUMBER, doc: "a pure number" } },
    }
    Round = "round" in Arithmetic {
        usage: "round(2.7)",
        doc: "the nearest whole number",
        gives: PURE,
        places: { Value = "value" { takes: NUMBER, doc: "a pure number" } },
    }
    Digits = "digits" in Words {
        usage: "digits(7, 2)",
        doc: "a whole number as text with zeros before it; of a list, a list of texts",
        gives: Gives::EachOf(Type::Text),
        places: {
            Number = "number" { takes: Takes::OneOrList(Type::NUMBER), doc: "a whole number, or a list of them" }
            Width = "width" { takes: NUMBER, doc: "how many digits there are at least" }
        },
    }
    Column = "column" in Words {
        usage: "column(\"crew.csv\", \"name\")",
        doc: "a column of a table, as a list",
        gives: Gives::OfTable,
        places: {
            File = "file" { takes: TEXT, doc: "the table, a CSV file beside this one" }
            Name = "name" { takes: TEXT, doc: "the column, by its name in the table's first line" }
        },
    }
    Rows = "rows" in Words {
        usage: "rows(\"crew.csv\", \"name\", \"number\")",
        doc: "the rows of a table, each with its cells of some columns; for `each`",
        gives: Gives::OfTable,
        rest: Rest::Type(Type::Text),
        places: {
            File = "file" { takes: TEXT, doc: "the table, a CSV file beside this one" }
            Name = "name" { takes: TEXT, doc: "a column, by its name in the first line; more may follow" }
        },
    }
    Sqrt = "sqrt" in Arithmetic {
        usage: "sqrt(a)",
        doc: "the square root; of an area, a length",
        gives: Gives::Root,
        places: { Value = "value" { takes: QUANTITY, doc: "a number, an area, or whatever has a root" } },
    }
    Sin = "sin" in Arithmetic {
        usage: "sin(30deg)",
        doc: "the sine of an angle",
        gives: PURE,
        places: { Angle = "angle" { takes: ANGLE, doc: "an angle" } },
    }
    Cos = "cos" in Arithmetic {
        usage: "cos(30deg)",
        doc: "the cosine of an angle",
        gives: PURE,
        places: { Angle = "angle" { takes: ANGLE, doc: "an angle" } },
    }
    Tan = "tan" in Arithmetic {
        usage: "tan(30deg)",
        doc: "the tangent of an angle",
        gives: PURE,
        places: { Angle = "angle" { takes: ANGLE, doc: "an angle" } },
    }
}
