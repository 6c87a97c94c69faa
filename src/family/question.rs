//! Questions about variants, in the expressions of the language: `fits and least_margin > 0.8mm`. Over the language of
//! `expect` they know the words of the table ([`FigureName`]).

use std::collections::BTreeMap;

use super::{Figure, Record};
use crate::analysis::{CheckedSession, Dial};
use crate::check::{Value, Variant, Wanted};
use crate::diagnostics::{Diagnostic, Finding, Problems, Severity, listed};
use crate::source::Span;
use crate::syntax::tree::{Expr, ExprKind};
use crate::units::Quantity;
use crate::vocabulary::figures::{FigureName, FigureSpec};
use crate::vocabulary::measures::{MeasureName, Measured};
use crate::vocabulary::types::Type;

/// What a question may know.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Knows {
    /// What the file says: its params and what follows from them.
    Params,
    /// What is known of a finished variant as well.
    Figures,
}

/// The words of the table that a question may use: those that are no names of the file.
fn words(session: &CheckedSession<'_>, knows: Knows) -> impl Iterator<Item = &'static FigureSpec> {
    // A name of the file goes before a word of the table, so that a new column changes no question that was asked before.
    let free = move |column: &&FigureSpec| knows == Knows::Figures && !session.is_defined(column.word);
    FigureName::ROWS.iter().copied().filter(free)
}

/// What is wrong with a question: unknown words, units that do not fit, another kind of answer than is wanted.
pub fn faults(session: &CheckedSession<'_>, question: &Expr, wanted: Wanted, knows: Knows) -> Problems {
    let known = words(session, knows).map(|column| (column.word, column.holds.clone())).collect();
    let mut faults = Problems::default();
    for fault in session.faults_of_question(question, wanted, known, knows == Knows::Figures) {
        // A question defines nothing, so what a file would be told is of no help here.
        let lost =
            fault.finding == Finding::UnknownName && !fault.help.as_ref().is_some_and(|it| it.starts_with("did"));
        faults.push(if lost { fault.help(knowable(session, knows)) } else { fault });
    }
    faults
}

/// What a question may ask for, in words.
fn knowable(session: &CheckedSession<'_>, knows: Knows) -> String {
    let params = session.params(session.variants.first().and_then(Option::as_ref));
    let params = listed(params.iter().map(|(name, _)| name.as_str()), "and");
    match knows {
        Knows::Params => format!(
            "the file's params are {params}; one variant by its name is `--variant NAME`, and what a finished dial is like is \
             asked with `dialwright family FILE --where …`"
        ),
        Knows::Figures => {
            let words = listed(words(session, knows).map(|column| column.word), "and");
            format!("the words of the table are {words}; the file's params are {params}")
        }
    }
}

/// Whether a question asks how sure readings are, for which dials must be drawn.
pub fn asks_how_sure(question: &Expr) -> bool {
    let sure = matches!(&question.kind, ExprKind::Call { function, .. } if MeasureName::of_word(&function.text) == Some(MeasureName::Sure));
    sure || question.parts().into_iter().any(asks_how_sure)
}

/// The answer for a variant of which only the params are known.
pub fn answer_of_params(
    session: &CheckedSession<'_>,
    question: &Expr,
    variant: Option<&Variant>,
) -> (Option<Value>, Problems) {
    session.answer(question, variant, Vec::new(), &|_, _| None)
}

/// The answer for a finished variant; none where it lacks a figure that is asked for, see [`lacking`].
pub fn answer(
    session: &CheckedSession<'_>,
    question: &Expr,
    variant: Option<&Variant>,
    record: &Record,
) -> (Option<Value>, Problems) {
    let known = words(session, Knows::Figures);
    let known = known.filter_map(|column| Some((column.word, value(record.figure(column.word)?, &column.holds)?)));
    let measure = |name: MeasureName, subject: Option<&str>| {
        let holds = match name.spec().gives {
            Measured::Quantity(dimension) => Type::Quantity(dimension),
            Measured::Labels => Type::list(Type::Label),
        };
        value(record.figure(&format!("{}({})", name.word(), subject.unwrap_or_default()))?, &holds)
    };
    session.answer(question, variant, known.collect(), &measure)
}

/// The answer for a dial that was just worked out with these values, of which these are the [`figures`](super::figures_of);
/// none where it lacks a figure that is asked for.
pub(crate) fn answer_of_dial(
    session: &CheckedSession<'_>,
    question: &Expr,
    values: &BTreeMap<String, Value>,
    (dial, figures): (Option<&Dial>, &BTreeMap<String, Figure>),
) -> Option<Value> {
    let known = words(session, Knows::Figures);
    let known = known.filter_map(|column| Some((column.word, value(figures.get(column.word)?, &column.holds)?)));
    session.answer_of(question, values, known.collect(), dial)
}

/// A figure as a value of the language.
fn value(figure: &Figure, kind: &Type) -> Option<Value> {
    match (figure, kind) {
        (Figure::Truth(truth), _) => Some(Value::Truth(*truth)),
        (Figure::Number(value), Type::Quantity(dimension)) => {
            Some(Value::Quantity(Quantity { value: *value, dimension: *dimension }))
        }
        (Figure::Number(_), _) => None,
        (Figure::Labels(labels), _) => {
            Some(Value::List(labels.iter().map(|label| Value::Text(label.as_str().into())).collect()))
        }
    }
}

/// The words of the table and the measures in a question that a variant has no figure for, each once, in order.
pub fn lacking(session: &CheckedSession<'_>, question: &Expr, record: &Record) -> Vec<String> {
    let written = |span: Span| session.sources().text(span).split_whitespace().collect::<String>();
    let mut asked = Vec::new();
    walk(question, &mut |expr| match &expr.kind {
        ExprKind::Name(name) if words(session, Knows::Figures).any(|column| column.word == name) => {
            asked.push(name.clone());
        }
        ExprKind::Call { function, .. } if MeasureName::of_word(&function.text).is_some() => {
            asked.push(written(expr.span));
        }
        _ => {}
    });
    asked.retain(|word| record.figure(word).is_none());
    asked.dedup();
    asked
}

fn walk(expr: &Expr, visit: &mut dyn FnMut(&Expr)) {
    visit(expr);
    expr.parts().into_iter().for_each(|part| walk(part, visit));
}

/// The variants to work on.
pub struct Chosen<'s> {
    /// The variants, in order of the file.
    pub variants: Vec<&'s Variant>,
    /// What is wrong with the condition.
    pub problems: Problems,
}

