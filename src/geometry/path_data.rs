//! Shapes and lines from SVG path data (SVG 1.1, section 8.3, "Path data"), its numbers read as mm with y up.

use kurbo::{Arc, BezPath, PathEl, Point, Shape, SvgArc, Vec2};
use svgtypes::{PathParser, PathSegment};

use super::flattened::FlattenedShape;
use super::region::{Region, Rule};
use super::{GeometryError, SLIVER_MM2, Trace};
use crate::limits::{SEGMENTS, SIZE_MM};

/// An end this near its beginning closes a path, in mm.
const CLOSED_MM: f64 = 1e-6;
/// How finely an outline is flattened where it is looked whether it crosses itself, in mm.
const CROSSING_MM: f64 = 1e-3;
/// How far a drawn arc may stray, in mm.
const ARC_MM: f64 = 1e-5;
/// The longest arc that is drawn, in mm: one without end would take all memory. A convex line inside a box is no longer than the
/// box's sides together, so what is ten times as long leaves the largest box there is.
const LONGEST_ARC_MM: f64 = 10.0 * 8.0 * SIZE_MM;

/// The inside of closed, uncrossed path data.
pub(super) fn closed_region(data: &str) -> Result<Region, GeometryError> {
    let path = parse(data)?;
    let contours = Region::trusted(path.clone()).contours();
    if contours.iter().any(|contour| !is_closed(contour)) {
        return Err(GeometryError::NotClosed);
    }
    if let Some(at) = FlattenedShape::closed(&path, CROSSING_MM).crosses_itself() {
        return Err(GeometryError::CrossesItself { at });
    }
    for contour in &contours {
        // A loop that crosses itself in a corner escapes the search for crossings, but not its own area.
        let inside = Region::from_path(contour, Rule::EvenOdd)?.area();
        let slack = SLIVER_MM2 + 1e-3 * contour.perimeter(1e-2);
        if (inside - contour.area().abs()).abs() > slack {
            let at = contour.segments().next().map_or(Point::ORIGIN, |segment| kurbo::ParamCurve::start(&segment));
            return Err(GeometryError::CrossesItself { at });
        }
    }
    let region = Region::from_path(&path, Rule::EvenOdd)?;
    if region.is_empty() { Err(GeometryError::Empty) } else { Ok(region) }
}

impl Trace {
    /// The lines of SVG path data, open or closed, its numbers read as mm with y up.
    ///
    /// # Errors
    /// [`GeometryError::BadPathData`], [`GeometryError::Empty`], [`GeometryError::OutOfRange`].
    pub fn from_data(data: &str) -> Result<Self, GeometryError> {
        let path = parse(data)?;
        if path.segments().next().is_none() { Err(GeometryError::Empty) } else { Ok(Self::from_path(path)) }
    }
}

fn is_closed(contour: &BezPath) -> bool {
    let (Some(PathEl::MoveTo(start)), Some(last)) = (contour.elements().first(), contour.elements().last()) else {
        return false;
    };
    matches!(last, PathEl::ClosePath) || last.end_point().is_some_and(|end| end.distance(*start) < CLOSED_MM)
}

/// Reads path data.
fn parse(data: &str) -> Result<BezPath, GeometryError> {
    let mut reader = Reader { longest_drawn: LONGEST_ARC_MM, ..Reader::default() };
    for segment in PathParser::from(data) {
        reader.read(segment.map_err(|error| GeometryError::BadPathData { offset: offset(&error, data) })?);
        if reader.path.elements().len() > SEGMENTS {
            return Err(GeometryError::TooDetailed);
        }
    }
    let within = |point: Point| point.x.abs() <= SIZE_MM && point.y.abs() <= SIZE_MM;
    let bounds = reader.path.control_box();
    if reader.path.is_empty() {
        return Err(GeometryError::Empty);
    }
    let drawn = reader.longest <= reader.longest_drawn;
    let fits = drawn && reader.path.is_finite() && within(bounds.origin()) && within((bounds.x1, bounds.y1).into());
    if fits { Ok(reader.path) } else { Err(GeometryError::OutOfRange) }
}

/// How many arcs path data has, and the length of the longest, in its units and at most; up to where it cannot be read.
pub(crate) fn arcs(data: &str) -> (usize, f64) {
    let mut reader = Reader { longest_drawn: 0.0, ..Reader::default() };
    PathParser::from(data).map_while(Result::ok).for_each(|segment| reader.read(segment));
    (reader.arcs, reader.longest)
}

