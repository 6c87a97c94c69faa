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

const SHOP: &str = r#"
shop "Bench"
stock birch { thickness 3mm; board 300mm by 300mm; kerf 0.15mm }
magnet disc { diameter 8mm; height 1.5mm; remanence 1.2T; clearance 0.2mm }
rivet eyelet { shank 4mm; head 7mm; grips 2mm to 7mm; clearance 0.4mm }
"#;

/// Little room everywhere, so that some dials of a hundred misread: a turn on magnets; on a rivet, which is at play anew each
/// time; a pointer; two turns read through covers that turn apart; clicks that friction keeps off their stops.
const TIGHT: [(&str, &str); 4] = [
    (
        "magnets",
        r#"dial "One"
with "shop.dial"
spreads bench { kerf 0.1mm; concentricity 0.2mm; placing 1.2deg }
outline circle(diameter: 60mm)
layer base of birch { engrave ring gate { labels ["4", "W"]; height 6mm; radius 19mm } }
layer cover of birch { window peep = obround(width: 11mm, height: 8mm) at polar(19mm, 0deg) }
stack { base; turn on magnets(disc); cover }
reads gate through peep"#,
    ),
    (
        "rivet",
        r#"dial "Two"
with "shop.dial"
spreads bench { kerf 0.1mm; concentricity 0.15mm; placing 1.2deg }
outline circle(diameter: 60mm)
layer base of birch { engrave ring gate { labels ["4", "W"]; height 6mm; radius 19mm } }
layer cover of birch { window peep = obround(width: 11mm, height: 8.4mm) at polar(19mm, 0deg) }
stack { base; turn on rivet(eyelet); cover }
reads gate through peep"#,
    ),
    (
        "pointer",
        r#"dial "Three"
with "shop.dial"
spreads bench { concentricity 0.6mm; placing 4deg }
outline circle(diameter: 60mm)
layer base of birch { engrave ring gate { labels 0 to 19; height 3mm; radius 26mm } }
layer hand of birch { outline circle(diameter: 42mm); score arrow = line((0, 12mm), (0, 20.5mm)) }
stack { base; turn on magnets(disc) { stops 20 }; hand }
reads gate beside arrow"#,
    ),
    (
        "two turns",
        r#"dial "Four"
with "shop.dial"
spreads bench { kerf 0.05mm; concentricity 0.12mm; placing 1.2deg }
outline circle(diameter: 60mm)
layer base of birch { engrave ring gate { labels ["4", "M", "7"]; height 5mm; radius 19mm } }
layer middle of birch { window gap = circle(diameter: 9.5mm) at polar(19mm, 0deg) }
layer cover of birch { window peep = circle(diameter: 10mm) at polar(19mm, 0deg) }
stack { base; turn on magnets(disc) { stops 3 }; middle; turn on magnets(disc) { stops [0deg] }; cover }
reads gate through gap, peep"#,
    ),
];

/// Plain draws, 1,500 of them, within four of their standard errors beside what is stated.
#[test]
fn yields_are_those_of_plain_draws() {
    for (what, text) in TIGHT {
        let project = MemoryProject::default().with("shop.dial", SHOP).with("it.dial", text);
        let analysis = analyse(&project, "it.dial", "", &Request::default()).unwrap();
        let dial = analysis.dials.first().unwrap_or_else(|| panic!("{what}: {:?}", analysis.findings));
        let (spreads, check) = (dial.centring.within(&dial.design.spreads), &dial.audit.reading_check);
        let held = Some(&dial.audit.holding);
        let found = yields(&dial.design, check, &spreads, held);
        let drawn = plain(&dial.design, check, &spreads, held, 1_500);
        let whole = found.dial.unwrap().share;
        assert!(check.reads() && (0.1..0.99).contains(&whole.share), "{what}: {whole}");
        let within = |share: f64, plus_minus: f64| 4.0 * (share * (1.0 - share) / 1_500.0).sqrt() + plus_minus;
        println!("{what}: {whole} and {}", drawn.dial);
        assert!(
            (whole.share - drawn.dial).abs() < within(whole.share, whole.plus_minus),
            "{what}: {whole} and {}",
            drawn.dial
        );
        for (stop, plain) in found.readings.iter().flatten().zip(drawn.readings.iter().flatten()) {
            assert!((stop.share - plain).abs() < within(stop.share, stop.plus_minus), "{what}: {stop} and {plain}");
        }
    }
}

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
            let found = yields(&dial.design, check, &spreads, Some(&dial.audit.holding));
            let took = begun.elapsed();
            let Some(whole) = &found.dial else { continue };
            println!("{file} {took:?}: {} {:.6} worst {:?}", whole.share, whole.share.share, whole.worst);
            if draws == 0 {
                continue;
            }
            let begun = std::time::Instant::now();
            let drawn = plain(&dial.design, check, &spreads, Some(&dial.audit.holding), draws);
            let noise = |share: f64| (share * (1.0 - share) / f64::from(draws)).sqrt();
            println!("    plain {:.6} ± {:.6} in {:?}", drawn.dial, 2.0 * noise(drawn.dial), begun.elapsed());
            let (mut squares, mut count, mut worst) = (0.0, 0.0, (0.0_f64, 0, 0));
            for (at, (stops, plain)) in found.readings.iter().zip(&drawn.readings).enumerate() {
                for (stop, (found, plain)) in stops.iter().zip(plain).enumerate() {
                    let off: f64 = found.share - plain;
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
