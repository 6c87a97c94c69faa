//! `check`: all findings of one design or of many, nothing written but a log where one is asked for.

use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::{Value, json};

use super::disk::put;
use super::report::Taken;
use super::shelter::sheltered;
use super::tidy::files_below;
use super::{COULD_NOT_RUN, DesignArguments, FINDINGS, FINE, MessageFormat, family, mend, report};
use crate::analysis::{Session, Threads, Verdict, merged};
use crate::check::Variant;
use crate::diagnostics::{self, Diagnostic, counted};
use crate::plan::Effort;
use crate::seek;
use crate::source::Sources;

#[derive(Debug, Args)]
pub(super) struct CheckArguments {
    #[command(flatten)]
    design: DesignArguments,
    /// More designs, or folders of designs; files in a folder that designs only share are skipped
    #[arg(value_name = "FILE", conflicts_with_all = ["set", "variant"])]
    more: Vec<PathBuf>,
    /// Applies every certain mend to the files, then checks again
    #[arg(long)]
    mend: bool,
    /// Also writes the findings to this file as a SARIF 2.1.0 log, which repository hosts show beside the text
    #[arg(long, value_name = "FILE")]
    sarif: Option<PathBuf>,
}

/// What was found in a design.
struct Checked {
    file: PathBuf,
    findings: Vec<Diagnostic>,
    sources: Sources,
    dials: Vec<Taken>,
    verdict: Verdict,
    mended: usize,
}

impl Checked {
    fn stands(&self) -> bool {
        self.findings.iter().any(Diagnostic::stands)
    }
}

pub(super) fn run(arguments: &CheckArguments) -> u8 {
    checked(arguments, one).unwrap_or_else(|code| code)
}

/// How one of several designs, or the only one, is checked; none for what designs only share.
type One = fn(&CheckArguments, &Path, bool) -> Result<Option<Checked>, u8>;

fn checked(arguments: &CheckArguments, one: One) -> Result<u8, u8> {
    let format = arguments.design.asked.message_format;
    let fail = |sentence: String| report::fail(&sentence, format);
    let mut files = Vec::new();
    for path in [&arguments.design.file].into_iter().chain(&arguments.more) {
        files_below(path, 0, &mut files).map_err(fail)?;
    }
    // One file that was named is checked even if it is only ever shared; of a folder such files are passed over.
    let alone = files == [arguments.design.file.clone()];
    let (mut all, mut lost) = (Vec::new(), Vec::new());
    for file in &files {
        // A fault of ours takes this design with it, and no other.
        match sheltered(&format!("`{}`", file.display()), || one(arguments, file, alone)) {
            Ok(checked) => all.extend(checked?),
            Err(sentence) => lost.push(sentence),
        }
    }
    if let Some(log) = &arguments.sarif {
        let designs: Vec<(&[Diagnostic], &Sources)> =
            all.iter().map(|one| (one.findings.as_slice(), &one.sources)).collect();
        let text = format!("{:#}\n", with_lost(diagnostics::as_sarif(&designs), &lost));
        put(log, text.as_bytes()).map_err(|error| fail(format!("`{}` cannot be written: {error}", log.display())))?;
    }
    for sentence in lost.iter().filter(|_| format == MessageFormat::Text) {
        fail(sentence.clone());
    }
    match (format, all.as_slice()) {
        (MessageFormat::Json, []) if alone => {
            fail(lost.join("; "));
        }
        (MessageFormat::Text, []) if alone => {}
        (MessageFormat::Json, [one]) if alone => report::json(&as_json(one)),
        (MessageFormat::Json, all) => {
            let mut said = json!({ "designs": all.iter().map(named_json).collect::<Vec<_>>() });
            if let Some(fields) = said.as_object_mut().filter(|_| !lost.is_empty()) {
                fields.insert("could_not_run".to_owned(), json!(lost.join("; ")));
            }
            report::json(&said);
        }
        (MessageFormat::Text, [one]) if alone => print_checked(one, arguments.mend),
        (MessageFormat::Text, all) => said_of_many(all, files.len() - lost.len()),
    }
    if !lost.is_empty() {
        return Ok(COULD_NOT_RUN);
    }
    Ok(if all.iter().any(Checked::stands) { FINDINGS } else { FINE })
}

/// The log, telling that not all designs could be checked (SARIF 2.1.0, 3.20.14 and 3.20.21).
fn with_lost(mut log: Value, lost: &[String]) -> Value {
    let run = log.pointer_mut("/runs/0").and_then(Value::as_object_mut);
    if let Some(run) = run.filter(|_| !lost.is_empty()) {
        let told = |sentence: &String| json!({ "level": "error", "message": { "text": sentence } });
        let told: Vec<Value> = lost.iter().map(told).collect();
        run.insert(
            "invocations".to_owned(),
            json!([{ "executionSuccessful": false, "toolExecutionNotifications": told }]),
        );
    }
    log
}

