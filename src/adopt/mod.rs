//! From a drawing to a dial: contours become shapes with their sizes, what is equal on a ring becomes one that is repeated, texts
//! become labels, and what is not understood stays as artwork. What the file builds is laid over the drawing before anybody gets it.

mod contour;
mod figures;
mod fit;
mod kerf;
mod laid;
mod letters;
mod marks;
mod parts;
mod picture;
mod recognise;
mod runs;
mod shape;
mod text;
mod works;

pub use laid::Laid;
pub use picture::Scale;

use std::collections::BTreeMap;

use kurbo::Affine;

use crate::artwork::{ArtError, DrawnPath, Dropped, Elements, StatedSize, elements};
use crate::check::{Checked, LoadError, load};
use crate::design::hex;
use crate::diagnostics::counted;
use crate::format::tidied;
use crate::geometry::contours;
use crate::limits::WORK;
use crate::project::{Overlaid, Project};
use crate::units::{Length, mm, plain};
use crate::work::Meter;
use parts::Drawn;
use text::Sheet;

/// What a line or area of a drawing is burnt as.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Work {
    /// Cut through: an outline, or an opening within one.
    Cut,
    /// Cut through, and never an outline.
    Opening,
    /// Burnt as an area.
    Engrave,
    /// Traced as a line.
    Score,
    /// Sunk.
    Pocket,
    /// Not burnt: help lines, frames, dimensions.
    Nothing,
}

/// A colour of the drawing, and what it is taken for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Coloured {
    /// Red, green, blue.
    pub colour: [u8; 3],
    /// Of areas; else of lines.
    pub is_filled: bool,
    /// How many are drawn with it.
    pub count: usize,
    /// What they are taken for.
    pub work: Work,
    /// Whether the maker says so; else it is what is usual.
    pub is_given: bool,
}

/// What the maker says beside the drawing.
#[derive(Clone, Debug, Default)]
pub struct Wanted {
    /// The title of the dial.
    pub title: String,
    /// What the drawing is called.
    pub source: String,
    /// What colours mean.
    pub works: Vec<([u8; 3], Work)>,
    /// How long one unit of the drawing is.
    pub unit: Option<Length>,
    /// The kerf that is drawn in, and to be taken out again.
    pub kerf: Option<Length>,
    /// Of a picture of pixels, how large it is; none where the drawing is an SVG.
    pub picture: Option<Scale>,
    /// How deep its pockets are.
    pub depth: Option<Length>,
    /// The stock of its layers.
    pub stock: String,
    /// What holds the turn, as the stack takes it.
    pub pivot: String,
    /// The shop file that it shares.
    pub with: Option<String>,
    /// Names that the shop has.
    pub names: Vec<String>,
    /// What the file is called that keeps what was not understood.
    pub art: String,
}

/// A dial that was read from a drawing.
#[derive(Clone, Debug)]
pub struct Adopted {
    /// The file.
    pub text: String,
    /// What was not understood, as a drawing with a group for each layer; none where all was.
    pub art: Option<String>,
    /// What each colour was taken for.
    pub works: Vec<Coloured>,
    /// What there is to tell, in sentences without their full stop.
    pub told: Vec<String>,
    /// How many layers it has.
    pub layers: usize,
    /// The standard deviation of the drawing's points about smooth edges, in mm.
    pub noise_mm: f64,
    /// What it builds, laid over the drawing.
    pub laid: Laid,
}

