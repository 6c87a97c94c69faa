//! The run sheet as pages of paper, in black and white.

use svg::node::element::Group;

use super::super::drawing::{GREY, moved};
use super::super::page::text::{BODY, SMALL, Style, TITLE, TextRun, baseline, line, line_height, wrapped};
use super::super::page::{About, Flow, Pages};
use super::super::svg::picture;
use super::bench::{ACROSS, Bench, KEY};
use super::content::{Item, Part};
use crate::design::Palette;
use crate::plan::Plan;

/// Width and greatest height of the picture of a board, in mm.
const PICTURE: (f64, f64) = (60.0, 75.0);

pub(super) fn pages(about: About, parts: &[Part], plan: &Plan) -> Pages {
    let title = about.title.clone();
    let mut flow = Flow::new(about);
    let wide = flow.width();
    let head = line(&title, Style::of(TITLE).strong(), (0.0, baseline(TITLE)), wide);
    flow.put(Group::new().add(head), line_height(TITLE));
    let next = parts.iter().skip(1).map(Some).chain([None]);
    for (part, next) in parts.iter().zip(next) {
        set(&mut flow, (part, next), plan);
    }
    flow.below();
    flow.finished()
}

/// How wide and high the picture of a board is on paper, and its scale.
fn picture_size(plan: &Plan, board: usize) -> (f64, f64, f64) {
    let size = plan.boards.get(board).map_or((1.0, 1.0), |on| (on.size.0.as_mm(), on.size.1.as_mm()));
    let scale = (PICTURE.0 / size.0).min(PICTURE.1 / size.1);
    (size.0 * scale, size.1 * scale, scale)
}

/// Sets a part; a heading stays on one page with the beginning of what comes next.
fn set(flow: &mut Flow, (part, next): (&Part, Option<&Part>), plan: &Plan) {
    match part {
        Part::Heading(text) => {
            let follows = match next {
                Some(Part::Setup { board, .. }) => picture_size(plan, *board).1 + 2.0 * line_height(BODY),
                Some(Part::Bench(_)) => ACROSS + 2.0 * line_height(BODY),
                _ => 3.0 * line_height(BODY),
            };
            flow.heading(text, follows);
        }
        Part::Words(says) => flow.paragraph(says),
        Part::Lines { items, .. } => lines(flow, items),
        Part::Cautions { heading, items } => {
            flow.gap(1.0);
            let high = items.iter().map(|item| height(flow, item)).sum::<f64>() + 14.0;
            flow.framed(high, |flow| {
                flow.minor_heading(heading, line_height(BODY));
                items.iter().for_each(|item| flow.item(item.mark, &item.says, SMALL));
            });
        }
        Part::Setup { board, setup, registers, items } => setup_of(flow, (*board, *setup), (registers, items), plan),
        Part::Bench(faces) => bench(flow, faces),
        Part::Table { shares, head, rows } => flow.table(shares, head, rows),
    }
}

/// Faces in rows, each with its words, and what they mean.
fn bench(flow: &mut Flow, faces: &[Bench]) {
    let cell = ACROSS + 4.0;
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "four or five")]
    let columns = ((flow.width() + 4.0) / cell).floor().max(1.0) as usize;
    for row in faces.chunks(columns) {
        let mut group = Group::new();
        let mut right = 0.0;
        for face in row {
            let says = face.says.replace('`', "");
            let words =
                line(&says, Style::of(SMALL).middle(), (ACROSS / 2.0, ACROSS + baseline(SMALL) + 0.5), ACROSS + 3.0);
            group = group.add(moved(face.drawn.clone(), right, 0.0)).add(moved(Group::new().add(words), right, 0.0));
            right += cell;
        }
        flow.put(group, ACROSS + line_height(SMALL) + 1.5);
    }
    flow.small(&[TextRun::plain(KEY)], GREY);
}

fn lines(flow: &mut Flow, items: &[Item]) {
    items.iter().for_each(|item| flow.item(item.mark, &item.says, BODY));
}

/// How high an item of small text is, about: for a frame, which must be asked for whole.
#[allow(clippy::cast_precision_loss, reason = "a handful of lines")]
fn height(flow: &Flow, item: &Item) -> f64 {
    wrapped(&item.says, SMALL, flow.width() - 12.0).len() as f64 * line_height(SMALL) + 1.0
}

fn setup_of(flow: &mut Flow, (board, setup): (usize, usize), (registers, items): (&[TextRun], &[Item]), plan: &Plan) {
    let (wide, high, scale) = picture_size(plan, board);
    flow.minor_heading(&format!("Setup {}", setup + 1), high);
    flow.put_beside(picture(plan, board, setup, &Palette::print(), scale), (wide, high));
    flow.paragraph(registers);
    lines(flow, items);
    flow.below();
}
