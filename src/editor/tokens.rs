//! What every word is, for colouring: told by its meaning where it has one, else by its form alone.

use lsp_types::{Range, SemanticToken, SemanticTokenModifier, SemanticTokenType, SemanticTokens, SemanticTokensLegend};

use super::mentions::{Local, Mention, What, mentions};
use super::text::Lines;
use super::view::View;
use crate::check::names::{Meaning, Names};
use crate::source::SourceId;
use crate::syntax::{Lexeme, LexemeKind, lexemes_in_strings};
use crate::vocabulary::keywords;

/// What a piece of text is. The order is that of the legend.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Class {
    /// A word of the language.
    Keyword,
    /// Text in quotes.
    String,
    /// A number with its unit, or a colour.
    Number,
    /// A comment.
    Comment,
    /// A sign that works with values.
    Operator,
    /// A function.
    Function,
    /// A name of a value.
    Variable,
    /// A param, or what a function takes.
    Parameter,
    /// A field, or a word before `:` in a call.
    Property,
    /// A kind of value.
    Type,
    /// A layer.
    Layer,
    /// A thing of the shop.
    Thing,
    /// A ring or a named mark.
    Mark,
    /// One of a few words: a field's choices, variants, findings.
    Choice,
}

/// All classes, with what the protocol calls them.
const CLASSES: [(Class, SemanticTokenType); 14] = [
    (Class::Keyword, SemanticTokenType::KEYWORD),
    (Class::String, SemanticTokenType::STRING),
    (Class::Number, SemanticTokenType::NUMBER),
    (Class::Comment, SemanticTokenType::COMMENT),
    (Class::Operator, SemanticTokenType::OPERATOR),
    (Class::Function, SemanticTokenType::FUNCTION),
    (Class::Variable, SemanticTokenType::VARIABLE),
    (Class::Parameter, SemanticTokenType::PARAMETER),
    (Class::Property, SemanticTokenType::PROPERTY),
    (Class::Type, SemanticTokenType::TYPE),
    (Class::Layer, SemanticTokenType::CLASS),
    (Class::Thing, SemanticTokenType::STRUCT),
    (Class::Mark, SemanticTokenType::ENUM),
    (Class::Choice, SemanticTokenType::ENUM_MEMBER),
];

/// Where a name is defined.
const DECLARATION: u32 = 1;
/// It comes with the language.
const OURS: u32 = 2;

/// A piece of text with its class.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Token {
    /// Its first byte.
    pub start: usize,
    /// One past its last byte.
    pub end: usize,
    /// What it is.
    pub class: Class,
    modifiers: u32,
}

/// What the numbers of the tokens stand for.
pub fn legend() -> SemanticTokensLegend {
    SemanticTokensLegend {
        token_types: CLASSES.iter().map(|(_, kind)| kind.clone()).collect(),
        token_modifiers: vec![SemanticTokenModifier::DECLARATION, SemanticTokenModifier::DEFAULT_LIBRARY],
    }
}

/// Every word, number, text, comment and operator of a file, in order of place; brackets and separators left out.
pub fn classes(view: &View, file: SourceId) -> Vec<Token> {
    let text = view.text(file);
    let (names, _) = Names::gather(&view.files());
    let mut known: Vec<Mention<'_>> = mentions(&view.files(), &names);
    known.retain(|mention| mention.span.source == file && !mention.span.range().is_empty());
    known.sort_by_key(|mention| mention.span);
    let token = |piece: Lexeme| {
        // By the first byte alone: a mention of several words, such as a call, colours the word it begins with.
        let at = known.binary_search_by_key(&piece.start, |mention| mention.span.range().start).ok();
        let meant = at.and_then(|at| known.get(at)).and_then(|mention| meant(mention, piece));
        let (class, modifiers) = meant.or_else(|| formed(piece, text))?;
        Some(Token { start: piece.start, end: piece.end, class, modifiers })
    };
    joined(lexemes_in_strings(text), &known).into_iter().filter_map(token).collect()
}

