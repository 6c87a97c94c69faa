//! `audit-art`: a picture or drawing by itself, before and after.

use std::path::PathBuf;

use clap::Args;
use comfy_table::{CellAlignment, ContentArrangement, Table, presets};
use kurbo::Point;
use serde_json::{Value, json};

use super::disk::whole;
use super::picture::Picture;
use super::report::rounded;
use super::{FINDINGS, FINE, MessageFormat, length, report, terminal};
use crate::artwork::{Art, ArtError, Preview, Scan, Wanted, art, preview};
use crate::audit::strength::{Narrow, finest_of, finest_places};
use crate::check::findings::{artwork as say_art, values as say};
use crate::design::hex;
use crate::diagnostics::{Diagnostic, counted};
use crate::limits::ART_BYTES;
use crate::output::artwork::{Marked, sheet};
use crate::source::{Sources, Span};
use crate::units::{Length, plain};

/// Strokes and gaps wider than this are of no concern to any stock.
const COARSE: Length = Length::mm(2.0);

/// Cells to the longer side of a preview.
const CELLS: usize = 700;

#[derive(Debug, Args)]
pub(super) struct AuditArtArguments {
    /// The picture or drawing: PNG, JPEG, BMP, WebP or SVG
    file: PathBuf,
    /// Looks at one element of a drawing, given by its id
    #[arg(long, value_name = "ID")]
    part: Option<String>,
    /// Looks at what has this colour in a picture, as in `--tone '#204080'`
    #[arg(long, value_name = "COLOUR", value_parser = colour, conflicts_with = "threshold")]
    tone: Option<[u8; 3]>,
    /// Burns what is at least this dark, as in `--threshold 60%`
    #[arg(long, value_name = "SHARE", value_parser = share)]
    threshold: Option<f64>,
    /// Looks at it at this height, as in `--height 12mm`
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    height: Option<Length>,
    /// Draws it before and after into this file, an .svg or a .png
    #[arg(long, value_name = "FILE")]
    picture: Option<PathBuf>,
    /// How the result is printed
    #[arg(long, value_enum, default_value_t = MessageFormat::Text)]
    message_format: MessageFormat,
}

fn colour(text: &str) -> Result<[u8; 3], String> {
    let digits = text.strip_prefix('#').filter(|digits| digits.len() == 6);
    let value = digits.and_then(|digits| u32::from_str_radix(digits, 16).ok());
    let [_, r, g, b] = value.ok_or("write a colour as # and six hex digits, for instance '#204080'")?.to_be_bytes();
    Ok([r, g, b])
}

fn share(text: &str) -> Result<f64, String> {
    let percent = text.strip_suffix('%').and_then(|digits| digits.trim().parse::<f64>().ok());
    percent
        .map(|percent| percent / 100.0)
        .filter(|share| *share > 0.0 && *share < 1.0)
        .ok_or_else(|| "write a share between 0% (white) and 100% (black), for instance 60%".to_owned())
}

/// A picture as it came, and at the size asked for.
struct Looked {
    art: Art,
    sized: Art,
    preview: Preview,
}

impl Looked {
    /// What is told beside the drawing of what is burnt, at the size asked for, and where it is as it came.
    fn marked(&self) -> Marked {
        let bounds = |art: &Art| art.ink.bounds().unwrap_or_default();
        let (from, to) = (bounds(&self.sized), bounds(&self.art));
        let ratio = if from.height() > 0.0 { to.height() / from.height() } else { 1.0 };
        let placed = |at: Point| to.origin() + (at - from.origin()) * ratio;
        let (stroke, gap) = finest_places(&self.sized.ink, COARSE);
        let told = |what: &str, (wide, (one, other)): Narrow| (format!("{what} {wide}"), (placed(one), placed(other)));
        Marked {
            size: self.sized.ink.bounds().map(|bounds| mm(bounds.width(), bounds.height())).unwrap_or_default(),
            finest: [stroke.map(|it| told("stroke", it)), gap.map(|it| told("gap", it))]
                .into_iter()
                .flatten()
                .collect(),
        }
    }
}

fn looked(bytes: &[u8], wanted: &Wanted, height: Option<Length>) -> Result<Looked, ArtError> {
    let art = art(bytes, wanted)?;
    let sized = height.map_or_else(|| Ok(art.clone()), |height| art.scaled_to_height(height.as_mm()))?;
    Ok(Looked { preview: preview(bytes, CELLS)?, art, sized })
}

