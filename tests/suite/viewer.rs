//! `viewer.html`: whole by itself, its policy true to what is in it, every text as text, its facts those of the proof.

use dialwright::analysis::{Analysis, Request, analyse};
use dialwright::design::{Finish, Finished};
use dialwright::output::viewer::{SCRIPT, STYLE, Shown, page};
use dialwright::project::MemoryProject;
use serde_json::Value;

const POINTS: &str = r#"
    dial "Points"
    outline circle(diameter: 60mm)
    layer base of birch  { engrave ring points { labels 0 to 9 } }
    layer cover of birch { window peep = circle(diameter: 12mm) at polar(20mm, 0deg) }
    stack { base; turn on magnets(disc); cover }
    reads points through peep
"#;

fn analysed(text: &str) -> Analysis {
    analyse(&MemoryProject::default().with("a.dial", text), "a.dial", "", &Request::default()).unwrap()
}

fn page_of(analysis: &Analysis) -> String {
    page(&Shown::of(analysis, &analysis.dials[0]))
}

fn facts(page: &str) -> Value {
    let (_, rest) = page.split_once("data-facts=\"\">").unwrap();
    serde_json::from_str(rest.split_once("</script>").unwrap().0).unwrap()
}

/// What is hashed is all that stands between the tags (W3C Content Security Policy 3). Whether the hashes are right,
/// the browser tests show: a page with a wrong one neither looks nor does anything.
#[test]
fn the_policy_allows_what_stands_in_the_page_and_nothing_else() {
    let page = page_of(&analysed(POINTS));
    assert!(page.contains("default-src 'none'; img-src data:; style-src 'sha256-"));
    assert!(page.contains(&format!("<style>{STYLE}</style>")));
    assert!(page.contains(&format!("<script>{SCRIPT}</script>")));
    assert!(!STYLE.contains("</") && !SCRIPT.contains("</script") && !STYLE.contains("url("));
    for outside in ["http:", "https:", "src=", "@import", "unsafe-inline", " style=\"", " onclick="] {
        assert!(!page.contains(outside), "{outside}");
    }
}

#[test]
fn the_facts_are_those_of_the_proof() {
    let analysis = analysed(POINTS);
    let facts = facts(&page_of(&analysis));
    let proof = &analysis.dials[0].audit.reading_check.readings[0];
    assert_eq!(facts["layers"], serde_json::json!([0, 1]));
    assert_eq!(facts["turns"][0]["stops"][1], 36.0);
    let stops = facts["readings"][0]["stops"].as_array().unwrap();
    assert_eq!(stops.len(), proof.stops.len());
    for (told, stop) in stops.iter().zip(&proof.stops) {
        assert_eq!(told[0], stop.due_says.as_str());
        assert_eq!(told[1], Value::Null);
        assert!((told[2].as_f64().unwrap() - stop.margin.as_mm()).abs() < 1e-4);
    }
}

#[test]
fn a_stop_that_misreads_says_what_shows() {
    let far = POINTS.replace("diameter: 12mm", "diameter: 6mm").replace("labels 0 to 9", "labels 0 to 9; height 9mm");
    let analysis = analysed(&far);
    let page = page_of(&analysis);
    let shows = analysis.dials[0].audit.reading_check.readings[0].stops[0].shows();
    assert_eq!(facts(&page)["readings"][0]["stops"][0][1], shows.as_str());
    assert!(shows != "0" && page.contains("misreads: <bdi>"), "{shows}");
}

/// A name that closes elements, and one in another direction, stand as text, in the picture's words and in the facts.
#[test]
fn names_that_hold_markup_are_shown_as_text() {
    let hostile = "</script><img src=x onerror=y> \u{202e}שלום & 'q'";
    let text = POINTS.replace("\"Points\"", &format!("{hostile:?}")).replace("\\u{202e}", "\u{202e}");
    let text = text.replace("labels 0 to 9", "labels [\"<b>\", \"</script>\", \"&amp;\"]; height 2mm");
    let analysis = analysed(&text);
    let page = page_of(&analysis);
    assert!(!page.contains("<img") && !page.contains("<b>"));
    assert_eq!(page.matches("</script>").count(), 2);
    // What turns text round is shown as a sign that does not.
    assert!(
        page.contains("&lt;/script&gt;&lt;img src=x onerror=y&gt; \u{fffd}שלום &amp; 'q'")
            && !page.contains('\u{202e}')
    );
    assert_eq!(facts(&page)["readings"][0]["stops"][1][0], "</script>");
}