/// Why a drawing makes no dial.
#[derive(Clone, Debug)]
pub enum Refused {
    /// It cannot be read.
    Unreadable(ArtError),
    /// It does not say how large it is.
    NoSize,
    /// A picture, whose file does not say it either, or as cameras do.
    NoScale,
    /// A picture in which nothing is told from the paper.
    Faint {
        /// By what share of its light the darkest is darker.
        contrast: f64,
    },
    /// A picture in which everything runs off its edge.
    OffThePicture,
    /// A picture in which the line round everything is open, as seen from its middle.
    OpenLine {
        /// Where.
        at: &'static str,
    },
    /// A picture in which the line round everything touches what is drawn in it.
    Touched,
    /// Nothing is drawn in it that can be taken.
    Nothing(Vec<Dropped>),
    /// No line that is cut closes round anything.
    NoOutline {
        /// What its colours were taken for.
        works: Vec<Coloured>,
        /// How far the ends of the longest such line lie apart, where there is one, in mm.
        gap_mm: Option<f64>,
    },
    /// A board of ours, whose parts were cut in a setup before.
    LaterSetup,
    /// It is more than can be worked through.
    TooMuch,
    /// The shop cannot be read.
    Shop(LoadError),
}

/// The dial that a drawing shows, as the file `name` of a project.
///
/// # Errors
/// [`Refused`].
pub fn adopt(bytes: &[u8], wanted: &Wanted, project: &dyn Project, name: &str) -> Result<Adopted, Refused> {
    let meter = Meter::new(WORK);
    meter.run(|| counted_adopt(bytes, wanted, project, name, &meter)).unwrap_or(Err(Refused::TooMuch))
}

fn counted_adopt(
    bytes: &[u8],
    wanted: &Wanted,
    project: &dyn Project,
    name: &str,
    meter: &Meter,
) -> Result<Adopted, Refused> {
    let Drawing { elements, works, told, hand } = match wanted.picture {
        Some(scale) => picture::drawing(bytes, scale, wanted)?,
        None => drawing(bytes, wanted)?,
    };
    let (ours, setup) = (kerf::stated(&elements.about), kerf::setup(&elements.title));
    let kerf = wanted.kerf.map(Length::as_mm).or(ours).unwrap_or(0.0);
    let split = parts::split(&elements, &|path: &DrawnPath| works::work_of(path, &works), Drawn { hand, kerf });
    if split.parts.is_empty() {
        if let (Some(_), Some((2.., _))) = (ours, setup) {
            return Err(Refused::LaterSetup);
        }
        let gap_mm = split.open.iter().map(|(_, gap)| *gap).reduce(f64::max);
        return Err(Refused::NoOutline { works, gap_mm });
    }
    let mut sheet = Sheet::of(&split.parts, split.by_groups, wanted);
    let art = art(&sheet);
    let over = |text: &str| {
        let art = art.iter().map(|art| (wanted.art.clone(), art.clone()));
        Overlaid::new(project, std::iter::once((name.to_owned(), text.to_owned())).chain(art))
    };
    let depth = wanted.depth.map(|depth| depth.to_string());
    // Without depth or stops nothing is made; for the comparison any will do.
    let tried = over(&sheet.text(wanted, Some(depth.as_deref().unwrap_or("0.5mm")), Some("6")));
    let loaded = load(&tried, name, "").map_err(Refused::Shop)?;
    let (checked, _) = Checked::new(&loaded, &tried);
    let (design, _) = checked.design(None, &BTreeMap::new(), &tried, meter);
    let laid = design.map(|design| laid::laid(&design, &sheet)).unwrap_or_default();
    let mut told = told;
    if let (Some(_), Some((at, of @ 2..))) = (ours, setup) {
        told.push(format!("setup {at} of {of} of its board: what the others burn, as on backs, is not in it"));
    }
    if let (Some(kerf), None) = (ours, wanted.kerf) {
        told.push(format!("a board that was written here: its kerf of {} is taken out again", mm(kerf)));
    }
    if let (0.0, Some(kerf)) = (kerf, kerf::suspected(&split.parts, split.noise)) {
        let kerf = mm(kerf);
        told.push(format!(
            "its outlines are {kerf} larger and its openings {kerf} smaller than round figures, as if kerf were drawn in: \
             `--kerf {kerf}` takes it out"
        ));
    }
    told.extend(happened(&elements, &split, &laid, &sheet, wanted));
    sheet.head = head(wanted, &works, &told, &laid, split.noise);
    let text = sheet.text(wanted, depth.as_deref(), None);
    let text = tidied(name, &text).unwrap_or(text);
    Ok(Adopted { text, art, works, told, layers: sheet.layers.len(), noise_mm: split.noise, laid })
}

