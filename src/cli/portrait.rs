//! `portrait`: the finished dial in its material, still or turning.

use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum, value_parser};

use super::disk::put;
use super::{DesignArguments, FINDINGS, MessageFormat, report};
use crate::analysis::Analysis;
use crate::design::{Design, Face};
use crate::plan::Effort;
use crate::portrait::{Portrait, SIZES, Turning, View, gif, moving, portrait};

#[derive(Debug, Args)]
pub(super) struct PortraitArguments {
    #[command(flatten)]
    design: DesignArguments,
    /// Where the picture is written: a .png or .jpg of one stop, or a .gif or .svg that turns through all stops
    #[arg(long, value_name = "PICTURE")]
    out: PathBuf,
    /// The stop that is shown, counted from 1; of several turns one for each, lowest first, as in `--stop 3,7`
    #[arg(long, value_name = "STOPS", value_delimiter = ',', value_parser = value_parser!(u32).range(1..))]
    stop: Vec<u32>,
    /// From where the dial is seen; from aside where nothing is said, and from the front where it turns
    #[arg(long, value_enum)]
    view: Option<Seen>,
    /// Length of the longer side in pixels, from 16 to 4000: 1600 where nothing is said, and 560 where it turns
    #[arg(long, value_name = "PIXELS", value_parser = value_parser!(u32).range(i64::from(*SIZES.start())..=i64::from(*SIZES.end())))]
    size: Option<u32>,
    /// Leaves the ground out, all but the shadow on it; for a .png
    #[arg(long)]
    clear_ground: bool,
}

/// From where a dial is seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Seen {
    /// Straight on, at true scale
    Front,
    /// Straight from behind, at true scale
    Back,
    /// From aside, with perspective
    Quarter,
}

/// Length of the longer side of a still picture and of a turning one, where nothing is said.
const STILL: u32 = 1600;
const TURNING: u32 = 560;

/// The forms of a picture, by the ending of its name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Form {
    Png,
    Jpeg,
    Gif,
    Svg,
}

impl Form {
    fn named(path: &Path) -> Result<Self, String> {
        let ending = path.extension().map(|ending| ending.to_ascii_lowercase());
        match ending.as_ref().and_then(|ending| ending.to_str()) {
            Some("png") => Ok(Self::Png),
            Some("jpg" | "jpeg") => Ok(Self::Jpeg),
            Some("gif") => Ok(Self::Gif),
            Some("svg") => Ok(Self::Svg),
            _ => Err(format!(
                "`{}` is no picture that can be drawn: end its name in .png or .jpg, or in .gif or .svg for one that turns",
                path.display()
            )),
        }
    }

    /// Whether it shows the dial turning.
    fn turns(self) -> bool {
        matches!(self, Self::Gif | Self::Svg)
    }
}

pub(super) fn run(arguments: &PortraitArguments) -> u8 {
    drawn(arguments).unwrap_or_else(|code| code)
}

fn drawn(arguments: &PortraitArguments) -> Result<u8, u8> {
    let format = arguments.design.asked.message_format;
    let fail = |sentence: String| report::fail(&sentence, format);
    let form = form(arguments).map_err(fail)?;
    // No layout is shown, so none is searched for.
    let analysis = report::analysed_with(&arguments.design, Effort(0))?;
    let Some(design) = only(&analysis).map_err(fail)? else {
        told(&analysis, None, format);
        return Ok(FINDINGS);
    };
    let stops = stops(design, &arguments.stop).map_err(fail)?;
    let failed = |why: String| fail(format!("`{}` cannot be written: {why}", arguments.out.display()));
    let bytes = bytes(design, arguments, stops, form).map_err(failed)?;
    put(&arguments.out, &bytes).map_err(|error| failed(error.to_string()))?;
    told(&analysis, Some(&arguments.out), format);
    Ok(report::code(&analysis))
}

/// The form that is asked for, if it can have all else that is asked for.
fn form(arguments: &PortraitArguments) -> Result<Form, String> {
    let form = Form::named(&arguments.out)?;
    let asked = |words: &str, instead: &str| Err(format!("{words}: end the picture's name in {instead}"));
    if arguments.clear_ground && form != Form::Png {
        return asked("only a .png has a clear ground", ".png");
    }
    if form.turns() && !arguments.stop.is_empty() {
        return asked("a picture that turns shows every stop, so `--stop` has no place there", ".png or .jpg");
    }
    if form.turns() && arguments.view == Some(Seen::Quarter) {
        return asked("a dial that turns is seen from the front or the back", ".png or .jpg");
    }
    Ok(form)
}

/// The picture, as a file holds it.
fn bytes(design: &Design, arguments: &PortraitArguments, stops: Vec<usize>, form: Form) -> Result<Vec<u8>, String> {
    let threads = std::thread::available_parallelism().unwrap_or(NonZeroUsize::MIN);
    let face = if arguments.view == Some(Seen::Back) { Face::Back } else { Face::Front };
    let turning = Turning { face, size: arguments.size.unwrap_or(TURNING) };
    let view = match arguments.view {
        Some(Seen::Front) => View::Front,
        Some(Seen::Back) => View::Back,
        Some(Seen::Quarter) | None => View::Quarter,
    };
    let still = Portrait { view, stops, size: arguments.size.unwrap_or(STILL), clear_ground: arguments.clear_ground };
    match form {
        Form::Png => portrait(design, &still, threads).png(),
        Form::Jpeg => portrait(design, &still, threads).jpeg(),
        Form::Gif => gif(design, &turning, threads),
        Form::Svg => moving(design, &turning, threads).map(String::into_bytes),
    }
}

/// The one dial that is drawn; none where something is wrong with its design.
fn only(analysis: &Analysis) -> Result<Option<&Design>, String> {
    match analysis.dials.as_slice() {
        [] => Ok(None),
        [dial] => Ok(Some(&dial.design)),
        [first, ..] => {
            let count = analysis.dials.len();
            let example = first.design.variant.as_deref().unwrap_or_default();
            Err(format!("a picture shows one dial, and this file has {count}: say which, as in `--variant {example}`"))
        }
    }
}

/// The stops that are shown, counted from 0.
fn stops(design: &Design, asked: &[u32]) -> Result<Vec<usize>, String> {
    let turns: Vec<usize> = design.turns().map(|(_, turn)| turn.stops.len()).collect();
    if asked.len() > turns.len() {
        let turns = crate::diagnostics::counted(turns.len(), "turn");
        return Err(format!("`--stop` names {} stops, and `{}` has {turns}", asked.len(), design.title));
    }
    let one = |(at, (stop, count)): (usize, (&u32, &usize))| match *stop as usize {
        stop if stop <= *count => Ok(stop.saturating_sub(1)),
        stop => Err(format!("there is no stop {stop}: turn {} of `{}` has {count} stops", at + 1, design.title)),
    };
    asked.iter().zip(&turns).enumerate().map(one).collect()
}

fn told(analysis: &Analysis, written: Option<&Path>, format: MessageFormat) {
    match format {
        MessageFormat::Json => report::json(&report::as_json(analysis)),
        MessageFormat::Text => {
            report::findings(analysis);
            report::verdict(&analysis.verdict);
            written.iter().for_each(|path| println!("written    {}", path.display()));
        }
    }
}
