//! Questions about variants, in the expressions of the language: `fits and least_margin > 0.8mm`. Over the language of
//! `expect` they know the words of the table ([`COLUMNS`]).

use super::columns::{COLUMNS, Column};
use super::{Figure, Record};
use crate::audit::{self, MEASURES};
use crate::check::kind::Kind;
use crate::check::{Value, Variant, Wanted};
use crate::diagnostics::{Diagnostic, Finding, Problems, Severity, listed};
use crate::source::Span;
use crate::study::Study;
use crate::syntax::tree::{Expr, ExprKind};
use crate::units::Quantity;

/// What a question may know.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Knows {
    /// What the file says: its params and what follows from them.
    Params,
    /// What is known of a finished variant as well.
    Figures,
}

/// The words of the table that a question may use: those that are no names of the file.
fn words(study: &Study<'_>, knows: Knows) -> impl Iterator<Item = &'static Column> {
    let free = move |column: &&Column| knows == Knows::Figures && !study.is_defined(column.word);
    COLUMNS.iter().filter(free)
}

/// What is wrong with a question: unknown words, units that do not fit, another kind of answer than is wanted.
pub fn faults(study: &Study<'_>, question: &Expr, wanted: Wanted, knows: Knows) -> Problems {
    let known = words(study, knows).map(|column| (column.word, column.kind.clone())).collect();
    let mut faults = Problems::default();
    for fault in study.faults_of_question(question, wanted, known, knows == Knows::Figures) {
        // A question defines nothing, so what a file would be told is of no help here.
        let lost =
            fault.finding == Finding::UnknownName && !fault.help.as_ref().is_some_and(|it| it.starts_with("did"));
        faults.push(if lost { fault.help(knowable(study, knows)) } else { fault });
    }
    faults
}

/// What a question may ask for, in words.
fn knowable(study: &Study<'_>, knows: Knows) -> String {
    let params = study.params(study.variants.first().and_then(Option::as_ref));
    let params = listed(params.iter().map(|(name, _)| name.as_str()), "and");
    match knows {
        Knows::Params => format!(
            "the file's params are {params}; one variant by its name is `--variant NAME`, and what a finished dial is like is \
             asked with `dialwright family FILE --where …`"
        ),
        Knows::Figures => {
            let words = listed(words(study, knows).map(|column| column.word), "and");
            format!("the words of the table are {words}; the file's params are {params}")
        }
    }
}

/// Whether a question asks how sure readings are, for which dials must be drawn.
pub fn asks_how_sure(question: &Expr) -> bool {
    let sure = matches!(&question.kind, ExprKind::Call { function, .. } if function.text == "sure");
    sure || question.parts().into_iter().any(asks_how_sure)
}

/// The answer for a variant of which only the params are known.
pub fn answer_of_params(study: &Study<'_>, question: &Expr, variant: Option<&Variant>) -> (Option<Value>, Problems) {
    study.answer(question, variant, Vec::new(), &|_, _| None)
}

/// The answer for a finished variant; none where it lacks a figure that is asked for, see [`lacking`].
pub fn answer(
    study: &Study<'_>,
    question: &Expr,
    variant: Option<&Variant>,
    record: &Record,
) -> (Option<Value>, Problems) {
    let known = words(study, Knows::Figures);
    let known = known.filter_map(|column| Some((column.word, value(record.figure(column.word)?, &column.kind)?)));
    let measure = |name: &str, subject: Option<&str>| {
        let measure = MEASURES.iter().find(|measure| measure.name == name)?;
        let kind = match measure.kind {
            audit::Kind::Quantity(dimension) => Kind::Quantity(dimension),
            audit::Kind::Labels => Kind::list(Kind::Label),
        };
        value(record.figure(&format!("{name}({})", subject.unwrap_or_default()))?, &kind)
    };
    study.answer(question, variant, known.collect(), &measure)
}

/// A figure as a value of the language.
fn value(figure: &Figure, kind: &Kind) -> Option<Value> {
    match (figure, kind) {
        (Figure::Truth(truth), _) => Some(Value::Truth(*truth)),
        (Figure::Number(value), Kind::Quantity(dimension)) => {
            Some(Value::Quantity(Quantity { value: *value, dimension: *dimension }))
        }
        (Figure::Number(_), _) => None,
        (Figure::Labels(labels), _) => {
            Some(Value::List(labels.iter().map(|label| Value::Text(label.as_str().into())).collect()))
        }
    }
}

/// The words of the table and the measures in a question that a variant has no figure for, each once, in order.
pub fn lacking(study: &Study<'_>, question: &Expr, record: &Record) -> Vec<String> {
    let written = |span: Span| study.sources().text(span).split_whitespace().collect::<String>();
    let mut asked = Vec::new();
    walk(question, &mut |expr| match &expr.kind {
        ExprKind::Name(name) if words(study, Knows::Figures).any(|column| column.word == name) => {
            asked.push(name.clone());
        }
        ExprKind::Call { function, .. } if MEASURES.iter().any(|measure| measure.name == function.text) => {
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
    study: &Study<'_>,
    records: &[(Option<&Variant>, &Record)],
    condition: Option<&Expr>,
    best: Option<(End, &Expr)>,
) -> (Ranked, Vec<Diagnostic>) {
    let mut ranked = Ranked::default();
    let mut faults = Problems::default();
    for (at, (variant, record)) in records.iter().enumerate().filter(|(_, (_, record))| record.is_sound()) {
        let mut ask = |question: &Expr| {
            let (value, found) = answer(study, question, *variant, record);
            faults.extend(found.into_iter().filter(|found| found.severity == Severity::Error));
            value.ok_or_else(|| lacking(study, question, record))
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