/// What is drawn, in mm, with what its colours mean.
struct Drawing {
    elements: Elements,
    works: Vec<Coloured>,
    /// What there is to tell of how it was read.
    told: Vec<String>,
    /// The standard deviation of a hand that drew it, in mm; nothing of a machine's.
    hand: f64,
}

fn drawing(bytes: &[u8], wanted: &Wanted) -> Result<Drawing, Refused> {
    let elements = sized(elements(bytes).map_err(Refused::Unreadable)?, wanted.unit)?;
    if elements.paths.is_empty() {
        return Err(Refused::Nothing(elements.dropped));
    }
    let works = works::works(&elements, &wanted.works);
    Ok(Drawing { elements, works, told: Vec::new(), hand: 0.0 })
}

/// The drawing in mm.
fn sized(mut elements: Elements, unit: Option<Length>) -> Result<Elements, Refused> {
    let scale = match (unit, elements.size) {
        (Some(unit), _) => unit.as_mm() / elements.unit_mm,
        (None, StatedSize::Not) => return Err(Refused::NoSize),
        (None, _) => return Ok(elements),
    };
    let map = Affine::scale(scale);
    for path in &mut elements.paths {
        path.path.apply_affine(map);
    }
    for line in &mut elements.lines {
        (line.at, line.height_mm) = (map * line.at, line.height_mm * scale);
    }
    Ok(elements)
}

/// What was not understood, one group for each layer, the axis in the middle of the page.
fn art(sheet: &Sheet) -> Option<String> {
    use svg::node::element::{Group, Path};
    let half = sheet.layers.iter().flat_map(|layer| {
        let bounds = layer.part.art.iter().map(|art| kurbo::Shape::bounding_box(&art.path));
        let axis = layer.part.axis.at;
        bounds.map(move |box_| {
            [box_.x0 - axis.x, box_.x1 - axis.x, box_.y0 - axis.y, box_.y1 - axis.y]
                .into_iter()
                .fold(0.0, |a: f64, b| a.max(b.abs()))
        })
    });
    let half = half.reduce(f64::max)?.ceil() + 1.0;
    let mut document = svg::Document::new();
    for layer in sheet.layers.iter().filter(|layer| !layer.part.art.is_empty()) {
        let mut group = Group::new().set("id", layer.name.clone());
        let map = Affine::translate((half, half)) * Affine::FLIP_Y * Affine::translate(-layer.part.axis.at.to_vec2());
        for art in &layer.part.art {
            let rule = if art.even_odd { "evenodd" } else { "nonzero" };
            let data = contours(&art.path, map).join(" ");
            group = group.add(Path::new().set("d", data).set("fill", "#000000").set("fill-rule", rule));
        }
        document = document.add(group);
    }
    let side = plain(2.0 * half, 3);
    let document = document
        .set("width", format!("{side}mm"))
        .set("height", format!("{side}mm"))
        .set("viewBox", format!("0 0 {side} {side}"));
    Some(format!("{document}\n"))
}

