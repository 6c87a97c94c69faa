//! `rehearse`: what a folder of outputs will make, read back from its files alone.

use std::collections::BTreeMap;
use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::{Value, json};

use super::disk::{DiskProject, put};
use super::{FINDINGS, FINE, MessageFormat, report};
use crate::diagnostics::counted;
use crate::project::Project as _;
use crate::rehearsal::{Folder, Reads, Rehearsal, rehearse};
use crate::units::plain;

/// Bytes of one file that are read.
const LARGEST: usize = 256 * 1024 * 1024;

#[derive(Debug, Args)]
pub(super) struct RehearseArguments {
    /// A folder that `build` wrote, whoever edited it since
    folder: PathBuf,
    /// Draws the parts that are made, both faces, and the dial at every stop into this file, a .png
    #[arg(long, value_name = "FILE")]
    picture: Option<PathBuf>,
    /// How messages are printed
    #[arg(long, value_enum, default_value_t = MessageFormat::Text)]
    message_format: MessageFormat,
}

pub(super) fn run(arguments: &RehearseArguments) -> u8 {
    rehearsed(arguments).unwrap_or_else(|code| code)
}

fn rehearsed(arguments: &RehearseArguments) -> Result<u8, u8> {
    let format = arguments.message_format;
    let fail = |sentence: String| report::fail(&sentence, format);
    let folders = folders(&arguments.folder);
    if folders.is_empty() {
        return Err(fail(format!(
            "`{}` holds no `operations.json`, so nothing that was built",
            arguments.folder.display()
        )));
    }
    let is_png = |path: &PathBuf| path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("png"));
    if let Some(path) = arguments.picture.as_ref().filter(|path| !is_png(path)) {
        return Err(fail(format!("`{}` is no picture that can be drawn: end its name in .png", path.display())));
    }
    let threads = std::thread::available_parallelism().unwrap_or(NonZeroUsize::MIN);
    let mut all = Vec::new();
    for folder in &folders {
        let read = read(folder).map_err(fail)?;
        let found = rehearse(&read, threads, arguments.picture.is_some())
            .map_err(|why| fail(format!("{}: {why}", folder.display())))?;
        let written = match (&arguments.picture, &found.picture) {
            (Some(path), Some(picture)) => {
                let path = if folders.len() > 1 { beside(path, folder) } else { path.clone() };
                put(&path, picture)
                    .map_err(|error| fail(format!("`{}` cannot be written: {error}", path.display())))?;
                Some(path)
            }
            _ => None,
        };
        if format == MessageFormat::Text {
            print(folder, &found);
            written.iter().for_each(|path| println!("written    {}", path.display()));
        }
        all.push((folder, found));
    }
    if format == MessageFormat::Json {
        report::json(
            &json!({ "folders": all.iter().map(|(folder, found)| as_json(folder, found)).collect::<Vec<Value>>() }),
        );
    }
    Ok(if all.iter().all(|(_, found)| found.remarks.is_empty()) { FINE } else { FINDINGS })
}

/// The folder itself, or those in it that hold a list: the variants of a family.
fn folders(folder: &Path) -> Vec<PathBuf> {
    if folder.join("operations.json").is_file() {
        return vec![folder.to_path_buf()];
    }
    let within = std::fs::read_dir(folder).into_iter().flatten().flatten().map(|entry| entry.path());
    let mut folders: Vec<PathBuf> = within.filter(|path| path.join("operations.json").is_file()).collect();
    folders.sort();
    folders
}

/// The name of one of several pictures: that of the variant goes before its ending.
fn beside(picture: &Path, folder: &Path) -> PathBuf {
    let part =
        |part: Option<&std::ffi::OsStr>| part.map(|part| part.to_string_lossy().into_owned()).unwrap_or_default();
    picture.with_file_name(format!("{}-{}.png", part(picture.file_stem()), part(folder.file_name())))
}