/// The parser counts characters from 1 and knows no place for an early end.
fn offset(error: &svgtypes::Error, data: &str) -> usize {
    use svgtypes::Error::{InvalidChar, InvalidNumber, InvalidString, UnexpectedData};
    match error {
        UnexpectedData(at) | InvalidChar(_, at) | InvalidString(_, at) | InvalidNumber(at) => {
            data.char_indices().nth(at.saturating_sub(1)).map_or(data.len(), |(byte, _)| byte)
        }
        _ => data.len(),
    }
}

/// What has been read so far.
#[derive(Default)]
struct Reader {
    path: BezPath,
    start: Point,
    at: Point,
    /// The last handle of the cubic before, and of the quadratic before.
    handles: (Option<Point>, Option<Point>),
    /// How many arcs there were, and the length of the longest, at most.
    arcs: usize,
    longest: f64,
    /// The longest arc that is drawn; of longer ones the chord is.
    longest_drawn: f64,
}

impl Reader {
    fn read(&mut self, segment: PathSegment) {
        let origin = if segment.is_abs() { Vec2::ZERO } else { self.at.to_vec2() };
        let place = |x: f64, y: f64| Point::new(x, y) + origin;
        let handles = std::mem::take(&mut self.handles);
        let mirrored = |handle: Option<Point>, at: Point| handle.map_or(at, |handle| at + (at - handle));
        match segment {
            PathSegment::MoveTo { x, y, .. } => {
                self.start = place(x, y);
                self.at = self.start;
                self.path.move_to(self.start);
            }
            PathSegment::ClosePath { .. } => {
                self.begin();
                self.path.close_path();
                self.at = self.start;
            }
            PathSegment::LineTo { x, y, .. } => self.line(place(x, y)),
            PathSegment::HorizontalLineTo { x, .. } => self.line(Point::new(x + origin.x, self.at.y)),
            PathSegment::VerticalLineTo { y, .. } => self.line(Point::new(self.at.x, y + origin.y)),
            PathSegment::CurveTo { x1, y1, x2, y2, x, y, .. } => {
                self.cubic(place(x1, y1), place(x2, y2), place(x, y));
            }
            PathSegment::SmoothCurveTo { x2, y2, x, y, .. } => {
                self.cubic(mirrored(handles.0, self.at), place(x2, y2), place(x, y));
            }
            PathSegment::Quadratic { x1, y1, x, y, .. } => self.quad(place(x1, y1), place(x, y)),
            PathSegment::SmoothQuadratic { x, y, .. } => self.quad(mirrored(handles.1, self.at), place(x, y)),
            PathSegment::EllipticalArc { rx, ry, x_axis_rotation, large_arc, sweep, x, y, .. } => {
                let (from, to, radii) = (self.at, place(x, y), Vec2::new(rx, ry));
                self.arc(SvgArc { from, to, radii, x_rotation: x_axis_rotation.to_radians(), large_arc, sweep });
            }
        }
    }

    /// After a closed contour, drawing goes on from its start.
    fn begin(&mut self) {
        if matches!(self.path.elements().last(), None | Some(PathEl::ClosePath)) {
            self.path.move_to(self.start);
        }
    }

    fn line(&mut self, to: Point) {
        self.begin();
        self.path.line_to(to);
        self.at = to;
    }

    fn quad(&mut self, handle: Point, to: Point) {
        self.begin();
        self.path.quad_to(handle, to);
        self.handles.1 = Some(handle);
        self.at = to;
    }

    fn cubic(&mut self, first: Point, second: Point, to: Point) {
        self.begin();
        self.path.curve_to(first, second, to);
        self.handles.0 = Some(second);
        self.at = to;
    }

    fn arc(&mut self, arc: SvgArc) {
        let Some(drawn) = Arc::from_svg_arc(&arc) else { return self.line(arc.to) };
        let length = drawn.radii.x.max(drawn.radii.y) * drawn.sweep_angle.abs();
        self.arcs += 1;
        self.longest = self.longest.max(if length.is_nan() { f64::INFINITY } else { length });
        if self.longest > self.longest_drawn {
            return self.line(arc.to);
        }
        self.begin();
        let path = &mut self.path;
        drawn.to_cubic_beziers(ARC_MM, |p1, p2, p3| path.curve_to(p1, p2, p3));
        if let Some(PathEl::CurveTo(_, _, end)) = path.elements_mut().last_mut() {
            *end = arc.to;
        }
        self.at = arc.to;
    }
}