/// What happened to the drawing on the way.
fn happened(elements: &Elements, split: &parts::Split, laid: &Laid, sheet: &Sheet, wanted: &Wanted) -> Vec<String> {
    let mut told = Vec::new();
    if elements.size == StatedSize::Pixels && wanted.unit.is_none() {
        told.push("its size is stated in pixels: 96 were taken for an inch; `--unit` says otherwise".to_owned());
    }
    if split.doubled > 0 {
        told.push(format!("drawn twice and taken once: {}", counted(split.doubled, "line")));
    }
    if split.widest > 0.001 {
        told.push(format!("gaps were closed, the widest {}", up(split.widest)));
    }
    for (at, gap) in split.open.iter().take(OPEN_TOLD) {
        told.push(format!(
            "an open line that is cut was left out: its ends are {} apart, at {} from the left and {} from the bottom",
            mm((gap * 100.0).round() / 100.0),
            mm(at.x.round()),
            mm(at.y.round())
        ));
    }
    let counts = [
        (split.open.len().saturating_sub(OPEN_TOLD), "more open line", "left out as well"),
        (split.outside, "thing", "left out, since outside of every outline"),
        (elements.clipped, "clipped group", "taken whole, with what is hidden of it"),
        (laid.missing, "contour", "drawn, and not in what is built"),
        (
            sheet.layers.iter().flat_map(|layer| &layer.alone).filter(|line| line.is_mirrored).count(),
            "text",
            "mirrored, and perhaps meant for a back",
        ),
    ];
    let counts = counts.into_iter().filter(|(count, _, _)| *count > 0);
    told.extend(counts.map(|(count, thing, what)| format!("{what}: {}", counted(count, thing))));
    for (opening, past) in sheet.between() {
        let past = plain(past.abs(), 1);
        told.push(format!("`{opening}` stands {past}deg past a label: the drawing shows it between two stops"));
    }
    let pockets = sheet.layers.iter().flat_map(|layer| &layer.marks).any(|mark| mark.work == Work::Pocket);
    if pockets && wanted.depth.is_none() {
        told.push("how deep a pocket is stands in no drawing: say it with `--depth`, or in the file".to_owned());
    }
    if split.read > 0 {
        let read = counted(split.read, "text");
        told.push(format!("lettering that was drawn as outlines was read by the typefaces here: {read}"));
    }
    if split.unsure > 0 {
        let unsure = counted(split.unsure, "text");
        told.push(format!("may stand on their heads, as 6 and 9 do, and were taken to face outward: {unsure}"));
    }
    let art = sheet.layers.iter().map(|layer| layer.part.art.len()).sum::<usize>();
    if art > 0 {
        told.push(format!("not understood, and kept as artwork in `{}`: {}", sheet.art, counted(art, "filled area")));
    }
    told.extend(Dropped::told(&elements.dropped).into_iter().map(|what| format!("not taken: {what}")));
    told
}

/// Open lines that are told one by one.
const OPEN_TOLD: usize = 3;

/// Rounded up to a micrometre, so that what is called the most is never less.
fn up(value: f64) -> String {
    mm((value * 1000.0).ceil() / 1000.0)
}

/// The noise of a drawing in words.
fn noise_told(noise: f64) -> String {
    if noise < 0.0005 { "none that can be told".to_owned() } else { format!("{} (one standard deviation)", up(noise)) }
}

impl Adopted {
    /// How far what is built lies from the drawing, in words; none where nothing could be compared.
    pub fn laid_told(&self) -> Option<String> {
        laid_told(&self.laid, self.noise_mm)
    }
}

fn laid_told(laid: &Laid, noise: f64) -> Option<String> {
    (laid.compared > 0).then(|| {
        let (greatest, noise) = (up(laid.greatest_mm), noise_told(noise));
        format!(
            "within {greatest} of the drawing at every edge, farthest off on `{}`; the drawing's own noise: {noise}",
            laid.layer
        )
    })
}

/// What the file says at its head.
fn head(wanted: &Wanted, works: &[Coloured], told: &[String], laid: &Laid, noise: f64) -> Vec<String> {
    let mut head = vec![format!("Read from the drawing {}, to be gone on with by hand.", wanted.source)];
    head.extend(laid_told(laid, noise).map(|told| format!("What it builds lies {told}.")));
    let colours = works.iter().map(|one| {
        let drawn = if one.is_filled { "areas" } else { "lines" };
        format!("{} {drawn} {}", hex(one.colour), one.work.word())
    });
    head.push(format!("Colours: {}.", colours.collect::<Vec<_>>().join(", ")));
    head.extend(told.iter().map(|one| format!("{}.", sentence(one))));
    head
}

fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
