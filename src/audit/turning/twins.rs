//! Labels that change places when they stand upside down: 6 and 9, 16 and 91, `u` and `n`.

use std::cell::OnceCell;

use kurbo::{Affine, Point, Size};

use super::CheckedReading;
use super::findings as say;
use super::scene::Scene;
use crate::design::pose::{Pose, wrapped};
use crate::design::{Design, Face, Label, Reading, ReadsHow, Ring};
use crate::diagnostics::Problems;
use crate::geometry::{FlattenedShape, turn};
use crate::units::Angle;

/// What letters read as after half a turn, in common typefaces. Common practice, no source; a test holds the table to the
/// outlines of the built-in typeface.
const TURNED: [(char, char); 26] = [
    (' ', ' '),
    ('+', '+'),
    ('-', '-'),
    ('0', '0'),
    ('1', '1'),
    ('6', '9'),
    ('8', '8'),
    ('9', '6'),
    ('H', 'H'),
    ('I', 'I'),
    ('N', 'N'),
    ('O', 'O'),
    ('S', 'S'),
    ('X', 'X'),
    ('Z', 'Z'),
    ('b', 'q'),
    ('d', 'p'),
    ('l', 'l'),
    ('n', 'u'),
    ('o', 'o'),
    ('p', 'd'),
    ('q', 'b'),
    ('s', 's'),
    ('u', 'n'),
    ('x', 'x'),
    ('z', 'z'),
];

/// A label counts as upside down from here on, in degrees: one that lies on its side may be read either way, and is left alone.
const UPSIDE_DOWN: f64 = 91.0;

/// Poses that are looked at beside a pointer: every stop of a turn, and some of very many combinations.
const POSES: usize = 360;

/// A label that reads as another one upside down.
struct Twin<'a> {
    label: usize,
    up: Angle,
    says: &'a str,
    reads_as: String,
}

/// Pushes what is said where a reading shows labels that change places upside down.
pub(super) fn report(
    design: &Design,
    reading: &Reading,
    scene: &Scene,
    checked: &CheckedReading,
    problems: &mut Problems,
) {
    let twins = twins(&scene.ring);
    let met = match reading.how {
        // Only what is due shows, the way up that it comes to stand.
        ReadsHow::Through => {
            let mut stops = checked.stops.iter().filter_map(|stop| {
                let twin = twins.iter().find(|twin| twin.label == stop.due)?;
                stop.stands.is_some_and(|stands| is_upside_down(stands, 0.0)).then_some(twin)
            });
            stops.next()
        }
        // All that nothing covers is seen. The lowest layer is taken for the one that is held.
        ReadsHow::Beside => {
            let mut stops = checked.stops.iter().take(POSES).filter_map(|stop| {
                let pose = Pose::of_turns(design, &checked.turns, &stop.stops);
                let turned = pose.between(0, scene.ring_at);
                let mut inverted = twins.iter().filter(|twin| is_upside_down(twin.up, turned));
                inverted.find(|twin| !scene.edge(twin.label, &pose).overlaps())
            });
            stops.next()
        }
    };
    if let Some(twin) = met {
        problems.push(say::upside_down_twin(&scene.ring, twin.says, &twin.reads_as, Some(reading)));
    }
}

/// The same for rings that lie open on the outside of the dial and that no reading names.
pub(super) fn report_unread(design: &Design, problems: &mut Problems) {
    let outside = [(design.layers.last(), Face::Front), (design.layers.first(), Face::Back)];
    for (layer, face) in outside {
        let rings = layer.iter().flat_map(|layer| &layer.rings).filter(|ring| ring.face == face);
        for ring in rings.filter(|ring| design.readings.iter().all(|reading| reading.ring != ring.name)) {
            if let Some(twin) = twins(ring).iter().find(|twin| is_upside_down(twin.up, 0.0)) {
                problems.push(say::upside_down_twin(ring, twin.says, &twin.reads_as, None));
            }
        }
    }
}

fn is_upside_down(up: Angle, turned: f64) -> bool {
    wrapped(up.as_degrees() + turned).abs() > UPSIDE_DOWN
}

