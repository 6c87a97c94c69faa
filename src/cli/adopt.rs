//! `adopt`: a drawing becomes a dial to be gone on with.

use std::path::{Path, PathBuf};

use clap::Args;

use super::begin::{capital, new_dial, unused, within};
use super::coupon::read_sound_workshop;
use super::disk::{DiskProject, put_new, whole};
use super::picture::Picture;
use super::{FINDINGS, FINE, MessageFormat, length, report};
use crate::adopt::{Adopted, Coloured, Refused, Scale, Wanted, Work, adopt};
use crate::analysis::{Request, analyse};
use crate::artwork::{Dropped, is_picture};
use crate::begin::Holder;
use crate::check::Shop;
use crate::design::hex;
use crate::diagnostics::listed;
use crate::limits::ART_BYTES;
use crate::plan::Effort;
use crate::project::Overlaid;
use crate::units::{Length, mm};

#[derive(Debug, Args)]
pub(super) struct AdoptArguments {
    /// The drawing: an SVG file, or with `--picture` one of pixels
    drawing: PathBuf,
    /// The new file, as in `points.dial`; nothing is ever written over
    file: PathBuf,
    /// What a colour means: cut, opening, engrave, score, pocket or nothing, as in `--work "#d02020 cut"`; may be given several times
    #[arg(long = "work", value_name = "COLOUR WORK", value_parser = colour_and_work)]
    works: Vec<([u8; 3], Work)>,
    /// How long one unit of the drawing is, where the drawing does not say it, as in `--unit 1mm`
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    unit: Option<Length>,
    /// The drawing is a picture, a scan or a photo of a drawing on paper: its outline, openings in red, and all other ink as artwork
    #[arg(long, conflicts_with = "unit")]
    picture: bool,
    /// How large the outline in a picture is along its longer side, as in `--across 60mm`
    #[arg(long, value_name = "LENGTH", value_parser = length, requires = "picture")]
    across: Option<Length>,
    /// How many pixels an inch a picture has, where its file does not say it
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u32).range(10..=10_000), requires = "picture", conflicts_with = "across")]
    dpi: Option<u32>,
    /// How deep its pockets are: that is in no drawing
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    depth: Option<Length>,
    /// The kerf that is drawn in, which is taken out again: outlines become smaller by it and openings larger
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    kerf: Option<Length>,
    /// The title; without it, the name of the file
    #[arg(long, value_name = "TITLE")]
    title: Option<String>,
    /// What the layers are cut from: a stock of the shop
    #[arg(long, value_name = "NAME")]
    stock: Option<String>,
    /// What holds it together and lets it turn: magnets, rivet or screw
    #[arg(long, value_name = "WORD", value_parser = Holder::read)]
    held_by: Option<Holder>,
    /// The shop file that the dial shares, in its folder or below; without one the built-in shop serves
    #[arg(long, value_name = "FILE")]
    shop: Option<PathBuf>,
    /// Draws what the file builds over the drawing, as .svg or .png
    #[arg(long, value_name = "PICTURE")]
    laid_over: Option<PathBuf>,
}

pub(super) fn run(arguments: &AdoptArguments) -> u8 {
    adopted(arguments).unwrap_or_else(|sentence| report::fail(&sentence, MessageFormat::Text))
}

