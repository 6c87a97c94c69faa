//! `family`: which variants a design has, how they compare, and which of them is best.

use std::collections::BTreeMap;

use clap::Args;
use serde_json::{Value, json};

use super::{FamilyArguments, print_findings, progress, rows};
use crate::analysis::{CheckedSession, Session, merged};
use crate::check::{Variant, Wanted};
use crate::cli::{DesignArguments, FINDINGS, FINE, MessageFormat, report};
use crate::diagnostics::{self, Diagnostic, Problems, counted, listed};
use crate::family::question::{self, Chosen, End, Knows, Ranked, chosen};
use crate::family::table::{self, Comparison, why_not};
use crate::family::{Record, record, verdict};
use crate::plan::Effort;
use crate::syntax::tree::Expr;

#[derive(Debug, Args)]
pub(in crate::cli) struct ListArguments {
    #[command(flatten)]
    design: DesignArguments,
    #[command(flatten)]
    family: FamilyArguments,
    /// Works out every variant and compares their figures
    #[arg(long)]
    figures: bool,
    /// Only variants that meet this condition, as in `--where "fits and least_margin > 0.8mm and lift_off(cover) > 2N"`
    #[arg(long = "where", value_name = "CONDITION")]
    condition: Option<String>,
    /// Puts the variant with the least of this first, as in `--least cost`
    #[arg(long, value_name = "EXPRESSION", conflicts_with = "most")]
    least: Option<String>,
    /// Puts the variant with the most of this first, as in `--most least_margin`
    #[arg(long, value_name = "EXPRESSION")]
    most: Option<String>,
}

/// The questions of the command line, read.
struct Questions {
    only: Option<Expr>,
    condition: Option<Expr>,
    best: Option<(End, Expr)>,
}

impl Questions {
    fn read(arguments: &ListArguments, read: &mut Session) -> Self {
        let mut ask = |flag: &str, text: &Option<String>| text.as_ref().and_then(|text| read.ask(flag, text));
        let only = ask("--only", &arguments.family.only);
        let condition = ask("--where", &arguments.condition);
        let least = ask("--least", &arguments.least).map(|least| (End::Least, least));
        let most = ask("--most", &arguments.most).map(|most| (End::Most, most));
        Self { only, condition, best: least.or(most) }
    }

    /// What is wrong with those about finished variants.
    fn faults(&self, session: &CheckedSession<'_>) -> Problems {
        let mut problems = Problems::default();
        for (question, wanted) in self.condition.iter().map(|it| (it, Wanted::Truth)).chain(self.ends()) {
            problems.extend(question::faults(session, question, wanted, Knows::Figures));
        }
        problems
    }

    fn ends(&self) -> impl Iterator<Item = (&Expr, Wanted)> {
        self.best.iter().map(|(_, best)| (best, Wanted::Quantity))
    }

    fn ask_how_sure(&self) -> bool {
        self.condition.iter().chain(self.ends().map(|(best, _)| best)).any(question::asks_how_sure)
    }
}

pub(in crate::cli) fn run(arguments: &ListArguments) -> u8 {
    shown(arguments).unwrap_or_else(|code| code)
}

fn shown(arguments: &ListArguments) -> Result<u8, u8> {
    let format = arguments.design.asked.message_format;
    let fail = |sentence: String| report::fail(&sentence, format);
    let (project, mut read) = report::opened(&arguments.design, Effort::default())?;
    if !read.has_family() {
        return Err(fail(format!("`{}` has no family", arguments.design.file.display())));
    }
    let questions = Questions::read(arguments, &mut read);
    let session = read.check(&project);
    let Chosen { variants, mut problems } = chosen(&session, questions.only.as_ref());
    problems.extend(questions.faults(&session));
    problems.extend(session.problems.clone());
    if problems.has_errors() {
        return Ok(at_fault(&problems.into_sorted(), &session, format));
    }
    let looks = arguments.figures || questions.condition.is_some() || questions.best.is_some();
    if !looks {
        names(&session, &variants, format);
        return Ok(FINE);
    }
    let records = looked_into(arguments, &session, &variants, questions.ask_how_sure());
    let pairs: Vec<(Option<&Variant>, &Record)> =
        variants.iter().zip(&records).map(|(variant, record)| (Some(*variant), record)).collect();
    let best = questions.best.as_ref().map(|(end, best)| (*end, best));
    let (ranked, faults) = question::ranked(&session, &pairs, questions.condition.as_ref(), best);
    if !faults.is_empty() {
        return Ok(at_fault(&faults, &session, format));
    }
    match format {
        MessageFormat::Json => report::json(&as_json(&session, &records, &ranked)),
        MessageFormat::Text => compared(arguments, &session, &records, &ranked),
    }
    Ok(if ranked.order.is_empty() { FINDINGS } else { FINE })
}

fn at_fault(found: &[Diagnostic], session: &CheckedSession<'_>, format: MessageFormat) -> u8 {
    match format {
        MessageFormat::Json => {
            report::json(&json!({ "findings": diagnostics::as_json(found, session.sources()) }));
        }
        MessageFormat::Text => print_findings(found, session.sources()),
    }
    FINDINGS
}

/// Works out all variants, several at once, and keeps what can be said of them.
fn looked_into(
    arguments: &ListArguments,
    session: &CheckedSession<'_>,
    variants: &[&Variant],
    sure: bool,
) -> Vec<Record> {
    let bar = progress::bar(variants.len(), arguments.design.asked.message_format);
    let one = |variant: &&Variant| record(session, variant, &session.analyse_variant(Some(variant)), "", sure);
    let records = session.walk(variants, arguments.family.threads(), one, || bar.inc(1));
    bar.finish_and_clear();
    records
}