fn twins(ring: &Ring) -> Vec<Twin<'_>> {
    // A line under one of the two tells which way up it is.
    let plain = || ring.labels.iter().enumerate().filter(|(_, label)| !label.underlined);
    let lettered = || plain().filter_map(|(at, label)| Some((at, label.up?, label.says.as_str())));
    let uprights: Vec<OnceCell<Option<Upright>>> = ring.labels.iter().map(|_| OnceCell::new()).collect();
    let upright = |at: usize| uprights.get(at)?.get_or_init(|| ring.labels.get(at).and_then(Upright::of)).as_ref();
    let twin = |(label, up, says): (usize, Angle, &'_ str)| {
        let reads_as = match upside_down(says) {
            Some(reads_as) => lettered().any(|(_, _, other)| other == reads_as).then_some(reads_as),
            // Signs and letters of any script: what is drawn so.
            None => {
                let one = upright(label)?;
                let drawn = |at: usize| upright(at).is_some_and(|other| one.is_drawn_as(other, ring, true));
                lettered().find(|(at, ..)| drawn(*at)).map(|(.., other)| other.to_owned())
            }
        };
        reads_as.filter(|other| other != says).map(|reads_as| (label, up, reads_as))
    };
    let found = lettered().filter_map(|(label, up, says)| Some((twin((label, up, says))?, says)));
    found.map(|((label, up, reads_as), says)| Twin { label, up, says, reads_as }).collect()
}

/// How far apart the outlines of two labels may lie that look alike, as a share of their height (common practice, no source).
const ALIKE: f64 = 0.03;

/// The outline of a label about its own middle: lettering the way up that it was set, anything else as it comes to the top.
pub(super) struct Upright {
    flat: FlattenedShape,
    size: Size,
}

impl Upright {
    /// None of a label without ink.
    pub(super) fn of(label: &Label) -> Option<Self> {
        let flat = FlattenedShape::of(&label.ink).moved(turn(-label.up.unwrap_or(label.bearing)));
        let bounds = flat.bounds()?;
        Some(Self { flat: flat.moved(Affine::translate(-bounds.center().to_vec2())), size: bounds.size() })
    }

    /// Whether it has the outlines of another label of its ring, or would upside down.
    pub(super) fn is_drawn_as(&self, other: &Self, ring: &Ring, upside_down: bool) -> bool {
        let reach = ALIKE * ring.height.as_mm();
        let (wider, higher) = (self.size.width - other.size.width, self.size.height - other.size.height);
        if wider.abs() >= 2.0 * reach || higher.abs() >= 2.0 * reach {
            return false;
        }
        let turned = if upside_down { Some(self.flat.moved(turn(Angle::degrees(180.0)))) } else { None };
        let one = turned.as_ref().unwrap_or(&self.flat);
        let within = |shape: &FlattenedShape, other: &FlattenedShape| shape.vertices().all(|at| near(other, at, reach));
        within(one, &other.flat) && within(&other.flat, one)
    }
}

/// Whether the outline of a shape comes so near to a point.
fn near(shape: &FlattenedShape, at: Point, reach: f64) -> bool {
    shape.within(reach, at)
}

/// What a text reads as after half a turn; none where it reads as nothing.
fn upside_down(text: &str) -> Option<String> {
    let turned = |character| TURNED.iter().find(|(known, _)| *known == character).map(|(_, turned)| *turned);
    text.chars().rev().map(turned).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lettering::Typeface;

    #[test]
    fn texts_are_turned_letter_by_letter() {
        for (text, wanted) in [("6", "9"), ("66", "99"), ("16", "91"), ("u", "n"), ("pod", "pod"), ("N", "N")] {
            assert_eq!(upside_down(text).as_deref(), Some(wanted), "{text}");
        }
        for text in ["6.", "12", "N/Z", "fog"] {
            assert_eq!(upside_down(text), None, "{text}");
        }
    }

    /// Ink of each character turned by half a turn, against ink of the other: most of it falls together.
    #[test]
    fn the_table_agrees_with_the_outlines_of_letters() {
        let face = Typeface::embedded();
        for (from, to) in TURNED.into_iter().filter(|(from, _)| *from != ' ') {
            let centred = |character: char| {
                let ink = face.word(&character.to_string(), 6.0).unwrap().ink;
                let middle = ink.bounds().unwrap().center();
                ink.transformed(Affine::translate(-middle.to_vec2()))
            };
            let (one, other) = (centred(from).transformed(Affine::rotate(std::f64::consts::PI)), centred(to));
            let share = one.intersection(&other).area() / one.union(&other).area();
            // A one has its flag on the other side; it is read as a one all the same.
            assert!(share > if from == '1' { 0.3 } else { 0.6 }, "{from} as {to}: {share}");
        }
    }
}
