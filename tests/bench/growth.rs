//! `cargo bench --bench growth`: what each stage costs, and how that grows with labels, layers, variants and boards.
//!
//! Medians over several runs, with the exponent p of a line fitted through the logarithms: time grows as size to the power
//! p. Figures are shown, never gated.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::print_stdout,
    reason = "a benchmark that fails may say so"
)]

use std::fmt::Write as _;
use std::hint::black_box;
use std::time::{Duration, Instant};

use dialwright::analysis::{Request, Session};
use dialwright::audit::audit;
use dialwright::check::{Checked, load};
use dialwright::limits::WORK;
use dialwright::output;
use dialwright::plan::plan;
use dialwright::project::MemoryProject;
use dialwright::quote::quote;
use dialwright::work::Meter;

/// Runs of each stage, at least, and until this long has passed.
const RUNS: (usize, Duration) = (5, Duration::from_millis(150));
const STAGES: [&str; 6] = ["parse", "check", "geometry", "audit", "plan", "write"];

fn main() {
    for (what, sizes, text) in [
        ("labels", [6, 12, 24, 48], labels as fn(usize) -> String),
        ("layers", [2, 4, 8, 16], layers),
        ("variants", [4, 8, 16, 32], variants),
        ("boards", [2, 4, 8, 16], boards),
    ] {
        table(what, &sizes, text);
    }
}

fn table(what: &str, sizes: &[usize], text: fn(usize) -> String) {
    let columns: Vec<[f64; 6]> = sizes.iter().map(|size| costs(&text(*size), what, *size)).collect();
    let heads: String = sizes.iter().map(|size| format!(" {size} {what} |")).collect();
    println!("\n| ms |{heads} p |\n| --- |{} --- |", " --- |".repeat(sizes.len()));
    for (at, stage) in STAGES.iter().enumerate() {
        let row: Vec<f64> = columns.iter().map(|column| column[at]).collect();
        let cells: String = row.iter().map(|ms| format!(" {ms:.3} |")).collect();
        println!("| {stage} |{cells} {:.1} |", exponent(sizes, &row));
    }
}

/// Medians of the six stages in milliseconds, over all variants of the design.
fn costs(text: &str, what: &str, size: usize) -> [f64; 6] {
    let project = MemoryProject::default().with("grown.dial", text);
    let open = || load(&project, "grown.dial", "").expect("it is there");
    let loaded = open();
    let session = Session::open(&project, "grown.dial", "", &Request::default()).expect("it is there");
    let checked_session = session.check(&project);
    assert!(!checked_session.problems.has_errors(), "{text}");
    let values: Vec<_> =
        checked_session.variants.iter().map(|variant| checked_session.values(variant.as_ref())).collect();
    let (checked, _) = Checked::new(&loaded, &project);
    let design = |at: usize| checked.design(None, &values[at], &project, &Meter::new(WORK)).0.expect("a design");
    let each = 0..values.len();
    let designs: Vec<_> = each.clone().map(design).collect();
    let audits: Vec<_> = designs.iter().map(audit).collect();
    let plans: Vec<_> = designs.iter().map(|design| plan(design).0.expect("a plan")).collect();
    let quotes: Vec<_> = designs.iter().zip(&plans).map(|(design, plan)| quote(design, plan)).collect();
    assert!(what != "boards" || plans[0].boards.len() == size, "{} boards, not {size}", plans[0].boards.len());
    [
        median(|| drop(black_box(open()))),
        median(|| drop(black_box(Checked::new(&loaded, &project)))),
        median(|| each.clone().for_each(|at| drop(black_box(design(at))))),
        median(|| designs.iter().for_each(|design| drop(black_box(audit(design))))),
        median(|| designs.iter().for_each(|design| drop(black_box(plan(design))))),
        median(|| {
            for at in each.clone() {
                drop(black_box(output::files(&designs[at], &audits[at], (&plans[at], &quotes[at]), session.sources())));
            }
        }),
    ]
}

fn median(mut stage: impl FnMut()) -> f64 {
    let began = Instant::now();
    let mut times = Vec::new();
    while times.len() < RUNS.0 || began.elapsed() < RUNS.1 {
        let start = Instant::now();
        stage();
        times.push(start.elapsed().as_secs_f64() * 1e3);
    }
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}

/// Slope of the straight line of least squares through the logarithms.
fn exponent(sizes: &[usize], times: &[f64]) -> f64 {
    let logs: Vec<(f64, f64)> = sizes.iter().zip(times).map(|(n, t)| ((*n as f64).ln(), t.ln())).collect();
    let mean = |of: fn(&(f64, f64)) -> f64| logs.iter().map(of).sum::<f64>() / logs.len() as f64;
    let (x, y) = (mean(|log| log.0), mean(|log| log.1));
    logs.iter().map(|log| (log.0 - x) * (log.1 - y)).sum::<f64>()
        / logs.iter().map(|log| (log.0 - x).powi(2)).sum::<f64>()
}

/// A dial of two layers, its ring of this many labels far enough out for them.
fn labels(count: usize) -> String {
    let out = 20.0f64.max(1.3 * count as f64);
    two_layers(&format!("{}mm", 2.0 * (out + 12.0)), &format!("{out}mm"), count, "run 2")
}

fn variants(count: usize) -> String {
    let sizes: Vec<String> = (0..count).map(|at| format!("{}mm", 60 + at)).collect();
    let family = format!("run 2\nfamily {{ each across in [{}] }}", sizes.join(", "));
    format!("param across: length = 60mm\n{}", two_layers("across", "20mm", 10, &family))
}

/// So many dials of 60 mm as fill this many of the built-in shop's boards.
fn boards(count: usize) -> String {
    two_layers("60mm", "20mm", 10, &format!("run {}", BOARD_HOLDS * count))
}

/// Dials of two layers of 60 mm to a board of the built-in shop.
const BOARD_HOLDS: usize = 10;

fn two_layers(across: &str, out: &str, labels: usize, end: &str) -> String {
    format!(
        "dial \"Grown\"\noutline circle(diameter: {across})\n\
         layer base of birch {{ engrave ring shown {{ labels 0 to {}; radius {out} }} }}\n\
         layer cover of birch {{ window peep = circle(diameter: 9mm) at polar({out}, 0deg) }}\n\
         stack {{ base; turn on magnets(disc); cover }}\nreads shown through peep\n{end}\n",
        labels - 1
    )
}

/// A dial of this many layers, all but the topmost glued together.
fn layers(count: usize) -> String {
    let mut text = two_layers("60mm", "20mm", 10, "run 2");
    let glued: String = (2..count).map(|at| format!("under{at}; glue pva; ")).collect();
    text = text.replace("stack { base;", &format!("stack {{ {glued}base;"));
    for at in 2..count {
        let _ = writeln!(text, "layer under{at} of birch {{ back engrave text(\"{at}\", height: 5mm) }}");
    }
    text
}