fn adopted(arguments: &AdoptArguments) -> Result<u8, String> {
    let file = &arguments.file;
    new_dial(file)?;
    let art = file.with_file_name(format!("{}-art.svg", stem(file)));
    unused(&art)?;
    let picture = arguments.laid_over.as_deref().map(Picture::named).transpose()?;
    let bytes = whole(&arguments.drawing, ART_BYTES, "a drawing")?;
    let (project, name, _) = DiskProject::of(file);
    let shop = read_sound_workshop(arguments.shop.as_deref())?;
    let wanted = wanted(arguments, &shop.shop, &art)?;
    kind(arguments, &bytes)?;
    let adopted = adopt(&bytes, &wanted, &project, &name).map_err(|refused| refusal(&arguments.drawing, refused))?;
    let art_name = wanted.art.clone();
    let files = adopted.art.iter().map(|art| (art_name.clone(), art.clone()));
    let files = std::iter::once((name.clone(), adopted.text.clone())).chain(files);
    let request = Request { effort: Effort(0), ..Request::default() };
    let analysis = analyse(&Overlaid::new(&project, files), &name, "", &request)
        .map_err(|error| report::unreadable(&file.display().to_string(), &error))?;
    // The artwork first: a dial that names a file that is not there could not be read.
    if let Some(drawn) = &adopted.art {
        put_new(&art, drawn.as_bytes()).map_err(|error| format!("`{}` cannot be written: {error}", art.display()))?;
    }
    if let Err(error) = put_new(file, adopted.text.as_bytes()) {
        if adopted.art.is_some() {
            // Ours, made a moment ago, and of no use without the dial.
            let _ = std::fs::remove_file(&art);
        }
        return Err(format!("`{}` cannot be written: {error}", file.display()));
    }
    let over = picture.map(|picture| picture.write(adopted.laid.picture.clone())).transpose()?;
    say(&adopted, file, adopted.art.is_some().then_some(art.as_path()), over);
    println!("           {}", analysis.verdict);
    println!("check      dialwright check {}", file.display());
    println!("look       dialwright view {}", file.display());
    Ok(if analysis.standing() > 0 { FINDINGS } else { FINE })
}

/// That the drawing is what it is taken for.
fn kind(arguments: &AdoptArguments, bytes: &[u8]) -> Result<(), String> {
    let shown = arguments.drawing.display();
    match (arguments.picture, is_picture(bytes)) {
        (false, true) => Err(format!(
            "`{shown}` is a picture of pixels: `--picture` reads what is drawn in it, with `--across 60mm` for how large its outline is"
        )),
        (true, false) => Err(format!("`{shown}` is no PNG, JPEG, BMP or WebP file: leave out `--picture` for an SVG")),
        _ => Ok(()),
    }
}

fn stem(file: &Path) -> String {
    file.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default()
}

fn wanted(arguments: &AdoptArguments, shop: &Shop, art: &Path) -> Result<Wanted, String> {
    let stocks: Vec<&str> = shop.stocks.keys().map(String::as_str).collect();
    let stock = match &arguments.stock {
        Some(stock) if shop.stocks.contains_key(stock) => stock.clone(),
        Some(stock) => return Err(format!("there is no stock `{stock}`: the shop has {}", listed(stocks, "and"))),
        None => stocks.first().map(|stock| (*stock).to_owned()).ok_or("the shop has no stock: give it one first")?,
    };
    let usual = Holder::WORDS.iter().map(|(_, holder)| *holder).find(|holder| holder.call(shop).is_some());
    let holder = arguments.held_by.or(usual).ok_or("the shop has no magnet, rivet or screw to hold a dial")?;
    let pivot = holder.call(shop).ok_or_else(|| format!("the shop has {}", listed(Holder::of(shop), "and")))?;
    let title = arguments.title.clone().unwrap_or_else(|| capital(&stem(&arguments.file)));
    Ok(Wanted {
        title,
        source: arguments.drawing.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default(),
        works: arguments.works.clone(),
        unit: arguments.unit,
        kerf: arguments.kerf,
        picture: arguments.picture.then(|| match (arguments.across, arguments.dpi) {
            (Some(across), _) => Scale::Across(across),
            (None, Some(dpi)) => Scale::Dpi(f64::from(dpi)),
            (None, None) => Scale::Stated,
        }),
        depth: arguments.depth,
        stock,
        pivot,
        with: arguments.shop.as_deref().map(|shop| within(&arguments.file, shop)).transpose()?,
        names: shop.names().map(str::to_owned).collect(),
        art: art.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default(),
    })
}