/// Checks a design; among many, none for what designs share, which is checked with each of them.
fn one(arguments: &CheckArguments, file: &Path, alone: bool) -> Result<Option<Checked>, u8> {
    let design = DesignArguments { file: file.to_path_buf(), ..arguments.design.clone() };
    // No layout is shown, so none is searched for.
    let (project, mut session) = report::opened(&design, Effort(0))?;
    if !alone && session.is_shared() {
        return Ok(None);
    }
    let mut found = look(&session, &project, file);
    if arguments.mend {
        let mended = mend::apply(&found.findings, &found.sources, file)
            .map_err(|sentence| report::fail(&sentence, design.asked.message_format))?;
        if mended > 0 {
            // Read again from the disc and not patched in memory: what is told of last is what the files hold now.
            (_, session) = report::opened(&design, Effort(0))?;
            found = look(&session, &project, file);
        }
        found.mended = mended;
    }
    Ok(Some(found))
}

/// Looks at all variants, several at once, keeping of each only what is to be said.
fn look(session: &Session, project: &super::disk::DiskProject, file: &Path) -> Checked {
    let checked = session.check(project);
    let one = |variant: &Option<Variant>| {
        let mut result = checked.analyse_variant(variant.as_ref());
        if !checked.seeks().is_empty() && variant.is_none() {
            result.problems.extend(seek::remarks(&checked, Threads::AtOnce(family::processors())));
        }
        let name = variant.as_ref().map(|variant| variant.name.clone());
        ((result.dial.as_ref().map(Taken::by), Verdict::of(&result)), (name, result.problems))
    };
    let threads = Threads::AtOnce(family::processors());
    let (known, gathered): (Vec<_>, Vec<_>) = checked.walk(&checked.variants, threads, one, || {}).into_iter().unzip();
    let broken = checked.problems.has_errors();
    let (dials, verdicts): (Vec<_>, Vec<_>) = known.into_iter().filter(|_| !broken).unzip();
    let findings = merged(checked.problems, gathered);
    Checked {
        file: file.to_path_buf(),
        verdict: Verdict::of_all(&verdicts, &findings),
        findings,
        sources: session.sources().clone(),
        dials: dials.into_iter().flatten().collect(),
        mended: 0,
    }
}

fn print_checked(found: &Checked, mends: bool) {
    if mends {
        println!("mended     {}", found.mended);
    }
    report::some_findings(&found.findings, &found.sources);
    for dial in &found.dials {
        let variant = dial.variant.as_ref().map(|variant| format!(" · {variant}")).unwrap_or_default();
        println!("{}{variant}", dial.title);
        for assumption in &dial.assumptions {
            println!("  {} taken as {}: {}", assumption.what, assumption.taken, assumption.why);
        }
    }
    report::verdict(&found.verdict);
}

fn said_of_many(all: &[Checked], files: usize) {
    for found in all {
        report::some_findings(&found.findings, &found.sources);
    }
    for found in all {
        let mended = if found.mended > 0 { format!(", {} mended", found.mended) } else { String::new() };
        let file = diagnostics::harmless_line(&found.file.display().to_string());
        println!("{file}: {}{mended}", found.verdict);
    }
    let shared = files - all.len();
    let over = if shared > 0 {
        format!("; {} passed over, for designs share it", counted(shared, "file"))
    } else {
        String::new()
    };
    println!("checked    {}{over}", counted(all.len(), "design"));
}

fn as_json(found: &Checked) -> Value {
    report::findings_as_json(&found.findings, &found.sources, &found.dials, &found.verdict)
}

fn named_json(found: &Checked) -> Value {
    let mut said = as_json(found);
    if let Some(fields) = said.as_object_mut() {
        fields.insert("file".to_owned(), json!(found.file.display().to_string()));
    }
    said
}

#[cfg(test)]
mod tests {
    use clap::Parser as _;

    use super::*;

    #[derive(clap::Parser)]
    struct Line {
        #[command(flatten)]
        check: CheckArguments,
    }

    /// One of three fails by a fault of ours: the others are checked, the log is written and names it, and the code is 2.
    #[test]
    fn a_design_that_fails_takes_no_other_with_it() {
        let folder = tempfile::tempdir().unwrap();
        let path = |name: &str| folder.path().join(name).display().to_string();
        for name in ["a.dial", "b.dial", "c.dial"] {
            std::fs::write(path(name), "dial \"x\"\n").unwrap();
        }
        let planted: One = |arguments, file, alone| {
            assert!(!file.ends_with("b.dial"), "planted");
            one(arguments, file, alone)
        };
        let run = |names: &[&str], log: &str| {
            let files = names.iter().map(|name| path(name));
            let words = ["check".to_owned(), "--sarif".to_owned(), path(log)].into_iter().chain(files);
            let code = checked(&Line::parse_from(words).check, planted);
            let log: Value = serde_json::from_str(&std::fs::read_to_string(path(log)).unwrap()).unwrap();
            (code, log)
        };
        let (code, log) = run(&["a.dial", "b.dial", "c.dial"], "all.sarif");
        assert_eq!(code, Ok(2));
        let told = &log["runs"][0]["invocations"][0];
        assert_eq!(told["executionSuccessful"], false);
        let told = told["toolExecutionNotifications"][0]["message"]["text"].as_str().unwrap();
        assert!(told.contains("b.dial` could not be worked out") && told.contains("please report"), "{told}");
        let results = log["runs"][0]["results"].to_string();
        assert!(results.contains("a.dial") && results.contains("c.dial") && !results.contains("b.dial"));
        let (code, log) = run(&["a.dial", "c.dial"], "sound.sarif");
        assert_eq!((code, log["runs"][0].get("invocations")), (Ok(1), None));
        assert_eq!(run(&["b.dial"], "one.sarif").0, Ok(2));
    }
}
