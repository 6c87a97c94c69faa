//! Designs built by hand, as the front end would make them, for tests that need no text. [`boards`] has those of tests about
//! plans and what is written of them: thicker stock with measured passes, and lines that can be pointed at.

use dialwright::design::*;
use dialwright::geometry::{Region, Rule, polar, shapes, turn};
use dialwright::source::{Sources, Span};
use dialwright::units::{Angle, FluxDensity, Length, Pressure, Time};
use kurbo::{Affine, BezPath, Point, Rect, Shape as _};

pub fn mm(value: f64) -> Length {
    Length::mm(value)
}

pub fn deg(value: f64) -> Angle {
    Angle::degrees(value)
}

/// A span of its own for each thing: the `n`th byte.
pub fn span(n: usize) -> Span {
    Span::new(Sources::default().add("by-hand.dial", ""), n..n + 1)
}

pub fn birch() -> Stock {
    Stock {
        name: "birch".into(),
        thickness: Measured::nominal(mm(2.95)),
        board: (mm(305.0), mm(305.0)),
        kerf: mm(0.16),
        material: None,
        passes: dialwright::design::PassDepths::default(),
        margin: mm(5.0),
        gap: mm(1.5),
        clear_edge: mm(1.0),
        clear_opening: mm(1.0),
        least_feature: mm(0.3),
        least_floor: mm(0.8),
        face_veneer: None,
        clear: false,
        colour: [217, 185, 138],
        engraved: [91, 58, 30],
        grain: None,
        weighs: None,
        tilts: Vec::new(),
        tilts_on: std::collections::BTreeMap::new(),
        keep_out: dialwright::geometry::Region::empty(),
        cost: None,
        speeds: Speeds::default(),
        nominal: true,
        origin: None,
    }
}

pub fn disc_magnet() -> Magnet {
    Magnet {
        name: "disc".into(),
        diameter: mm(8.0),
        diameter_strays: Length::ZERO,
        height: mm(1.5),
        remanence: FluxDensity::tesla(1.32),
        steel: None,
        clearance: mm(0.2),
        sink: mm(0.1),
        plating: mm(0.015),
        adhesive: Some(pva()),
        cost: None,
        nominal: true,
        origin: None,
    }
}

pub fn circle(radius: f64) -> Region {
    shapes::circle(radius).unwrap()
}

pub fn path(path: &BezPath) -> Region {
    Region::from_path(path, Rule::NonZero).unwrap()
}

pub fn rectangle(width: f64, height: f64) -> Region {
    path(&Rect::from_center_size((0.0, 0.0), (width, height)).to_path(1e-4))
}

pub fn ellipse(width: f64, height: f64) -> Region {
    // A large circle made small keeps the curve far within its tolerance.
    circle(100.0).transformed(Affine::scale_non_uniform(width / 200.0, height / 200.0))
}

/// A closed polygon through these points.
pub fn polygon(points: &[(f64, f64)]) -> Region {
    let mut outline = BezPath::new();
    for (at, point) in points.iter().enumerate() {
        match at {
            0 => outline.move_to(*point),
            _ => outline.line_to(*point),
        }
    }
    outline.close_path();
    path(&outline)
}

/// A regular polygon with a corner at the top.
pub fn regular(sides: usize, radius: f64) -> Region {
    let corner = |at: usize| polar(radius, deg(360.0 / sides as f64 * at as f64));
    polygon(&(0..sides).map(corner).map(|point| (point.x, point.y)).collect::<Vec<_>>())
}

pub trait Placed {
    fn at(&self, radius: f64, bearing: f64) -> Region;
    fn shifted(&self, x: f64, y: f64) -> Region;
    fn turned(&self, bearing: f64) -> Region;
}

impl Placed for Region {
    fn at(&self, radius: f64, bearing: f64) -> Region {
        self.transformed(Affine::translate(polar(radius, deg(bearing)).to_vec2()))
    }
    fn shifted(&self, x: f64, y: f64) -> Region {
        self.transformed(Affine::translate((x, y)))
    }
    fn turned(&self, bearing: f64) -> Region {
        self.transformed(turn(deg(bearing)))
    }
}

pub fn mark(name: &str, work: Work, shape: Region) -> Mark {
    let name = (!name.is_empty()).then(|| name.to_owned());
    Mark { name, face: Face::Front, work, shape: Shape::Region(shape), lettering: None, origin: span(40) }
}

