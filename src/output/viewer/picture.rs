//! The picture and what moves it.

use maud::{Markup, PreEscaped, html};

use super::{Boards, Shown};
use crate::audit::ReadingCheck;
use crate::design::{Design, Face, Half, Layer, Tone, hex};
use crate::output::discs::discs;
use crate::output::look::{Look, STAGES};
use crate::output::markup::data_address;
use crate::output::stops::{MOST, StopPicture, Theme, themes};
use crate::portrait::{Shade, shade};
use crate::units::{fixed, plain};

/// Room round the dial, as a share of its reach.
pub(super) const ROOM: f64 = 1.06;
/// Outlines that make up the thickness of a layer.
const WALLS: usize = 6;

/// Every layer from both sides, drawn once; all pictures refer to it.
pub(super) fn store(boards: &Boards, front: &Look<'_>, back: &Look<'_>) -> Markup {
    html! {
        svg.store width="0" height="0" aria-hidden="true" {
            (boards.store())
            (PreEscaped(front.definitions().to_string()))
            (PreEscaped(back.definitions().to_string()))
        }
    }
}

fn view_box(look: &Look<'_>) -> String {
    let reach = plain(look.reach() * ROOM, 3);
    let across = plain(2.0 * look.reach() * ROOM, 3);
    format!("-{reach} -{reach} {across} {across}")
}

/// The layers one over another, each with its shadow, its front and its back; the script lays them apart and turns them.
pub(super) fn stage(shown: &Shown<'_>, front: &Look<'_>, back: &Look<'_>) -> Markup {
    let design = shown.design;
    html! {
        div.picture {
            div.frame data-frame="" tabindex="0" role="region" aria-label="Picture of the dial" {
                div.stage data-stage="" data-flat="" role="img" aria-label={ "The dial " (design.full_title()) } {
                    @for (at, layer) in design.layers.iter().enumerate() {
                        (shadow(layer, front))
                        // The script moves flat pictures by matrices of its own: the browser's 3D would draw them as
                        // pixels where they are laid apart.
                        div.layer data-layer=(at) {
                            @for (look, side) in [(front, "front"), (back, "back")] {
                                svg.face.(side) viewBox=(view_box(look)) {
                                    (walls(&look.outline(at), layer))
                                    (PreEscaped(look.alone(at).to_string()))
                                }
                            }
                        }
                    }
                    @for _ in discs(design, shown.audit) { div.magnet data-magnet="" hidden { span { } } }
                    div.pin data-pin="" hidden { }
                }
            }
            div.ruler data-ruler="" aria-hidden="true" { }
        }
    }
}

/// The shadow of a layer in its own frame.
fn shadow(layer: &Layer, look: &Look<'_>) -> Markup {
    let shade = shade(layer.material(), layer.stock.thickness.mean.as_mm());
    html! {
        svg.shadow.faint[layer.stock.clear] data-shadow="" viewBox=(view_box(look)) aria-hidden="true" {
            @if let Some(Shade { png, frame: [left, top, wide, high] }) = shade {
                image x=(left) y=(top) width=(wide) height=(high) preserveAspectRatio="none"
                    href=(data_address("image/png", &png)) { }
            }
        }
    }
}

/// What is seen of the thickness of a layer that is looked at from aside: its outline again and again, the lowest first, dark and
/// light by turns where it has plies.
fn walls(outline: &str, layer: &Layer) -> Markup {
    let dark = hex(layer.stock.engraved);
    let light =
        if layer.stock.clear { hex(layer.stock.colour) } else { mixed(layer.stock.engraved, layer.stock.colour) };
    html! {
        g.walls {
            @for at in (1..=WALLS).rev() { use href={ "#" (outline) } fill=(if at % 2 == 0 { &light } else { &dark }) { } }
        }
    }
}

fn mixed(one: Tone, other: Tone) -> String {
    let between = |(a, b): (u8, u8)| a.midpoint(b);
    let [r, g, b] =
        [0, 1, 2].map(|at| between((one.get(at).copied().unwrap_or(0), other.get(at).copied().unwrap_or(0))));
    hex([r, g, b])
}

/// One slider for each turn.
pub(super) fn turns(design: &Design) -> Markup {
    let several = design.turns().count() > 1;
    html! {
        @for (at, (below, turn)) in design.turns().enumerate() {
            @let (lower, upper) = design.across(below);
            @let names = [upper, lower].map(|at| design.layers.get(at).map_or("", |layer| layer.name.as_str()));
            @let (moves, still) = if turn.turning == Half::Lower { (names[1], names[0]) } else { (names[0], names[1]) };
            div.turn {
                p.name id={ "turn-" (at) } {
                    @if several { "Turn " (at + 1) ": " } @else { "Turn " }
                    bdi { (moves) } (if design.walled(upper).is_some() { " in " } else { " on " }) bdi { (still) }
                }
                div.row {
                    button type="button" data-step="-1" data-turn=(at) aria-label="Stop before" { "‹" }
                    div.slider role="slider" tabindex="0" data-slider=(at) aria-labelledby={ "turn-" (at) }
                        aria-valuemin="1" aria-valuemax=(turn.stops.len()) aria-valuenow="1" aria-valuetext="stop 1" {
                        // More marks than these would run into one another.
                        div.track { @if turn.stops.len() <= 60 { @for _ in &turn.stops { i { } } } }
                        div.thumb { }
                    }
                    button type="button" data-step="1" data-turn=(at) aria-label="Next stop" { "›" }
                }
            }
        }
    }
}