/// The variants for which a condition on their params holds; all where there is none.
pub fn chosen<'s>(session: &'s CheckedSession<'_>, only: Option<&Expr>) -> Chosen<'s> {
    let all = session.variants.iter().flatten();
    let Some(only) = only else { return Chosen { variants: all.collect(), problems: Problems::default() } };
    let mut problems = faults(session, only, Wanted::Truth, Knows::Params);
    let mut variants = Vec::new();
    for variant in all {
        if problems.has_errors() {
            break;
        }
        let (answer, found) = answer_of_params(session, only, Some(variant));
        problems.extend(found);
        variants.extend((answer == Some(Value::Truth(true))).then_some(variant));
    }
    Chosen { variants, problems }
}

/// Variants in the order of their answers.
#[derive(Clone, Debug, Default)]
pub struct Ranked {
    /// Places in the list of records, the best first, each with its answer where one was asked for.
    pub order: Vec<(usize, Option<Quantity>)>,
    /// Places of those that could not be judged, each with what it lacks.
    pub unjudged: Vec<(usize, Vec<String>)>,
}

/// Which end of the answers is wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// The least.
    Least,
    /// The most.
    Most,
}

/// The sound variants for which the condition holds, ordered by what `best` asks; equals stay in the order of the file.
pub fn ranked(
    session: &CheckedSession<'_>,
    records: &[(Option<&Variant>, &Record)],
    condition: Option<&Expr>,
    best: Option<(End, &Expr)>,
) -> (Ranked, Vec<Diagnostic>) {
    let mut ranked = Ranked::default();
    let mut faults = Problems::default();
    for (at, (variant, record)) in records.iter().enumerate().filter(|(_, (_, record))| record.is_sound()) {
        let mut ask = |question: &Expr| {
            let (value, found) = answer(session, question, *variant, record);
            faults.extend(found.into_iter().filter(|found| found.severity == Severity::Error));
            value.ok_or_else(|| lacking(session, question, record))
        };
        match condition.map(&mut ask) {
            Some(Ok(Value::Truth(false))) => continue,
            Some(Err(lacks)) => {
                ranked.unjudged.push((at, lacks));
                continue;
            }
            _ => {}
        }
        match best.map(|(_, question)| ask(question)) {
            Some(Err(lacks)) => ranked.unjudged.push((at, lacks)),
            Some(Ok(value)) => ranked.order.push((at, value.quantity())),
            None => ranked.order.push((at, None)),
        }
    }
    let key = |answer: &Option<Quantity>| answer.map_or(0.0, |quantity| quantity.value);
    match best {
        Some((End::Least, _)) => ranked.order.sort_by(|a, b| key(&a.1).total_cmp(&key(&b.1))),
        Some((End::Most, _)) => ranked.order.sort_by(|a, b| key(&b.1).total_cmp(&key(&a.1))),
        None => {}
    }
    (ranked, faults.into_sorted())
}