pub(super) fn run(arguments: &AuditArtArguments) -> u8 {
    audited(arguments).unwrap_or_else(|code| code)
}

fn audited(arguments: &AuditArtArguments) -> Result<u8, u8> {
    let format = arguments.message_format;
    let fail = |sentence: String| report::fail(&sentence, format);
    let picture = arguments.picture.as_deref().map(Picture::named).transpose().map_err(fail)?;
    let bytes = whole(&arguments.file, ART_BYTES, "artwork").map_err(fail)?;
    let name = arguments.file.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let wanted = Wanted { part: arguments.part.clone(), tone: arguments.tone, threshold: arguments.threshold };
    let read = looked(&bytes, &wanted, arguments.height);
    let findings = findings(&name, &read, &wanted);
    let written = match (picture, &read) {
        (Some(picture), Ok(looked)) => {
            let drawn = sheet(&name, &looked.preview, &looked.art, &looked.marked());
            Some(picture.write(drawn).map_err(fail)?)
        }
        _ => None,
    };
    match (format, &read) {
        (MessageFormat::Json, read) => report::json(&as_json(&name, read.as_ref().ok(), &findings)),
        (MessageFormat::Text, read) => {
            report::some_findings(&findings, &Sources::default());
            if let Ok(looked) = read {
                print_art(&name, looked);
                burnt_told(&looked.sized);
            }
            written.iter().for_each(|path| println!("written    {}", path.display()));
        }
    }
    Ok(if findings.iter().any(Diagnostic::stands) { FINDINGS } else { FINE })
}

/// Why a drawing or picture cannot be used.
pub(super) fn refused(name: &str, error: &ArtError) -> String {
    let nowhere = Span::new(Sources::default().add(name, String::new()), 0..0);
    say::bad_artwork(name, error, nowhere, None).message
}

/// What a design that used this artwork would be told, without places: there is no text that asked for it.
fn findings(name: &str, read: &Result<Looked, ArtError>, wanted: &Wanted) -> Vec<Diagnostic> {
    let nowhere = Span::new(Sources::default().add(name, String::new()), 0..0);
    let mut found = match read {
        Err(error) => vec![say::bad_artwork(name, error, nowhere, None)],
        Ok(Looked { art, .. }) => {
            let dropped = (!art.dropped.is_empty()).then(|| say::art_dropped(name, &art.dropped, nowhere));
            let scan = art.scan.iter().flat_map(|scan| say_art::of_scan(name, scan, wanted, nowhere));
            dropped.into_iter().chain(say_art::off_page(name, art, nowhere)).chain(scan).collect()
        }
    };
    found.iter_mut().for_each(|finding| finding.labels.clear());
    found
}

/// Contours round ink, and round holes in it.
fn pieces_and_holes(art: &Art) -> (usize, usize) {
    let contours = art.ink.contours();
    let pieces = contours.iter().filter(|contour| kurbo::Shape::area(*contour) > 0.0).count();
    (pieces, contours.len() - pieces)
}

fn percent(share: f64) -> String {
    format!("{:.2}", 100.0 * share)
}

fn mm(width: f64, height: f64) -> String {
    format!("{}mm by {}mm", plain(width, 2), plain(height, 2))
}

fn print_art(name: &str, Looked { art, preview, .. }: &Looked) {
    let size = mm(preview.page.width(), preview.page.height());
    match &art.scan {
        Some(scan) => {
            println!("{name}: a {} picture of {} by {} pixels", scan.kind, scan.pixels.0, scan.pixels.1);
            let why =
                if scan.size_stated { "as the file states" } else { "at 96 pixels to the inch: the file states none" };
            println!("\nsize       {size}, {why}");
            table_of(scan);
        }
        None => {
            println!("{name}: an SVG drawing\n\nsize       {size}");
            let colours: Vec<String> = art.colours.iter().map(|colour| hex(*colour)).collect();
            println!("paints     {}", colours.join(", "));
        }
    }
}

