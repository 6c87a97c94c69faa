//! `cargo bench --bench random_dials -- COUNT FROM`: so many random dials from a seed on, checked, written and read back.
//!
//! `-- show SEED` prints a dial and what came of it, `-- smallest SEED` the same for the least dial on which the two readers differ.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::print_stdout,
    reason = "a run that fails may say so"
)]

#[path = "../random/mod.rs"]
mod random_dials;

use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

use cpu_time::ProcessTime;
use random_dials::{Outcome, dial, guarded, run, shrunk};

/// A dial that takes a processor longer hangs, as far as this run is concerned.
const LONGEST: Duration = Duration::from_secs(120);

/// The seed that is worked on.
static AT: AtomicU64 = AtomicU64::new(u64::MAX);

fn main() {
    let given: Vec<String> = std::env::args().skip(1).filter(|given| !given.starts_with("--")).collect();
    let number = |at: usize| given.get(at).and_then(|text| text.parse::<u64>().ok());
    leave_caught_panics();
    match (given.first().map(String::as_str), number(1)) {
        (Some("show"), Some(seed)) => show(&dial(seed)),
        (Some("read"), _) => show(&std::fs::read_to_string(&given[1]).expect("a text")),
        (Some("smallest"), Some(seed)) => {
            let kind = guarded(&dial(seed)).disagreements.first().map(|one| one.kind.clone());
            let differs = |kind: &str, text: &str| guarded(text).disagreements.iter().any(|one| one.kind == kind);
            show(&kind.map_or_else(|| dial(seed), |kind| shrunk(&dial(seed), |text| differs(&kind, text))));
        }
        _ => long(number(0).unwrap_or(200), number(1).unwrap_or(1)),
    }
}

/// Those of the boolean engine are caught by `geometry`, which then asks its second engine.
fn leave_caught_panics() {
    let told = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |panic| {
        if !panic.location().is_some_and(|place| place.file().contains("linesweeper")) {
            told(panic);
        }
    }));
}

fn show(text: &str) {
    println!("{text}\n{:#?}", guarded(text));
}

fn long(count: u64, from: u64) {
    std::thread::spawn(watch);
    let began = Instant::now();
    let mut slowest = (0, Duration::ZERO);
    let mut last = began;
    AT.store(from, Ordering::Relaxed);
    let counts = run(from, count, |seed, outcome: &Outcome| {
        let took = last.elapsed();
        last = Instant::now();
        if took > slowest.1 {
            slowest = (seed, took);
        }
        for one in &outcome.disagreements {
            println!("seed {seed}: {}: {}", one.kind, one.says);
        }
        AT.store(seed + 1, Ordering::Relaxed);
    });
    let per_dial = began.elapsed().as_secs_f64() * 1e3 / f64::from(u32::try_from(count.max(1)).unwrap_or(u32::MAX));
    println!(
        "run             {} from seed {from}, {per_dial:.0} ms each; slowest {} {:.1?}",
        counts.run, slowest.0, slowest.1
    );
    println!("sound           {}", counts.sound);
    println!("refused         {}", counts.refused);
    println!("not comparable  {}", counts.not_comparable);
    let [stops, wrong, close] = counts.stops;
    println!("stops           {stops}, of which {wrong} read wrong and {close} are too near to tell");
    println!("disagreements   {} dials", counts.disagreements.len());
    println!("errors          {:?}", counts.errors);
}

/// Ends the run where a dial hangs, and says which.
fn watch() {
    let mut known = (AT.load(Ordering::Relaxed), ProcessTime::now());
    loop {
        std::thread::sleep(Duration::from_secs(1));
        let at = AT.load(Ordering::Relaxed);
        if at != known.0 {
            known = (at, ProcessTime::now());
        } else if known.1.elapsed() > LONGEST {
            println!("seed {at}: it takes longer than {LONGEST:?}");
            std::process::exit(1);
        }
    }
}
