//! Put into the woven copy as an example: whether what is written of a dial is another than without the mutant at work, and whether
//! reading it back tells so.
//!
//! `written NAME…` prints for each dial its name and the digests of its files, and fails where it does not come to what it says was
//! meant. A name is a path, or `seed 7` for a dial drawn at random. `written known.tsv NAME…` goes through the dials, prints
//! `changed NAME FILES` for each whose digests are not those that stand in that file, and `caught NAME WHY` at the first that does not
//! come to what it says was meant.

#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout, reason = "a tool of the tests")]

use std::collections::{BTreeMap, BTreeSet};
use std::num::NonZeroUsize;
use std::path::Path;

use dialwright::analysis::{Request, analyse};
use dialwright::cli::disk::DiskProject;
use dialwright::output::{self, page::Paper};
use dialwright::rehearsal::{Folder, Kind, Reads, Stop, rehearse};
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

fn digests(all: &[Files]) -> BTreeMap<String, String> {
    let files = all.iter().enumerate().flat_map(|(at, files)| files.iter().map(move |file| (at, file)));
    let digest = |bytes: &[u8]| Sha256::digest(bytes).iter().take(8).map(|byte| format!("{byte:02x}")).collect::<String>();
    files.map(|(at, (name, bytes))| (format!("{at}/{name}"), digest(bytes))).collect()
}

fn main() {
    let mut names: Vec<String> = std::env::args().skip(1).collect();
    if !names.first().is_some_and(|name| name.ends_with(".tsv")) {
        for name in names {
            let subject = Subject::of(&name);
            let all = subject.written();
            assert_eq!(subject.caught(&all), None, "{name}");
            let files: Vec<String> =
                digests(&all).into_iter().map(|(file, digest)| format!("{file}={digest}")).collect();
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
        let files: BTreeSet<&str> = now.keys().map(String::as_str).chain(known.keys().copied()).collect();
        let differ: Vec<&str> =
            files.into_iter().filter(|file| now.get(*file).map(String::as_str) != known.get(file).copied()).collect();
        if differ.is_empty() {
            continue;
        }
        println!("changed\t{name}\t{}", differ.join(" "));
        let to_read = differ.iter().any(|file| file.split_once('/').is_some_and(|(_, file)| is_read_back(file)));
        if let Some(why) = to_read.then(|| subject.caught(&all)).flatten() {
            return println!("caught\t{name}\t{}", why.replace(['\n', '\t'], " "));
        }
        changed += 1;
        if changed == MOST {
            return;
        }
    }
}
