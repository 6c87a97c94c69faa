//! `cargo bench`: whole processes, stages, and how they grow. Figures are shown, never gated.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    reason = "a benchmark that fails may say so"
)]

mod editor;
#[path = "../suite/editor/wire.rs"]
mod wire;

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use dialwright::analysis::{Analysis, Request, analyse};
use dialwright::artwork::{Wanted, art};
use dialwright::audit::audit;
use dialwright::audit::holding::holding;
use dialwright::cli::disk::DiskProject;
use dialwright::design::Face;
use dialwright::geometry::{Region, shapes};
use dialwright::output;
use dialwright::physics::clicks::ClickRing;
use dialwright::physics::{Clicks, Disc, Facing, Polarity};
use dialwright::plan::{Effort, Item, Sheet, Turns, nest, plan};
use dialwright::portrait::{Portrait, Turning, View, gif, portrait};
use dialwright::project::MemoryProject;
use dialwright::quote::quote;
use dialwright::rehearsal::{Folder, rehearse};
use dialwright::units::{Angle, FluxDensity, Length};
use divan::{Bencher, black_box};

fn main() {
    divan::main();
}

fn example(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/saltmarsh").join(name)
}

fn analysed(name: &str) -> Analysis {
    let (project, name, shown) = DiskProject::of(&example(name));
    analyse(&project, &name, &shown, &Request::default()).expect("a readable example")
}

/// The whole process, from start to exit, of each example: to take 15 ms at most.
#[divan::bench(
    args = ["../first.dial", "crew.dial", "toll.dial", "lantern.dial", "weather.dial"],
    sample_count = 25,
    sample_size = 1
)]
fn process_check(bencher: Bencher<'_, '_>, name: &str) {
    bencher.bench_local(|| run(&["check"], name));
}

/// How many dials read right at every stop, worked out anew from a dial that was audited.
#[divan::bench(args = ["../first.dial", "crew.dial", "toll.dial", "lantern.dial", "weather.dial"])]
fn yield_alone(bencher: Bencher<'_, '_>, name: &str) {
    let analysis = analysed(name);
    let dial = analysis.dials.first().unwrap();
    let spreads = dial.centring.within(&dial.design.spreads);
    bencher
        .with_inputs(|| dial.audit.clone().within(spreads))
        .bench_refs(|audit| audit.dial_yield(&dial.design).cloned());
}

/// Eight dials, files written and swapped in.
#[divan::bench(sample_count = 40, sample_size = 1)]
fn process_build_eight_dials(bencher: Bencher<'_, '_>) {
    let out = tempfile::tempdir().unwrap();
    let folder = out.path().join("crew");
    bencher.bench_local(|| run(&["build", "--out", folder.to_str().unwrap()], "crew.dial"));
}

/// A portrait of so many pixels, masks and light and the file: to take 1 s at 1600 and 2 s at 2400, on two quiet cores.
#[divan::bench(args = [(1600, "crew.dial"), (1600, "lantern.dial"), (2400, "crew.dial"), (2400, "lantern.dial")], sample_count = 5, sample_size = 1)]
fn portrait_quarter(bencher: Bencher<'_, '_>, (size, name): (u32, &str)) {
    let analysis = analysed(name);
    let design = &analysis.dials.first().unwrap().design;
    let wanted = Portrait { view: View::Quarter, stops: vec![3], size, clear_ground: false };
    let threads = std::num::NonZeroUsize::new(2).unwrap();
    bencher.bench_local(|| portrait(design, &wanted, threads).png());
}

/// The turning picture for mail, as it is made where nothing else is asked for.
#[divan::bench(args = ["crew.dial", "toll.dial"], sample_count = 3, sample_size = 1)]
fn portrait_turning(bencher: Bencher<'_, '_>, name: &str) {
    let analysis = analysed(name);
    let design = &analysis.dials.first().unwrap().design;
    let threads = std::num::NonZeroUsize::new(2).unwrap();
    bencher.bench_local(|| gif(design, &Turning { face: Face::Front, size: 560 }, threads));
}

fn run(arguments: &[&str], name: &str) {
    let status = Command::new(env!("CARGO_BIN_EXE_dialwright"))
        .args(arguments)
        .arg(example(name))
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .unwrap();
    assert!(status.code() < Some(2));
}

#[divan::bench(args = ["crew.dial", "lantern.dial", "toll.dial", "weather.dial"])]
fn analyse_whole(name: &str) -> Analysis {
    analysed(name)
}

#[divan::bench(args = ["crew.dial", "toll.dial"])]
fn audit_alone(bencher: Bencher<'_, '_>, name: &str) {
    let analysis = analysed(name);
    let design = &analysis.dials.first().unwrap().design;
    bencher.bench(|| audit(black_box(design)));
}

/// The pull of one pair of magnets.
#[divan::bench]
fn pull_of_a_pair(bencher: Bencher<'_, '_>) {
    let pair = pair();
    bencher.bench(|| black_box(pair).pull());
}

/// Energy, torque and pull at 360 angles of six magnets on six, their table made anew.
#[divan::bench]
fn clicks_six_on_six(bencher: Bencher<'_, '_>) {
    let seats = (0..6).map(|at| (Angle::degrees(60.0 * f64::from(at)), Polarity::Up)).collect();
    let ring = ClickRing { radius: Length::mm(15.0), seats };
    let pair = pair();
    bencher.bench(|| Clicks::new(black_box(&pair), &ring, &ring).unwrap().curve(360));
}

