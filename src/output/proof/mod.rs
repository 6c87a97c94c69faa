//! The proof: one drawing of the finished dial that a client can approve and a maker can cut from.
//!
//! Views of the dial with their dimensions, the stack drawn apart, the section through the axis, every stop, what was
//! asked for and what was found. All figures are those of the design and of its audit.

mod client;
mod cut;
mod describe;
mod draw;
mod exploded;
mod front;
mod parties;
mod photo;
pub mod section;
mod stops;

use kurbo::Point;
use svg::node::element::Group;

use super::Printing;
use super::drawing::{GREY, INK, moved};
use super::page::text::{BODY, SMALL, Style, TITLE, TextRun, Voice, baseline, line, line_height, width};
use super::page::{About, Flow, Pages, THICK, rule};
use crate::units::plain;
use draw::Scale;

/// Between two views, in mm.
const GUTTER: f64 = 4.0;
/// Height of the words under a view, in mm.
const CAPTION: f64 = 4.8;
/// Room for the front view and for the stack, in mm.
// Less what `front` keeps for dimensions this leaves room for dials up to 79 mm in true size.
const VIEWS: (f64, f64) = (106.0, 106.0);
/// Room for the section and for the axis, in mm.
const SECTION: f64 = 34.0;
/// How high the view from behind may be, in mm.
const BACK: f64 = 72.0;
const DETAIL: (f64, f64) = (113.0, 52.0);

/// How large pictures are, as a share of what they may be: smaller ones are tried where the last page would hold a few lines alone.
const TIGHTER: [f64; 3] = [1.0, 0.85, 0.7];

/// A view that was drawn, its upper left corner at the origin.
struct DrawnView {
    drawn: Group,
    size: (f64, f64),
    scale: Scale,
    name: &'static str,
}

/// The pages of a proof.
pub fn proof(job: &Printing) -> Pages {
    let mut flow = Flow::new(About {
        title: job.design.full_title(),
        kind: "Proof",
        revision: job.revision.short(),
        paper: job.paper,
    });
    title(&mut flow, job);
    parties::parties(&mut flow, job);
    client::page(&mut flow, job);
    // Drawn once, however often what stands round it is set.
    let stops = stops::seen(job.design, &job.audit.reading_check, flow.width());
    let mut usual: Option<Flow> = None;
    for share in TIGHTER {
        let mut flow = flow.clone();
        views(&mut flow, job, share);
        sizes(&mut flow, job);
        stops::stops(&mut flow, &stops, share);
        describe::brief(&mut flow, job);
        describe::findings(&mut flow, job);
        closing(&mut flow, job);
        if !flow.ends_short() {
            return flow.finished();
        }
        usual.get_or_insert(flow);
    }
    usual.unwrap_or(flow).finished()
}

/// The title, and what else tells one design from another.
fn title(flow: &mut Flow, job: &Printing) {
    let design = job.design;
    let wide = flow.width();
    let revision = format!("revision {}", job.revision.short());
    let taken = width(&revision, BODY, Voice::Strong) + GUTTER;
    let head = Group::new()
        .add(line(&design.full_title(), Style::of(TITLE).strong(), (0.0, baseline(TITLE)), wide - taken))
        .add(line(&revision, Style::of(BODY).strong().end(), (wide, baseline(TITLE)), taken));
    flow.put_heading(head, line_height(TITLE) + 0.5, (1, &design.full_title()));
    let params = design.params.iter().map(|(name, value)| format!("{name} {value}"));
    let shop =
        design.shop.as_ref().map_or_else(|| "nominal shop, not measured".to_owned(), |shop| format!("made in {shop}"));
    let count = design.run.dials;
    let run = format!("{count} {}", if count == 1 { "dial" } else { "dials" });
    let facts: Vec<String> = [run, shop, "lengths in mm".to_owned()].into_iter().chain(params).collect();
    flow.small(&[TextRun::plain(facts.join(" · "))], GREY);
    flow.put(Group::new().add(rule((0.0, 0.0), (wide, 0.0), THICK, INK)), 2.0);
}

