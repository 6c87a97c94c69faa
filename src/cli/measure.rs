//! `measure`: finished parts on a scanner, against what they were meant to be.

use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::json;

use super::coupon::read_workshop;
use super::disk::{put, whole};
use super::picture::Picture;
use super::{FINDINGS, FINE, MessageFormat, length, mend, report};
use crate::coupon::Workshop;
use crate::diagnostics::{Severity, counted};
use crate::limits::{SCAN_FILE_BYTES, SCANS};
use crate::rehearsal::meant;
use crate::scan::{
    Away, EdgeBy, FORMAT, Known, Measured, PartTold, Run, ScanFile, Spread, block, edits, measure, sheet,
};
use crate::units::plain;

/// Bytes of an operation list that are read.
const LARGEST_LIST: usize = 256 * 1024 * 1024;

#[derive(Debug, Args)]
pub(super) struct MeasureArguments {
    /// A folder that `build` wrote: what the parts were meant to be
    folder: PathBuf,
    /// Scans of its parts, PNG, JPEG or TIFF, at 300 or 600 dots to the inch
    #[arg(required = true)]
    scans: Vec<PathBuf>,
    /// A calliper's reading of one part, as the picture numbers it: its least width between two jaws, as in `--known 3=59.93mm`
    #[arg(long, value_name = "PART=WIDTH", value_parser = known)]
    known: Option<Known>,
    /// Where all figures go; by default `measured.json` beside the first scan
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Draws every part with its deviations fifty times as large into this file, .svg or .png
    #[arg(long, value_name = "FILE")]
    picture: Option<PathBuf>,
    /// A shop file whose other fields the printed block carries over
    #[arg(long, value_name = "FILE", conflicts_with = "write")]
    shop: Option<PathBuf>,
    /// Puts the kerf (with `--known`) and the spreads into this shop file
    #[arg(long, value_name = "FILE")]
    write: Option<PathBuf>,
    /// How messages are printed
    #[arg(long, value_enum, default_value_t = MessageFormat::Text)]
    message_format: MessageFormat,
}

fn known(text: &str) -> Result<Known, String> {
    let wanted = || "write the part's number and its width, for instance 3=59.93mm".to_owned();
    let (part, width) = text.split_once('=').ok_or_else(wanted)?;
    let part = part.trim().parse().map_err(|_| wanted())?;
    Ok(Known { part, width: length(width.trim())?.as_mm() })
}

pub(super) fn run(arguments: &MeasureArguments) -> u8 {
    measured(arguments).unwrap_or_else(|code| code)
}

fn measured(arguments: &MeasureArguments) -> Result<u8, u8> {
    let format = arguments.message_format;
    let fail = |sentence: String| report::fail(&sentence, format);
    if arguments.scans.len() > SCANS {
        return Err(fail(format!("{} scans are given, and {SCANS} are allowed", arguments.scans.len())));
    }
    let picture = arguments.picture.as_deref().map(Picture::named).transpose().map_err(fail)?;
    let list = whole(&arguments.folder.join("operations.json"), LARGEST_LIST, "a list of operations").map_err(fail)?;
    let list = String::from_utf8(list).map_err(|_| fail("`operations.json` is no text".to_owned()))?;
    let meant = meant(&list).map_err(fail)?;
    let out = arguments.out.clone().unwrap_or_else(|| beside(&arguments.scans));
    replaceable(&out).map_err(fail)?;
    let workshop = arguments.shop.as_deref().or(arguments.write.as_deref());
    let workshop = workshop.map(|file| workshop_of(file, format)).transpose()?;
    let mut scans = Vec::new();
    for path in &arguments.scans {
        let bytes = whole(path, SCAN_FILE_BYTES, "a scan").map_err(fail)?;
        scans.push(ScanFile { name: path.display().to_string(), bytes });
    }
    let run = measure(&meant, &scans, arguments.known).map_err(fail)?;
    let text = serde_json::to_string_pretty(&run.measured).map_err(|error| fail(error.to_string()))?;
    let unwritable = |path: &Path, why: String| fail(format!("`{}` cannot be written: {why}", path.display()));
    // The figures last: whoever finds them knows that all else was written.
    let drawn = picture.map(|picture| picture.write(sheet(&run, &meant))).transpose().map_err(fail)?;
    let put_in = arguments.write.as_deref().zip(workshop.as_ref());
    let put_in = put_in.map(|(file, shop)| written(&run.measured, shop, file)).transpose().map_err(fail)?;
    put(&out, format!("{text}\n").as_bytes()).map_err(|error| unwritable(&out, error.to_string()))?;
    tell(arguments, &run, workshop.as_ref(), (&out, drawn, put_in));
    Ok(if run.measured.remarks.iter().any(|it| !it.kind.is_note()) { FINDINGS } else { FINE })
}

fn beside(scans: &[PathBuf]) -> PathBuf {
    scans.first().map_or_else(|| PathBuf::from("measured.json"), |scan| scan.with_file_name("measured.json"))
}

