//! What may stand at a place of a text that need not be whole, told from its words and signs alone.

use crate::syntax::{Lexeme, LexemeKind, lexemes, lexemes_at, value_begun};
use crate::vocabulary::blocks::{BlockName, BlockSpec, Holds};
use crate::vocabulary::functions::{Function, function_named};
use crate::vocabulary::items::{FamilyWord, InnerWord, ItemWord, LayerWord, StackWord};
use crate::vocabulary::placings::{Between, Combining, Leading, Placing};
use crate::vocabulary::tails::TailKind;
use crate::vocabulary::types::{ThingKind, Type};
use crate::vocabulary::works::Work;

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
    /// What turns in or on a layer of the stack.
    Wheels,
    /// The family.
    Family,
    /// A variant of the family.
    Variant,
    /// A block of fields; none where its word begins no block.
    Fields(Option<BlockName>),
}

/// A place and what may stand there.
#[derive(Clone, Debug)]
pub(super) struct Context {
    /// What.
    pub(super) slot: Slot,
    /// The kind of value that is wanted, where that is known.
    pub(super) wanted: Option<Type>,
    /// The word that is being typed, in bytes.
    pub(super) typed: std::ops::Range<usize>,
    /// The layer it stands in.
    pub(super) layer: Option<String>,
    /// Whether measures may be asked.
    pub(super) measures: bool,
    /// Names that are known in this item alone: what a function takes, what `for` walks with.
    pub(super) locals: Vec<String>,
}

/// The type of value that is wanted after a word, where one is; none inside where it depends on what stands before.
#[allow(clippy::option_option, reason = "whether a value is wanted, and which")]
fn wants(word: &str) -> Option<Option<Type>> {
    // After `mirrored` another word comes first.
    let placing = Placing::of_word(word).filter(|placing| *placing != Placing::Mirrored).map(Placing::spec);
    let leading = Leading::of_word(word).filter(|leading| matches!(leading, Leading::If | Leading::Not));
    let inner = [InnerWord::About, InnerWord::Where, InnerWord::In, InnerWord::From];
    let row = placing
        .or_else(|| Combining::of_word(word).map(Combining::spec))
        .or_else(|| Between::of_word(word).map(Between::spec))
        .or_else(|| TailKind::with_value().find(|tail| tail.word() == word).map(TailKind::spec))
        .or_else(|| leading.map(Leading::spec))
        .or_else(|| inner.into_iter().find(|inner| inner.word() == word).map(InnerWord::spec))?;
    Some(row.takes.clone())
}

/// Whether an item goes on after a word, whatever line what follows is on.
fn goes_on(word: &str) -> bool {
    Placing::of_word(word).is_some_and(|placing| placing != Placing::Mirrored)
        || Combining::of_word(word).is_some()
        || Between::of_word(word).is_some()
        || Leading::of_word(word) == Some(Leading::Not)
}

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
            || (self.is_word() && goes_on(self.text))
    }

    /// Whether a value is whole with it.
    fn ends_value(&self) -> bool {
        match self.piece.kind {
            LexemeKind::Sign => matches!(self.text, ")" | "]"),
            LexemeKind::Word => wants(self.text).is_none(),
            LexemeKind::Comment => false,
            _ => true,
        }
    }
}