pub fn window(name: &str, shape: Region) -> Mark {
    mark(name, Work::Window, shape)
}

pub fn engraving(shape: Region) -> Mark {
    mark("", Work::Engrave { tone: 1.0, depth: None, ink: None }, shape)
}

pub fn pocket(face: Face, depth: f64, shape: Region) -> Mark {
    Mark { face, ..mark("", Work::Pocket { depth: Depth::Down(mm(depth).into()) }, shape) }
}

/// Labels of one shape standing at these bearings, not turned.
pub fn ring(name: &str, radius: f64, bearings: &[f64], ink: impl Fn(usize) -> Region) -> Ring {
    let label = |(at, bearing): (usize, &f64)| Label {
        says: at.to_string(),
        bearing: deg(*bearing),
        height: mm(7.0),
        up: None,
        tilt: deg(0.0),
        underlined: false,
        filled: None,
        ink: ink(at).at(radius, *bearing),
        lines: None,
        origin: span(100 + at),
    };
    let labels = bearings.iter().enumerate().map(label).collect();
    Ring {
        centre: Point::ORIGIN,
        name: name.into(),
        face: Face::Front,
        work: RingWork::Engraved,
        radius: mm(radius),
        height: mm(7.0),
        typeface: "plain".into(),
        capitals: 0.729,
        labels,
        laid: Laid::ByStops,
        tone: 1.0,
        origin: span(20),
    }
}

/// Bearings spaced evenly from the top.
pub fn even(count: usize) -> Vec<f64> {
    (0..count).map(|at| 360.0 / count as f64 * at as f64).collect()
}

pub fn layer(name: &str, outline: Region) -> Layer {
    Layer {
        name: name.into(),
        of: name.into(),
        stock: birch(),
        outline,
        outline_origin: span(10),
        marks: Vec::new(),
        rings: Vec::new(),
        finish: None,
        flip: FlipChoice::Chosen,
        witness: None,
        waits: Vec::new(),
        grain: None,
        origin: span(11),
        kept: Kept::default(),
    }
}

pub trait Worked: Sized {
    fn with(self, mark: Mark) -> Self;
    fn ringed(self, ring: Ring) -> Self;
}

impl Worked for Layer {
    fn with(mut self, mark: Mark) -> Self {
        self.marks.push(mark);
        self
    }
    fn ringed(mut self, ring: Ring) -> Self {
        self.rings.push(ring);
        self
    }
}

/// The same with every pocket sunk by the passes of its stock, as a shop does it.
pub fn made_by_passes(mut design: Design) -> Design {
    let stocks: Vec<Stock> = design.layers.iter().map(|layer| layer.stock.clone()).collect();
    let by = |layer: usize, depth: &mut Depth| {
        if let Depth::Down(asked) = depth {
            *depth = Depth::Down(PocketDepth::by(&stocks[layer].passes, asked.asked()));
        }
    };
    for (at, layer) in design.layers.iter_mut().enumerate() {
        for mark in &mut layer.marks {
            if let Work::Pocket { depth } = &mut mark.work {
                by(at, depth);
            }
        }
    }
    for joint in &mut design.joints {
        if let Joint::Turn(Turn { pivot: Pivot::Magnets { lower, upper, .. }, .. }) = joint {
            by(lower.layer, &mut lower.depth);
            by(upper.layer, &mut upper.depth);
        }
    }
    design
}

/// A turn on magnets between layers `below` and `below + 1`.
pub fn turns(below: usize, stops: &[f64]) -> Joint {
    Joint::Turn(Turn {
        pivot: Pivot::Magnets {
            magnet: disc_magnet(),
            above: None,
            lower: Seat { layer: below, face: Face::Front, depth: Depth::Down(mm(1.6).into()) },
            upper: Seat { layer: below + 1, face: Face::Back, depth: Depth::Down(mm(1.6).into()) },
        },
        stops: stops.iter().map(|stop| deg(*stop)).collect(),
        turning: Half::Upper,
        clicks: None,
        ends: None,
        axle: None,
        shock: 25.0,
        north: None,
        origin: span(30),
    })
}

pub fn pva() -> Adhesive {
    Adhesive {
        name: "pva".into(),
        cure: Time::seconds(86_400.0),
        film: mm(0.05),
        strength: Some(Pressure::megapascals(2.0)),
        cost: None,
        origin: None,
    }
}