/// The list and the drawings of a folder.
fn read(folder: &Path) -> Result<Folder, String> {
    let (project, list, _) = DiskProject::of(&folder.join("operations.json"));
    let file = |name: &str| {
        let failed = |why: String| format!("`{}` cannot be read: {why}", folder.join(name).display());
        project.read(name, LARGEST).map_err(|problem| failed(format!("{problem:?}")))
    };
    let text = String::from_utf8(file(&list)?).map_err(|_| "`operations.json` is no text".to_owned())?;
    let mut drawings = BTreeMap::new();
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        if name.starts_with("board-") && name.ends_with(".svg") {
            drawings.insert(name.clone(), file(&name)?);
        }
    }
    Ok(Folder { list: text, drawings })
}

fn print(folder: &Path, found: &Rehearsal) {
    println!("{}", found.dial);
    println!("read       {}", folder.display());
    println!("burnt      {}; {} put together", counted(found.parts, "part"), counted(found.dials, "dial"));
    if !found.stops.is_empty() {
        let of = |reads: Reads| found.stops.iter().filter(|stop| stop.reads == reads).count();
        println!(
            "stops      {} read right, {} wrong, {} too near to tell from pixels",
            of(Reads::Right),
            of(Reads::Wrong),
            of(Reads::Close)
        );
    }
    for left in &found.left {
        let asked = format!("{} asked", mm(left.least_web));
        let web = match left.web {
            Some(web) => format!("{} ± {}, {asked}", mm(web), mm(left.web_within)),
            None => format!("none thinner than the {asked}"),
        };
        let floor = left.floor.map(|floor| format!("; floors {}, {} asked", mm(floor), mm(left.least_floor)));
        println!("left       {}: walls {web}{}", left.layer, floor.unwrap_or_default());
    }
    if let Some(least) = found.slots.iter().min_by(|a, b| a.room.total_cmp(&b.room)) {
        println!("slot       {} ± {} of room at least", mm(least.room), mm(least.within));
    }
    if !found.says_what_was_meant {
        println!("meant      not told: the list is of version 1");
    }
    for remark in &found.remarks {
        println!("{:<10} {}: {}", remark.kind.name(), remark.place, remark.says);
    }
    let verdict = match found.remarks.len() {
        0 => "all that was looked at is as it was meant".to_owned(),
        count => format!(
            "{} not as it was meant",
            if count == 1 { "1 thing is".to_owned() } else { format!("{count} things are") }
        ),
    };
    println!("verdict    {verdict}");
}

fn mm(value: f64) -> String {
    format!("{}mm", plain(value, 2))
}

fn as_json(folder: &Path, found: &Rehearsal) -> Value {
    let stops = found.stops.iter().map(|stop| {
        let reads = match stop.reads {
            Reads::Right => "right",
            Reads::Wrong => "wrong",
            Reads::Close => "close",
        };
        json!({ "ring": stop.ring, "stops": stop.at, "due": stop.due, "reads": reads, "covered": stop.covered, "others": stop.others })
    });
    let left = found.left.iter().map(|left| {
        json!({
            "layer": left.layer,
            "web_mm": left.web,
            "web_plus_minus_mm": left.web_within,
            "least_web_mm": left.least_web,
            "floor_mm": left.floor,
            "least_floor_mm": left.least_floor,
        })
    });
    let slots = found.slots.iter();
    let slots =
        slots.map(|slot| json!({ "room_mm": slot.room, "room_plus_minus_mm": slot.within, "said_mm": slot.said }));
    json!({
        "folder": folder.display().to_string(),
        "dial": found.dial,
        "parts": found.parts,
        "dials": found.dials,
        "says_what_was_meant": found.says_what_was_meant,
        "stops": stops.collect::<Vec<Value>>(),
        "left": left.collect::<Vec<Value>>(),
        "slots": slots.collect::<Vec<Value>>(),
        "remarks": found.remarks,
        "as_meant": found.remarks.is_empty(),
    })
}
