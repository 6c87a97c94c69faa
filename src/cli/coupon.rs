//! `coupon`: sheets to cut and measure for a stock, and the way back from readings.

use std::fs;
use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::{Value, json};

use super::disk::DiskProject;
use super::report::rounded;
use super::stage::EditedArguments;
use super::{FINDINGS, FINE, MessageFormat, report, stage};
use crate::check::doubted;
use crate::check::load::read_text;
use crate::coupon::{self, Measurement, Reading, Subject, Workshop, workshop};
use crate::design::Passes;
use crate::diagnostics::{self, Diagnostic, Problems, Severity, listed};
use crate::output::OutputFile;
use crate::project::MemoryProject;
use crate::source::{Sources, Span};
use crate::units::Length;

/// The table among the files, which a person fills in.
const TABLE: &str = "readings.csv";

#[derive(Debug, Args)]
pub(super) struct CouponArguments {
    /// A shop file, or a design that shares one; the built-in shop if left out
    file: Option<PathBuf>,
    /// Which of its stocks; not needed if there is only one
    #[arg(long, value_name = "NAME")]
    stock: Option<String>,
    /// Where the files go; by default a folder beside the file, named after file and stock
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    edited: EditedArguments,
    /// The filled-in readings: prints what they tell as a block of the shop file. If FILE is given, its other fields are
    /// carried over
    #[arg(long, value_name = "CSV", conflicts_with_all = ["stock", "out"])]
    read: Option<PathBuf>,
    /// Shows how many passes go this deep, by the readings, as in `--depth 1.6mm`
    #[arg(long, value_name = "LENGTH", requires = "read")]
    depth: Option<String>,
    /// How findings are printed
    #[arg(long, value_enum, default_value_t = MessageFormat::Text)]
    message_format: MessageFormat,
}

pub(super) fn run(arguments: &CouponArguments) -> u8 {
    let done = match &arguments.read {
        Some(table) => read(arguments, table),
        None => drawn(arguments),
    };
    done.unwrap_or_else(|code| code)
}

/// What a table of readings tells.
fn read(arguments: &CouponArguments, table: &Path) -> Result<u8, u8> {
    let format = arguments.message_format;
    let fail = |sentence: String| report::fail(&sentence, format);
    let workshop = arguments.file.as_deref().map(|file| read_workshop(Some(file))).transpose().map_err(fail)?;
    if let Some(faulty) = workshop.as_ref().filter(|it| has_errors(&it.findings)) {
        return Ok(refused(faulty, format));
    }
    let (project, name, shown_in) = DiskProject::of(table);
    let shown = table.display().to_string();
    let text = read_text(&project, &name).map_err(|error| fail(report::unreadable(&shown, &error)))?;
    let mut sources = Sources::shown_in(&shown_in);
    let id = sources.add(name, text);
    let (readings, mut problems) = coupon::readings(&sources, id);
    let faulty = problems.has_errors();
    let measured = if faulty { None } else { measurement(&readings, Span::new(id, 0..0), &mut problems) };
    let asked = arguments.depth.as_deref().zip(measured.as_ref());
    let answer = asked.and_then(|(depth, measured)| passes_for(depth, measured, &mut sources, &mut problems));
    let findings = problems.into_sorted();
    let block = measured.as_ref().filter(|_| !has_errors(&findings)).map(|it| coupon::block(it, workshop.as_ref()));
    match format {
        MessageFormat::Json => {
            let figures = measured.as_ref().map(coupon::as_json);
            report::json(&json!({
                "findings": diagnostics::as_json(&findings, &sources),
                "measured": figures,
                "passes": answer.map(|it| json!({ "count": it.count, "depth_mm": rounded(it.reach.as_mm()), "within_mm": it.within.map(|within| rounded(within.as_mm())) })),
                "block": block,
            }));
        }
        MessageFormat::Text => {
            report::some_findings(&findings, &sources);
            match (&block, answer) {
                (_, Some(passes)) => println!("{passes}"),
                (Some(block), None) => {
                    measured
                        .iter()
                        .flat_map(coupon::describe)
                        .for_each(|(what, words)| eprintln!("{what:<18} {words}"));
                    print!("{block}");
                }
                (None, None) => eprintln!("no block was written: mend the readings first"),
            }
        }
    }
    Ok(code(&findings))
}

fn measurement(readings: &[Reading], place: Span, problems: &mut Problems) -> Option<Measurement> {
    let (measured, found) = coupon::measure(readings, place);
    problems.extend(found);
    measured
}

/// How many passes go so deep; what is wrong with the question, or with going so deep, is a finding.
fn passes_for(depth: &str, measured: &Measurement, sources: &mut Sources, problems: &mut Problems) -> Option<Passes> {
    let id = sources.add("(--depth)", depth);
    let span = Span::new(id, 0..depth.len());
    let asked = coupon::length(depth, span).map_err(|found| found.help("write it as in `--depth 1.6mm`"));
    let wanted = asked.map_err(|found| problems.push(found)).ok()?;
    measured.passes_for(Length::mm(wanted), span).map_err(|found| problems.push(*found)).ok()
}

fn code(findings: &[Diagnostic]) -> u8 {
    if findings.iter().any(Diagnostic::stands) { FINDINGS } else { FINE }
}