/// The pieces with those of a finding's name, which has dashes, as one.
fn joined(pieces: Vec<Lexeme>, known: &[Mention<'_>]) -> Vec<Lexeme> {
    let finding = |start: usize| {
        let named = known.iter().find(|mention| {
            matches!(mention.what, What::Finding)
                && mention.span.range().start <= start
                && start < mention.span.range().end
        });
        named.map(|mention| mention.span.range())
    };
    let mut all: Vec<Lexeme> = Vec::new();
    for piece in pieces {
        match finding(piece.start) {
            Some(whole) if whole.start == piece.start => all.push(Lexeme { end: whole.end, unit: whole.end, ..piece }),
            Some(_) => {}
            None => all.push(piece),
        }
    }
    all
}

fn meant(mention: &Mention<'_>, piece: Lexeme) -> Option<(Class, u32)> {
    if piece.kind != LexemeKind::Word {
        return None;
    }
    let declared = mention.what.defined().is_some_and(|(_, defines)| defines);
    let modifiers = if declared { DECLARATION } else { 0 };
    Some(match &mention.what {
        What::Named { definition, .. } => {
            let class = match definition.meaning {
                Meaning::Param(_) => Class::Parameter,
                Meaning::Let(binding) if binding.formals.is_some() => Class::Function,
                Meaning::Let(_) => Class::Variable,
                Meaning::Layer(_) | Meaning::Copy(_) | Meaning::Wheel(_) => Class::Layer,
                Meaning::Ring(_) | Meaning::Mark(_) => Class::Mark,
                Meaning::Thing(..) => Class::Thing,
            };
            (class, modifiers)
        }
        What::Local { kind: Local::Formal(_), .. } => (Class::Parameter, modifiers),
        What::Local { kind: Local::Variable, .. } => (Class::Variable, modifiers),
        What::Local { kind: Local::Variant, .. } => (Class::Choice, modifiers),
        What::Unknown => (Class::Variable, 0),
        What::Function(..) => (Class::Function, OURS),
        What::Argument(..) | What::Field(..) => (Class::Property, 0),
        What::Choice(_) | What::Finding => (Class::Choice, OURS),
        What::KindWord => (Class::Type, OURS),
        What::Block(_) => (Class::Keyword, 0),
    })
}

fn formed(piece: Lexeme, text: &str) -> Option<(Class, u32)> {
    let class = match piece.kind {
        LexemeKind::Text | LexemeKind::UnclosedText => Class::String,
        LexemeKind::Number | LexemeKind::Colour => Class::Number,
        LexemeKind::Comment => Class::Comment,
        LexemeKind::Word if keywords().any(|known| known.word == piece.of(text)) => Class::Keyword,
        LexemeKind::Word => Class::Variable,
        LexemeKind::Sign if matches!(piece.of(text), "+" | "-" | "*" | "/" | "<" | ">" | "<=" | ">=" | "=") => {
            Class::Operator
        }
        LexemeKind::Sign | LexemeKind::Odd => return None,
    };
    Some((class, 0))
}

/// The classes of a file, or of the part of it that is seen, as the protocol packs them: each from the one before.
pub fn tokens(view: &View, file: SourceId, seen: Option<Range>) -> SemanticTokens {
    let Some(sheet) = view.sheet(file) else { return SemanticTokens::default() };
    let seen = seen.map(|range| sheet.lines.offset(range.start)..sheet.lines.offset(range.end));
    let wanted = |token: &Token| seen.as_ref().is_none_or(|seen| token.start < seen.end && seen.start < token.end);
    let tokens: Vec<Token> = classes(view, file).into_iter().filter(wanted).collect();
    SemanticTokens { result_id: None, data: packed(&tokens, &sheet.lines) }
}

fn packed(tokens: &[Token], lines: &Lines) -> Vec<SemanticToken> {
    let (mut line, mut column) = (0, 0);
    let pack = |token: &Token| {
        let at = lines.position(token.start);
        // On a line of its own a token counts from the line's start, else from the token before it (Language Server
        // Protocol 3.17, "Semantic Tokens").
        let start = if at.line == line { at.character - column } else { at.character };
        let kind = CLASSES.iter().position(|(class, _)| *class == token.class).unwrap_or_default();
        let packed = SemanticToken {
            delta_line: at.line - line,
            delta_start: start,
            length: lines.columns(token.start..token.end),
            token_type: super::text::count(kind),
            token_modifiers_bitset: token.modifiers,
        };
        (line, column) = (at.line, at.character);
        packed
    };
    tokens.iter().map(pack).collect()
}