/// How the dial is looked at.
pub(super) fn views(design: &Design, front: &Look<'_>) -> Markup {
    let slider = |name: &str, words: &str, least: &str, most: &str| {
        html! {
            label.range { span { (words) }
                input type="range" data-view=(name) min=(least) max=(most) value=(least) step="any"; }
        }
    };
    html! {
        div.views {
            div.tools {
                button type="button" data-flip="" aria-pressed="false" { "Seen from the back" }
                @if design.turns().count() > 0 { button type="button" data-play="" aria-pressed="false" { "Play" } }
                button type="button" data-size="whole" { "Whole dial" }
                button type="button" data-size="true" { "True size" }
                button type="button" data-save=(design.full_title()) { "Save picture" }
            }
            @if design.layers.len() > 1 {
                (slider("apart", "Lay apart", "0", "1"))
                (slider("through", "See through", "0", "0.9"))
            }
            label.range { span { "Magnify" }
                input type="range" data-view="zoom" min="0.25" max="8" value="1" step="any"; }
            (tones(front))
            fieldset {
                legend { "Page" }
                @for (value, words) in [("", "As the device"), ("light", "Light"), ("dark", "Dark")] {
                    label { input type="radio" name="theme" value=(value) checked[value.is_empty()]; (words) }
                }
            }
            fieldset.layers {
                legend { "Layers" }
                @for (at, layer) in design.layers.iter().enumerate().rev() {
                    label { input type="checkbox" data-shows=(at) checked; bdi { (layer.name) }
                        small { bdi { (layer.stock.name.replace('_', " ")) } ", " (layer.stock.thickness.mean) } }
                }
            }
        }
    }
}

/// A choice of how far the finishing has come, where the dial changes by it.
fn tones(look: &Look<'_>) -> Markup {
    let changes = |from: usize| look.tones().iter().any(|tones| tones.get(from) != tones.get(from + 1));
    let (stained, filled) = (changes(0), changes(1));
    let words = ["Bare", "Stained", "Ink-filled"];
    // The dial is shown finished at first.
    let last = if filled { 2 } else { 1 };
    let choices = words.into_iter().zip(0..STAGES.len());
    let choices = choices.filter(|(_, at)| *at == 0 || (*at == 1 && stained) || (*at == 2 && filled));
    html! {
        @if stained || filled {
            fieldset {
                legend { "Finish" }
                @for (word, at) in choices {
                    label { input type="radio" name="tones" value=(at) checked[at == last]; (word) }
                }
            }
        }
    }
}

/// Every stop small, to be chosen, or looked through on paper.
pub(super) fn stops(design: &Design, check: &ReadingCheck, front: &Look<'_>, back: &Look<'_>) -> Markup {
    let themes = themes(design, check);
    html! {
        @if !themes.is_empty() {
            section.stops aria-labelledby="stops-title" {
                h2 id="stops-title" { "Every stop" }
                @for theme in &themes {
                    @let look = if theme.face == Face::Front { front } else { back };
                    @let all = theme.readings.first().map_or(0, |first| first.stops.len());
                    @if theme.face == Face::Back { p { "Seen from the back." } }
                    @if all > MOST { p { "The first " (MOST) " of " (all) "." } }
                    ol { @for view in theme.views() { li { (stop(theme, &view, look)) } } }
                }
            }
        }
    }
}

fn stop(theme: &Theme<'_>, view: &StopPicture<'_>, look: &Look<'_>) -> Markup {
    let goes = view.goes.iter().map(|(turn, stop)| format!("{turn}:{stop}"));
    let wrong = view.reads.iter().any(|(_, stop)| !stop.reads);
    html! {
        button type="button" data-goes=(goes.collect::<Vec<_>>().join(" ")) data-face=(if theme.face == Face::Front { "front" } else { "back" }) {
            svg viewBox=(view_box(look)) aria-hidden="true" { (PreEscaped(look.at(&view.pose).to_string())) }
            span.what { @if wrong { span.cross { "✕ " } } (view.stop) }
            @for (ring, stop) in &view.reads {
                span.read {
                    @if view.reads.len() > 1 { bdi { (ring) } " " }
                    strong { bdi { (stop.due_says) } }
                    @match stop.near_margin() {
                        _ if !stop.reads => { " misreads: " bdi { (stop.shows()) } }
                        Some(margin) => { " margin " (format!("{}mm", fixed(margin.as_mm(), 2))) }
                        None => { " free" }
                    }
                }
            }
        }
    }
}