/// What is burnt, at the size asked for.
fn burnt_told(art: &Art) {
    let (pieces, holes) = pieces_and_holes(art);
    let burnt = art.ink.bounds().map(|bounds| mm(bounds.width(), bounds.height())).unwrap_or_default();
    println!(
        "burnt      {burnt}, {}mm² in {} with {}",
        plain(art.ink.area(), 1),
        counted(pieces, "piece"),
        counted(holes, "hole")
    );
    let (stroke, gap) = finest_of(&art.ink, COARSE);
    let figure = |finest: Option<Length>| finest.map_or_else(|| format!("over {COARSE}"), |finest| finest.to_string());
    println!("finest     stroke {}, gap {}", figure(stroke), figure(gap));
    println!(
        "outline    {}",
        counted(art.ink.segment_count(), "line or curve").replace("line or curves", "lines and curves")
    );
}

fn table_of(scan: &Scan) {
    let mut table = Table::new();
    table.load_preset(presets::NOTHING).set_content_arrangement(ContentArrangement::Disabled);
    table.set_header(["tone", "pixels\n%", ""]);
    for tone in &scan.tones {
        let fate = if scan.is_mark(tone.colour) { "burnt" } else { "left bare" };
        table.add_row([hex(tone.colour), percent(tone.share), fate.to_owned()]);
    }
    table.add_row(["edges".to_owned(), percent(scan.edges), "mixed from two tones beside them".to_owned()]);
    table.add_row(["strays".to_owned(), percent(scan.strays), "of no tone".to_owned()]);
    if let Some(column) = table.column_mut(1) {
        column.set_cell_alignment(CellAlignment::Right);
    }
    println!();
    terminal::table(&table).iter().for_each(|line| println!("{line}"));
    println!();
    for place in &scan.places {
        let (left, right, top, bottom) = (place.left, place.right, place.top, place.bottom);
        println!("strays     {} px, {left} to {right} from the left and {top} to {bottom} from the top", place.strays);
    }
    if scan.softened {
        println!("noise      {} levels of 255, smoothed before tracing", plain(scan.noise, 1));
    }
    if scan.specks + scan.pinholes > 0 {
        println!("left out   {} and {}", counted(scan.specks, "speck"), counted(scan.pinholes, "pinhole"));
    }
}

fn as_json(name: &str, read: Option<&Looked>, findings: &[Diagnostic]) -> Value {
    let art = read.map(|Looked { art, sized, preview }| {
        let (pieces, holes) = pieces_and_holes(art);
        let burnt = sized.ink.bounds();
        let (stroke, gap) = finest_of(&sized.ink, COARSE);
        json!({
            "file": name,
            "width_mm": rounded(preview.page.width()),
            "height_mm": rounded(preview.page.height()),
            "burnt_width_mm": burnt.map(|bounds| rounded(bounds.width())),
            "burnt_height_mm": burnt.map(|bounds| rounded(bounds.height())),
            "burnt_mm2": rounded(sized.ink.area()),
            "finest_stroke_mm": stroke.map(|stroke| rounded(stroke.as_mm())),
            "finest_gap_mm": gap.map(|gap| rounded(gap.as_mm())),
            "pieces": pieces,
            "holes": holes,
            "colours": art.colours.iter().map(|colour| hex(*colour)).collect::<Vec<String>>(),
            "dropped": art.dropped.iter().map(ToString::to_string).collect::<Vec<String>>(),
            "pixels": art.scan.as_ref().map(scan_json),
        })
    });
    json!({
        "findings": crate::diagnostics::as_json(findings, &Sources::default()),
        "standing": findings.iter().filter(|finding| finding.stands()).count(),
        "artwork": art,
    })
}

fn scan_json(scan: &Scan) -> Value {
    let tones = scan.tones.iter().map(|tone| {
        let burnt = scan.is_mark(tone.colour);
        json!({ "colour": hex(tone.colour), "percent": rounded(100.0 * tone.share), "burnt": burnt })
    });
    let places = scan.places.iter().map(|place| {
        json!({
            "left": place.left, "top": place.top, "right": place.right, "bottom": place.bottom, "pixels": place.strays,
        })
    });
    json!({
        "kind": scan.kind,
        "across": scan.pixels.0,
        "down": scan.pixels.1,
        "size_stated": scan.size_stated,
        "tones": tones.collect::<Vec<Value>>(),
        "edges_percent": rounded(100.0 * scan.edges),
        "strays_percent": rounded(100.0 * scan.strays),
        "strays": places.collect::<Vec<Value>>(),
        "noise_levels": rounded(scan.noise),
        "smoothed": scan.softened,
        "specks": scan.specks,
        "pinholes": scan.pinholes,
    })
}
