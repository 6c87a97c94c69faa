//! What the shop gets: the plan as files. Pure; [`crate::cli::stage`] writes them.

pub mod artwork;
pub mod curves;
mod discs;
pub(crate) mod drawing;
mod look;
pub(crate) mod markup;
pub mod operations;
pub mod overlay;
pub mod page;
pub mod print_sheet;
pub mod proof;
pub mod quote;
mod run_sheet;
pub mod stops;
pub mod svg;
pub mod viewer;

use crate::analysis::Dial;
use crate::audit::Audit;
use crate::check::Expectation;
use crate::design::Design;
use crate::diagnostics::Diagnostic;
use crate::parallel::side_by_side;
use crate::plan::Plan;
use crate::quote::Quote;
use crate::revision::Revision;
use crate::source::Sources;

pub(crate) use look::seen_from;

/// A file to be written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OutputFile {
    /// Its path inside the output folder, parts joined by `/`.
    pub name: String,
    /// What stands in it.
    pub bytes: Vec<u8>,
}

/// What a proof and a run sheet are printed from: one dial with all that is known of it.
#[derive(Clone, Debug)]
pub struct Printing<'a> {
    /// The design.
    pub design: &'a Design,
    /// What was measured on it.
    pub audit: &'a Audit,
    /// How it is made.
    pub plan: &'a Plan,
    /// What that takes and costs.
    pub quote: &'a Quote,
    /// How every expectation turned out.
    pub expectations: &'a [Expectation],
    /// What was found about this dial, accepted findings included.
    pub findings: Vec<&'a Diagnostic>,
    /// Every text that was read.
    pub sources: &'a Sources,
    /// The state of all that it was read from.
    pub revision: &'a Revision,
    /// What it is printed on.
    pub paper: page::Paper,
    /// Whether the client is told the price.
    pub price: bool,
}

/// What is wanted of all that is for printing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Printed {
    /// What it is printed on.
    pub paper: page::Paper,
    /// Whether the proof tells the price of the run.
    pub price: bool,
}

/// Everything that is written of a dial, with what was found of it; what is for printing where that is wanted. Nothing where the
/// dial cannot be made.
///
/// # Errors
/// Why a form cannot be written, in words.
pub fn all_files(
    dial: &Dial,
    findings: &[Diagnostic],
    sources: &Sources,
    printed: Option<Printed>,
) -> Result<Vec<OutputFile>, String> {
    let Some((plan, quote)) = dial.made() else { return Ok(Vec::new()) };
    let shown = viewer::Shown {
        design: &dial.design,
        audit: &dial.audit,
        dial_yield: dial.audit.dial_yield(&dial.design),
        findings: findings.iter().collect(),
        revision: dial.revision,
        sources,
    };
    let (mut all, page) =
        side_by_side(|| files(&dial.design, &dial.audit, (plan, quote), sources), || viewer::file(&shown));
    all.push(page);
    if let Some(Printed { paper, price }) = printed {
        all.extend(prints(&Printing {
            design: &dial.design,
            audit: &dial.audit,
            plan,
            quote,
            expectations: &dial.expectations,
            findings: findings.iter().collect(),
            sources,
            revision: &dial.revision,
            paper,
            price,
        })?);
    }
    Ok(all)
}

/// The proof of one dial in its three forms, of one content, and its run sheet as PDF.
///
/// # Errors
/// Why a form cannot be written, in words.
pub fn prints(job: &Printing) -> Result<Vec<OutputFile>, String> {
    let pages = proof::proof(job);
    let sheet = pages.sheet();
    let run_sheet = page::pdf(&run_sheet_pages(job))?;
    let files = [
        ("proof.pdf", page::pdf(&pages)?),
        ("proof.png", page::png(&sheet)?),
        ("proof.svg", sheet.into_bytes()),
        ("run-sheet.pdf", run_sheet),
    ];
    let mut files: Vec<OutputFile> = files.map(|(name, bytes)| OutputFile { name: name.to_owned(), bytes }).into();
    files.extend(sheets_together(&job.design.full_title(), job.plan)?);
    Ok(files)
}

