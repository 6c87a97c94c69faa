//! A family: what is known of each of its variants once it is made, kept small, so that thousands can be compared.
//!
//! A [`Record`] holds all that is said of a variant afterwards: its params, its [`figures`](crate::vocabulary::figures::FigureName), what
//! `expect` could measure of it, its findings, and which files were made. It can be written down and read again, so that
//! nothing is worked out twice. [`table`] compares records; [`question`] chooses among them. [`mod@build`] makes the files of all
//! variants and [`mod@gather`] joins shards, wherever a [`store`] keeps them.
//!
//! ```
//! use dialwright::analysis::{Request, Session};
//! use dialwright::family::question::{End, ranked};
//! use dialwright::family::record;
//! use dialwright::project::MemoryProject;
//!
//! let text = r#"
//!     dial "Plates"
//!     param across: length = 50mm
//!     outline circle(diameter: across)
//!     layer base of birch { }
//!     family { each across in [40mm, 50mm, 60mm] }
//! "#;
//! let project = MemoryProject::default().with("plates.dial", text);
//! let mut opened = Session::open(&project, "plates.dial", "", &Request::default()).expect("the file is there");
//! let (condition, least) = (opened.ask("--where", "width > 45mm"), opened.ask("--least", "cut_length"));
//! let session = opened.check(&project);
//! let variants: Vec<_> = session.variants.iter().flatten().collect();
//! let records: Vec<_> =
//!     variants.iter().map(|variant| record(&session, variant, &session.analyse_variant(Some(variant)), "", false)).collect();
//! let pairs: Vec<_> = variants.iter().copied().map(Some).zip(&records).collect();
//! let (ranked, faults) = ranked(&session, &pairs, condition.as_ref(), least.as_ref().map(|it| (End::Least, it)));
//! assert!(faults.is_empty());
//! let names: Vec<&str> = ranked.order.iter().map(|(at, _)| records[*at].variant.as_str()).collect();
//! assert_eq!(names, ["across_50mm", "across_60mm"]);
//! ```

pub mod build;
pub mod cache;
pub mod columns;
pub mod gather;
pub mod kept;
#[cfg(test)]
mod memory;
mod page;
pub mod question;
pub mod shard;
pub mod store;
pub mod table;

use std::collections::BTreeMap;

use kurbo::Point;
use serde::{Deserialize, Serialize};

use crate::analysis::{CheckedSession, Dial, VariantResult, Verdict};
use crate::audit::MeasureValue;
use crate::check::Variant;
use crate::design::Design;
use crate::diagnostics::{Diagnostic, Severity};
use crate::output::OutputFile;
use crate::revision::Digest;
use crate::units;
use crate::vocabulary::measures::{MeasureName, Subject};

/// Decimals that figures are kept with: fewer than would show the noise of a computation, more than anyone reads. With fifteen
/// digits at most, a number that was written down is the one that is read.
const DECIMALS: i32 = 6;

/// One figure of a variant. Numbers are in base units (see [`crate::units`]), to a millionth.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Figure {
    /// Whether it is so.
    Truth(bool),
    /// A number.
    Number(f64),
    /// Labels, stop by stop.
    Labels(Vec<String>),
}

impl Figure {
    fn number(value: f64) -> Self {
        Self::Number(rounded(value))
    }
}

/// A file that was made of a variant.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Made {
    /// Its name in the variant's folder.
    pub name: String,
    /// The SHA-256 of its bytes, as 64 hexadecimal digits.
    pub digest: String,
}

/// All that is known of one variant.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Record {
    /// Its name.
    pub variant: String,
    /// What it rests on, apart from artwork and typefaces: see [`key`].
    pub key: String,
    /// The artwork and typefaces that it was read from, each with its SHA-256; none for what could not be had.
    pub read: BTreeMap<String, Option<String>>,
    /// The value of every param, as shown to people, in the order declared.
    pub params: Vec<(String, String)>,
    /// Its figures, by their words; those that it has not are left out.
    pub figures: BTreeMap<String, Figure>,
    /// What `expect` could measure, as written: `margin(crew)`.
    pub measures: BTreeMap<String, Figure>,
    /// Everything that was found.
    pub findings: Vec<Diagnostic>,
    /// What it comes to.
    pub verdict: Verdict,
    /// Its files; none where nothing was built.
    pub files: Vec<Made>,
}

impl Record {
    /// Whether it can be made: it has no error.
    pub fn is_sound(&self) -> bool {
        !self.findings.iter().any(|finding| finding.severity == Severity::Error)
    }

