//! The language's own words: where each may stand, how it is written, what it does.

/// Where a word begins something.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Place {
    /// An item of a file.
    Item,
    /// An item of a layer.
    Layer,
    /// A line of the stack.
    Stack,
    /// A line of a family.
    Family,
    /// After a value: places it, combines it, or works with it.
    After,
    /// After what a mark is made of.
    Tail,
    /// Where a value begins.
    Value,
}

/// A word of ours.
#[derive(Clone, Copy, Debug)]
pub(super) struct Word {
    /// The word.
    pub(super) word: &'static str,
    /// Where it stands.
    pub(super) place: Place,
    /// How it is written; in snippets `$1` and `${1:…}` stand for what is filled in (Language Server Protocol).
    pub(super) snippet: &'static str,
    /// What it does.
    pub(super) says: &'static str,
}

const fn word(place: Place, word: &'static str, snippet: &'static str, says: &'static str) -> Word {
    Word { word, place, snippet, says }
}

use Place::{After, Family, Item, Layer, Stack, Tail, Value};

/// All of them, by place.
pub(super) const WORDS: &[Word] = &[
    word(Item, "dial", "dial \"$1\"", "names the dial; every design has one"),
    word(Item, "shop", "shop \"$1\"", "names the workshop of a shop file"),
    word(Item, "with", "with \"${1:shop.dial}\"", "shares another file, such as the shop's"),
    word(Item, "param", "param ${1:name}: ${2:length} = ${3:10mm}", "a value that can be set from outside"),
    word(Item, "let", "let ${1:name} = $2", "gives a value a name"),
    word(
        Item,
        "outline",
        "outline $1",
        "the outer edge; outside of layers, that of every layer that has none of its own",
    ),
    word(Item, "typeface", "typeface \"${1:DejaVu Serif}\"", "what letters look like: a family or a font file"),
    word(Item, "layer", "layer ${1:name} of ${2:birch} {\n  $0\n}", "a flat piece cut from a stock"),
    word(Item, "stack", "stack {\n  $0\n}", "the layers from the bottom up, with what joins each to the next"),
    word(
        Item,
        "reads",
        "reads ${1:ring} through ${2:opening}",
        "what must be read through an opening or beside a pointer",
    ),
    word(
        Item,
        "slot",
        "slot ${1:62mm} by ${2:62mm} by ${3:8mm}",
        "what the finished dial must drop into, at every stop",
    ),
    word(Item, "run", "run ${1:8}", "how many dials are made"),
    word(Item, "expect", "expect $1", "a condition that the finished dial must meet"),
    word(
        Item,
        "accept",
        "accept ${1:finding} on ${2:name} \"${3:reason}\"",
        "a finding that was seen and is wanted so",
    ),
    word(Item, "family", "family {\n  $0\n}", "many dials from one file"),
    word(
        Item,
        "stock",
        "stock ${1:birch} {\n  thickness ${2:3mm}\n  board ${3:305mm} by ${4:305mm}\n}",
        "a sheet material",
    ),
    word(
        Item,
        "magnet",
        "magnet ${1:disc} {\n  diameter ${2:8mm}\n  height ${3:1.5mm}\n  remanence ${4:1.32T}\n}",
        "a disc magnet",
    ),
    word(
        Item,
        "rivet",
        "rivet ${1:eyelet} {\n  shank ${2:4mm}\n  head ${3:7mm}\n  grips ${4:3mm} to ${5:4mm}\n}",
        "a rivet or eyelet",
    ),
    word(Item, "adhesive", "adhesive ${1:pva} { cure ${2:24h} }", "a glue"),
    word(Item, "finish", "finish ${1:dusk} { stain ${2:#4a3b2c} }", "how a layer is stained and filled"),
    word(Item, "spreads", "spreads ${1:usual} { $0 }", "how far what is made strays from what is drawn"),
    word(Item, "rates", "rates ${1:ours} { $0 }", "what the shop's time costs"),
    word(Layer, "let", "let ${1:name} = $2", "gives a value a name, for this layer alone"),
    word(Layer, "outline", "outline $1", "the outer edge of this layer"),
    word(Layer, "front", "front $1", "what follows is on the face that looks at the player"),
    word(Layer, "back", "back $1", "what follows is on the face that looks away from the player"),
    word(Layer, "engrave", "engrave $1", "burns a filled area"),
    word(Layer, "score", "score $1", "traces a line, not through"),
    word(Layer, "pocket", "pocket $1 depth ${2:1mm}", "sinks an area to a depth"),
    word(Layer, "hole", "hole $1", "cuts through"),
    word(Layer, "window", "window ${1:name} = $2", "cuts through, to be looked through"),
    word(Layer, "paint", "paint $1 colour ${2:#204080}", "paints an area"),
    word(Layer, "bare", "bare $1", "leaves an area of the paint open"),
    word(
        Layer,
        "flip",
        "flip about ${1:90deg}",
        "how the layer is turned over: `flip about BEARING`, `flip board` or `flip holder`",
    ),
    word(Stack, "glue", "glue $1", "glues the layer below to the one above"),
    word(Stack, "turn", "turn on $1", "the layers above turn on those below"),
    word(Family, "each", "each ${1:param} in [$2]", "one member for every value; lines multiply"),
    word(Family, "variant", "variant ${1:name} { $2 }", "one more member, with values of its own"),
    word(Family, "leave", "leave out $1", "leaves out the combinations for which this holds"),
    word(After, "at", "at $1", "moves what stands before it to a point"),
    word(After, "turned", "turned ${1:90deg}", "turns it round the axis, clockwise seen from the front"),
    word(After, "scaled", "scaled ${1:50%}", "scales it about the axis"),
    word(After, "mirrored", "mirrored about ${1:0deg}", "mirrors it about the line through the axis at a bearing"),
    word(After, "repeated", "repeated ${1:6}", "copies it round the axis, evenly"),
    word(After, "rounded", "rounded ${1:1mm}", "rounds its corners"),
    word(After, "inset", "inset ${1:1mm}", "shrinks it by a distance all round"),
    word(After, "outset", "outset ${1:1mm}", "grows it by a distance all round"),
    word(After, "plus", "plus $1", "in either region"),
    word(After, "less", "less $1", "in the first region and not in the second"),
    word(After, "within", "within $1", "in both regions"),
    word(After, "to", "to $1", "a range, both ends included"),
    word(After, "by", "by $1", "the step of a range, or the next side of a size"),
    word(After, "is", "is $1", "whether both are the same"),
    word(After, "and", "and $1", "whether both hold"),
    word(After, "or", "or $1", "whether either holds"),
    word(After, "then", "then $1", "the value where the condition holds"),
    word(After, "else", "else $1", "the value where it does not"),
    word(Tail, "depth", "depth ${1:1mm}", "how deep the area is sunk; `through` for all the way"),
    word(Tail, "tone", "tone ${1:80%}", "how dark the engraving is"),
    word(Tail, "ink", "ink \"${1:black}\"", "what the engraving is filled with afterwards"),
    word(Tail, "colour", "colour ${1:#204080}", "the colour of the paint, or of the ink"),
    word(Tail, "after", "after ${1:name}", "waits until the work of this name on the other face is done"),
    word(Value, "if", "if $1 then $2 else $3", "one of two values, by a condition"),
    word(Value, "not", "not $1", "whether a condition does not hold"),
    word(Value, "true", "true", "what a condition that holds gives"),
    word(Value, "false", "false", "what a condition that does not hold gives"),
];

