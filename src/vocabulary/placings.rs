//! Words that work on values: after, between and before them.

use super::Word;
use super::types::Type;

table! {
    /// Words that place what stands before them.
    enum Placing of Word with pages "placing" {
        At = "at" {
            usage: "circle(diameter: 3mm) at (3mm, 4mm)",
            snippet: "at $1",
            takes: Some(Type::Point),
            doc: "moves what stands before it to a point",
        }
        Turned = "turned" {
            usage: "star(points: 5, diameter: 9mm, inner: 4mm) turned 90deg",
            snippet: "turned ${1:90deg}",
            takes: Some(Type::ANGLE),
            doc: "turns it round the axis, clockwise seen from the front",
        }
        Scaled = "scaled" {
            usage: "art(\"goods.svg\") scaled 50%",
            snippet: "scaled ${1:50%}",
            takes: Some(Type::NUMBER),
            doc: "scales it about the axis",
        }
        Mirrored = "mirrored" {
            usage: "art(\"goods.svg\") mirrored about 0deg",
            snippet: "mirrored about ${1:0deg}",
            takes: Some(Type::ANGLE),
            doc: "mirrors it about the line through the axis at a bearing",
        }
        Repeated = "repeated" {
            usage: "circle(diameter: 3mm) at polar(20mm, 0deg) repeated 6",
            snippet: "repeated ${1:6}",
            takes: Some(Type::NUMBER),
            doc: "copies it round the axis, evenly",
        }
        Rounded = "rounded" {
            usage: "star(points: 5, diameter: 9mm, inner: 4mm) rounded 1mm",
            snippet: "rounded ${1:1mm}",
            takes: Some(Type::LENGTH),
            doc: "rounds its corners",
        }
        Inset = "inset" {
            usage: "circle(diameter: 60mm) inset 1mm",
            snippet: "inset ${1:1mm}",
            takes: Some(Type::LENGTH),
            doc: "shrinks it by a distance all round",
        }
        Outset = "outset" {
            usage: "circle(diameter: 60mm) outset 1mm",
            snippet: "outset ${1:1mm}",
            takes: Some(Type::LENGTH),
            doc: "grows it by a distance all round",
        }
    }
}

impl Placing {
    /// Whether it works on filled areas alone, neither on lines nor on points.
    pub const fn is_for_regions(self) -> bool {
        match self {
            Self::At | Self::Turned | Self::Scaled | Self::Mirrored | Self::Repeated => false,
            Self::Rounded | Self::Inset | Self::Outset => true,
        }
    }

    /// How it is written, where that is more than its word.
    pub const fn written(self) -> &'static str {
        match self {
            Self::Mirrored => "mirrored about",
            other => other.word(),
        }
    }
}

table! {
    /// Words that combine two regions.
    enum Combining of Word with pages "combining" {
        Plus = "plus" {
            usage: "circle(diameter: 9mm) plus rectangle(width: 3mm, height: 20mm)",
            snippet: "plus $1",
            takes: Some(Type::Region),
            doc: "in either region",
        }
        Less = "less" {
            usage: "circle(diameter: 9mm) less circle(diameter: 6mm)",
            snippet: "less $1",
            takes: Some(Type::Region),
            doc: "in the first region and not in the second",
        }
        Within = "within" {
            usage: "rectangle(width: 3mm, height: 20mm) within circle(diameter: 9mm)",
            snippet: "within $1",
            takes: Some(Type::Region),
            doc: "in both regions",
        }
    }
}

table! {
    /// Words between values, those that place and combine apart.
    enum Between of Word with pages "between" {
        To = "to" {
            usage: "0 to 9",
            snippet: "to $1",
            takes: None,
            doc: "a range, both ends included",
        }
        By = "by" {
            usage: "0 to 100 by 10",
            snippet: "by $1",
            takes: None,
            doc: "the step of a range, or the next side of a size",
        }
        Is = "is" {
            usage: "stops is 12",
            snippet: "is $1",
            takes: None,
            doc: "whether both are the same",
        }
        And = "and" {
            usage: "across > 40mm and across < 60mm",
            snippet: "and $1",
            takes: Some(Type::Truth),
            doc: "whether both hold",
        }
        Or = "or" {
            usage: "across < 40mm or across > 60mm",
            snippet: "or $1",
            takes: Some(Type::Truth),
            doc: "whether either holds",
        }
        Then = "then" {
            usage: "if stops > 6 then 3mm else 4mm",
            snippet: "then $1",
            takes: None,
            doc: "the value where the condition holds",
        }
        Else = "else" {
            usage: "if stops > 6 then 3mm else 4mm",
            snippet: "else $1",
            takes: None,
            doc: "the value where it does not",
        }
    }
}

impl Between {
    /// Those that stand between two operands: the two of `if` part its values instead.
    pub const OPERATORS: &'static [Self] = &[Self::To, Self::By, Self::Is, Self::And, Self::Or];
}

table! {
    /// Words that a value begins with.
    enum Leading of Word with pages "leading" {
        If = "if" {
            usage: "if stops > 6 then 3mm else 4mm",
            snippet: "if $1 then $2 else $3",
            takes: Some(Type::Truth),
            doc: "one of two values, by a condition",
        }
        Not = "not" {
            usage: "not across > 60mm",
            snippet: "not $1",
            takes: Some(Type::Truth),
            doc: "whether a condition does not hold",
        }
        True = "true" {
            usage: "true",
            snippet: "true",
            takes: None,
            doc: "what a condition that holds gives",
        }
        False = "false" {
            usage: "false",
            snippet: "false",
            takes: None,
            doc: "what a condition that does not hold gives",
        }
    }
}