/// Only a file of ours is written over.
fn replaceable(out: &Path) -> Result<(), String> {
    match std::fs::read(out) {
        Ok(old) if serde_json::from_slice::<Measured>(&old).is_ok_and(|it| it.format == FORMAT) => Ok(()),
        Ok(_) => Err(format!("`{}` is no file of ours: move it away, or name another with `--out`", out.display())),
        Err(_) => Ok(()),
    }
}

fn workshop_of(file: &Path, format: MessageFormat) -> Result<Workshop, u8> {
    let workshop = read_workshop(Some(file)).map_err(|sentence| report::fail(&sentence, format))?;
    if workshop.findings.iter().any(|found| found.severity == Severity::Error) {
        report::some_findings(&workshop.findings, &workshop.sources);
        return Err(report::fail(&format!("mend the errors of `{}` first", file.display()), format));
    }
    Ok(workshop)
}

fn written(measured: &Measured, shop: &Workshop, file: &Path) -> Result<String, String> {
    mend::make(edits(measured, shop)?, &shop.sources, file)?;
    Ok(file.display().to_string())
}

fn tell(
    arguments: &MeasureArguments,
    run: &Run,
    workshop: Option<&Workshop>,
    (out, drawn, put_in): (&Path, Option<&Path>, Option<String>),
) {
    let measured = &run.measured;
    let block = block(measured, workshop);
    if arguments.message_format == MessageFormat::Json {
        let written = [Some(out.display().to_string()), drawn.map(|path| path.display().to_string()), put_in];
        let written: Vec<String> = written.into_iter().flatten().collect();
        return report::json(&json!({ "measured": measured, "block": block, "written": written }));
    }
    println!("{}", measured.dial);
    println!("read       {}, {}", counted(measured.scans.len(), "scan"), counted(measured.parts.len(), "part"));
    measured.parts.iter().for_each(print_part);
    for stock in &measured.stocks {
        println!("kerf       {}: {}; its tool paths allow for {}", stock.stock, spread(&stock.kerf), mm(stock.used_mm));
    }
    let off = [("openings", &measured.openings), ("pockets", &measured.pockets), ("marks", &measured.marks)];
    for (what, it) in off {
        it.iter().for_each(|it| println!("{what:<10} {} off their places", spread(it)));
    }
    measured.readings.iter().for_each(|it| println!("reads      {}", it.in_words()));
    let edge = match measured.edge {
        EdgeBy::Calliper => "proven by a calliper: the mean kerf is sure to 0.03 mm",
        EdgeBy::Scan if measured.parts.is_empty() => "nothing was measured",
        EdgeBy::Scan => "relative to the scale of your laser, unproven: read one part by calliper, and give `--known`",
    };
    println!("edge       {edge}");
    for remark in &measured.remarks {
        println!("{:<10} {}: {}; {}", remark.kind.name(), remark.place, remark.says, remark.help);
    }
    println!("written    {}", out.display());
    drawn.iter().for_each(|path| println!("written    {}", path.display()));
    put_in.iter().for_each(|path| println!("written    {path}"));
    if put_in.is_none() && !measured.parts.is_empty() {
        println!();
        print!("{block}");
    }
}

fn mm(value: f64) -> String {
    format!("{}mm", plain(value, 3))
}

fn spread(it: &Spread) -> String {
    let mean =
        format!("{}{}", mm(it.mean_mm), it.plus_minus_mm.map_or_else(String::new, |half| format!(" ± {}", mm(half))));
    let deviation = it.deviation_mm.map(|deviation| {
        let from_to = it.deviation_from_to_mm.map(|[low, high]| format!(" ({} to {})", mm(low), mm(high)));
        format!(", spread {}{}", mm(deviation), from_to.unwrap_or_default())
    });
    format!("{mean}{} of {}", deviation.unwrap_or_default(), it.count)
}

fn print_part(part: &PartTold) {
    let away = |it: &Option<Away>| {
        it.map_or_else(|| "?".to_owned(), |it| format!("{} ± {}", plain(it.is, 3), plain(it.plus_minus, 3)))
    };
    println!(
        "part {:<5} {} of `{}`: kerf {} ± {}",
        part.number,
        part.face,
        part.layer,
        plain(part.kerf_mm, 3),
        plain(part.kerf_plus_minus_mm, 3)
    );
    for work in &part.works {
        let [first, second] = &work.off;
        let (one, other) = if work.axes == "right-up" { ("right", "up") } else { ("out", "clockwise") };
        let turned = work
            .turned_deg
            .map_or_else(String::new, |it| format!(", turned {}° ± {}", plain(it.is, 2), plain(it.plus_minus, 2)));
        let growth = work
            .growth_mm
            .map_or_else(String::new, |it| format!(", grown {} ± {}", plain(it.is, 3), plain(it.plus_minus, 3)));
        let tone = work.tone.map_or_else(String::new, |tone| {
            let meant = tone.contrast_meant.map_or_else(String::new, |meant| format!(" ({} meant)", plain(meant, 2)));
            format!(", contrast {} ± {}{meant}", plain(tone.contrast.is, 2), plain(tone.contrast.plus_minus, 2))
        });
        println!(
            "           {} `{}`: {one} {}, {other} {}{turned}{growth}{tone}",
            work.kind,
            work.name,
            away(first),
            away(second)
        );
    }
}