pub fn glued() -> Joint {
    Joint::Glue(Glue { adhesive: pva(), origin: span(31) })
}

pub fn reads(ring: &str, by: &[&str]) -> Reading {
    Reading {
        ring: ring.into(),
        how: ReadsHow::Through,
        by: by.iter().map(|name| (*name).to_owned()).collect(),
        distance: None,
        stated: false,
        origin: span(50),
    }
}

pub fn design(layers: Vec<Layer>, joints: Vec<Joint>, readings: Vec<Reading>) -> Design {
    Design {
        title: "By hand".into(),
        variant: None,
        row: None,
        params: Vec::new(),
        layers,
        joints,
        readings,
        slot: None,
        run: Run { dials: 1, spares: 0, margin: None, gap: None, wanted: None, origin: None },
        accepted: Vec::new(),
        assumptions: Vec::new(),
        shop: None,
        spreads: dialwright::design::Spreads::default(),
        rates: Rates::default(),
        printer: dialwright::design::Printer::default(),
        palette: dialwright::design::Palette::default(),
        client: None,
        maker: None,
    }
}

/// A ring of `count` labels on a disc, read through a window at the top of another, with pockets for the magnets.
pub fn two_layers(count: usize, ink: impl Fn(usize) -> Region, peep: Region) -> Design {
    let stops = even(count);
    let base = layer("base", circle(30.0)).ringed(ring("points", 20.0, &stops, ink));
    let base = base.with(pocket(Face::Front, 1.6, circle(4.1)));
    let cover = layer("cover", circle(30.0)).with(window("peep", peep));
    let cover = cover.with(pocket(Face::Back, 1.6, circle(4.1)));
    design(vec![base, cover], vec![turns(0, &stops)], vec![reads("points", &["peep"])])
}

/// Designs to be laid on boards: discs by their diameter, marks by their face and a line of [`boards::sources`].
pub mod boards {
    use dialwright::design::*;
    use dialwright::geometry::{Region, Rule, polar};
    use dialwright::source::{Sources, Span};
    use dialwright::units::Time;
    use kurbo::{Affine, BezPath};

    pub use super::mm;
    use super::{deg, pva};

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

    /// A board 305 mm square, 3 mm thick, kerf 0.16 mm, margin 5 mm, gap 2 mm, its passes measured.
    pub fn stock() -> Stock {
        let passes = PassDepths::new([0.42, 0.83, 1.21, 1.62].map(|depth| vec![mm(depth)]).to_vec());
        Stock { thickness: Measured::nominal(mm(3.0)), passes, gap: mm(2.0), ..super::birch() }
    }

    /// A disc of this diameter about the axis.
    pub fn disc(diameter: f64) -> Region {
        super::circle(diameter / 2.0)
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
        Layer { stock: stock(), outline_origin: at(2), origin: at(3), ..super::layer(name, outline) }
    }

    /// A mark on a face.
    pub fn mark(face: Face, work: Work, region: Region, line: usize) -> Mark {
        Mark { face, origin: at(line), ..super::mark("", work, region) }
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
        Work::Pocket { depth: Depth::Down(mm(depth).into()) }
    }

    /// A ring of discs of 4 mm for labels, evenly spaced.
    pub fn ring(name: &str, radius: f64, count: u32, line: usize) -> Ring {
        let labels = (0..count).map(|number| {
            let bearing = deg(360.0 * f64::from(number) / f64::from(count));
            let centre = polar(radius, bearing);
            Label {
                says: number.to_string(),
                bearing,
                height: mm(4.0),
                up: None,
                tilt: deg(0.0),
                underlined: false,
                filled: None,
                ink: disc_at(4.0, centre.x, centre.y),
                lines: None,
                origin: at(line),
            }
        });
        let labels = labels.collect();
        Ring { height: mm(4.0), labels, origin: at(line), ..super::ring(name, radius, &[], |_| Region::empty()) }
    }

    /// A design of these layers, glued; one dial.
    pub fn design(layers: Vec<Layer>) -> Design {
        let adhesive = Adhesive { cure: Time::seconds(60.0), strength: None, ..pva() };
        let glue = || Joint::Glue(Glue { adhesive: adhesive.clone(), origin: at(20) });
        let joints = layers.iter().skip(1).map(|_| glue()).collect();
        Design { title: "Harbour lights".to_owned(), ..super::design(layers, joints, Vec::new()) }
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
}
