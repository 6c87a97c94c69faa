//! Yields against plain draws, over small dials with little room.

use super::{Request, analyse};
use crate::audit::turning::yields::{oracle::plain, yields};
use crate::project::MemoryProject;

const SHOP: &str = r#"
shop "Bench"
stock birch { thickness 3mm; board 300mm by 300mm; kerf 0.15mm }
magnet disc { diameter 8mm; height 1.5mm; remanence 1.2T; clearance 0.2mm }
magnet tiny { diameter 4mm; height 1mm; remanence 1.2T }
adhesive pva { cure 30min; gap 0.05mm }
rivet eyelet { shank 4mm; head 7mm; grips 2mm to 7mm; clearance 0.4mm }
"#;

/// Little room everywhere, so that some dials of a hundred misread: a turn on magnets; on a rivet, which is at play anew each
/// time; a pointer; two turns read through covers that turn apart; labels that overlap as drawn; clicks; glue on either side of a
/// turn, between two of them, and a mask glued onto the ring itself.
const TIGHT: [(&str, &str); 10] = [
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
    (
        "clipped as drawn",
        r#"dial "Five"
with "shop.dial"
spreads bench { kerf 0.1mm; concentricity 0.2mm; placing 1.2deg }
outline circle(diameter: 60mm)
layer base of birch { engrave ring gate { labels ["4", "W"]; height 6mm; radius 19mm } }
layer cover of birch { window peep = obround(width: 10.2mm, height: 7.7mm) at polar(19mm, 0deg) }
stack { base; turn on magnets(disc); cover }
reads gate through peep"#,
    ),
    (
        "a neighbour shows as drawn",
        r#"dial "Six"
with "shop.dial"
spreads bench { kerf 0.1mm; concentricity 0.2mm; placing 1deg }
outline circle(diameter: 60mm)
layer base of birch { engrave ring gate { labels 0 to 11; height 4mm; radius 19mm } }
layer cover of birch { window peep = circle(diameter: 15.7mm) at polar(19mm, 0deg) }
stack { base; turn on magnets(disc); cover }
reads gate through peep"#,
    ),
    (
        "clicks",
        r#"dial "Seven"
with "shop.dial"
spreads bench { kerf 0.05mm; concentricity 0.15mm; clicked 1deg }
outline circle(diameter: 60mm)
layer base of birch { engrave ring gate { labels 0 to 5; height 6mm; radius 19mm } }
layer cover of birch { window peep = circle(diameter: 8.5mm) at polar(19mm, 0deg) }
stack { base; turn on magnets(disc) { stops 6; clicks magnets(tiny, radius: 14mm) }; cover }
reads gate through peep"#,
    ),
    (
        "glued",
        r#"dial "Eight"
with "shop.dial"
spreads bench { kerf 0.05mm; concentricity 0.08mm; placing 0.6deg; glued 0.3mm }
outline circle(diameter: 60mm)
layer numbers of birch { engrave ring gate { labels ["4", "W"]; height 6mm; radius 19mm } }
layer core of birch { window well = obround(width: 12.5mm, height: 9.5mm) at polar(19mm, 0deg) }
layer cover of birch { window peep = obround(width: 11mm, height: 8mm) at polar(19mm, 0deg) }
stack { numbers; turn on magnets(disc); core; glue; cover }
reads gate through well, peep"#,
    ),
    (
        "glued between two turns",
        r#"dial "Nine"
with "shop.dial"
spreads bench { kerf 0.05mm; concentricity 0.1mm; placing 1.2deg; glued 0.3mm }
outline circle(diameter: 60mm)
layer base of birch { engrave ring gate { labels ["4", "M", "7"]; height 5mm; radius 19mm } }
layer middle of birch { window gap = circle(diameter: 9mm) at polar(19mm, 0deg) }
layer rest of birch { outline circle(diameter: 56mm); window hole = circle(diameter: 12mm) at polar(19mm, 0deg) }
layer cover of birch { window peep = circle(diameter: 9.5mm) at polar(19mm, 0deg) }
stack { base; turn on magnets(disc) { stops 3 }; middle; glue; rest; turn on magnets(disc) { stops [0deg] }; cover }
reads gate through gap, hole, peep"#,
    ),
    (
        "a mask glued onto the ring",
        r#"dial "Ten"
with "shop.dial"
spreads bench { kerf 0.05mm; concentricity 0.1mm; placing 0.6deg; glued 0.3mm }
outline circle(diameter: 60mm)
layer base of birch { engrave ring gate { labels ["4", "8", "0"]; height 6mm; radius 19mm } }
layer mask of birch {
  outline circle(diameter: 50mm)
  window one = circle(diameter: 7.4mm) at polar(19mm, 0deg)
  window two = circle(diameter: 7.4mm) at polar(19mm, 120deg)
  window six = circle(diameter: 7.4mm) at polar(19mm, 240deg)
}
layer cover of birch { window peep = circle(diameter: 12mm) at polar(19mm, 0deg) }
stack { base; glue; mask; turn on magnets(disc) { stops 3 }; cover }
reads gate through peep"#,
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
        assert_eq!(check.reads(), !what.ends_with("as drawn"), "{what}");
        assert!(!check.reads() || (0.1..0.99).contains(&whole.share), "{what}: {whole}");
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
