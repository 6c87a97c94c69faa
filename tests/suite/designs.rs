//! Designs built by hand, for tests that need no text.

use dialwright::design::{
    Adhesive, Depth, Design, Face, FlipChoice, Glue, Joint, Kept, Label, Layer, Mark, Measured, Ring, Run, Shape,
    Stock, Work,
};
use dialwright::geometry::{Region, Rule, polar, shapes};
use dialwright::source::{Sources, Span};
use dialwright::units::{Angle, Length, Time};
use kurbo::{Affine, BezPath};

/// Sources that [`at`] points into: lines of nine characters.
pub fn sources() -> Sources {
    let mut sources = Sources::default();
    sources.add("made-up.dial", "a line of\n".repeat(99));
    sources
}

/// A place in the file of [`sources`], by line.
pub fn at(line: usize) -> Span {
    let mut sources = Sources::default();
    let id = sources.add("made-up.dial", "");
    Span::new(id, (line - 1) * 10..(line - 1) * 10 + 9)
}

/// Millimetres.
pub fn mm(length: f64) -> Length {
    Length::mm(length)
}

/// A board 305 mm square, 3 mm thick, kerf 0.16 mm, margin 5 mm, gap 2 mm.
pub fn stock() -> Stock {
    Stock {
        name: "birch".to_owned(),
        thickness: Measured::nominal(mm(3.0)),
        board: (mm(305.0), mm(305.0)),
        kerf: mm(0.16),
        material: None,
        passes: dialwright::design::PassDepths::new([0.42, 0.83, 1.21, 1.62].map(|depth| vec![mm(depth)]).to_vec()),
        margin: mm(5.0),
        gap: mm(2.0),
        clear_edge: mm(1.0),
        clear_opening: mm(1.0),
        least_feature: mm(0.3),
        least_floor: mm(0.8),
        face_veneer: None,
        clear: false,
        colour: [0xd9, 0xb9, 0x8a],
        engraved: [0x5b, 0x3a, 0x1e],
        grain: None,
        weighs: None,
        tilts: Vec::new(),
        keep_out: Region::empty(),
        cost: None,
        speeds: dialwright::design::Speeds::default(),
        nominal: true,
        origin: None,
    }
}

/// A disc of this diameter about the axis.
pub fn disc(diameter: f64) -> Region {
    shapes::circle(diameter / 2.0).unwrap()
}

/// A disc of this diameter about a place.
pub fn disc_at(diameter: f64, x: f64, y: f64) -> Region {
    disc(diameter).transformed(Affine::translate((x, y)))
}

/// A region from SVG path data, y up.
pub fn drawn(data: &str) -> Region {
    Region::from_path(&BezPath::from_svg(data).unwrap(), Rule::NonZero).unwrap()
}

/// An L, symmetric about no line: stem 3 mm wide and 12 mm high, foot 8 mm wide, lower left corner at the origin.
pub fn letter_l() -> Region {
    drawn("M0,0 L8,0 L8,3 L3,3 L3,12 L0,12 Z")
}

/// A bare layer of [`stock`].
pub fn layer(name: &str, outline: Region) -> Layer {
    Layer {
        name: name.to_owned(),
        stock: stock(),
        outline,
        outline_origin: at(2),
        marks: Vec::new(),
        rings: Vec::new(),
        finish: None,
        flip: FlipChoice::Chosen,
        waits: Vec::new(),
        grain: None,
        origin: at(3),
        kept: Kept::default(),
    }
}

/// A mark on a face.
pub fn mark(face: Face, work: Work, region: Region, line: usize) -> Mark {
    Mark { name: None, face, work, shape: Shape::Region(region), origin: at(line) }
}

/// The same mark with a name.
pub fn named(name: &str, mark: Mark) -> Mark {
    Mark { name: Some(name.to_owned()), ..mark }
}

/// Engraving as dark as the stock goes.
pub fn engrave() -> Work {
    Work::Engrave { tone: 1.0, depth: None, ink: None }
}

/// A pocket this deep.
pub fn pocket(depth: f64) -> Work {
    Work::Pocket { depth: Depth::Down(mm(depth)) }
}

/// A ring of discs of 4 mm for labels, evenly spaced.
pub fn ring(name: &str, radius: f64, count: u32, line: usize) -> Ring {
    let labels = (0..count).map(|number| {
        let bearing = Angle::degrees(360.0 * f64::from(number) / f64::from(count));
        let centre = polar(radius, bearing);
        Label {
            says: number.to_string(),
            bearing,
            height: mm(4.0),
            ink: disc_at(4.0, centre.x, centre.y),
            origin: at(line),
        }
    });
    let labels = labels.collect();
    Ring {
        name: name.to_owned(),
        face: Face::Front,
        radius: mm(radius),
        height: mm(4.0),
        labels,
        tone: 1.0,
        ink: None,
        origin: at(line),
    }
}

/// A design of these layers, glued; one dial.
pub fn design(layers: Vec<Layer>) -> Design {
    let adhesive = Adhesive {
        name: "pva".to_owned(),
        cure: Time::seconds(60.0),
        film: mm(0.05),
        strength: None,
        cost: None,
        origin: None,
    };
    let glue = || Joint::Glue(Glue { adhesive: adhesive.clone(), origin: at(20) });
    Design {
        title: "Harbour lights".to_owned(),
        variant: None,
        params: Vec::new(),
        joints: layers.iter().skip(1).map(|_| glue()).collect(),
        layers,
        readings: Vec::new(),
        slot: None,
        run: Run { dials: 1, spares: 0, margin: None, gap: None, wanted: None, origin: None },
        accepted: Vec::new(),
        defaults: Vec::new(),
        shop: None,
        spreads: dialwright::design::Spreads::default(),
        rates: dialwright::design::Rates::default(),
    }
}

/// A base and a cover of 60 mm with a ring, a window, and magnet pockets on the faces that meet.
pub fn two_layers(dials: u32) -> Design {
    let mut base = layer("base", disc(60.0));
    base.rings.push(ring("crew", 20.0, 8, 5));
    base.marks.push(mark(Face::Front, pocket(1.6), disc(8.2), 9));
    let mut cover = layer("cover", disc(60.0));
    cover.marks.push(named("peep", mark(Face::Front, Work::Window, disc_at(12.0, 0.0, 20.0), 6)));
    cover.marks.push(mark(Face::Front, engrave(), letter_l().transformed(Affine::translate((5.0, -20.0))), 7));
    cover.marks.push(mark(Face::Front, Work::Score, disc(8.0), 8));
    cover.marks.push(mark(Face::Back, pocket(1.6), disc(8.2), 9));
    let mut design = design(vec![base, cover]);
    design.run.dials = dials;
    design
}
