//! What the page lays beneath the marks of each layer: a picture of its stock, one for all layers of a stock and colour.

use maud::{Markup, html};
use svg::node::element::Use;

use crate::design::{Design, Face, Finished, Layer, Tone};
use crate::output::markup::data_address;
use crate::portrait::board;
use crate::units::plain;

/// Pixels of all pictures together, so that a page stays small and is written in a moment.
const MOST_PIXELS: f64 = 400_000.0;
/// Pixels along the side of one picture at the most.
const MOST_SIDE: f64 = 620.0;
/// Sides are whole multiples of this many mm, so that a dial that grows a little keeps its pictures.
const STEP_MM: f64 = 20.0;

/// A stock in one colour: its name, its colour, whether it is stained.
type Key = (String, Tone, bool);

/// The pictures of a dial's stocks. Those of another dial serve again where they are the same.
#[derive(Clone, Debug, Default)]
pub struct Boards {
    side: f64,
    pixels: u16,
    /// Each with its picture as an address with the bytes in it; none for what has no figure.
    made: Vec<(Key, Option<String>)>,
}

impl Boards {
    /// Of all stocks of a dial that reaches so many mm from its axis.
    pub(super) fn of(design: &Design, reach: f64, former: &Boards) -> Self {
        let mut keys: Vec<(Key, &Layer)> = Vec::new();
        for layer in &design.layers {
            for key in stages(layer).map(|as_far| key(layer, as_far)) {
                if keys.iter().all(|(known, _)| *known != key) {
                    keys.push((key, layer));
                }
            }
        }
        let side = (2.0 * reach / STEP_MM).ceil() * STEP_MM;
        #[allow(clippy::cast_precision_loss, reason = "a handful of stocks")]
        let pixels = (MOST_PIXELS / keys.len().max(1) as f64).sqrt().min(MOST_SIDE);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few hundred")]
        let pixels = pixels as u16;
        let known = |key: &Key| former.made.iter().find(|(known, _)| known == key).map(|(_, picture)| picture.clone());
        let same = former.side == side && former.pixels == pixels;
        let made = keys.into_iter().map(|(key, layer)| {
            let picture = same.then(|| known(&key)).flatten().unwrap_or_else(|| {
                let jpeg = board(&layer.stock, key.1, key.2, (side, pixels))?;
                Some(data_address("image/jpeg", &jpeg))
            });
            (key, picture)
        });
        Self { side, pixels, made: made.collect() }
    }

    /// The pictures, for the layers to refer to.
    pub(super) fn store(&self) -> Markup {
        let corner = plain(-self.side / 2.0, 3);
        html! {
            defs { @for (at, (_, picture)) in self.made.iter().enumerate() { @if let Some(picture) = picture {
                image id={ "board-" (at + 1) } x=(corner) y=(corner) width=(plain(self.side, 3)) height=(plain(self.side, 3))
                    preserveAspectRatio="none" href=(picture) { }
            } } }
        }
    }

    /// What lies beneath the marks of each layer as it is seen from a side: its stock, and that stock stained.
    pub(super) fn beneath(&self, design: &Design, face: Face) -> Vec<Vec<Use>> {
        let each = design.layers.iter().enumerate().map(|(at, layer)| {
            let several = stages(layer).count() > 1;
            let laid = stages(layer).filter_map(|as_far| {
                let own = key(layer, as_far);
                let number = self.made.iter().position(|(known, picture)| *known == own && picture.is_some())? + 1;
                let picture =
                    Use::new().set("xlink:href", format!("#board-{number}")).set("transform", laid(at, layer, face));
                let class = if as_far == Finished::Bare { "unstained" } else { "stained" };
                Some(if several { picture.set("class", class) } else { picture })
            });
            laid.collect()
        });
        each.collect()
    }
}

/// Bare, and stained where that is another colour.
fn stages(layer: &Layer) -> impl Iterator<Item = Finished> {
    let stained = layer.surface_as(Finished::Bare) != layer.surface_as(Finished::Stained);
    [Finished::Bare, Finished::Stained].into_iter().filter(move |as_far| stained || *as_far == Finished::Bare)
}

fn key(layer: &Layer, as_far: Finished) -> Key {
    (layer.stock.name.clone(), layer.surface_as(as_far), as_far == Finished::Stained)
}

/// Along the grain of a layer; neighbours show the board from another end, so that no two have the same figure.
fn laid(at: usize, layer: &Layer, face: Face) -> String {
    let grain = layer.grain.or(layer.stock.grain).map_or(0.0, |bearing| bearing.as_degrees());
    let (grain, behind) = if face == Face::Back { (-grain, 1) } else { (grain, 0) };
    let [right, up] = [(at + behind) % 2, at / 2 % 2].map(|turned| if turned == 1 { "-1" } else { "1" });
    format!("rotate({}) scale({right} {up})", plain(grain, 3))
}