#[test]
fn findings_stand_with_their_lines_and_their_place() {
    let page = page_of(&analysed(&POINTS.replace("polar(20mm", "polar(23.8mm")));
    let spots: Vec<&str> = page.split("data-spot=\"").skip(1).filter_map(|rest| rest.split('"').next()).collect();
    assert!(spots.iter().any(|spot| spot.starts_with("1 ")), "{spots:?}");
    assert!(page.contains("<figcaption>a.dial:5:") && page.contains("<mark>circle(diameter: 60mm)</mark>"));
}

/// The maker's folders are nobody else's business, and the page is the same wherever it was made from.
#[test]
fn the_page_does_not_tell_where_the_design_lies() {
    let text = POINTS.replace("polar(20mm", "polar(23.8mm");
    let from = |folder: &str| {
        let project = MemoryProject::default().with("a.dial", text.as_str());
        page_of(&analyse(&project, "a.dial", folder, &Request::default()).unwrap())
    };
    assert!(from("").contains("<figcaption>a.dial:5:"));
    assert_eq!(from(""), from("/home/maker/clients/"));
}

/// A stain lets through what wood and stain both let through: the product of the channels, by hand.
#[test]
fn the_finish_comes_on_step_by_step() {
    let mut layer = analysed(POINTS).dials[0].design.layers[0].clone();
    (layer.stock.colour, layer.stock.engraved) = ([200, 160, 120], [100, 60, 20]);
    layer.finish = Some(Finish {
        name: "dusk".into(),
        stain: Some([102, 51, 204]),
        after: true,
        fill: Some([255, 250, 240]),
        cost: None,
        origin: layer.origin,
    });
    let tones = [Finished::Bare, Finished::Stained, Finished::Filled];
    assert_eq!(tones.map(|as_far| layer.surface_as(as_far)), [[200, 160, 120], [102, 51, 204], [102, 51, 204]]);
    assert_eq!(tones.map(|as_far| layer.marked_as(1.0, as_far)), [[100, 60, 20], [40, 12, 16], [255, 250, 240]]);
    let finished =
        POINTS.replace("of birch  {", "of birch { finish dusk;") + "finish dusk { stain #4a3b2c; fill #f5f0e6 }";
    let page = page_of(&analysed(&finished));
    for word in ["Bare", "Stained", "Ink-filled"] {
        assert!(page.contains(&format!(">{word}</label>")), "{word}");
    }
    assert!(!page_of(&analysed(POINTS)).contains("Ink-filled"));
}

/// A finding of a ring or an opening goes to a stop of its reading that misreads.
#[test]
fn a_finding_turns_the_dial_to_its_stop() {
    let far = POINTS.replace("diameter: 12mm", "diameter: 6mm").replace("labels 0 to 9", "labels 0 to 9; height 9mm");
    let analysis = analysed(&far);
    assert!(analysis.findings.iter().any(|found| found.message.starts_with("at stop 2 ")));
    assert!(page_of(&analysis).contains("data-at=\"0:1\""));
    assert!(!page_of(&analysed(POINTS)).contains("data-at="));
}

/// The sheet of stops holds a dial by the same function: the cover upright in front, the base upright behind. One picture of a stock
/// serves both layers of it, and a magnet lies at either side of the turn with opposite poles before each other.
#[test]
fn the_page_knows_how_a_dial_is_held_and_what_it_is_made_of() {
    let page = page_of(&analysed(POINTS));
    let facts = facts(&page);
    assert_eq!(facts["upright"], serde_json::json!([1, 0]));
    assert_eq!(page.matches("data:image/jpeg").count(), 1);
    assert_eq!(page.matches("data:image/png").count(), 2);
    let magnets = facts["magnets"].as_array().unwrap();
    assert_eq!(magnets.len(), 2);
    // What pulls has its poles the same way round.
    assert_eq!(magnets[0]["up"], magnets[1]["up"]);
    assert!(page.len() < 400_000, "{}", page.len());
}

#[test]
fn the_same_design_gives_the_same_page() {
    assert_eq!(page_of(&analysed(POINTS)), page_of(&analysed(POINTS)));
}
