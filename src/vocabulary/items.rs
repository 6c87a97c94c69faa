//! Words that begin an item, by the place where it stands, and the words inside items. Blocks of the shop begin items of a
//! file as well ([`super::blocks`]), and works those of a layer ([`super::works`]).

use super::Word;
use super::types::Type;

table! {
    /// Words that begin an item of a file.
    enum ItemWord of Word with pages "items" {
        Dial = "dial" {
            usage: "dial \"Heath Fire\"",
            snippet: "dial \"$1\"",
            takes: None,
            doc: "names the dial; every design has one",
        }
        Shop = "shop" {
            usage: "shop \"Saltmarsh Workshop\"",
            snippet: "shop \"$1\"",
            takes: None,
            doc: "names the workshop of a shop file",
        }
        With = "with" {
            usage: "with \"shop.dial\"",
            snippet: "with \"${1:shop.dial}\"",
            takes: None,
            doc: "shares another file, such as the shop's",
        }
        Param = "param" {
            usage: "param across: length = 58mm from 40mm to 80mm",
            snippet: "param ${1:name}: ${2:length} = ${3:10mm}",
            takes: None,
            doc: "a value that can be set from outside",
        }
        Let = "let" {
            usage: "let edge = 2mm",
            snippet: "let ${1:name} = $2",
            takes: None,
            doc: "gives a value a name",
        }
        Outline = "outline" {
            usage: "outline circle(diameter: 60mm)",
            snippet: "outline $1",
            takes: Some(Type::Region),
            doc: "the outer edge; outside of layers, that of every layer that has none of its own",
        }
        Typeface = "typeface" {
            usage: "typeface \"DejaVu Serif\"",
            snippet: "typeface \"${1:DejaVu Serif}\"",
            takes: None,
            doc: "what letters look like: a family or a font file",
        }
        Layer = "layer" {
            usage: "layer cover of birch { window peep = circle(diameter: 12mm) at polar(20mm, 0deg) }",
            snippet: "layer ${1:name} of ${2:birch} {\n  $0\n}",
            takes: None,
            doc: "a flat piece cut from a stock",
        }
        Stack = "stack" {
            usage: "stack { base; turn on magnets(disc); cover }",
            snippet: "stack {\n  $0\n}",
            takes: None,
            doc: "the layers from the bottom up, with what joins each to the next",
        }
        Reads = "reads" {
            usage: "reads crew through peep",
            snippet: "reads ${1:ring} through ${2:opening}",
            takes: None,
            doc: "what must be read through an opening or beside a pointer",
        }
        Slot = "slot" {
            usage: "slot 62mm by 62mm by 8mm",
            snippet: "slot ${1:62mm} by ${2:62mm} by ${3:8mm}",
            takes: Some(Type::LENGTH),
            doc: "what the finished dial must drop into, at every stop",
        }
        Run = "run" {
            usage: "run 8",
            snippet: "run ${1:8}",
            takes: Some(Type::NUMBER),
            doc: "how many dials are made",
        }
        Expect = "expect" {
            usage: "expect margin(crew) >= 0.5mm",
            snippet: "expect $1",
            takes: Some(Type::Truth),
            doc: "a condition that the finished dial must meet",
        }
        Accept = "accept" {
            usage: "accept magnet-hazard on disc \"the game is for adults\"",
            snippet: "accept ${1:finding} on ${2:name} \"${3:reason}\"",
            takes: None,
            doc: "a finding that was seen and is wanted so",
        }
        Family = "family" {
            usage: "family { each across in [58mm, 62mm] }",
            snippet: "family {\n  $0\n}",
            takes: None,
            doc: "many dials from one file",
        }
    }
}

table! {
    /// Words that begin an item of a layer, works and fields apart.
    enum LayerWord of Word with pages "layer" {
        Let = "let" {
            usage: "let edge = 2mm",
            snippet: "let ${1:name} = $2",
            takes: None,
            doc: "gives a value a name, for this layer alone",
        }
        Outline = "outline" {
            usage: "outline circle(diameter: 60mm)",
            snippet: "outline $1",
            takes: Some(Type::Region),
            doc: "the outer edge of this layer",
        }
        Flip = "flip" {
            usage: "flip about 90deg",
            snippet: "flip about ${1:90deg}",
            takes: None,
            doc: "how the layer is turned over: `flip about BEARING`, `flip board` or `flip holder`",
        }
        Front = "front" {
            usage: "front engrave text(\"CREW\", height: 6mm)",
            snippet: "front $1",
            takes: None,
            doc: "what follows is on the face that looks at the player",
        }
        Back = "back" {
            usage: "back engrave text(\"CREW\", height: 6mm)",
            snippet: "back $1",
            takes: None,
            doc: "what follows is on the face that looks away from the player",
        }
    }
}

