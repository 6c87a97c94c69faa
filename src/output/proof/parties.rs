//! Who makes the dials and whom they are for, in one row at the head of the proof.

use kurbo::Affine;
use svg::node::element::{Group, Path};

use super::super::Printing;
use super::super::drawing::{GREY, INK};
use super::super::page::Flow;
use super::super::page::text::{BODY, SMALL, Style, line};
use crate::design::{Party, hex};
use crate::geometry::contours;

/// Height of the row and the room of a logo in it, in mm.
const ROW: f64 = 12.0;
const LOGO: (f64, f64) = (26.0, 9.0);
/// Between a logo and what stands beside it, in mm.
const GAP: f64 = 3.0;

/// The row; nothing where nobody is named.
pub(super) fn parties(flow: &mut Flow, job: &Printing) {
    let (maker, client) = (job.design.maker.as_ref(), job.design.client.as_ref());
    if maker.is_none() && client.is_none() {
        return;
    }
    let half = flow.width() / 2.0;
    let both = [(maker, "Made by", 0.0), (client, "For", half)];
    let drawn = both.into_iter().filter_map(|(party, word, left)| Some(named(party?, word, (left, half))));
    flow.put(drawn.fold(Group::new().set("id", "parties"), Group::add), ROW);
}

fn named(party: &Party, word: &str, (left, room): (f64, f64)) -> Group {
    let (logo, wide) = party.logo.as_ref().and_then(|logo| drawn(logo.path(), left)).unzip();
    let text = left + wide.map_or(0.0, |wide| wide + GAP);
    let named = Group::new().add(line(word, Style::of(SMALL).ink(GREY), (text, 3.6), left + room - text)).add(line(
        &party.name,
        Style::of(BODY).strong(),
        (text, 8.4),
        left + room - text - GAP,
    ));
    logo.into_iter().fold(named, Group::add)
}

/// A logo as large as its room, in one ink, and how wide it comes out.
fn drawn(path: &kurbo::BezPath, left: f64) -> Option<(Path, f64)> {
    use kurbo::Shape as _;
    let bounds = path.bounding_box();
    let scale = (LOGO.0 / bounds.width()).min(LOGO.1 / bounds.height());
    if !scale.is_finite() {
        return None;
    }
    let to = Affine::translate((left - bounds.x0 * scale, 1.0 + bounds.y1 * scale))
        * Affine::scale_non_uniform(scale, -scale);
    let drawn = Path::new().set("d", contours(path, to).join(" ")).set("fill", hex(INK)).set("fill-rule", "evenodd");
    Some((drawn, bounds.width() * scale))
}
