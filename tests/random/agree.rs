//! What `check` says of a dial, held against what the second reader makes of its files.

use std::num::NonZeroUsize;

use dialwright::analysis::{Analysis, Dial, Request, analyse};
use dialwright::diagnostics::{Finding, Severity};
use dialwright::output;
use dialwright::project::MemoryProject;
use dialwright::rehearsal::{Folder, Kind, Left, Reads, Rehearsal, rehearse};

/// What came of one text.
#[derive(Clone, Debug, Default)]
pub struct Outcome {
    /// Names of the errors found.
    pub errors: Vec<&'static str>,
    /// Dials that were written and read back; none where there is no design or no way to make it.
    pub read_back: usize,
    /// Stops looked at, and how many of them are too near to tell from pixels.
    pub stops: usize,
    pub close: usize,
    /// Stops that read wrong.
    pub wrong: usize,
    /// Where the two do not agree.
    pub disagreements: Vec<Disagreement>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Disagreement {
    /// Of which kind; while a dial is made smaller, it must stay the same.
    pub kind: String,
    pub says: String,
}

const SVG: &[u8] = include_bytes!("../dials/goods.svg");

pub fn analysed(text: &str) -> Analysis {
    let project = MemoryProject::default().with("random.dial", text.as_bytes()).with("goods.svg", SVG);
    analyse(&project, "random.dial", "", &Request::default()).expect("the text is there")
}

/// What is written of a dial; none where it cannot be made.
pub fn written(analysis: &Analysis, dial: &Dial) -> Option<Folder> {
    let mut folder = Folder::default();
    for file in output::files(&dial.design, &dial.audit, dial.made()?, &analysis.sources) {
        if file.name == "operations.json" {
            folder.list = String::from_utf8(file.bytes).expect("JSON is text");
        } else if file.name.starts_with("board-") {
            folder.drawings.insert(file.name, file.bytes);
        }
    }
    Some(folder)
}

/// Checks a text, writes what can be made of it, and reads that back.
pub(super) fn outcome(text: &str) -> Outcome {
    let analysis = analysed(text);
    let errors = analysis.findings.iter().filter(|finding| finding.severity == Severity::Error);
    let mut outcome = Outcome { errors: errors.map(|error| error.finding.name()).collect(), ..Outcome::default() };
    for dial in analysis.dials.iter().take(2) {
        let Some(folder) = written(&analysis, dial) else { continue };
        match rehearse(&folder, NonZeroUsize::MIN, false) {
            Ok(found) => {
                outcome.read_back += 1;
                outcome.stops += found.stops.len();
                outcome.close += found.stops.iter().filter(|stop| stop.reads == Reads::Close).count();
                outcome.wrong += found.stops.iter().filter(|stop| stop.reads == Reads::Wrong).count();
                let findings: Vec<Finding> = analysis.of_dial(dial).map(|told| told.finding).collect();
                outcome.disagreements.extend(compared(dial, &findings, &found));
            }
            Err(why) => outcome.disagreements.push(Disagreement { kind: "unreadable".to_owned(), says: why }),
        }
    }
    outcome
}

/// What the second reader may say of a dial, each with the findings of which one at least must say it too.
const SAME: [(Kind, &str, &[Finding]); 7] = [
    (Kind::Floor, "goes through", &[Finding::PocketTooDeep]),
    (Kind::Floor, "meet", &[Finding::PocketsMeet, Finding::PocketsOverlap]),
    (Kind::Floor, "cut away", &[Finding::PocketBroken]),
    (Kind::Magnet, "does not go through", &[Finding::RivetBinds]),
    (
        Kind::Magnet,
        "",
        &[
            Finding::MagnetTooWide,
            Finding::PocketBroken,
            Finding::MagnetWithoutPocket,
            Finding::PocketOffCentre,
            Finding::PocketTooDeep,
            Finding::HalvesPushedApart,
        ],
    ),
    (Kind::Slot, "deep", &[Finding::TooThickForSlot]),
    (Kind::Slot, "stands", &[Finding::TooBigForSlot]),
];

/// Findings that the second reader must name as well, each with the kind of its remark.
const TOLD: [(Finding, Kind); 4] = [
    (Finding::PocketTooDeep, Kind::Floor),
    (Finding::PocketsMeet, Kind::Floor),
    (Finding::MagnetTooWide, Kind::Magnet),
    (Finding::TooThickForSlot, Kind::Slot),
];

/// Half the step that a calliper reads, in mm (common practice, no source).
const CALLIPER_MM: f64 = 0.005;

/// Where findings and reading checks of a dial, and what was read back, do not agree.
fn compared(dial: &Dial, findings: &[Finding], found: &Rehearsal) -> Vec<Disagreement> {
    let mut all = Vec::new();
    let mut push = |kind: &str, says: String| all.push(Disagreement { kind: kind.to_owned(), says });
    for stop in found.stops.iter().filter(|stop| stop.reads != Reads::Close) {
        let right = stop.reads == Reads::Right;
        if right != stop.said {
            let kind = if right { "reads right by pixels alone" } else { "reads wrong by pixels alone" };
            push(kind, format!("{stop:?}"));
        }
    }
    for remark in found.remarks.iter().filter(|remark| remark.kind != Kind::Reading) {
        let same = SAME.iter().find(|(kind, says, _)| *kind == remark.kind && remark.says.contains(says));
        if !same.is_some_and(|(_, _, wanted)| wanted.iter().any(|finding| findings.contains(finding))) {
            push(&format!("{} by pixels alone", remark.kind.name()), format!("{}: {}", remark.place, remark.says));
        }
    }
    for (finding, kind) in TOLD.iter().filter(|(finding, _)| findings.contains(finding)) {
        if !found.remarks.iter().any(|remark| remark.kind == *kind) {
            push(&format!("{} not by pixels", finding.name()), String::new());
        }
    }
    left(dial, findings, found).into_iter().for_each(|(kind, says)| push(kind, says));
    let stops = || dial.audit.reading_check.readings.iter().flat_map(|reading| &reading.stops);
    // Of a run the first dial is looked at, and every other one that has a part amiss.
    let count = stops().count();
    if !found.stops.len().is_multiple_of(count.max(1)) || (count > 0) != (found.dials > 0 && !found.stops.is_empty()) {
        push("stops not looked at", format!("{} of {count}", found.stops.len()));
    }
    // A reading that fails must have been told.
    let fails = stops().any(|stop| !stop.reads);
    let told = [Finding::ReadingHidden, Finding::ReadingWrong, Finding::ReadingShared, Finding::ReadingCovered];
    if fails && !findings.iter().any(|finding| told.contains(finding)) {
        push("a misreading that no finding tells of", format!("{findings:?}"));
    }
    all
}

/// Where what is left of walls, floors and the slot does not agree with what is found about them. How much is left is held against
/// what the list tells by the second reader itself.
fn left(dial: &Dial, findings: &[Finding], found: &Rehearsal) -> Vec<(&'static str, String)> {
    let has = |all: &[Finding]| all.iter().any(|finding| findings.contains(finding));
    let mut differ = Vec::new();
    let told = || dial.audit.strength.layers.iter();
    let seen = |left: &&Left| left.web.is_some_and(|web| web < left.least_web - left.web_within);
    let thin = |left: &&Left| {
        let webs = told().filter(|it| it.layer == left.layer).filter_map(|it| it.web.as_ref());
        webs.map(|web| web.width.as_mm()).any(|web| web < left.least_web - CALLIPER_MM)
    };
    if found.left.iter().any(|left| seen(&left) || thin(&left)) && !has(&[Finding::WebTooThin]) {
        differ.push(("thin walls without a finding", format!("{:?}", found.left)));
    } else if has(&[Finding::WebTooThin]) && !found.left.iter().any(|left| left.web.is_some() || thin(&left)) {
        differ.push(("web-too-thin not by pixels", format!("{:?}", found.left)));
    }
    let low = |left: &&Left| left.floor.is_some_and(|floor| floor < left.least_floor - CALLIPER_MM);
    // Of pockets that overlap one is told: that they do, or that one breaks into a seat.
    let floors = [
        Finding::FloorTooThin,
        Finding::PocketsMeet,
        Finding::PocketTooDeep,
        Finding::PocketsOverlap,
        Finding::PocketBroken,
    ];
    // An engraving from the other face takes from a floor what no list tells of.
    let same = |left: &Left| {
        let floors = told().filter(|it| it.layer == left.layer).filter_map(|it| it.floor.as_ref());
        floors.map(|floor| floor.left.as_mm()).all(|floor| left.floor.is_some_and(|it| it - floor < CALLIPER_MM))
    };
    if found.left.iter().any(|left| low(&left)) && !has(&floors) {
        differ.push(("thin floors by pixels alone", format!("{:?}", found.left)));
    } else if has(&[Finding::FloorTooThin]) && found.left.iter().all(|left| same(left) && !low(&left)) {
        differ.push(("floor-too-thin not by pixels", format!("{:?}", found.left)));
    }
    if has(&[Finding::TooBigForSlot]) && found.slots.iter().all(|slot| slot.room > slot.within) {
        differ.push(("too-big-for-slot not by pixels", format!("{:?}", found.slots)));
    }
    differ
}