table! {
    /// Words that begin a line of the stack; any other is the name of a layer.
    enum StackWord of Word with pages "stack" {
        Turn = "turn" {
            usage: "turn on magnets(disc)",
            snippet: "turn on $1",
            takes: None,
            doc: "the layers above turn on those below",
        }
        Glue = "glue" {
            usage: "glue pva",
            snippet: "glue $1",
            takes: None,
            doc: "glues the layer below to the one above",
        }
    }
}

table! {
    /// Words that begin a line of a family.
    enum FamilyWord of Word with pages "family" {
        Each = "each" {
            usage: "each across in [58mm, 62mm]",
            snippet: "each ${1:param} in [$2]",
            takes: None,
            doc: "one member for every value; lines multiply",
        }
        Variant = "variant" {
            usage: "variant travel { across = 45mm }",
            snippet: "variant ${1:name} { $2 }",
            takes: None,
            doc: "one more member, with values of its own",
        }
        Leave = "leave" {
            usage: "leave out across > 60mm and stops > 8",
            snippet: "leave out $1",
            takes: None,
            doc: "leaves out the combinations for which this holds",
        }
    }
}

table! {
    /// Words inside an item, which begin none.
    enum InnerWord of Word with pages "inside" {
        Of = "of" {
            usage: "layer cover of birch { }",
            snippet: "of ${1:birch}",
            takes: None,
            doc: "`layer NAME of STOCK`: what the layer is cut from",
        }
        Ring = "ring" {
            usage: "engrave ring crew { labels 0 to 9 }",
            snippet: "ring ${1:name} { labels ${2:0 to 9} }",
            takes: None,
            doc: "`engrave ring NAME { … }`: labels round the axis",
        }
        Through = "through" {
            usage: "reads crew through peep",
            snippet: "through ${1:opening}",
            takes: None,
            doc: "`reads RING through OPENING`; as a depth, all the way",
        }
        Beside = "beside" {
            usage: "reads crew beside needle",
            snippet: "beside ${1:pointer}",
            takes: None,
            doc: "`reads RING beside POINTER`",
        }
        From = "from" {
            usage: "reads crew through peep from 600mm",
            snippet: "from $1",
            takes: None,
            doc: "`from A to B`: what a param may be; after `reads`, the distance it is read from",
        }
        On = "on" {
            usage: "accept magnet-hazard on disc \"the game is for adults\"",
            snippet: "on $1",
            takes: None,
            doc: "`turn on PIVOT`; after `accept`, what the finding is about",
        }
        In = "in" {
            usage: "let doubled = [for n in 1 to 6: 2 * n]",
            snippet: "in $1",
            takes: None,
            doc: "what `each` or `for` walks over",
        }
        For = "for" {
            usage: "let doubled = [for n in 1 to 6: 2 * n]",
            snippet: "for ${1:n} in ${2:list}: $3",
            takes: None,
            doc: "`[for x in LIST where CONDITION: VALUE]`: a list made from another",
        }
        Where = "where" {
            usage: "let high = [for n in 1 to 6 where n > 3: n]",
            snippet: "where $1",
            takes: Some(Type::Truth),
            doc: "which values of a list count",
        }
        About = "about" {
            usage: "flip about 90deg",
            snippet: "about ${1:90deg}",
            takes: Some(Type::ANGLE),
            doc: "the line that something is mirrored or flipped about, by its bearing",
        }
        Board = "board" {
            usage: "flip board",
            snippet: "board",
            takes: None,
            doc: "`flip board`: the whole board is turned over; in a stock, its size",
        }
        Holder = "holder" {
            usage: "flip holder",
            snippet: "holder",
            takes: None,
            doc: "`flip holder`: the part is turned over into a mirrored opening cut in scrap",
        }
        Out = "out" {
            usage: "leave out across > 60mm and stops > 8",
            snippet: "out $1",
            takes: None,
            doc: "`leave out CONDITION`",
        }
    }
}