fn has_errors(findings: &[Diagnostic]) -> bool {
    findings.iter().any(|finding| finding.severity == Severity::Error)
}

/// Draws the sheets.
fn drawn(arguments: &CouponArguments) -> Result<u8, u8> {
    let format = arguments.message_format;
    let fail = |sentence: String| report::fail(&sentence, format);
    let workshop = read_workshop(arguments.file.as_deref()).map_err(fail)?;
    if has_errors(&workshop.findings) {
        return Ok(refused(&workshop, format));
    }
    let subject = chosen(&workshop, arguments.stock.as_deref()).map_err(fail)?;
    let findings: Vec<Diagnostic> = workshop.findings.iter().cloned().chain(doubted(subject.stock)).collect();
    let files = coupon::files(&subject).map_err(|cards| {
        let cards = cards.iter().map(|card| card.name.as_str());
        fail(format!(
            "the board of `{}`, {} by {}, is too small for {}: give a larger `board` or a smaller `margin`",
            subject.stock.name,
            subject.stock.board.0,
            subject.stock.board.1,
            listed(cards, "and")
        ))
    })?;
    let folder = arguments.out.clone().unwrap_or_else(|| beside(arguments.file.as_deref(), &subject.stock.name));
    unfilled(&folder, &files).map_err(fail)?;
    stage::stage(&folder, &files, arguments.edited.edited()).map_err(|error| fail(error.to_string()))?;
    match format {
        MessageFormat::Json => report::json(&as_json((&findings, &workshop.sources), &subject, &folder, &files)),
        MessageFormat::Text => {
            report::some_findings(&findings, &workshop.sources);
            println!("stock      {}", subject.stock.name);
            println!(
                "cards      {}",
                coupon::cards(&subject).iter().map(|card| card.name.as_str()).collect::<Vec<_>>().join(", ")
            );
            println!("boards     {}", files.iter().filter(|file| file.name.ends_with(".svg")).count());
            println!("written    {} ({} files); begin with coupon.html", folder.display(), files.len());
        }
    }
    Ok(code(&findings))
}

pub(super) fn read_workshop(file: Option<&Path>) -> Result<Workshop, String> {
    match file {
        Some(file) => {
            let (project, name, shown_in) = DiskProject::of(file);
            workshop(&project, &name, &shown_in)
                .map_err(|error| report::unreadable(&file.display().to_string(), &error))
        }
        None => {
            let project = MemoryProject::default().with("none.dial", "dial \"None\"\n");
            workshop(&project, "none.dial", "").map_err(|error| report::unreadable("the built-in shop", &error))
        }
    }
}

/// The same for a new dial, which takes no shop that has anything to mend.
pub(super) fn read_sound_workshop(file: Option<&Path>) -> Result<Workshop, String> {
    let workshop = read_workshop(file)?;
    match workshop.findings.iter().find(|found| found.stands()) {
        Some(found) => Err(format!("the shop is not sound yet, {}: mend it first (`dialwright check`)", found.message)),
        None => Ok(workshop),
    }
}

fn refused(workshop: &Workshop, format: MessageFormat) -> u8 {
    match format {
        MessageFormat::Text => {
            report::some_findings(&workshop.findings, &workshop.sources);
            eprintln!("nothing was written: mend the errors first");
        }
        MessageFormat::Json => {
            report::json(&json!({ "findings": diagnostics::as_json(&workshop.findings, &workshop.sources) }));
        }
    }
    FINDINGS
}

fn chosen<'w>(workshop: &'w Workshop, stock: Option<&str>) -> Result<Subject<'w>, String> {
    workshop.subject(stock).map_err(|names| {
        let names = listed(names, "and");
        match stock {
            Some(stock) => format!("the shop has no stock `{stock}`; it has {names}"),
            None => format!("say which stock with `--stock`: the shop has {names}"),
        }
    })
}

fn beside(file: Option<&Path>, stock: &str) -> PathBuf {
    let stem = file.and_then(Path::file_stem).map_or("shop".into(), |stem| stem.to_string_lossy());
    let name = format!("{stem}-{stock}-coupon");
    file.map_or_else(|| PathBuf::from(&name), |file| file.with_file_name(&name))
}

/// Readings that someone has filled in are never written over.
fn unfilled(folder: &Path, files: &[OutputFile]) -> Result<(), String> {
    let path = folder.join(TABLE);
    let new = files.iter().find(|file| file.name == TABLE).map(|file| &file.bytes);
    match fs::read(&path) {
        Ok(old) if Some(&old) != new => Err(format!(
            "`{}` holds readings, or is of another stock: move it away, or name another folder with `--out`",
            path.display()
        )),
        _ => Ok(()),
    }
}

fn as_json(
    (findings, sources): (&[Diagnostic], &Sources),
    subject: &Subject<'_>,
    folder: &Path,
    files: &[OutputFile],
) -> Value {
    let cards = coupon::cards(subject);
    let rows = coupon::rows(subject, &cards);
    json!({
        "findings": diagnostics::as_json(findings, sources),
        "stock": subject.stock.name,
        "cards": cards.iter().map(|card| card.name.as_str()).collect::<Vec<_>>(),
        "readings": rows.len(),
        "folder": folder.display().to_string(),
        "files": files.iter().map(|file| file.name.as_str()).collect::<Vec<_>>(),
    })
}