/// The variants and what they set, nothing looked into.
fn names(session: &CheckedSession<'_>, variants: &[&Variant], format: MessageFormat) {
    let params: Vec<Vec<(String, String)>> = variants.iter().map(|variant| session.params(Some(variant))).collect();
    if format == MessageFormat::Json {
        let all = variants.iter().zip(&params).map(|(variant, params)| {
            let params: BTreeMap<&str, &str> =
                params.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
            json!({ "variant": variant.name, "params": params })
        });
        report::json(&json!({ "title": session.title(), "variants": all.collect::<Vec<Value>>() }));
        return;
    }
    let mut columns = vec![("variant".to_owned(), variants.iter().map(|variant| variant.name.clone()).collect())];
    for (at, (name, _)) in params.first().into_iter().flatten().enumerate() {
        let value = |params: &Vec<(String, String)>| params.get(at).map_or_else(String::new, |it| it.1.clone());
        columns.push((name.clone(), params.iter().map(value).collect()));
    }
    println!("{}, {}\n\n{}", session.title(), counted(variants.len(), "variant"), rows(&columns));
}

/// The table of all that are as asked, the best first, and what became of the others.
fn compared(arguments: &ListArguments, session: &CheckedSession<'_>, records: &[Record], ranked: &Ranked) {
    let shown: Vec<Record> = ranked.order.iter().filter_map(|(at, _)| records.get(*at).cloned()).collect();
    println!("{}, {}\n", session.title(), counted(records.len(), "variant"));
    if !shown.is_empty() {
        println!("{}\n", rows(&table::columns_for_people(&shown)));
    }
    if arguments.condition.is_some() {
        println!("as asked   {} of {}", shown.len(), records.len());
    }
    let asked = [(&arguments.least, "least"), (&arguments.most, "most")];
    for (asked, end) in asked.iter().filter_map(|(asked, end)| Some((asked.as_ref()?, end))) {
        match (shown.first(), ranked.order.first()) {
            (Some(record), Some((_, Some(answer)))) => {
                println!("best       {}, with the {end} `{asked}`: {answer}", record.variant);
            }
            _ => println!("best       none"),
        }
    }
    limited("not judged", unjudged(records, ranked));
    let failed = records.iter().filter_map(|record| Some(format!("{}: {}", record.variant, why_not(record)?)));
    limited("not made  ", failed.collect());
    report::verdict(&verdict(records.iter(), &found(session, records)));
}

/// Figures that a variant has only where the shop states what things cost and how long they take.
const OF_QUOTE: [&str; 4] = ["machine_time", "bench_time", "cost", "cost_of_one"];

/// Which variants lack what the question asks for, those that lack the same together.
fn unjudged(records: &[Record], ranked: &Ranked) -> Vec<String> {
    let mut groups: BTreeMap<&[String], Vec<&str>> = BTreeMap::new();
    for (at, lacks) in &ranked.unjudged {
        let name = records.get(*at).map(|record| record.variant.as_str());
        groups.entry(lacks).or_default().extend(name);
    }
    let line = |(lacks, names): (&[String], Vec<&str>)| {
        let who = match names.as_slice() {
            [first, _, _, rest @ ..] if !rest.is_empty() => format!("`{first}` and {} more have", names.len() - 1),
            [one] => format!("`{one}` has"),
            few => format!("{} have", listed(few.iter().copied(), "and")),
        };
        let what = if lacks.is_empty() {
            "what the question asks for".to_owned()
        } else {
            listed(lacks.iter().map(String::as_str), "and")
        };
        let quoted = lacks.iter().any(|word| OF_QUOTE.contains(&word.as_str()));
        let why = if quoted { "; `quote.json` of a build says what the shop file does not state" } else { "" };
        format!("{who} no value for {what}{why}")
    };
    groups.into_iter().map(line).collect()
}

/// Lines with a word before each, of very many the first ones.
fn limited(word: &str, lines: Vec<String>) {
    let limit = crate::limits::VARIANTS_SHOWN;
    lines.iter().take(limit).for_each(|line| println!("{word} {line}"));
    if lines.len() > limit {
        println!("{word} and {} more", lines.len() - limit);
    }
}

fn as_json(session: &CheckedSession<'_>, records: &[Record], ranked: &Ranked) -> Value {
    let name = |at: usize| records.get(at).map(|record| record.variant.as_str());
    let order = ranked
        .order
        .iter()
        .map(|(at, answer)| json!({ "variant": name(*at), "answer": answer.map(|answer| answer.to_string()) }));
    let unjudged = ranked.unjudged.iter().map(|(at, lacks)| json!({ "variant": name(*at), "lacks": lacks }));
    let found = found(session, records);
    json!({
        "findings": diagnostics::as_json(&found, session.sources()),
        "family": table::as_json(&Comparison { title: &session.title(), records }),
        "order": order.collect::<Vec<_>>(),
        "not_judged": unjudged.collect::<Vec<_>>(),
        "verdict": verdict(records.iter(), &found).as_json(),
    })
}

/// All that was found, each once.
fn found(session: &CheckedSession<'_>, records: &[Record]) -> Vec<Diagnostic> {
    let gathered = records.iter().map(|record| {
        let mut found = Problems::default();
        found.extend(record.findings.clone());
        (Some(record.variant.clone()), found)
    });
    merged(session.problems.clone(), gathered.collect())
}
