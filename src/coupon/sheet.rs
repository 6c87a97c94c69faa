//! One board of cards as SVG 1.1 in true millimetres, one group for each kind of work.

use std::collections::BTreeSet;

use ::svg::Document;
use ::svg::node::element::{Description, Group, Path};
use kurbo::{Affine, Shape as _};

use super::{Drawn, Job, Placed, Subject};
use crate::design::{Palette, Tone, hex};
use crate::diagnostics::printable;
use crate::geometry::contours;
use crate::output::drawing::titled;
use crate::output::svg::lighter;
use crate::plan::CAUTIONS;
use crate::units::plain;

/// A kind of work: what the machine is set to once.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum WorkGroup {
    Engrave,
    Score,
    Pocket(usize),
    Inside,
    Out,
}

impl WorkGroup {
    fn of(job: Job) -> Self {
        match job {
            Job::Engrave { .. } => WorkGroup::Engrave,
            Job::Score => WorkGroup::Score,
            Job::Pocket { passes } => WorkGroup::Pocket(passes),
            Job::CutInside => WorkGroup::Inside,
            Job::CutOut => WorkGroup::Out,
        }
    }

    fn id(self) -> String {
        match self {
            WorkGroup::Engrave => "engrave".to_owned(),
            WorkGroup::Score => "score".to_owned(),
            WorkGroup::Pocket(passes) => format!("pocket-{passes}"),
            WorkGroup::Inside => "cut-opening".to_owned(),
            WorkGroup::Out => "cut-outline".to_owned(),
        }
    }

    fn title(self) -> String {
        match self {
            WorkGroup::Engrave => "Engrave: burn the filled areas, each as dark as its tone says".to_owned(),
            WorkGroup::Score => "Score: trace the lines, not through".to_owned(),
            WorkGroup::Pocket(1) => "Pocket: burn the filled areas once".to_owned(),
            WorkGroup::Pocket(passes) => format!("Pocket: burn the filled areas {passes} times over"),
            WorkGroup::Inside => {
                "Cut strips and openings: through, along the lines themselves, the strips first".to_owned()
            }
            WorkGroup::Out => "Cut the cards out: through, last".to_owned(),
        }
    }

    /// Deeper pockets are darker, so that machines which go by colour tell the passes apart.
    fn colour(self, palette: &Palette, most: usize) -> Tone {
        #[allow(clippy::cast_precision_loss, reason = "a handful of passes")]
        match self {
            WorkGroup::Engrave => palette.engrave,
            WorkGroup::Score => palette.score,
            WorkGroup::Pocket(passes) => lighter(palette.pocket, 0.4 + 0.6 * passes as f64 / most.max(1) as f64),
            WorkGroup::Inside => palette.cut_opening,
            WorkGroup::Out => palette.cut_outline,
        }
    }

    fn is_filled(self) -> bool {
        matches!(self, WorkGroup::Engrave | WorkGroup::Pocket(_))
    }
}

/// The drawing of one board; `place` counts it from 0 among all.
pub(super) fn drawing(subject: &Subject<'_>, placed: &[Placed<'_>], place: (usize, usize)) -> String {
    let (stock, palette) = (subject.stock, &subject.palette);
    let (width, height) = (plain(stock.board.0.as_mm(), 3), plain(stock.board.1.as_mm(), 3));
    let down = Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, stock.board.1.as_mm()]);
    let edge = kurbo::Rect::new(0.0, 0.0, stock.board.0.as_mm(), stock.board.1.as_mm()).to_path(0.1);
    let line = plain(palette.line.as_mm(), 3);
    let construction = palette.construction.map(|colour| {
        Group::new()
            .set("id", "construction")
            .set("fill", "none")
            .set("stroke", hex(colour))
            .set("stroke-width", line.as_str())
            .add(titled("Construction: nothing is done here"))
            .add(Path::new().set("d", contours(&edge, down).join(" ")).add(titled("edge of the board")))
    });
    let document = Document::new()
        .set("version", "1.1")
        .set("width", format!("{width}mm"))
        .set("height", format!("{height}mm"))
        .set("viewBox", format!("0 0 {width} {height}"))
        .add(titled(&format!("Cards to cut and measure, {}: board {} of {}", stock.name, place.0 + 1, place.1)))
        .add(described(subject));
    let document = construction.into_iter().fold(document, Document::add);
    let jobs = || placed.iter().flat_map(|(card, _)| &card.drawn).map(|drawn| WorkGroup::of(drawn.job));
    let works: BTreeSet<WorkGroup> = jobs().collect();
    let most =
        works.iter().map(|work| if let WorkGroup::Pocket(passes) = work { *passes } else { 0 }).max().unwrap_or(1);
    let groups = works.into_iter().map(|work| group(work, (work.colour(palette, most), &line), placed, down));
    let document = groups.fold(document, Document::add);
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{document}\n")
}

fn described(subject: &Subject<'_>) -> Description {
    let stock = format!(
        "Stock {}. Lines are to be cut where they are drawn: switch off any kerf compensation of the machine.",
        subject.stock.name
    );
    let cautions = CAUTIONS.iter().map(|caution| format!("Caution: {} ({})", caution.text, caution.source));
    let lines: Vec<String> = std::iter::once(stock).chain(cautions).collect();
    Description::new().add(::svg::node::Text::new(printable(&lines.join("\n"))))
}

fn group(work: WorkGroup, (colour, line): (Tone, &str), placed: &[Placed<'_>], down: Affine) -> Group {
    let group = Group::new().set("id", work.id());
    let mut group = if work.is_filled() {
        group.set("fill", hex(colour)).set("fill-rule", "nonzero").set("stroke", "none")
    } else {
        group.set("fill", "none").set("stroke", hex(colour)).set("stroke-width", line)
    };
    group = group.add(titled(&work.title()));
    for (card, at) in placed {
        let drawn: Vec<&Drawn> = card.drawn.iter().filter(|drawn| WorkGroup::of(drawn.job) == work).collect();
        if !drawn.is_empty() {
            let id = format!("{}.{}", work.id(), card.name.replace(' ', "-"));
            let part = Group::new().set("id", id).add(titled(&card.name));
            group = group.add(drawn.into_iter().fold(part, |part, drawn| part.add(path(drawn, down * *at, colour))));
        }
    }
    group
}

fn path(drawn: &Drawn, map: Affine, colour: Tone) -> Path {
    let path = Path::new().set("d", contours(&drawn.path, map).join(" ")).add(titled(&drawn.caption));
    match drawn.job {
        Job::Engrave { tone } if tone < 1.0 => path.set("fill", hex(lighter(colour, tone))),
        _ => path,
    }
}
