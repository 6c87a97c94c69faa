//! What is printed on a board before it is cut: a drawing for each printed face of the sheet, in true millimetres, with the crosses
//! by which the cuts are lined up.

use svg::Document;
use svg::node::element::{Group, Path};

use kurbo::Affine;

use super::drawing::{INK, titled};
use super::page::text::{Style, line};
use super::page::{self, THIN};
use crate::design::hex;
use crate::geometry::contours;
use crate::plan::{ARM_MM, Board, Plan, Printed, PrintedArea, face_name};
use crate::units::plain;

/// Height of the line that says what a sheet is, in mm.
const CAPTION_MM: f64 = 2.2;

/// The printed faces of a board, which counts from 0, each with the end of its file's name.
pub fn drawings(title: &str, plan: &Plan, board: usize) -> Vec<(&'static str, String)> {
    let Some((on, print)) = plan.boards.get(board).and_then(|it| Some((it, it.print.as_ref()?))) else {
        return Vec::new();
    };
    let faces = print.faces().into_iter();
    faces.map(|(face, areas)| (face.suffix(), drawing(&called(title, plan, board, face), on, face, areas))).collect()
}

/// The same as PDF, each exactly as large as the sheet.
///
/// # Errors
/// Why it cannot be written, in words.
pub fn pdfs(title: &str, plan: &Plan, board: usize) -> Result<Vec<(&'static str, Vec<u8>)>, String> {
    let size = plan.boards.get(board).map(|it| (it.size.0.as_mm(), it.size.1.as_mm())).unwrap_or_default();
    let drawn = drawings(title, plan, board).into_iter();
    drawn.map(|(suffix, svg)| Ok((suffix, page::sheet_pdf(&svg, size, title)?))).collect()
}

fn called(title: &str, plan: &Plan, board: usize, face: Printed) -> String {
    format!("{title}: board {} of {}, {}", board + 1, plan.boards.len(), face.suffix())
}

fn drawing(title: &str, board: &Board, face: Printed, areas: &[PrintedArea]) -> String {
    let (width, height) = (board.size.0.as_mm(), board.size.1.as_mm());
    // From the board, y up, to the drawing, y down.
    let down = Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, height]);
    let areas = areas.iter().fold(Group::new().set("id", "print"), |group, area| group.add(drawn(area, down)));
    let lines = board.print.as_ref().map(|print| print.lines(face, width)).unwrap_or_default();
    let crosses = Path::new()
        .set("id", "crosses")
        .set("d", contours(&lines, down).join(" "))
        .set("fill", "none")
        .set("stroke", hex(INK))
        .set("stroke-width", THIN);
    let document = Document::new()
        .set("version", "1.1")
        .set("width", format!("{}mm", plain(width, 3)))
        .set("height", format!("{}mm", plain(height, 3)))
        .set("viewBox", format!("0 0 {} {}", plain(width, 3), plain(height, 3)))
        .add(titled(title))
        .add(areas)
        .add(crosses);
    let caption = caption(title, board, (width, height));
    let document = caption.into_iter().fold(document, Document::add);
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{document}\n")
}

/// What the sheet is, on a line between its two lower crosses.
fn caption(title: &str, board: &Board, (width, height): (f64, f64)) -> Option<Group> {
    let [left, right, ..] = board.print.as_ref()?.crosses;
    let from = left.x + 2.0 * ARM_MM;
    let text = format!("{title}; {} mm from cross to cross, {} mm wide", plain(right.x - left.x, 2), plain(width, 2));
    let room = right.x - 2.0 * ARM_MM - from;
    Some(Group::new().set("id", "caption").add(line(&text, Style::of(CAPTION_MM), (from, height - left.y), room)))
}

fn drawn(area: &PrintedArea, down: Affine) -> Path {
    let name = area.name.iter().map(|name| format!("{name}, ")).collect::<String>();
    Path::new()
        .set("d", contours(area.region.path(), down).join(" "))
        .set("fill", hex(area.colour))
        .set("fill-rule", "evenodd")
        .add(titled(&format!("{}: {name}{}", area.part, face_name(area.face))))
}
