//! `diary`: what was measured of several runs, side by side.

use std::path::PathBuf;

use clap::Args;

use super::disk::whole;
use super::picture::Picture;
use super::{FINDINGS, FINE, MessageFormat, report};
use crate::limits::SCANS;
use crate::scan::{Diary, FORMAT, Measured, VERSION, diary, diary_sheet};
use crate::units::plain;

/// Bytes of one file that are read.
const LARGEST: usize = 64 * 1024 * 1024;

#[derive(Debug, Args)]
pub(super) struct DiaryArguments {
    /// The `measured.json` of each run, in the order that they were made in
    #[arg(required = true)]
    runs: Vec<PathBuf>,
    /// Draws the charts into this file, .svg or .png
    #[arg(long, value_name = "FILE")]
    picture: Option<PathBuf>,
    /// How messages are printed
    #[arg(long, value_enum, default_value_t = MessageFormat::Text)]
    message_format: MessageFormat,
}

pub(super) fn run(arguments: &DiaryArguments) -> u8 {
    told(arguments).unwrap_or_else(|code| code)
}

fn told(arguments: &DiaryArguments) -> Result<u8, u8> {
    let format = arguments.message_format;
    let fail = |sentence: String| report::fail(&sentence, format);
    if arguments.runs.len() > SCANS {
        return Err(fail(format!("{} runs are given, and {SCANS} are allowed", arguments.runs.len())));
    }
    let picture = arguments.picture.as_deref().map(Picture::named).transpose().map_err(fail)?;
    let mut runs = Vec::new();
    for path in &arguments.runs {
        let shown = path.display().to_string();
        let bytes = whole(path, LARGEST, "a run that was measured").map_err(fail)?;
        let run: Measured = serde_json::from_slice(&bytes)
            .map_err(|error| fail(format!("`{shown}` is no `measured.json`: {error}")))?;
        if run.format != FORMAT || run.version != VERSION {
            return Err(fail(format!(
                "`{shown}` is of the form `{}`, version {}; version {VERSION} of `{FORMAT}` is read",
                run.format, run.version
            )));
        }
        runs.push((name(path), run));
    }
    let diary = diary(&runs);
    let drawn = picture.map(|picture| picture.write(diary_sheet(&diary))).transpose().map_err(fail)?;
    match format {
        MessageFormat::Json => {
            let Diary { lines, charts, says } = &diary;
            report::json(&serde_json::json!({ "version": VERSION, "lines": lines, "charts": charts, "says": says }));
        }
        MessageFormat::Text => {
            print(&diary);
            drawn.iter().for_each(|path| println!("written    {}", path.display()));
        }
    }
    Ok(if diary.charts.iter().any(|chart| chart.burn_anew) { FINDINGS } else { FINE })
}

/// A run is called after its folder where files are all called alike, else after its file.
fn name(path: &std::path::Path) -> String {
    let part = |part: Option<&std::ffi::OsStr>| part.map(|part| part.to_string_lossy().into_owned());
    let stem = part(path.file_stem()).unwrap_or_default();
    if stem != "measured" {
        return stem;
    }
    part(path.parent().and_then(std::path::Path::file_name)).unwrap_or(stem)
}

fn print(diary: &Diary) {
    for chart in &diary.charts {
        println!("kerf in {}, mm", chart.stock);
        for line in diary.lines.iter().filter(|line| line.stock == chart.stock) {
            let half = line.plus_minus_mm.map_or_else(String::new, |half| format!(" ± {}", plain(half, 3)));
            let limits = line.by_parts_mm.map_or_else(String::new, |[low, high]| {
                format!("; {} to {} by its parts alone", plain(low, 3), plain(high, 3))
            });
            let proven = if line.proven { "" } else { "; edge unproven" };
            println!("  {:<20} {}{half} of {} parts{limits}{proven}", line.run, plain(line.mean_mm, 3), line.count);
        }
        let limits = chart.by_runs_mm.map_or_else(
            || "limits want two runs or more".to_owned(),
            |[low, high]| format!("runs among themselves lie between {} and {}", plain(low, 3), plain(high, 3)),
        );
        println!("  middle {}; {limits}", plain(chart.middle_mm, 3));
    }
    diary.says.iter().for_each(|line| println!("found      {line}"));
    let unproven = diary.lines.iter().any(|line| !line.proven);
    if unproven {
        println!(
            "edge       of runs without a calliper's reading only what differs between them counts, on one scanner"
        );
    }
    if diary.charts.iter().all(|chart| !chart.burn_anew) {
        println!("verdict    no run differs by more than chance: the coupon still holds");
    }
}