/// Front and stack side by side, the section below them, and the back where it is read.
fn views(flow: &mut Flow, job: &Printing, share: f64) {
    let wide = flow.width();
    let front = front::front(job.design, (VIEWS.0 * share, VIEWS.1 * share));
    let rest = wide - front.size.0 - GUTTER;
    let stack = exploded::exploded(job.design, job.audit, (rest, front.size.1.max(84.0 * share)));
    let high = front.size.1.max(stack.size.1);
    let right = front.size.0 + GUTTER;
    let row = Group::new()
        .add(moved(front.drawn.clone(), 0.0, (high - front.size.1) / 2.0))
        .add(moved(stack.drawn, right, (high - stack.size.1) / 2.0))
        .add(caption(&front.name_and_scale(), (0.0, high), front.size.0))
        .add(caption(stack.name, (right, high), rest));
    flow.put_figure(row, high + CAPTION, "The front with its dimensions, and the stack drawn apart");
    let section = cut::whole(job.design, (wide, SECTION));
    for view in [Some(section), front::back(job.design, (wide, BACK * share))].into_iter().flatten() {
        let name = view.name_and_scale();
        let (drawn, (_, high)) = view.captioned(wide);
        flow.put_figure(drawn, high, &name);
    }
}

impl DrawnView {
    fn name_and_scale(&self) -> String {
        format!("{} ({})", self.name, self.scale.words())
    }

    /// With its name below it, in so much room, and how large that is.
    fn captioned(self, room: f64) -> (Group, (f64, f64)) {
        let name = caption(&self.name_and_scale(), (0.0, self.size.1), room);
        (Group::new().add(self.drawn).add(name), (self.size.0, self.size.1 + CAPTION))
    }
}

fn caption(text: &str, (x, y): (f64, f64), room: f64) -> svg::node::element::Text {
    line(text, Style::of(SMALL).strong(), (x, y + baseline(SMALL) + 0.6), room)
}

/// The sizes that matter, with the axis drawn beside them.
fn sizes(flow: &mut Flow, job: &Printing) {
    let rows = describe::sizes(job);
    flow.gap(1.0);
    let detail = cut::detail(job.design, DETAIL);
    let columns = if detail.is_none() && rows.len() > 6 { 2 } else { 1 };
    if let Some(view) = detail {
        let (wide, name) = (view.size.0, view.name_and_scale());
        let (drawn, size) = view.captioned(wide);
        flow.put_beside(drawn, size, &name);
    }
    describe::size_table(flow, &rows, columns);
    flow.below();
}

/// The scale bar, and whose word counts.
fn closing(flow: &mut Flow, job: &Printing) {
    flow.gap(1.6);
    // With the two lines below it, so that none of them stands on a page by itself.
    flow.need(8.0 + 2.0 * line_height(SMALL));
    flow.put_figure(Group::new().add(draw::scale_bar(2.0, 3.0)), 8.0, "A bar of 100 mm");
    let sources = crate::plan::cautions(job.design);
    let mut named: Vec<&str> =
        sources.iter().map(|caution| caution.source).filter(|it| !it.starts_with("common")).collect();
    named.dedup();
    let text = format!(
        "Before cutting, read the cautions on the run sheet: laser, fumes, materials{} ({}). This drawing does not replace them.",
        if crate::plan::has_magnets(job.design) { ", magnets that must not be swallowed" } else { "" },
        named.join("; ")
    );
    flow.small(&[TextRun::plain(text)], GREY);
}

/// What scales a drawing about the dial's axis and sets the axis at a place of the paper.
fn transform(axis: Point, scale: f64) -> String {
    format!("translate({} {}) scale({})", plain(axis.x, 3), plain(axis.y, 3), plain(scale, 5))
}