/// `#d02020 cut`.
fn colour_and_work(text: &str) -> Result<([u8; 3], Work), String> {
    let words = || listed(Work::WORDS.iter().map(|(word, _)| *word), "or");
    let help = || format!("write a colour and what it is burnt as ({}), for instance \"#d02020 cut\"", words());
    let (colour, work) = text.trim().split_once([' ', '=']).ok_or_else(help)?;
    let work = Work::WORDS.iter().find(|(word, _)| word.eq_ignore_ascii_case(work.trim())).ok_or_else(help)?;
    let digits = colour.trim().strip_prefix('#').filter(|digits| digits.len() == 6).ok_or_else(help)?;
    let number = u32::from_str_radix(digits, 16).map_err(|_| help())?;
    let [_, red, green, blue] = number.to_be_bytes();
    Ok(([red, green, blue], work.1))
}

fn refusal(drawing: &Path, refused: Refused) -> String {
    let shown = drawing.display();
    match refused {
        Refused::Unreadable(error) => super::audit_art::refused(&shown.to_string(), &error),
        Refused::NoSize => format!(
            "`{shown}` does not say how large it is: write how long one of its units is, for instance `--unit 1mm`"
        ),
        Refused::NoScale => format!(
            "`{shown}` does not say how large it is, or only as cameras do: write how large its outline is along its longer side, for \
             instance `--across 60mm`, or `--dpi 300` for a scan"
        ),
        Refused::Faint { contrast } if contrast > 0.1 => {
            format!("`{shown}` holds only specks: no line in it hangs together; leave out the grain, or scan it anew")
        }
        Refused::Faint { contrast } => format!(
            "nothing in `{shown}` is told from its paper: the darkest differs by {} % of the light; draw darker, or scan with more contrast",
            crate::units::plain((100.0 * contrast).round(), 0)
        ),
        Refused::OffThePicture => {
            format!("all that is drawn in `{shown}` runs off the picture: leave paper round the outline")
        }
        Refused::OpenLine { at } => format!(
            "the line round everything in `{shown}` is open, as it seems at the {at}: close it, and scan it anew"
        ),
        Refused::Touched => format!(
            "the line round everything in `{shown}` touches what is drawn in it, so that neither can be told: leave paper between them"
        ),
        Refused::Nothing(dropped) if dropped.is_empty() => {
            format!("nothing is drawn in `{shown}`: a dial needs at least one closed line that is cut")
        }
        Refused::Nothing(dropped) => {
            format!("nothing in `{shown}` can be taken: {}", Dropped::told(&dropped).join(", "))
        }
        Refused::NoOutline { works, gap_mm } => {
            let gap = gap_mm.map_or_else(String::new, |gap| {
                format!("; the ends of a line that is cut are {} apart: close it", mm((gap * 100.0).round() / 100.0))
            });
            format!(
                "no line of `{shown}` that is cut closes round anything{gap}; its colours were taken so: {}; say what they mean \
                 with `--work \"COLOUR cut\"`",
                works.iter().map(coloured).collect::<Vec<_>>().join(", ")
            )
        }
        Refused::LaterSetup => format!(
            "`{shown}` is a later setup of a board whose parts were cut before: adopt the drawing of its first setup"
        ),
        Refused::TooMuch => format!(
            "`{shown}` holds more than can be worked through: leave out what is not part of the dial, or draw it in fewer lines"
        ),
        Refused::Shop(error) => report::unreadable(&shown.to_string(), &error),
    }
}

fn coloured(one: &Coloured) -> String {
    let drawn = crate::diagnostics::counted(one.count, if one.is_filled { "area" } else { "line" });
    format!("{drawn} in {} as {}", hex(one.colour), one.work.word())
}

fn say(adopted: &Adopted, file: &Path, art: Option<&Path>, over: Option<&Path>) {
    let file = file.display();
    println!("written    {file}");
    if let Some(art) = art {
        println!("           {}", art.display());
    }
    for one in &adopted.works {
        let why = if one.is_given { "" } else { ", as is usual" };
        println!("colour     {}{why}", coloured(one));
    }
    for told in &adopted.told {
        println!("note       {told}");
    }
    if let Some(told) = adopted.laid_told() {
        println!("laid over  {told}");
    }
    if let Some(over) = over {
        println!("           {}", over.display());
    }
}
