//! Put into the woven copy as an example: whether what is written of a dial is another than without the mutant at work, and whether
//! reading it back tells so.
//!
//! `written NAME…` prints for each dial its name, the digests of its files and what its layout comes to, and fails where it does not
//! come to what it says was meant. A name is a path, or `seed 7` for a dial drawn at random. `written known.tsv NAME…` goes through the
//! dials, prints `changed NAME FILES` for each whose digests are not those that stand in that file, with `as good` where nothing but
//! the layout is another one, and that is no worse, and `caught NAME WHY` at the first that does not come to what it says was meant.

#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout, reason = "a tool of the tests")]

use std::collections::{BTreeMap, BTreeSet};
use std::num::NonZeroUsize;
use std::path::Path;

use dialwright::analysis::{Request, analyse};
use dialwright::cli::disk::DiskProject;
use dialwright::output::{self, page::Paper};
use dialwright::rehearsal::{Folder, Kind, Reads, Stop, rehearse};
use serde_json::{Value, json};
use sha2::{Digest as _, Sha256};

#[path = "../tests/random/mod.rs"]
mod random;

/// Changed dials that are looked at before a mutant counts as not found.
const MOST: usize = 12;

type Files = BTreeMap<String, Vec<u8>>;

/// A dial that may be another than it was.
enum Subject<'a> {
    File(&'a Path),
    Seed(u64),
}

impl Subject<'_> {
    fn of(name: &str) -> Subject<'_> {
        name.strip_prefix("seed ").map_or(Subject::File(Path::new(name)), |seed| Subject::Seed(seed.parse().unwrap()))
    }

    /// What is written of its first two variants: everything, and of a dial drawn at random what is read back.
    fn written(&self) -> Vec<Files> {
        match self {
            Self::File(path) => {
                let (project, name, _) = DiskProject::of(path);
                let analysis = analyse(&project, &name, "", &Request::default()).unwrap();
                let files = |dial| output::all_files(dial, &analysis.findings, &analysis.sources, Some(Paper::A4)).unwrap();
                let dials = analysis.dials.iter().take(2);
                dials.map(|dial| files(dial).into_iter().map(|file| (file.name, file.bytes)).collect()).collect()
            }
            Self::Seed(seed) => {
                let analysis = random::analysed(&random::dial(*seed));
                let folders = analysis.dials.iter().take(2).filter_map(|dial| random::written(&analysis, dial));
                let list = |list: String| ("operations.json".to_owned(), list.into_bytes());
                folders.map(|it| it.drawings.into_iter().chain([list(it.list)]).collect()).collect()
            }
        }
    }

    /// What tells that it is not what it was meant to be.
    fn caught(&self, all: &[Files]) -> Option<String> {
        match self {
            Self::File(_) => all.iter().find_map(read_back),
            Self::Seed(seed) => {
                let found = random::guarded(&random::dial(*seed)).disagreements.into_iter().next()?;
                Some(format!("{}: {}", found.kind, found.says))
            }
        }
    }
}

fn is_read_back(name: &str) -> bool {
    name.starts_with("board-") || name == "operations.json"
}

/// What reading back says against files; none where it finds nothing.
fn read_back(files: &Files) -> Option<String> {
    let Some(list) = files.get("operations.json") else { return Some("nothing is written".to_owned()) };
    let drawings = files.iter().filter(|(name, _)| name.starts_with("board-"));
    let folder = Folder {
        list: String::from_utf8(list.clone()).unwrap(),
        drawings: drawings.map(|(name, bytes)| (name.clone(), bytes.clone())).collect(),
    };
    let found = match rehearse(&folder, NonZeroUsize::MIN, false) {
        Ok(found) => found,
        Err(why) => return Some(why),
    };
    // As the test of agreement takes it: what misreads by design, and is told to, agrees.
    let remark = found.remarks.iter().find(|remark| remark.kind != Kind::Reading);
    let remark = remark.map(|remark| format!("{}: {}", remark.kind.name(), remark.says));
    let differs = |stop: &&Stop| stop.reads != Reads::Close && (stop.reads == Reads::Right) != stop.said;
    remark.or_else(|| found.stops.iter().find(differs).map(|stop| format!("reading: stop {:?} of {}", stop.at, stop.ring)))
}

fn digest(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().take(8).map(|byte| format!("{byte:02x}")).collect()
}

fn digests(all: &[Files]) -> BTreeMap<String, String> {
    let files = all.iter().enumerate().flat_map(|(at, files)| files.iter().map(move |file| (at, file)));
    files.map(|(at, (name, bytes))| (format!("{at}/{name}"), digest(bytes))).collect()
}