    /// Why it cannot be made: the first error.
    pub fn why_not(&self) -> Option<&Diagnostic> {
        self.findings.iter().find(|finding| finding.severity == Severity::Error)
    }

    /// The value of a figure or of a measure as written, where the variant has it.
    pub fn figure(&self, word: &str) -> Option<&Figure> {
        self.figures.get(word).or_else(|| self.measures.get(word))
    }
}

/// What a variant rests on, apart from artwork and typefaces, which are only known once it has been looked at: the texts of
/// the design, what is set, its name, and how it is asked to be made, in any words that tell one way from another. The
/// SHA-256 of a text, as 64 hexadecimal digits.
pub fn key(session: &CheckedSession<'_>, variant: &Variant, how: &str) -> String {
    // Digests of artwork and typefaces cannot be part of it: nobody knows them before the work is done. They stand in the
    // record instead and are compared when it is found again.
    let revision = session.revision_of_texts(Some(variant));
    Digest::of(format!("{revision}\nvariant {:?}\n{how}\n", variant.name).as_bytes()).to_string()
}

/// What is kept of a variant. `sure` tells whether dials may be drawn to measure how sure its readings are.
pub fn record(
    session: &CheckedSession<'_>,
    variant: &Variant,
    result: &VariantResult,
    how: &str,
    sure: bool,
) -> Record {
    let own = result.files.iter().filter(|(name, _)| !session.is_shared(name));
    let mut findings: Vec<Diagnostic> = result.problems.iter().cloned().collect();
    for finding in &mut findings {
        finding.spot = finding.spot.map(|at| Point::new(rounded(at.x), rounded(at.y)));
    }
    let verdict = Verdict::of(result);
    Record {
        variant: variant.name.clone(),
        key: key(session, variant, how),
        read: own.map(|(name, digest)| (name.clone(), digest.map(|digest| digest.to_string()))).collect(),
        params: session.params(Some(variant)),
        figures: columns::figures(result.dial.as_ref(), &verdict),
        measures: result.dial.as_ref().map(|dial| measures(dial, sure)).unwrap_or_default(),
        findings,
        verdict,
        files: Vec::new(),
    }
}

/// The figures of a dial by their words, see [`FigureName`](crate::vocabulary::figures::FigureName).
pub(crate) fn figures_of(result: &VariantResult) -> BTreeMap<String, Figure> {
    columns::figures(result.dial.as_ref(), &Verdict::of(result))
}

/// What the variants come to; `findings` are all that were found, each once.
pub fn verdict<'a>(records: impl Iterator<Item = &'a Record>, findings: &[Diagnostic]) -> Verdict {
    let all: Vec<Verdict> = records.map(|record| record.verdict.clone()).collect();
    Verdict::of_all(&all, findings)
}

/// The files by name and digest.
pub fn made(files: &[OutputFile]) -> Vec<Made> {
    let made = |file: &OutputFile| Made { name: file.name.clone(), digest: Digest::of(&file.bytes).to_string() };
    files.iter().map(made).collect()
}

/// Everything that `expect` could measure of a dial, as written.
fn measures(dial: &Dial, sure: bool) -> BTreeMap<String, Figure> {
    let mut all = BTreeMap::new();
    for measure in MeasureName::ALL.iter().copied().filter(|measure| sure || *measure != MeasureName::Sure) {
        for subject in subjects(&dial.design, measure.spec().subject) {
            let figure = dial.audit.measure(&dial.design, measure, subject).map(|value| match value {
                MeasureValue::Quantity(quantity) => Figure::number(quantity.value),
                MeasureValue::Labels(labels) => Figure::Labels(labels),
            });
            all.extend(figure.map(|figure| (format!("{}({subject})", measure.word()), figure)));
        }
    }
    all
}

fn subjects(design: &Design, wanted: Subject) -> Vec<&str> {
    let layers = design.layers.iter();
    match wanted {
        Subject::Layer => layers.map(|layer| layer.name.as_str()).collect(),
        Subject::Opening => layers.flat_map(|layer| &layer.marks).filter_map(|mark| mark.name.as_deref()).collect(),
        Subject::Ring => layers.flat_map(|layer| &layer.rings).map(|ring| ring.name.as_str()).collect(),
        Subject::Dial => vec![""],
    }
}

/// To a millionth, so that a number that was written down is the one that is read.
fn rounded(value: f64) -> f64 {
    units::rounded(value, DECIMALS)
}
