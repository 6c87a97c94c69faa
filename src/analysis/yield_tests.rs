//! Yields against plain draws, over dials of files.

use std::path::Path;

use super::{Dial, Request, analyse};
use crate::audit::turning::yields::{oracle::plain, yields};
use crate::project::MemoryProject;

/// The dials of a file, with all that lies beside it.
fn dials(file: &str) -> Vec<Dial> {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join(file);
    let (folder, name) = (file.parent().unwrap(), file.file_name().unwrap().to_str().unwrap());
    let mut project = MemoryProject::default();
    for entry in std::fs::read_dir(folder).unwrap().flatten().filter(|entry| entry.path().is_file()) {
        if let Ok(text) = std::fs::read_to_string(entry.path()) {
            project = project.with(entry.file_name().to_str().unwrap(), text.as_str());
        }
    }
    analyse(&project, name, "", &Request::default()).unwrap().dials
}

const FILES: [&str; 19] = [
    "examples/first.dial",
    "examples/saltmarsh/crew.dial",
    "examples/saltmarsh/lantern.dial",
    "examples/saltmarsh/toll.dial",
    "examples/saltmarsh/weather.dial",
    "tests/dials/01-simple.dial",
    "tests/dials/02-hexagon-icons.dial",
    "tests/dials/03-tens-units.dial",
    "tests/dials/04-two-windows.dial",
    "tests/dials/05-four-layers.dial",
    "tests/dials/06-riveted-card.dial",
    "tests/dials/07-clicks.dial",
    "tests/dials/08-uneven.dial",
    "tests/dials/09-back-text.dial",
    "tests/dials/10-pointer.dial",
    "tests/dials/12-two-stocks.dial",
    "tests/dials/13-spreads.dial",
    "tests/dials/14-marks.dial",
    "tests/dials/15-front-again.dial",
];

/// What was found for each file, and how long it took, beside plain draws (their number in `DRAWS`).
#[test]
#[ignore = "a table for whoever works on it; minutes"]
fn table() {
    let draws: u32 = std::env::var("DRAWS").ok().and_then(|text| text.parse().ok()).unwrap_or(0);
    for file in FILES.into_iter().filter(|file| std::env::var("ONLY").map_or(true, |only| file.contains(&only))) {
        for dial in dials(file) {
            let spreads = dial.centring.within(&dial.design.spreads);
            let check = &dial.audit.reading_check;
            let begun = std::time::Instant::now();
            let found = yields(&dial.design, check, &spreads);
            let took = begun.elapsed();
            let Some(whole) = &found.dial else { continue };
            println!("{file} {took:?}: {} {:.6} worst {:?}", whole.share.words(), whole.share.of_dials, whole.worst);
            if draws == 0 {
                continue;
            }
            let begun = std::time::Instant::now();
            let drawn = plain(&dial.design, check, &spreads, draws);
            let noise = |share: f64| (share * (1.0 - share) / f64::from(draws)).sqrt();
            println!("    plain {:.6} ± {:.6} in {:?}", drawn.dial, 2.0 * noise(drawn.dial), begun.elapsed());
            let (mut squares, mut count, mut worst) = (0.0, 0.0, (0.0_f64, 0, 0));
            for (at, (stops, plain)) in found.readings.iter().zip(&drawn.readings).enumerate() {
                for (stop, (found, plain)) in stops.iter().zip(plain).enumerate() {
                    let off: f64 = found.of_dials - plain;
                    squares += off * off;
                    count += 1.0;
                    if off.abs() > worst.0.abs() {
                        worst = (off, at, stop);
                    }
                }
            }
            let (off, at, stop) = worst;
            println!(
                "    stops: rms {:.6}, worst {off:.6} at {at}/{stop} ({:?} plain {:.6} ± {:.6})",
                f64::sqrt(squares / f64::max(count, 1.0)),
                found.readings[at][stop],
                drawn.readings[at][stop],
                2.0 * noise(drawn.readings[at][stop])
            );
        }
    }
}
