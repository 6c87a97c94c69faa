//! What may stand at a place of a text that need not be whole, told from its words and signs alone.

use crate::check::blocks::{BlockSpec, Holds, SHOP_WORDS, block_named};
use crate::check::functions::{Function, function_named};
use crate::check::kind::{Kind, ThingKind};
use crate::syntax::tree::Work;
use crate::syntax::{Lexeme, LexemeKind, lexemes};

/// What may stand at a place.
#[derive(Clone, Debug)]
pub(super) enum Slot {
    /// An item of this block; the words of it that are given already.
    Item(Block, Vec<String>),
    /// A unit, after the number that begins at this byte.
    Unit(usize),
    /// A value.
    Value,
    /// Something that goes on after a value; whether it is a mark's, which has tails.
    After(bool),
    /// An argument of a function, whose words in these are given already.
    Argument(String, Vec<String>),
    /// One of these words.
    Words(Vec<&'static str>),
    /// The name of a thing of this kind.
    Thing(ThingKind),
    /// The name of any thing.
    AnyThing,
    /// The name of a param.
    Param,
    /// A kind of value.
    KindWord,
    /// The name of a finding.
    Finding,
    /// Nothing that could be offered: a new name, text, a comment.
    Nothing,
}

/// A block, or the file.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Block {
    /// The file.
    File,
    /// A layer.
    Layer,
    /// The stack.
    Stack,
    /// The family.
    Family,
    /// A variant of the family.
    Variant,
    /// A block of fields.
    Fields(&'static str),
}

/// A place and what may stand there.
#[derive(Clone, Debug)]
pub(super) struct Context {
    /// What.
    pub(super) slot: Slot,
    /// The kind of value that is wanted, where that is known.
    pub(super) wanted: Option<Kind>,
    /// The word that is being typed, in bytes.
    pub(super) typed: std::ops::Range<usize>,
    /// The layer it stands in.
    pub(super) layer: Option<String>,
    /// Whether measures may be asked.
    pub(super) measures: bool,
    /// Names that are known in this item alone: what a function takes, what `for` walks with.
    pub(super) locals: Vec<String>,
}

/// Words after which a value is wanted, and the kind of value.
const WANTS: &[(&str, Option<Kind>)] = &[
    ("at", Some(Kind::Point)),
    ("turned", Some(Kind::ANGLE)),
    ("scaled", Some(Kind::NUMBER)),
    ("about", Some(Kind::ANGLE)),
    ("repeated", Some(Kind::NUMBER)),
    ("rounded", Some(Kind::LENGTH)),
    ("inset", Some(Kind::LENGTH)),
    ("outset", Some(Kind::LENGTH)),
    ("plus", Some(Kind::Region)),
    ("less", Some(Kind::Region)),
    ("within", Some(Kind::Region)),
    ("depth", Some(Kind::LENGTH)),
    ("tone", Some(Kind::NUMBER)),
    ("colour", Some(Kind::Colour)),
    ("ink", Some(Kind::Text)),
    ("if", Some(Kind::Truth)),
    ("and", Some(Kind::Truth)),
    ("or", Some(Kind::Truth)),
    ("not", Some(Kind::Truth)),
    ("where", Some(Kind::Truth)),
    ("to", None),
    ("by", None),
    ("is", None),
    ("then", None),
    ("else", None),
    ("in", None),
    ("from", None),
];

/// A word or sign, with its text.
#[derive(Clone, Copy, Debug)]
struct Token<'a> {
    piece: Lexeme,
    text: &'a str,
}

impl Token<'_> {
    fn is_word(&self) -> bool {
        self.piece.kind == LexemeKind::Word
    }

    /// Whether an item goes on after it, whatever line that is on.
    fn joins(&self) -> bool {
        matches!(self.text, "," | "=" | ":" | "(" | "[" | "+" | "-" | "*" | "/" | "<" | ">" | "<=" | ">=")
            || (self.is_word()
                && WANTS.iter().any(|(word, _)| {
                    *word == self.text
                        && !matches!(
                            *word,
                            "depth" | "tone" | "colour" | "ink" | "from" | "in" | "where" | "if" | "about"
                        )
                }))
    }

    /// Whether a value is whole with it.
    fn ends_value(&self) -> bool {
        match self.piece.kind {
            LexemeKind::Sign => matches!(self.text, ")" | "]"),
            LexemeKind::Word => !WANTS.iter().any(|(word, _)| *word == self.text),
            LexemeKind::Comment => false,
            _ => true,
        }
    }
}

/// An open bracket, with what stood before it and what stands in it since the last separator.
#[derive(Clone, Debug)]
struct Frame<'a> {
    sign: char,
    /// The item that the bracket stands in, up to it.
    head: Vec<Token<'a>>,
    /// The item being written.
    item: Vec<Token<'a>>,
    /// First words of the items before it; in a call, the argument words.
    given: Vec<String>,
}