/// Words that stand only inside something, for hover.
const INSIDE: &[(&str, &str)] = &[
    ("of", "`layer NAME of STOCK`: what the layer is cut from"),
    ("ring", "`engrave ring NAME { … }`: labels round the axis"),
    ("through", "`reads RING through OPENING`; as a depth, all the way"),
    ("beside", "`reads RING beside POINTER`"),
    ("from", "`from A to B`: what a param may be; after `reads`, the distance it is read from"),
    ("on", "`turn on PIVOT`; after `accept`, what the finding is about"),
    ("in", "what `each` or `for` walks over"),
    ("for", "`[for x in LIST where CONDITION: VALUE]`: a list made from another"),
    ("where", "which values of a list count"),
    ("about", "the line that something is mirrored or flipped about, by its bearing"),
    ("board", "`flip board`: the whole board is turned over; in a stock, its size"),
    ("holder", "`flip holder`: the part is turned over into a mirrored opening cut in scrap"),
    ("out", "`leave out CONDITION`"),
];

/// What a word of ours does, where it is one.
pub(super) fn meaning(text: &str) -> Option<String> {
    let known = WORDS.iter().find(|known| known.word == text).map(|known| format!("`{text}`: {}", known.says));
    known.or_else(|| INSIDE.iter().find(|(word, _)| *word == text).map(|(_, says)| (*says).to_owned()))
}
