//! The table of ways in which a dial can fail, held to the catalogue of findings.
//!
//! One row a way, in the file of its subject: what goes wrong, who suffers, what works it out, what tells of it, a planted fault, a
//! sound twin that stays silent, and what its figure rests on. `explain ways-to-fail` shows what a maker asks of them:
//! `DIALWRIGHT_WAYS=write cargo test --test suite ways` writes that page anew.

mod bench;
mod boards;
mod holding;
mod labels;
mod readings;
mod strength;

use std::fmt::Write as _;
use std::path::PathBuf;

use dialwright::analysis::{Analysis, Request, analyse};
use dialwright::cli::disk::DiskProject;
use dialwright::diagnostics::{Finding, Severity};
use dialwright::project::Overlaid;

use crate::dials::{analysed, root};
use crate::ui::worded_in;

/// A way to fail.
pub struct Way {
    /// What goes wrong, in plain words.
    says: &'static str,
    suffers: &'static [Who],
    told: By,
    /// What works it out, a file below `src`.
    computed: &'static str,
    fault: Fault,
    twin: Twin,
    /// The outside reference of its figure; "by hand" where the figure follows from those of the design by schoolbook geometry.
    rests_on: &'static str,
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Who {
    Maker,
    Player,
    Shop,
    Client,
}

/// What tells of it.
pub enum By {
    Finding(Finding),
    /// A line of an output, by words of it that stand in the file that works it out.
    Line(&'static str),
    /// Nothing, since it cannot happen: by what.
    Prevented(&'static str),
}

/// A dial, or a test, that has the fault.
pub enum Fault {
    /// `tests/ui/NAME.dial`, whose reviewed answer has the finding.
    Ui(&'static str),
    /// By its words among the faults of `tests/suite/planted.rs`.
    Planted(&'static str),
    /// A test: its file below the crate, and its name.
    Test(&'static str, &'static str),
}

/// The same without the fault.
pub enum Twin {
    /// The dial of `tests/ui` with its one passage changed so.
    With(&'static str, &'static str),
    /// A dial, by its path below the crate.
    Dial(&'static str),
    /// The twin that stands beside the planted fault, or in the same test.
    Beside,
}

const MAKER: &[Who] = &[Who::Maker];
const PLAYER: &[Who] = &[Who::Player];
const CLIENT: &[Who] = &[Who::Client];
const SHOP: &[Who] = &[Who::Shop];
const MAKER_AND_SHOP: &[Who] = &[Who::Maker, Who::Shop];
const PLAYER_AND_CLIENT: &[Who] = &[Who::Player, Who::Client];
const MAKER_AND_CLIENT: &[Who] = &[Who::Maker, Who::Client];

const PAGE: &str = "src/reference/topics/ways-to-fail.md";

/// What a row is about, in the order of the page.
const SUBJECTS: [(&str, &[Way]); 6] = [
    ("What is read", readings::WAYS),
    ("What is engraved and drawn", labels::WAYS),
    ("What holds and turns", holding::WAYS),
    ("What may break", strength::WAYS),
    ("What the shop cuts", boards::WAYS),
    ("What the bench glues, measures and pays", bench::WAYS),
];

/// Findings of the modules that word ways to fail which are none: of text that says too little, or at odds with itself, for any
/// dial or table of readings to be made of it.
const NO_WAY: &[Finding] = &[
    Finding::AcceptsNothing,
    Finding::BadArtwork,
    Finding::BadStep,
    Finding::BadTone,
    Finding::BadTrade,
    Finding::BadTypeface,
    Finding::CannotBeFree,
    Finding::ChooseOne,
    Finding::ClicksForm,
    Finding::EmptyFamily,
    Finding::EmptyRegion,
    Finding::EmptyStack,
    Finding::FieldOutOfPlace,
    Finding::ItemTwice,
    Finding::EndsForm,
    Finding::JointWithoutLayer,
    Finding::LayerTwice,
    Finding::MissingArgument,
    Finding::MissingField,
    Finding::NoLayers,
    Finding::NoOutline,
    Finding::NoStack,
    Finding::NoTitle,
    Finding::NotInStack,
    Finding::NotKept,
    Finding::NotTheBest,
    Finding::OutOfBounds,
    Finding::PaintWithoutColour,
    Finding::PinForm,
    Finding::PocketWithoutDepth,
    Finding::ReadingsCell,
    Finding::ReadingsRow,
    Finding::ReadingsTable,
    Finding::RingNotEngraved,
    Finding::RingWithoutLabels,
    Finding::RingWithoutRadius,
    Finding::StopsUnknown,
    Finding::TooLarge,
    Finding::TooMany,
    Finding::TooMuchFree,
    Finding::TwoJoints,
    Finding::UnknownFinding,
    Finding::UnknownTone,
    Finding::UnknownVariant,
    Finding::UnknownWord,
    Finding::VariantTwice,
    Finding::WhichCopy,
    Finding::WitnessOfNoUse,
    Finding::WrongArguments,
];

fn ways() -> impl Iterator<Item = &'static Way> {
    SUBJECTS.iter().flat_map(|(_, ways)| *ways)
}

impl Who {
    const fn word(self) -> &'static str {
        match self {
            Self::Maker => "the maker",
            Self::Player => "the player",
            Self::Shop => "the shop hand",
            Self::Client => "the client",
        }
    }
}

fn source(path: &str) -> Option<String> {
    std::fs::read_to_string(root().join(path)).ok()
}

impl Way {
    fn finding(&self) -> Option<Finding> {
        match self.told {
            By::Finding(finding) => Some(finding),
            By::Line(_) | By::Prevented(_) => None,
        }
    }

    /// Whether the planted fault is there and shows what is told.
    fn is_shown(&self) -> bool {
        match (&self.fault, self.finding()) {
            (Fault::Ui(name), Some(finding)) => {
                // "advice: NAME", or all in one line.
                let told = |line: &str| line.split(": ").nth(1) == Some(finding.name());
                source(&format!("tests/ui/{name}.snap")).is_some_and(|answer| answer.lines().any(told))
            }
            (Fault::Ui(_), None) => false,
            (Fault::Planted(words), Some(finding)) => crate::planted::names().contains(&(finding.name(), *words)),
            (Fault::Planted(_), None) => false,
            (Fault::Test(file, name), _) => {
                let test = format!("#[test]\nfn {name}()");
                source(file).is_some_and(|text| text.replace("\n    ", "\n").contains(&test))
            }
        }
    }

    /// The sound twin where it is a dial of its own, as the tool sees it.
    fn twin(&self) -> Option<Result<Analysis, String>> {
        match (&self.twin, &self.fault) {
            (Twin::With(from, to), Fault::Ui(name)) => Some(changed(name, from, to, &Request::default())),
            (Twin::With(..), _) => Some(Err("only a file of tests/ui can be changed".to_owned())),
            (Twin::Dial(path), _) if root().join(path).is_file() => Some(Ok(analysed(&root().join(path)))),
            (Twin::Dial(path), _) => Some(Err(format!("there is no {path}"))),
            (Twin::Beside, Fault::Ui(_)) => Some(Err("nothing stands beside a file of tests/ui".to_owned())),
            (Twin::Beside, _) => None,
        }
    }

    /// What is wrong with its sound twin.
    fn twin_fault(&self) -> Option<String> {
        let twin = match self.twin()? {
            Ok(twin) => twin,
            Err(why) => return Some(why),
        };
        let has = |holds: &dyn Fn(&dialwright::diagnostics::Diagnostic) -> bool| {
            twin.findings.iter().find(|it| holds(it)).cloned()
        };
        let still = has(&|found| Some(found.finding) == self.finding()).map(|found| format!("still {}", found.message));
        still.or_else(|| {
            has(&|found| found.severity == Severity::Error).map(|found| format!("error: {}", found.message))
        })
    }
}

/// A file of `tests/ui` with a passage changed, which must stand there once.
fn changed(name: &str, from: &str, to: &str, request: &Request) -> Result<Analysis, String> {
    let path: PathBuf = root().join(format!("tests/ui/{name}.dial"));
    let text = std::fs::read_to_string(&path).map_err(|error| error.to_string())?;
    if text.matches(from).count() != 1 {
        return Err(format!("`{from}` does not stand once in tests/ui/{name}.dial"));
    }
    let (disk, name, _) = DiskProject::of(&path);
    let project = Overlaid::new(&disk, [(name.clone(), text.replacen(from, to, 1))]);
    analyse(&project, &name, "", request).map_err(|problem| format!("{problem:?}"))
}

/// The page of makers: what goes wrong, for whom, what tells of it, and what its figure rests on.
fn page() -> String {
    let mut page = format!(
        "# ways-to-fail\n\n\
         The {} ways in which a dial can fail that are looked for: what goes wrong, the finding or the line that tells of it, who\n\
         would suffer, and what its figure rests on. \"By hand\" is schoolbook geometry on the figures of the design. Each way was\n\
         shown by a dial that has the fault, and stays silent at a sound one. `dialwright explain FINDING` says what to do.\n",
        ways().count()
    );
    for (subject, ways) in SUBJECTS {
        let _ = write!(page, "\n## {subject}\n\n");
        for way in ways {
            let who: Vec<&str> = way.suffers.iter().map(|who| who.word()).collect();
            let told = match way.told {
                By::Finding(finding) => format!("`{}`", finding.name()),
                By::Line(words) => format!("the line `{words}`"),
                By::Prevented(how) => format!("cannot happen, since {how}"),
            };
            // Makers have no use for the places of our scripts.
            let rests_on = way.rests_on.split("; ").map(|one| one.split(" in tests/").next().unwrap_or(one));
            let rests_on = rests_on.collect::<Vec<_>>().join("; ");
            let _ = writeln!(page, "- {}: {told}\n  for {}; {rests_on}", way.says, who.join(" and "));
        }
    }
    page
}

#[test]
fn every_row_is_whole() {
    let mut wrong = Vec::new();
    for way in ways() {
        let mut check = |holds: bool, what: &str| {
            if !holds {
                wrong.push(format!("{}: {what}", way.says));
            }
        };
        check(!way.says.ends_with('.') && !way.suffers.is_empty(), "says what goes wrong, and for whom");
        check(!way.rests_on.is_empty(), "says what its figure rests on");
        check(root().join("src").join(way.computed).is_file(), "is worked out in a file");
        check(way.is_shown(), "has a planted fault that shows it");
        if let By::Line(words) = way.told {
            let room = source(&format!("src/{}", way.computed));
            check(room.is_some_and(|text| text.contains(words)), "is a line that is written");
        }
        let files = way.rests_on.split_whitespace().filter(|word| word.starts_with("tests/"));
        for file in files {
            check(root().join(file.trim_end_matches([',', ';', ')'])).exists(), "names files that are there");
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(ways().count() >= 60);
}

#[test]
fn every_sound_twin_is_silent() {
    let all: Vec<&Way> = ways().collect();
    let faults = |ways: &[&Way]| -> Vec<String> {
        ways.iter().filter_map(|way| way.twin_fault().map(|fault| format!("{}: {fault}", way.says))).collect()
    };
    let (one, other) = all.split_at(all.len() / 2);
    let wrong: Vec<String> = std::thread::scope(|scope| {
        let other = scope.spawn(|| faults(other));
        faults(one).into_iter().chain(other.join().unwrap()).collect()
    });
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What is found of a finished dial, of boards, of rings and of how a dial is put together is a way to fail, or says why not.
#[test]
fn no_way_is_left_out() {
    const OF_DIALS: [&str; 16] = [
        "bonds",
        "webs",
        "depths",
        "seats",
        "marks",
        "raised",
        "turning",
        "runout",
        "holding",
        "plan",
        "legibility",
        "fit",
        "artwork",
        "lettering",
        "rings",
        "dial",
    ];
    let told: Vec<Finding> = ways().filter_map(Way::finding).collect();
    let of_dials = |finding: &Finding| worded_in(*finding).is_none_or(|subject| OF_DIALS.contains(&subject));
    let forgotten: Vec<&str> = Finding::ALL
        .iter()
        .filter(|finding| of_dials(finding) && !told.contains(finding) && !NO_WAY.contains(finding))
        .map(|finding| finding.name())
        .collect();
    assert!(forgotten.is_empty(), "findings without a way to fail: {}", forgotten.join(", "));
    assert!(NO_WAY.iter().all(|finding| !told.contains(finding)), "a way to fail is no exception");
}

#[test]
fn the_page_shows_every_row() {
    let page = page();
    if std::env::var("DIALWRIGHT_WAYS").is_ok_and(|wish| wish == "write") {
        std::fs::write(root().join(PAGE), &page).unwrap();
    }
    assert!(source(PAGE).is_some_and(|written| written == page), "write {PAGE} anew: DIALWRIGHT_WAYS=write");
}