/// What may stand at a byte of a text.
pub(super) fn context(text: &str, offset: usize) -> Context {
    let all = lexemes(text);
    let mut typed = offset..offset;
    let mut frames = vec![Frame { sign: '{', head: Vec::new(), item: Vec::new(), given: Vec::new() }];
    let mut last = 0;
    let mut slot = None;
    for piece in all.into_iter().take_while(|piece| piece.start < offset) {
        let touches = piece.end >= offset;
        match piece.kind {
            LexemeKind::Comment if touches => slot = Some(Slot::Nothing),
            LexemeKind::Comment => continue,
            LexemeKind::Text if piece.end > offset => slot = Some(Slot::Nothing),
            LexemeKind::UnclosedText if touches => slot = Some(Slot::Nothing),
            LexemeKind::Number if touches => slot = Some(Slot::Unit(piece.start)),
            LexemeKind::Colour | LexemeKind::Odd if touches => slot = Some(Slot::Nothing),
            LexemeKind::Word if touches => typed = piece.range(),
            _ => {}
        }
        if touches && slot.is_some() {
            typed = piece.start..offset;
        }
        if typed.start == piece.start && touches {
            break;
        }
        let token = Token { piece, text: piece.of(text) };
        line_end(&mut frames, text.get(last..piece.start).unwrap_or(""), Some(token));
        take(&mut frames, token);
        last = piece.end;
    }
    line_end(&mut frames, text.get(last..typed.start).unwrap_or(""), None);
    let (found, wanted) = wanted(&frames);
    let layer = frames.iter().find_map(|frame| match frame.head.as_slice() {
        [first, name, ..] if first.text == "layer" => Some(name.text.to_owned()),
        _ => None,
    });
    let measures = frames.iter().any(|frame| {
        let first = |item: &[Token<'_>]| item.first().is_some_and(|token| token.text == "expect");
        first(&frame.item) || first(&frame.head)
    });
    Context { slot: slot.unwrap_or(found), wanted, typed, layer, measures, locals: locals(&frames) }
}

/// Ends the item where a line ends in a block, unless it goes on.
fn line_end(frames: &mut [Frame<'_>], between: &str, next: Option<Token<'_>>) {
    let Some(frame) = frames.last_mut() else { return };
    let goes_on = |token: &Token<'_>| token.joins() && !matches!(token.text, "(" | "[" | ":" | "=");
    if frame.sign == '{'
        && between.contains(['\n', '\r'])
        && !frame.item.last().is_some_and(Token::joins)
        && !next.as_ref().is_some_and(goes_on)
    {
        end_item(frame);
    }
}

fn end_item(frame: &mut Frame<'_>) {
    frame.given.extend(frame.item.first().map(|token| token.text.to_owned()));
    frame.item.clear();
}

fn take<'a>(frames: &mut Vec<Frame<'a>>, token: Token<'a>) {
    let Some(frame) = frames.last_mut() else { return };
    match token.text {
        "{" | "(" | "[" if token.piece.kind == LexemeKind::Sign => {
            let sign = token.text.chars().next().unwrap_or('{');
            let head = frame.item.clone();
            frames.push(Frame { sign, head, item: Vec::new(), given: Vec::new() });
        }
        "}" | ")" | "]" if token.piece.kind == LexemeKind::Sign => close(frames, token),
        ";" if frame.sign == '{' => end_item(frame),
        "," if frame.sign != '{' => end_item(frame),
        _ => frame.item.push(token),
    }
}

/// Leaves the bracket that a sign closes; those left open inside it end with it.
fn close<'a>(frames: &mut Vec<Frame<'a>>, token: Token<'a>) {
    let open = match token.text {
        "}" => '{',
        ")" => '(',
        _ => '[',
    };
    let Some(at) = frames.iter().rposition(|frame| frame.sign == open).filter(|at| *at > 0) else { return };
    frames.truncate(at);
    if let Some(frame) = frames.last_mut() {
        frame.item.push(token);
        if open == '{' {
            end_item(frame);
        }
    }
}