/// What a list says apart from the layout: where parts lie, in which order they are worked, and how far the machine moves for that.
fn besides_layout(mut list: Value) -> Value {
    for key in ["travel", "travel_saved"] {
        list["summary"].as_object_mut().unwrap().remove(key);
    }
    let (mut parts, mut work) = (Vec::new(), Vec::new());
    for board in list["boards"].as_array_mut().unwrap() {
        for part in board["parts"].as_array_mut().unwrap() {
            ["lies", "inside"].iter().for_each(|key| drop(part.as_object_mut().unwrap().remove(*key)));
            parts.push(part.take().to_string());
        }
        for (at, setup) in board["setups"].as_array_mut().unwrap().iter_mut().enumerate() {
            setup.as_object_mut().unwrap().remove("registers");
            if let Some(over) = setup["turned"]["parts"].as_array_mut() {
                over.iter_mut().for_each(|it| drop(it.as_object_mut().unwrap().remove("about")));
                over.sort_by_key(Value::to_string);
                work.extend(over.drain(..).map(|it| format!("{at} {it}")));
            }
            for operation in setup["operations"].as_array_mut().unwrap() {
                operation.as_object_mut().unwrap().remove("path");
                work.push(format!("{at} {}", operation.take()));
            }
            setup["operations"] = Value::Null;
        }
        board["parts"] = Value::Null;
    }
    parts.sort();
    work.sort();
    json!([list, parts, work])
}

/// What each layout comes to: a digest of everything else, and how far the machine moves.
fn layouts(all: &[Files]) -> BTreeMap<String, String> {
    let lists = all.iter().enumerate().filter_map(|(at, files)| Some((at, files.get("operations.json")?)));
    let of = |(at, list): (usize, &Vec<u8>)| {
        let list: Value = serde_json::from_slice(list).unwrap();
        let travel = list["summary"]["travel"].to_string();
        [(format!("{at}/travel"), travel), (format!("{at}/besides"), digest(besides_layout(list).to_string().as_bytes()))]
    };
    lists.flat_map(of).collect()
}

/// Whether of two builds of a dial nothing but the layout differs, and the machine moves no farther, or hardly.
fn is_as_good(now: &BTreeMap<String, String>, known: &BTreeMap<&str, &str>) -> bool {
    now.iter().all(|(key, value)| match (key.ends_with("/travel"), known.get(key.as_str())) {
        (true, Some(was)) => value.parse::<f64>().unwrap() <= 1.05 * was.parse::<f64>().unwrap(),
        (false, Some(was)) => value == was,
        (_, None) => false,
    })
}

fn main() {
    let mut names: Vec<String> = std::env::args().skip(1).collect();
    if !names.first().is_some_and(|name| name.ends_with(".tsv")) {
        for name in names {
            let subject = Subject::of(&name);
            let all = subject.written();
            assert_eq!(subject.caught(&all), None, "{name}");
            let files: Vec<String> =
                digests(&all).into_iter().chain(layouts(&all)).map(|(file, digest)| format!("{file}={digest}")).collect();
            println!("{name}\t{}", files.join(" "));
        }
        return;
    }
    let known = std::fs::read_to_string(names.remove(0)).unwrap();
    let known: BTreeMap<&str, &str> = known.lines().filter_map(|line| line.split_once('\t')).collect();
    let mut changed = 0;
    for name in &names {
        let known: BTreeMap<&str, &str> = known[name.as_str()].split(' ').filter_map(|it| it.split_once('=')).collect();
        let subject = Subject::of(name);
        let all = subject.written();
        let now = digests(&all);
        let is_file = |name: &&str| !name.ends_with("/travel") && !name.ends_with("/besides");
        let files: BTreeSet<&str> =
            now.keys().map(String::as_str).chain(known.keys().copied().filter(is_file)).collect();
        let differ: Vec<&str> =
            files.into_iter().filter(|file| now.get(*file).map(String::as_str) != known.get(file).copied()).collect();
        if differ.is_empty() {
            continue;
        }
        let boards = differ.iter().any(|file| file.split_once('/').is_some_and(|(_, file)| is_read_back(file)));
        let as_good = if boards && is_as_good(&layouts(&all), &known) { "as good" } else { "" };
        println!("changed\t{name}\t{}\t{as_good}", differ.join(" "));
        if let Some(why) = boards.then(|| subject.caught(&all)).flatten() {
            return println!("caught\t{name}\t{}", why.replace(['\n', '\t'], " "));
        }
        changed += 1;
        if changed == MOST {
            return;
        }
    }
}
