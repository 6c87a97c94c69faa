//! What the parser would have read instead, in the language's words.

use super::words::operator_words;
use crate::syntax::findings::syntax::END_OF_LINE;
use crate::syntax::parse::Rule;
use crate::vocabulary::items::{InnerWord, ItemWord};
use crate::vocabulary::placings::{Between, Leading};
use crate::vocabulary::tails::TailKind;
use pest::error::{Error, ErrorVariant};

/// What stands for a rule in a message.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Piece {
    /// The item is over.
    End,
    /// A word or sign, as it is written.
    Fixed(&'static str),
    /// Something of a kind.
    Kind(&'static str),
    /// A sign or word between two values.
    Operator,
}

/// The rules that were tried where the parse gave up.
fn tried(error: &Error<Rule>) -> &[Rule] {
    match &error.variant {
        ErrorVariant::ParsingError { positives, .. } => positives,
        ErrorVariant::CustomError { .. } => &[],
    }
}

/// What would have been right there, in order, each once.
pub(super) fn pieces(error: &Error<Rule>) -> Vec<Piece> {
    let mut pieces: Vec<Piece> = tried(error).iter().filter_map(|rule| piece(*rule)).collect();
    pieces.sort();
    pieces.dedup();
    pieces
}

/// The words and signs that would have been right there.
pub(super) fn fixed(error: &Error<Rule>) -> Vec<&'static str> {
    let fixed = |piece| match piece {
        Piece::Fixed(text) => Some(text),
        _ => None,
    };
    let operators = tried(error).iter().any(|rule| piece(*rule) == Some(Piece::Operator));
    pieces(error).into_iter().filter_map(fixed).chain(operator_words().filter(|_| operators)).collect()
}

/// Whether a name would have been right there.
pub(super) fn wants_name(error: &Error<Rule>) -> bool {
    tried(error).iter().any(|rule| {
        matches!(rule, Rule::name | Rule::layer_ref | Rule::own_name | Rule::piece | Rule::binding | Rule::mark_name)
    })
}

/// All that would have been right there, as the end of "expected …".
pub(super) fn sentence(error: &Error<Rule>) -> String {
    let mut all = pieces(error);
    if all.contains(&Piece::End) {
        // Where the item is whole already, all else that might follow it is a long list and no help.
        all = vec![Piece::End];
    }
    if all.contains(&Piece::Kind("a value")) {
        // A name is a value, and need not be named beside it.
        all.retain(|piece| !matches!(piece, Piece::Kind("a name" | "a word")));
    }
    let also = |piece: &Piece| matches!(piece, Piece::Operator | Piece::Fixed("to" | "by" | "("));
    // An operator may follow any value: it is true and says nothing, unless there is nothing else to say.
    if !all.iter().all(also) {
        all.retain(|piece| !also(piece));
    }
    let shown = all.iter().map(|piece| match piece {
        Piece::End => END_OF_LINE.to_owned(),
        Piece::Fixed(text) => format!("`{text}`"),
        Piece::Kind(kind) => (*kind).to_owned(),
        Piece::Operator => "an operator".to_owned(),
    });
    let mut shown: Vec<String> = shown.collect();
    match (shown.pop(), shown.is_empty()) {
        (None, _) => "something else".to_owned(),
        (Some(last), true) => last,
        (Some(last), false) => format!("{} or {last}", shown.join(", ")),
    }
}

/// How a rule is called in a message; none for rules that nobody would name.
fn piece(rule: Rule) -> Option<Piece> {
    use Piece::{Fixed, Kind, Operator};
    Some(match rule {
        Rule::EOI | Rule::ring_alone => Piece::End,
        Rule::name | Rule::layer_ref | Rule::own_name | Rule::piece | Rule::binding | Rule::mark_name => Kind("a name"),
        Rule::word | Rule::argument_word | Rule::field => Kind("a word"),
        Rule::formal => Kind("a name with its kind"),
        Rule::finding => Kind("the name of a finding"),
        Rule::note => Kind("a note in quotes"),
        Rule::string | Rule::curly => Kind("a text in quotes"),
        Rule::dial_item | Rule::shop_item | Rule::with_item | Rule::param | Rule::let_item | Rule::outline => {
            Kind("an item")
        }
        Rule::typeface | Rule::reads | Rule::slot | Rule::run | Rule::run_block | Rule::expect | Rule::accept => {
            Kind("an item")
        }
        Rule::layer | Rule::stack | Rule::family | Rule::thing | Rule::flip | Rule::mark | Rule::ring_block => {
            Kind("an item")
        }
        Rule::turn | Rule::turn_block | Rule::glue | Rule::each | Rule::leave_out | Rule::variant => Kind("an item"),
        Rule::expr | Rule::if_expr | Rule::or_expr | Rule::and_expr | Rule::not_expr | Rule::range => Kind("a value"),
        Rule::combined | Rule::placed | Rule::sum | Rule::product | Rule::unary | Rule::size | Rule::argument => {
            Kind("a value")
        }
        Rule::number
        | Rule::call
        | Rule::bracketed
        | Rule::list
        | Rule::colour
        | Rule::choices
        | Rule::TRUE
        | Rule::FALSE => Kind("a value"),
        Rule::plain | Rule::measure | Rule::mixed | Rule::minus | Rule::odd_colour => Kind("a value"),
        Rule::comparison | Rule::combining | Rule::placing | Rule::add_or_subtract | Rule::times_or_over => Operator,
        Rule::AND | Rule::OR | Rule::IS | Rule::placing_word | Rule::tail => Operator,
        Rule::fields
        | Rule::bindings
        | Rule::layer_block
        | Rule::stack_block
        | Rule::family_block
        | Rule::open_brace => Fixed("{"),
        Rule::formals | Rule::open_round => Fixed("("),
        Rule::close_round => Fixed(")"),
        Rule::open_square => Fixed("["),
        Rule::close_square => Fixed("]"),
        Rule::close_brace => Fixed("}"),
        Rule::eq => Fixed("="),
        Rule::comma => Fixed(","),
        Rule::colon => Fixed(":"),
        _ => return word(rule).map(Fixed),
    })
}

/// The language's word that a rule stands for.
fn word(rule: Rule) -> Option<&'static str> {
    Some(match rule {
        Rule::ABOUT => InnerWord::About.word(),
        Rule::BESIDE => InnerWord::Beside.word(),
        Rule::BOARD => InnerWord::Board.word(),
        Rule::HOLDER => InnerWord::Holder.word(),
        Rule::AFTER => TailKind::After.word(),
        Rule::BY | Rule::further => Between::By.word(),
        Rule::DEPTH => TailKind::Depth.word(),
        Rule::ELSE => Between::Else.word(),
        Rule::FOR => InnerWord::For.word(),
        Rule::FROM | Rule::bounds => InnerWord::From.word(),
        Rule::IF => Leading::If.word(),
        Rule::IN => InnerWord::In.word(),
        Rule::LAYER => ItemWord::Layer.word(),
        Rule::OF => InnerWord::Of.word(),
        Rule::ON => InnerWord::On.word(),
        Rule::OUT => InnerWord::Out.word(),
        Rule::RING => InnerWord::Ring.word(),
        Rule::THEN => Between::Then.word(),
        Rule::THROUGH => InnerWord::Through.word(),
        Rule::TO => Between::To.word(),
        Rule::WHERE => InnerWord::Where.word(),
        _ => return None,
    })
}