/// What functions take and `for` walks with, in all that is open.
fn locals(frames: &[Frame<'_>]) -> Vec<String> {
    let mut found = Vec::new();
    for frame in frames {
        for tokens in [&frame.head, &frame.item] {
            for pair in tokens.windows(2) {
                if let [first, name] = pair
                    && first.text == "for"
                    && name.is_word()
                {
                    found.push(name.text.to_owned());
                }
            }
        }
    }
    found.sort();
    found.dedup();
    found
}

fn block_of(head: &[Token<'_>]) -> Block {
    let word = |at: usize| head.get(at).map_or("", |token| token.text);
    match word(0) {
        "" => Block::File,
        "layer" => Block::Layer,
        "stack" => Block::Stack,
        "family" => Block::Family,
        "variant" => Block::Variant,
        "turn" => Block::Fields("turn"),
        "run" => Block::Fields("run"),
        shop => match SHOP_WORDS.iter().find(|known| **known == shop) {
            Some(known) => Block::Fields(known),
            None if head.iter().any(|token| token.text == "ring") => Block::Fields("ring"),
            None => Block::Fields(""),
        },
    }
}

/// What may stand where the innermost bracket is open, and the kind of value wanted.
fn wanted(frames: &[Frame<'_>]) -> (Slot, Option<Kind>) {
    let Some((frame, outer)) = frames.split_last() else { return (Slot::Nothing, None) };
    match frame.sign {
        '{' => in_block(block_of(&frame.head), frame),
        '(' => match called(frame) {
            Some(function) => in_call(function, frame),
            None => in_value(&frame.item, inherited(outer, frame), false),
        },
        _ => {
            let kind = inherited(outer, frame).map(|kind| match kind {
                Kind::List(of) => *of,
                kind => kind,
            });
            in_value(&frame.item, kind, false)
        }
    }
}

/// The name right before a round bracket.
fn called<'a>(frame: &Frame<'a>) -> Option<&'a str> {
    frame.head.last().filter(|token| token.is_word() && token.ends_value()).map(|token| token.text)
}

/// The kind wanted where a bracket stands that only groups.
fn inherited(outer: &[Frame<'_>], frame: &Frame<'_>) -> Option<Kind> {
    let (last, before) = outer.split_last()?;
    let before_bracket = Frame { item: frame.head.clone(), ..last.clone() };
    let mut frames = before.to_vec();
    frames.push(before_bracket);
    wanted(&frames).1
}

fn in_call(name: &str, frame: &Frame<'_>) -> (Slot, Option<Kind>) {
    let function: Option<&Function> = function_named(name);
    let parameter = |word: &str| function.and_then(|known| known.parameters.iter().find(|one| one.name == word));
    match frame.item.as_slice() {
        [] => {
            let place = frame.given.len();
            let positional = function.and_then(|known| known.parameters.iter().filter(|one| one.positional).nth(place));
            (Slot::Argument(name.to_owned(), frame.given.clone()), positional.and_then(|one| one.kind.clone()))
        }
        [word, colon, rest @ ..] if colon.text == ":" => {
            in_value(rest, parameter(word.text).and_then(|one| one.kind.clone()), false)
        }
        item => in_value(item, None, false),
    }
}

/// Inside a value of which some is written.
fn in_value(written: &[Token<'_>], kind: Option<Kind>, mark: bool) -> (Slot, Option<Kind>) {
    let Some(last) = written.last() else { return (Slot::Value, kind) };
    if last.ends_value() {
        return match last.text {
            "mirrored" => (Slot::Words(vec!["about"]), None),
            _ => (Slot::After(mark), kind),
        };
    }
    let after = WANTS.iter().find(|(word, _)| last.is_word() && *word == last.text);
    match after {
        Some((_, Some(wants))) => (Slot::Value, Some(wants.clone())),
        Some((_, None)) => (Slot::Value, kind),
        // After a sign of arithmetic other units may be wanted.
        None if matches!(last.text, "*" | "/" | "<" | ">" | "<=" | ">=") => (Slot::Value, None),
        None => (Slot::Value, kind),
    }
}

fn in_block(block: Block, frame: &Frame<'_>) -> (Slot, Option<Kind>) {
    let item = frame.item.as_slice();
    if item.is_empty() {
        return (Slot::Item(block, frame.given.clone()), None);
    }
    match block {
        Block::File => in_item(item),
        Block::Layer => in_layer(item),
        Block::Stack => in_stack(item),
        Block::Family => in_family(item),
        Block::Variant => match item {
            [_] => (Slot::Nothing, None),
            [_, _, rest @ ..] => in_value(rest, None, false),
            [] => (Slot::Nothing, None),
        },
        Block::Fields(word) => in_field(block_named(word), item),
    }
}

fn words(list: &[&'static str]) -> (Slot, Option<Kind>) {
    (Slot::Words(list.to_vec()), None)
}

/// After the `=` of a binding, or nothing that can be offered.
fn after_equals(item: &[Token<'_>], kind: Option<Kind>) -> (Slot, Option<Kind>) {
    match item.iter().position(|token| token.text == "=") {
        Some(at) => in_value(item.get(at + 1..).unwrap_or_default(), kind, false),
        None => (Slot::Nothing, None),
    }
}

fn in_item(item: &[Token<'_>]) -> (Slot, Option<Kind>) {
    let nothing = (Slot::Nothing, None);
    let Some((first, rest)) = item.split_first() else { return nothing };
    match (first.text, rest) {
        ("param", [_, colon]) if colon.text == ":" => (Slot::KindWord, None),
        ("param", [_, _, kind]) if kind.is_word() => nothing,
        ("param", [_, _, kind, ..]) => after_equals(item, Kind::of_word(kind.text)),
        ("let", _) => after_equals(item, None),
        ("outline", value) => in_value(value, Some(Kind::Region), false),
        ("layer", [_]) => words(&["of"]),
        ("layer", [_, of]) if of.text == "of" => (Slot::Thing(ThingKind::Stock), None),
        ("reads", []) => (Slot::Thing(ThingKind::Ring), None),
        ("reads", [_]) => words(&["through", "beside"]),
        ("reads", [.., last]) => match last.text {
            "through" | "beside" | "," => (Slot::Thing(ThingKind::Mark), None),
            "from" => (Slot::Value, Some(Kind::LENGTH)),
            _ => words(&["from"]),
        },
        ("slot", value) => in_value(value, Some(Kind::LENGTH), true),
        ("run", value) => in_value(value, Some(Kind::NUMBER), false),
        ("expect", value) => in_value(value, Some(Kind::Truth), false),
        ("accept", []) => (Slot::Finding, None),
        ("accept", [.., on]) if on.text == "on" => (Slot::AnyThing, None),
        ("accept", [.., last]) if last.text == "-" => (Slot::Finding, None),
        ("accept", _) => words(&["on"]),
        _ => nothing,
    }
}

fn in_layer(item: &[Token<'_>]) -> (Slot, Option<Kind>) {
    let Some((first, rest)) = item.split_first() else { return (Slot::Nothing, None) };
    match (first.text, rest) {
        ("front" | "back", []) => words(&Work::ALL.map(Work::word)),
        ("front" | "back", rest) => in_mark(rest),
        ("let", _) => after_equals(item, None),
        ("outline", value) => in_value(value, Some(Kind::Region), false),
        ("flip", []) => words(&["about", "board"]),
        ("flip", [_, value @ ..]) => in_value(value, Some(Kind::ANGLE), false),
        (work, _) if Work::of_word(work).is_some() => in_mark(item),
        _ => in_field(block_named("layer"), item),
    }
}

fn in_mark(item: &[Token<'_>]) -> (Slot, Option<Kind>) {
    let Some((_, rest)) = item.split_first() else { return (Slot::Nothing, None) };
    match rest {
        [ring, ..] if ring.text == "ring" => (Slot::Nothing, None),
        [_, equals, value @ ..] if equals.text == "=" => in_value(value, Some(Kind::Region), true),
        value => in_value(value, Some(Kind::Region), true),
    }
}

fn in_stack(item: &[Token<'_>]) -> (Slot, Option<Kind>) {
    match item {
        [glue] if glue.text == "glue" => (Slot::Thing(ThingKind::Adhesive), None),
        [turn] if turn.text == "turn" => words(&["on"]),
        [turn, _, value @ ..] if turn.text == "turn" => in_value(value, Some(Kind::Pivot), false),
        _ => (Slot::Nothing, None),
    }
}

fn in_family(item: &[Token<'_>]) -> (Slot, Option<Kind>) {
    let Some((first, rest)) = item.split_first() else { return (Slot::Nothing, None) };
    match (first.text, rest) {
        ("each", rest) => match rest.iter().position(|token| token.text == "in") {
            Some(at) => in_value(rest.get(at + 1..).unwrap_or_default(), None, false),
            None if rest.last().is_none_or(|last| last.text == ",") => (Slot::Param, None),
            None => words(&["in"]),
        },
        ("leave", []) => words(&["out"]),
        ("leave", [_, value @ ..]) => in_value(value, Some(Kind::Truth), false),
        _ => (Slot::Nothing, None),
    }
}

fn in_field(block: Option<&BlockSpec>, item: &[Token<'_>]) -> (Slot, Option<Kind>) {
    let Some((first, value)) = item.split_first() else { return (Slot::Nothing, None) };
    let spec = block.and_then(|block| block.fields.iter().find(|spec| spec.name == first.text));
    match spec.map(|spec| &spec.holds) {
        Some(Holds::Word(known)) if value.is_empty() => words(known),
        Some(Holds::Kind(Kind::Thing(kind))) if value.is_empty() => (Slot::Thing(*kind), None),
        Some(Holds::Kind(kind) | Holds::WordOr(_, kind) | Holds::Each(kind)) => {
            in_value(value, Some(kind.clone()), false)
        }
        Some(Holds::Readings | Holds::Ladder | Holds::Size | Holds::Span) => in_value(value, Some(Kind::LENGTH), false),
        Some(Holds::Stops) => in_value(value, Some(Kind::NUMBER), false),
        Some(Holds::Flag) => in_value(value, Some(Kind::Truth), false),
        Some(Holds::Word(_)) | None => (Slot::Nothing, None),
    }
}