/// An open bracket, or the quote of a text in which a value is typed, with what stood before it and what stands in it since the last separator.
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
    let (all, value) = pieces(text, offset);
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
        if value.is_some_and(|start| piece.start >= start && last < start) {
            last = piece.start;
            frames.push(Frame { sign: '"', head: Vec::new(), item: Vec::new(), given: Vec::new() });
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
    if value.is_some_and(|start| last < start) {
        frames.push(Frame { sign: '"', head: Vec::new(), item: Vec::new(), given: Vec::new() });
    }
    let (found, wanted) = wanted(&frames);
    let layer = frames.iter().find_map(|frame| match frame.head.as_slice() {
        [first, name, ..] if first.text == ItemWord::Layer.word() => Some(name.text.to_owned()),
        _ => None,
    });
    let measures = frames.iter().any(|frame| {
        let first = |item: &[Token<'_>]| item.first().is_some_and(|token| token.text == ItemWord::Expect.word());
        first(&frame.item) || first(&frame.head)
    });
    Context { slot: slot.unwrap_or(found), wanted, typed, layer, measures, locals: locals(&frames) }
}

/// The pieces of a text up to a byte, and where the value begins that is typed there within a string, which is then no piece.
fn pieces(text: &str, offset: usize) -> (Vec<Lexeme>, Option<usize>) {
    let mut all = lexemes(text);
    let is_string = |piece: &Lexeme| matches!(piece.kind, LexemeKind::Text | LexemeKind::UnclosedText);
    let string = all.iter().position(|piece| is_string(piece) && piece.start < offset && piece.end >= offset);
    let begun = string.and_then(|at| {
        let start = all.get(at)?.start;
        Some((at, start + value_begun(text.get(start..offset)?)?))
    });
    let Some((at, value)) = begun else { return (all, None) };
    all.truncate(at);
    let line = text.get(offset..).and_then(|rest| rest.find(['\n', '"', '}'])).map_or(text.len(), |end| offset + end);
    all.extend(lexemes_at(text, value..line));
    (all, Some(value))
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
                    && first.text == InnerWord::For.word()
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

/// The block that a brace opens, of which those round it may tell more than its own head.
fn block_in(outer: &[Frame<'_>], frame: &Frame<'_>) -> Block {
    let of_turn = |frame: &Frame<'_>| {
        frame.head.first().is_some_and(|first| StackWord::of_word(first.text) == Some(StackWord::Turn))
    };
    let round = outer.split_last().filter(|(round, _)| round.sign == '{');
    match round.map(|(round, rest)| block_in(rest, round)) {
        Some(Block::Stack) if !of_turn(frame) => Block::Wheels,
        Some(Block::Wheels) => Block::Fields(Some(BlockName::Turn)),
        _ => block_of(&frame.head),
    }
}

fn block_of(head: &[Token<'_>]) -> Block {
    let word = |at: usize| head.get(at).map_or("", |token| token.text);
    let first = word(0);
    if first.is_empty() {
        return Block::File;
    }
    match ItemWord::of_word(first) {
        Some(ItemWord::Layer) => return Block::Layer,
        Some(ItemWord::Stack) => return Block::Stack,
        Some(ItemWord::Family) => return Block::Family,
        Some(ItemWord::Run) => return Block::Fields(Some(BlockName::Run)),
        _ => {}
    }
    if FamilyWord::of_word(first) == Some(FamilyWord::Variant) {
        return Block::Variant;
    }
    if StackWord::of_word(first) == Some(StackWord::Turn) {
        return Block::Fields(Some(BlockName::Turn));
    }
    let of_shop = BlockName::of_shop().find(|block| block.word() == first);
    let is_ring = || head.iter().any(|token| token.text == InnerWord::Ring.word());
    Block::Fields(of_shop.or_else(|| is_ring().then_some(BlockName::Ring)))
}

/// What may stand where the innermost bracket is open, and the kind of value wanted.
fn wanted(frames: &[Frame<'_>]) -> (Slot, Option<Type>) {
    let Some((frame, outer)) = frames.split_last() else { return (Slot::Nothing, None) };
    match frame.sign {
        '{' => in_block(block_in(outer, frame), frame),
        '(' => match called(frame) {
            Some(function) => in_call(function, frame),
            None => in_value(&frame.item, inherited(outer, frame), false),
        },
        // A value within a text: numbers, quantities and texts alike.
        '"' => in_value(&frame.item, None, false),
        _ => {
            let kind = inherited(outer, frame).map(|kind| match kind {
                Type::List(of) => *of,
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
fn inherited(outer: &[Frame<'_>], frame: &Frame<'_>) -> Option<Type> {
    let (last, before) = outer.split_last()?;
    let before_bracket = Frame { item: frame.head.clone(), ..last.clone() };
    let mut frames = before.to_vec();
    frames.push(before_bracket);
    wanted(&frames).1
}

fn in_call(name: &str, frame: &Frame<'_>) -> (Slot, Option<Type>) {
    let function: Option<&Function> = function_named(name);
    let parameter = |word: &str| function.and_then(|known| known.parameter(word));
    match frame.item.as_slice() {
        [] => {
            let place = frame.given.len();
            let positional = function.and_then(|known| known.parameters.iter().filter(|one| one.positional).nth(place));
            (Slot::Argument(name.to_owned(), frame.given.clone()), positional.and_then(|one| one.takes.wanted()))
        }
        [word, colon, rest @ ..] if colon.text == ":" => {
            in_value(rest, parameter(word.text).and_then(|one| one.takes.wanted()), false)
        }
        item => in_value(item, None, false),
    }
}

/// Inside a value of which some is written.
fn in_value(written: &[Token<'_>], kind: Option<Type>, mark: bool) -> (Slot, Option<Type>) {
    let Some(last) = written.last() else { return (Slot::Value, kind) };
    if last.ends_value() {
        return match last.text {
            word if word == Placing::Mirrored.word() => words(&[InnerWord::About]),
            _ => (Slot::After(mark), kind),
        };
    }
    match Some(last.text).filter(|_| last.is_word()).and_then(wants) {
        Some(Some(wanted)) => (Slot::Value, Some(wanted)),
        Some(None) => (Slot::Value, kind),
        // After a sign of arithmetic other units may be wanted.
        None if matches!(last.text, "*" | "/" | "<" | ">" | "<=" | ">=") => (Slot::Value, None),
        None => (Slot::Value, kind),
    }
}

fn in_block(block: Block, frame: &Frame<'_>) -> (Slot, Option<Type>) {
    let item = frame.item.as_slice();
    if item.is_empty() {
        return (Slot::Item(block, frame.given.clone()), None);
    }
    match block {
        Block::File => in_item(item),
        Block::Layer => in_layer(item),
        Block::Stack => in_stack(item),
        Block::Wheels => in_wheels(item),
        Block::Family => in_family(item),
        Block::Variant => match item {
            [_] => (Slot::Nothing, None),
            [_, _, rest @ ..] => in_value(rest, None, false),
            [] => (Slot::Nothing, None),
        },
        Block::Fields(block) => in_field(block.map(BlockName::spec), item),
    }
}

fn words(list: &[InnerWord]) -> (Slot, Option<Type>) {
    (Slot::Words(list.iter().map(|word| word.word()).collect()), None)
}

/// After the `=` of a binding, or nothing that can be offered.
fn after_equals(item: &[Token<'_>], kind: Option<Type>) -> (Slot, Option<Type>) {
    match item.iter().position(|token| token.text == "=") {
        Some(at) => in_value(item.get(at + 1..).unwrap_or_default(), kind, false),
        None => (Slot::Nothing, None),
    }
}

fn in_item(item: &[Token<'_>]) -> (Slot, Option<Type>) {
    let nothing = (Slot::Nothing, None);
    let Some((first, rest)) = item.split_first() else { return nothing };
    let Some(word) = ItemWord::of_word(first.text) else { return nothing };
    let last = rest.last().map_or("", |token| token.text);
    let (through, beside) = (InnerWord::Through.word(), InnerWord::Beside.word());
    match (word, rest) {
        (ItemWord::Param, [_, colon]) if colon.text == ":" => (Slot::KindWord, None),
        (ItemWord::Param, [_, _, kind]) if kind.is_word() => nothing,
        (ItemWord::Param, [_, _, kind, ..]) => after_equals(item, Type::of_word(kind.text)),
        (ItemWord::Let, _) => after_equals(item, None),
        (ItemWord::Layer, [_]) => words(&[InnerWord::Of]),
        (ItemWord::Layer, [_, of]) if of.text == InnerWord::Of.word() => (Slot::Thing(ThingKind::Stock), None),
        (ItemWord::Reads, []) => (Slot::Thing(ThingKind::Ring), None),
        (ItemWord::Reads, [_]) => words(&[InnerWord::Through, InnerWord::Beside, InnerWord::Of]),
        (ItemWord::Reads, _) => match InnerWord::of_word(last) {
            Some(InnerWord::Through | InnerWord::Beside) => (Slot::Thing(ThingKind::Mark), None),
            Some(InnerWord::Of) => (Slot::Thing(ThingKind::Layer), None),
            Some(InnerWord::From) => (Slot::Value, Some(Type::LENGTH)),
            _ if last == "," => (Slot::Thing(ThingKind::Mark), None),
            _ if !rest.iter().any(|token| token.text == through || token.text == beside) => {
                words(&[InnerWord::Through, InnerWord::Beside])
            }
            _ => words(&[InnerWord::From]),
        },
        (ItemWord::Outline | ItemWord::Slot | ItemWord::Run | ItemWord::Expect, value) => {
            in_value(value, word.spec().takes.clone(), word == ItemWord::Slot)
        }
        (ItemWord::Accept, []) => (Slot::Finding, None),
        (ItemWord::Accept, _) if last == InnerWord::On.word() => (Slot::AnyThing, None),
        (ItemWord::Accept, _) if last == "-" => (Slot::Finding, None),
        (ItemWord::Accept, _) => words(&[InnerWord::On]),
        (ItemWord::Param | ItemWord::Layer, _) => nothing,
        (ItemWord::Dial | ItemWord::Shop | ItemWord::With | ItemWord::Typeface, _) => nothing,
        (ItemWord::Stack | ItemWord::Family, _) => nothing,
    }
}

fn in_layer(item: &[Token<'_>]) -> (Slot, Option<Type>) {
    let Some((first, rest)) = item.split_first() else { return (Slot::Nothing, None) };
    match (LayerWord::of_word(first.text), rest) {
        (Some(LayerWord::Front | LayerWord::Back), []) => {
            (Slot::Words(Work::ALL.iter().map(|work| work.word()).collect()), None)
        }
        (Some(LayerWord::Front | LayerWord::Back), rest) => in_mark(rest),
        (Some(LayerWord::Let), _) => after_equals(item, None),
        (Some(LayerWord::Outline), value) => in_value(value, Some(Type::Region), false),
        (Some(LayerWord::Flip), []) => words(&[InnerWord::About, InnerWord::Board, InnerWord::Holder]),
        (Some(LayerWord::Flip), [_, value @ ..]) => in_value(value, Some(Type::ANGLE), false),
        (None, _) if Work::of_word(first.text).is_some() => in_mark(item),
        (None, _) => in_field(Some(BlockName::Layer.spec()), item),
    }
}

fn in_mark(item: &[Token<'_>]) -> (Slot, Option<Type>) {
    let Some((_, rest)) = item.split_first() else { return (Slot::Nothing, None) };
    match rest {
        [ring, ..] if ring.text == InnerWord::Ring.word() => (Slot::Nothing, None),
        [_, equals, value @ ..] if equals.text == "=" => in_value(value, Some(Type::Region), true),
        value => in_value(value, Some(Type::Region), true),
    }
}

fn in_stack(item: &[Token<'_>]) -> (Slot, Option<Type>) {
    let nothing = (Slot::Nothing, None);
    let Some((first, rest)) = item.split_first() else { return nothing };
    match (StackWord::of_word(first.text), rest) {
        (Some(StackWord::Glue), []) => (Slot::Thing(ThingKind::Adhesive), None),
        (Some(StackWord::Turn), []) => words(&[InnerWord::On]),
        (Some(StackWord::Turn), [_, value @ ..]) => in_value(value, Some(Type::Pivot), false),
        (Some(StackWord::Glue) | None, _) => nothing,
    }
}

/// `[NAME =] LAYER in OPENING`, or `[NAME =] LAYER at POINT on PIVOT`.
fn in_wheels(item: &[Token<'_>]) -> (Slot, Option<Type>) {
    let lies = match item {
        [_, equals, rest @ ..] if equals.text == "=" => rest,
        item => item,
    };
    let Some((_, placed)) = lies.split_first() else { return (Slot::Thing(ThingKind::Layer), None) };
    let Some((word, place)) = placed.split_first() else {
        return (Slot::Words(vec![InnerWord::In.word(), Placing::At.word()]), None);
    };
    let on = place.iter().position(|token| token.text == InnerWord::On.word());
    match on {
        Some(on) => in_value(place.get(on + 1..).unwrap_or_default(), Some(Type::Pivot), false),
        None if word.text == InnerWord::In.word() && place.is_empty() => (Slot::Thing(ThingKind::Mark), None),
        None if word.text == InnerWord::In.word() => (Slot::Nothing, None),
        None if place.last().is_some_and(Token::ends_value) => words(&[InnerWord::On]),
        None => in_value(place, Some(Type::Point), false),
    }
}

fn in_family(item: &[Token<'_>]) -> (Slot, Option<Type>) {
    let nothing = (Slot::Nothing, None);
    let Some((first, rest)) = item.split_first() else { return nothing };
    match (FamilyWord::of_word(first.text), rest) {
        (Some(FamilyWord::Each), rest) => match rest.iter().position(|token| token.text == InnerWord::In.word()) {
            Some(at) => in_value(rest.get(at + 1..).unwrap_or_default(), None, false),
            None if rest.last().is_none_or(|last| last.text == ",") => (Slot::Param, None),
            None => words(&[InnerWord::In]),
        },
        (Some(FamilyWord::Leave), []) => words(&[InnerWord::Out]),
        (Some(FamilyWord::Leave), [_, value @ ..]) => in_value(value, Some(Type::Truth), false),
        (Some(FamilyWord::Variant) | None, _) => nothing,
    }
}

fn in_field(block: Option<&BlockSpec>, item: &[Token<'_>]) -> (Slot, Option<Type>) {
    let Some((first, value)) = item.split_first() else { return (Slot::Nothing, None) };
    match block.and_then(|block| block.field(first.text)).map(|spec| &spec.holds) {
        Some(holds @ (Holds::Word(_) | Holds::EachWord(_))) if value.is_empty() => {
            (Slot::Words(holds.words().collect()), None)
        }
        Some(Holds::Type(Type::Thing(kind))) if value.is_empty() => (Slot::Thing(*kind), None),
        Some(Holds::Type(kind) | Holds::WordOr(_, kind) | Holds::Each(kind) | Holds::OneOrList(kind)) => {
            in_value(value, Some(kind.clone()), false)
        }
        // Within the brackets stand the same words.
        Some(holds @ Holds::EachWord(_)) if value.last().is_some_and(|last| ["[", ","].contains(&last.text)) => {
            (Slot::Words(holds.words().collect()), None)
        }
        Some(Holds::EachWord(_)) => in_value(value, Some(Type::list(Type::Text)), false),
        Some(Holds::List(item)) => in_value(value, Some(Type::list(item.clone())), false),
        Some(Holds::Readings | Holds::PassDepths | Holds::Size | Holds::Span) => {
            in_value(value, Some(Type::LENGTH), false)
        }
        Some(Holds::Stops) => in_value(value, Some(Type::NUMBER), false),
        Some(Holds::Flag | Holds::Kept) => in_value(value, Some(Type::Truth), false),
        Some(Holds::Params) if value.last().is_none_or(|last| ["[", ","].contains(&last.text)) => (Slot::Param, None),
        Some(Holds::Sought | Holds::Steps) => in_value(value, None, false),
        Some(Holds::Word(_) | Holds::Params) | None => (Slot::Nothing, None),
    }
}