/// What is printed on the boards of a plan before they are cut, as PDF of its true size.
///
/// # Errors
/// Why it cannot be written, in words.
pub fn sheets_together(title: &str, plan: &Plan) -> Result<Vec<OutputFile>, String> {
    let mut files = Vec::new();
    for board in 0..plan.boards.len() {
        let sheets = print_sheet::pdfs(title, plan, board)?.into_iter();
        files.extend(sheets.map(|(of, bytes)| OutputFile { name: format!("board-{}-{of}.pdf", board + 1), bytes }));
    }
    Ok(files)
}

/// The run sheet of one dial as pages, of the same content as `run-sheet.html`.
pub fn run_sheet_pages(job: &Printing) -> page::Pages {
    let about = page::About {
        title: job.design.full_title(),
        kind: "Run sheet",
        revision: job.revision.short(),
        paper: job.paper,
    };
    run_sheet::pages(about, (job.design, job.audit, job.plan, job.quote))
}

/// The files of one variant: a drawing for each board and setup, then the operation list, the quote and the run sheet.
///
/// ```
/// use dialwright::analysis::{Request, analyse};
/// use dialwright::output::files;
/// use dialwright::project::MemoryProject;
///
/// let text = "dial \"Plate\"\noutline circle(diameter: 50mm)\nlayer base of birch { }\nrun 8";
/// let project = MemoryProject::default().with("plate.dial", text);
/// let analysis = analyse(&project, "plate.dial", "", &Request::default()).expect("the file is there");
/// let dial = &analysis.dials[0];
/// let (plan, quote) = dial.made().expect("a plate can be cut");
/// let names: Vec<String> =
///     files(&dial.design, &dial.audit, (plan, quote), &analysis.sources).into_iter().map(|file| file.name).collect();
/// assert_eq!(names, ["board-1-setup-1.svg", "operations.json", "quote.json", "run-sheet.html"]);
/// assert_eq!(quote.dials, 8);
/// ```
pub fn files(design: &Design, audit: &Audit, (plan, quote): (&Plan, &Quote), sources: &Sources) -> Vec<OutputFile> {
    let figures = format!("{:#}\n", quote::as_json(quote)).into_bytes();
    let sheet = run_sheet::page(design, audit, plan, quote).into_bytes();
    let texts = [("quote.json", figures), ("run-sheet.html", sheet)];
    let texts = texts.map(|(name, bytes)| OutputFile { name: name.to_owned(), bytes });
    files_together(&[(design, audit, sources)], plan).into_iter().chain(texts).collect()
}

/// The drawings and the operation list of several designs that were planned together, each with the sources it was
/// read from.
pub fn files_together(designs: &[operations::Made], plan: &Plan) -> Vec<OutputFile> {
    // Designs that are planned together are of one shop.
    let palette = designs.first().map(|(design, ..)| design.palette).unwrap_or_default();
    let title = designs.iter().map(|(design, ..)| design.full_title()).collect::<Vec<String>>().join(" + ");
    let setups = plan.boards.iter().enumerate().flat_map(|(board, it)| (0..it.setups.len()).map(move |at| (board, at)));
    let drawings = setups.flat_map(|(board, setup)| {
        let each = svg::drawings(&title, plan, board, setup, &palette).into_iter();
        each.map(move |(of, drawing)| OutputFile {
            name: format!("board-{}-setup-{}{of}.svg", board + 1, setup + 1),
            bytes: drawing.into_bytes(),
        })
    });
    let (mut files, list) = side_by_side(|| drawings.collect::<Vec<_>>(), || operations::list(designs, plan));
    for board in 0..plan.boards.len() {
        let sheets = print_sheet::drawings(&title, plan, board).into_iter();
        files.extend(sheets.map(|(of, drawing)| OutputFile {
            name: format!("board-{}-{of}.svg", board + 1),
            bytes: drawing.into_bytes(),
        }));
    }
    files.push(OutputFile { name: "operations.json".to_owned(), bytes: list.into_bytes() });
    files
}