fn pair() -> Facing {
    let disc = Disc::new(Length::mm(4.0), Length::mm(1.5), FluxDensity::tesla(1.32)).unwrap();
    Facing::new(disc, disc, Length::mm(0.13)).unwrap()
}

#[divan::bench(args = ["../../examples/saltmarsh/crew.dial", "../../tests/dials/07-clicks.dial"])]
fn holding_alone(bencher: Bencher<'_, '_>, name: &str) {
    let analysis = analysed(name);
    let design = &analysis.dials.first().unwrap().design;
    bencher.bench(|| holding(black_box(design)));
}

#[divan::bench(args = ["crew.dial", "toll.dial"])]
fn plan_and_write(bencher: Bencher<'_, '_>, name: &str) {
    let analysis = analysed(name);
    let dial = analysis.dials.first().unwrap();
    let design = &dial.design;
    bencher.bench(|| {
        let plan = plan(black_box(design)).0.unwrap();
        let quote = quote(design, &plan);
        output::files(design, &dial.audit, (&plan, &quote), &analysis.sources)
    });
}

/// Eight dials read back from their files, pixel by pixel: to take half a second at most.
#[divan::bench(sample_count = 10, sample_size = 1)]
fn rehearse_eight_dials(bencher: Bencher<'_, '_>) {
    let analysis = analysed("crew.dial");
    let dial = analysis.dials.first().unwrap();
    let mut folder = Folder::default();
    for file in output::files(&dial.design, &dial.audit, dial.made().unwrap(), &analysis.sources) {
        if file.name == "operations.json" {
            folder.list = String::from_utf8(file.bytes).unwrap();
        } else if file.name.starts_with("board-") {
            folder.drawings.insert(file.name, file.bytes);
        }
    }
    let threads = std::thread::available_parallelism().unwrap();
    bencher.bench(|| rehearse(black_box(&folder), threads, false).unwrap());
}

/// The rounded pentagons of 66 mm, 23 on a board of 305 by 305 mm: to take a second at most.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn lay_23_pentagons() {
    let pentagon = shapes::polygon(5, 33.0, 5.0).unwrap();
    let items: Vec<Item> = (0..23).map(|_| Item::whole(pentagon.clone(), Turns::Free)).collect();
    let sheet = Sheet { width: 305.0, height: 305.0, margin: 5.0, gap: 2.0, keep_out: Region::empty() };
    assert_eq!(nest(&items, &sheet, Effort::default()).boards.len(), 1);
}

/// Parse and check of a file of this many lines; time should grow no faster than n log n.
#[divan::bench(args = [100, 1_000, 10_000, 100_000], sample_count = 5, sample_size = 1)]
fn check_lines(bencher: Bencher<'_, '_>, lines: usize) {
    let project = MemoryProject::default().with("long.dial", long_dial(lines));
    bencher.bench(|| analyse(&project, "long.dial", "", &Request::default()).expect("readable"));
}

/// Tidying 10,000 lines of all kinds, parsed again and compared as on every run.
#[divan::bench(sample_count = 20, sample_size = 1)]
fn tidy_10_000_lines(bencher: Bencher<'_, '_>) {
    let text = mixed_lines(10_000);
    bencher.bench(|| dialwright::format::tidied("long.dial", black_box(&text)).unwrap());
}

/// The lines of all examples over and over.
fn mixed_lines(lines: usize) -> String {
    let names = ["crew.dial", "lantern.dial", "shop.dial", "toll.dial", "weather.dial"];
    let text: String = names.iter().map(|name| std::fs::read_to_string(example(name)).unwrap()).collect();
    let lines: Vec<&str> = text.lines().cycle().take(lines / text.lines().count() * text.lines().count()).collect();
    lines.join("\n")
}

fn long_dial(lines: usize) -> String {
    let mut text = "dial \"Long\"\noutline circle(diameter: 60mm)\nlayer base of birch { hole circle(diameter: v0) }\nlet v0 = 3mm\n".to_owned();
    for line in 1..lines.saturating_sub(3) {
        let _ = writeln!(text, "let v{line} = v{} + 0.01mm", line % 50);
    }
    text
}

/// A grey PNG of this many pixels a side, with a ring and a disc, decoded, audited and traced.
#[divan::bench(args = [1_000, 4_000], sample_count = 10, sample_size = 1)]
fn trace_picture(bencher: Bencher<'_, '_>, side: u32) {
    let png = ring_picture(side);
    bencher.bench(|| art(black_box(&png), &Wanted::default()).expect("a picture"));
}

fn ring_picture(side: u32) -> Vec<u8> {
    let picture = image::GrayImage::from_fn(side, side, |x, y| {
        let from = |at: u32| f64::from(at) + 0.5 - f64::from(side) / 2.0;
        let far = from(x).hypot(from(y)) / f64::from(side);
        let edge = |radius: f64| ((radius - far) * f64::from(side) + 0.5).clamp(0.0, 1.0);
        let cover = edge(0.4) - edge(0.3) + edge(0.1);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 0 to 255")]
        image::Luma([(255.0 * (1.0 - cover)).round() as u8])
    });
    let mut bytes = std::io::Cursor::new(Vec::new());
    picture.write_to(&mut bytes, image::ImageFormat::Png).expect("memory");
    bytes.into_inner()
}
