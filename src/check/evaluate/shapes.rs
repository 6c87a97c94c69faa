//! Values of the shape functions.

use std::sync::Arc;

use kurbo::Affine;

use super::Evaluator;
use super::calls::{Arguments, half};
use crate::artwork::{self, Art, Wanted};
use crate::check::findings::{artwork as say_art, values as say};
use crate::check::value::{Figure, Value};
use crate::geometry::{GeometryError, Region, Trace, hull, shapes};
use crate::limits;
use crate::project::beside;
use crate::source::Span;
use crate::syntax::tree::{Argument, ExprKind, Face};
use crate::units::Length;
use crate::vocabulary::functions::{ArgumentName, arguments};

/// A region, or why it cannot be; none where an argument was at fault.
type Drawn = Option<Result<Region, GeometryError>>;

/// Areas of a drawing, each with its own colour where they are taken in colours.
type Areas = Vec<(Option<[u8; 3]>, Arc<Art>)>;

impl<'t> Evaluator<'t> {
    /// The region that a function draws; what is wrong with it is shown at the argument that it is about.
    pub(super) fn filled<A: ArgumentName>(
        &mut self,
        given: &'t [Argument],
        span: Span,
        draw: impl FnOnce(&mut Self, &Arguments<'t, A>) -> Drawn,
    ) -> Option<Value> {
        let arguments = Arguments::sorted(given);
        let made = draw(self, &arguments)?;
        let at = made.as_ref().err().and_then(|error| at_fault(error, &arguments));
        let region = self.shaped(made, at.unwrap_or(span))?;
        self.region_value(region, span)
    }

    pub(super) fn trace(&mut self, arguments: &Arguments<'t, arguments::Trace>, span: Span) -> Option<Value> {
        let data = self.words(arguments.get(arguments::Trace::Data)?)?;
        let made = Trace::from_data(&data);
        let at = made.as_ref().err().and_then(|error| at_fault(error, arguments));
        let trace = self.shaped(made, at.unwrap_or(span))?;
        Some(Value::Trace(trace.into()))
    }

    pub(super) fn path(&mut self, arguments: &Arguments<'t, arguments::Path>) -> Drawn {
        Some(shapes::path(&self.words(arguments.get(arguments::Path::Data)?)?))
    }

    pub(super) fn wrapped(&mut self, arguments: &Arguments<'t, arguments::Wrapped>) -> Drawn {
        use arguments::Wrapped::{First, Second};
        let (first, second) = (self.region(arguments.get(First)?), self.region(arguments.get(Second)?));
        Some(Ok(hull(&first?, &second?)))
    }

    pub(super) fn ellipse(&mut self, arguments: &Arguments<'t, arguments::Ellipse>) -> Drawn {
        use arguments::Ellipse::{Height, Width};
        Some(shapes::ellipse(self.side(arguments, Width)?, self.side(arguments, Height)?))
    }

    pub(super) fn rectangle(&mut self, arguments: &Arguments<'t, arguments::Rectangle>) -> Drawn {
        use arguments::Rectangle::{Corner, Height, Width};
        let (width, height) = (self.side(arguments, Width)?, self.side(arguments, Height)?);
        Some(shapes::rectangle(width, height, self.corner(arguments, Corner)?))
    }

    pub(super) fn obround(&mut self, arguments: &Arguments<'t, arguments::Obround>) -> Drawn {
        use arguments::Obround::{Height, Width};
        Some(shapes::obround(self.side(arguments, Width)?, self.side(arguments, Height)?))
    }

    pub(super) fn scallop(&mut self, arguments: &Arguments<'t, arguments::Scallop>) -> Drawn {
        use arguments::Scallop::{Depth, Diameter, Lobes};
        let lobes = self.count(arguments.get(Lobes)?, "the number of lobes", 3, limits::SIDES)?;
        Some(shapes::scallop(self.side(arguments, Diameter)?, lobes, self.side(arguments, Depth)?))
    }

    pub(super) fn star(&mut self, arguments: &Arguments<'t, arguments::Star>) -> Drawn {
        use arguments::Star::{Corner, Diameter, Inner, Points};
        let points = self.count(arguments.get(Points)?, "the number of points", 3, limits::SIDES)?;
        let (diameter, inner) = (arguments.get(Diameter)?, arguments.get(Inner)?);
        let (outer, across) = (self.size(diameter, "the diameter")?, self.size(inner, "the inner diameter")?);
        if across >= outer {
            return self.report(say::inner_too_large(across, outer, inner.span));
        }
        Some(shapes::star(points, half(outer), half(across), self.corner(arguments, Corner)?))
    }

    /// A size in mm, whatever its sign: the shape itself says which sizes it cannot have.
    fn side<A: ArgumentName>(&mut self, arguments: &Arguments<'t, A>, name: A) -> Option<f64> {
        self.length(arguments.get(name)?).map(Length::as_mm)
    }

    fn corner<A: ArgumentName>(&mut self, arguments: &Arguments<'t, A>, name: A) -> Option<f64> {
        self.reach(arguments, name, "the corner radius")
    }

    /// A length of zero or more in mm, or the default of the argument.
    fn reach<A: ArgumentName>(&mut self, arguments: &Arguments<'t, A>, name: A, what: &str) -> Option<f64> {
        let length = match arguments.get(name) {
            Some(given) => self.distance(given, what),
            None => name.parameter().default.length(),
        };
        length.map(Length::as_mm)
    }

    pub(super) fn circle(&mut self, arguments: &Arguments<'t, arguments::Circle>) -> Drawn {
        use arguments::Circle::{Diameter, Radius};
        let radius = match (arguments.get(Diameter), arguments.get(Radius)) {
            (Some(diameter), _) => half(self.size(diameter, "the diameter")?),
            (None, Some(radius)) => self.size(radius, "the radius")?.as_mm(),
            (None, None) => return None,
        };
        Some(shapes::circle(radius))
    }

    pub(super) fn polygon(&mut self, arguments: &Arguments<'t, arguments::Polygon>) -> Drawn {
        use arguments::Polygon::{AcrossCorners, AcrossFlats, Corner, Side, Sides};
        let sides = self.count(arguments.get(Sides)?, "the number of sides", 3, limits::SIDES)?;
        type Size = fn(f64) -> shapes::PolygonSize;
        let ways: [(arguments::Polygon, Size); 3] = [
            (AcrossCorners, shapes::PolygonSize::AcrossCorners),
            (AcrossFlats, shapes::PolygonSize::AcrossFlats),
            (Side, shapes::PolygonSize::Side),
        ];
        let (name, size) = ways.into_iter().find(|(name, _)| arguments.get(*name).is_some())?;
        let given = self.side(arguments, name)?;
        let corner = self.corner(arguments, Corner)?;
        Some(shapes::circumradius(sides, size(given)).and_then(|radius| shapes::polygon(sides, radius, corner)))
    }

    pub(super) fn sector(&mut self, arguments: &Arguments<'t, arguments::Sector>) -> Drawn {
        use arguments::Sector::{From, Inner, Radius, To};
        let outer = self.side(arguments, Radius)?;
        let inner = self.reach(arguments, Inner, "the inner radius")?;
        let (from, to) = (self.angle(arguments.get(From)?), self.angle(arguments.get(To)?));
        Some(shapes::sector(outer, inner, from?, to?))
    }

    pub(super) fn art(&mut self, arguments: &Arguments<'t, arguments::Art>, span: Span) -> Option<Value> {
        use arguments::Art::{File, Height, InPlace, Width};
        let file = arguments.get(File)?;
        let name = self.words(file)?;
        let (wanted, at) = self.wanted(arguments)?;
        let areas = if self.in_colours {
            self.areas(&name, &wanted, file.span, at)?
        } else {
            vec![(None, self.artwork(&name, &wanted, file.span, at)?)]
        };
        let (_, art) = areas.first()?;
        let says: Arc<str> = wanted.part.map_or_else(|| stem(&name).into(), Into::into);
        let height = match (arguments.get(Height), arguments.get(Width)) {
            (Some(height), Some(width)) => return self.report(say_art::sized_twice(height.span, width.span)),
            (Some(height), None) => Some(self.size(height, "the height")?.as_mm()),
            (None, Some(width)) => Some(art.height_at_width(self.size(width, "the width")?.as_mm())),
            (None, None) => None,
        };
        let in_place = match arguments.get(InPlace) {
            Some(in_place) => self.truth(in_place)?,
            None => InPlace.row().default.truth()?,
        };
        let unsized_art = height.is_none();
        let mut made = Vec::new();
        for (colour, art) in &areas {
            let sized = match height {
                _ if in_place => art.in_place(height),
                Some(height) => art.scaled_to_height(height),
                None => Ok(art.centred()),
            };
            let region = match sized {
                Ok(sized) => sized.ink,
                Err(error) => return self.report(say::bad_artwork(&name, &error, span, None)),
            };
            let (region, says) = (self.to_read(region).into(), Some(says.clone()));
            made.push(Value::Region(Figure { region, says, colour: *colour, unsized_art, lettering: None }));
        }
        if self.in_colours { self.listed(made, span) } else { made.pop() }
    }

    /// A drawing in its own colours.
    fn areas(&mut self, name: &str, wanted: &Wanted, span: Span, at: Option<Span>) -> Option<Areas> {
        let from = self.world.sources.file(span.source).name;
        let Some(path) = beside(&from, name) else {
            return self.report(say::outside_folder(name, span));
        };
        let areas = match self.world.project.read(&path, limits::ART_BYTES) {
            Err(problem) => return self.report(say::cannot_read(name, &problem, span)),
            Ok(bytes) => artwork::coloured(&bytes, wanted),
        };
        match areas {
            Err(error) => self.report(say::bad_artwork(name, &error, span, at)),
            Ok(areas) => {
                if let Some((_, art)) = areas.first() {
                    if !art.dropped.is_empty() {
                        self.problems.push(say::art_dropped(name, &art.dropped, span));
                    }
                    self.problems.extend(say_art::off_page(name, art, span));
                }
                Some(areas.into_iter().map(|(colour, art)| (Some(colour), Arc::new(art))).collect())
            }
        }
    }

    /// What a call wants of a picture, and where it says so.
    fn wanted(&mut self, arguments: &Arguments<'t, arguments::Art>) -> Option<(Wanted, Option<Span>)> {
        use arguments::Art::{Part, Threshold, Tone};
        let [part, tone, threshold] = [Part, Tone, Threshold].map(|name| arguments.get(name));
        let at = part.or(tone).or(threshold).map(|given| given.span);
        let part = match part {
            Some(part) => Some(self.words(part)?.to_string()),
            None => None,
        };
        if let (Some(tone), Some(threshold)) = (tone, threshold) {
            return self.report(say_art::tone_and_threshold(tone.span, threshold.span));
        }
        let tone = match tone.map(|tone| self.value(tone)) {
            Some(Some(Value::Colour(colour))) => Some(colour),
            Some(_) => return None,
            None => None,
        };
        let threshold = match threshold {
            Some(given) => match self.quantity(given)?.value {
                share if share > 0.0 && share < 1.0 => Some(share),
                share => return self.report(say_art::threshold_out_of_bounds(share, given.span)),
            },
            None => None,
        };
        Some((Wanted { part, tone, threshold }, at))
    }

    /// Lettering or artwork as it stands in the front frame: turned round on a back, so that it reads right
    /// when that face is looked at.
    pub(super) fn to_read(&self, region: Region) -> Region {
        match self.face {
            Face::Front => region,
            Face::Back => region.transformed(Affine::FLIP_X),
        }
    }

    fn artwork(&mut self, name: &str, wanted: &Wanted, span: Span, at: Option<Span>) -> Option<Arc<Art>> {
        let from = self.world.sources.file(span.source).name;
        let Some(path) = beside(&from, name) else {
            return self.report(say::outside_folder(name, span));
        };
        let key = (path.clone(), format!("{wanted:?}"));
        if let Some(known) = self.artwork.get(&key) {
            return known.clone();
        }
        let art = match self.world.project.read(&path, limits::ART_BYTES) {
            Err(problem) => self.report(say::cannot_read(name, &problem, span)),
            Ok(bytes) => match artwork::art(&bytes, wanted) {
                Ok(art) => Some(Arc::new(art)),
                Err(error) => self.report(say::bad_artwork(name, &error, span, at)),
            },
        };
        if let Some(art) = &art {
            if !art.dropped.is_empty() {
                self.problems.push(say::art_dropped(name, &art.dropped, span));
            }
            self.problems.extend(say_art::off_page(name, art, span));
            if let Some(scan) = &art.scan {
                self.problems.extend(say_art::of_scan(name, scan, wanted, span));
            }
        }
        self.artwork.insert(key, art.clone());
        art
    }
}

/// The place of the argument that a fault is about; of path data, from where on it cannot be read.
fn at_fault<A: ArgumentName>(error: &GeometryError, arguments: &Arguments<'_, A>) -> Option<Span> {
    let name = match error {
        GeometryError::NotPositive { what, .. } | GeometryError::TooLarge { what, .. } => what,
        GeometryError::CornerTooLarge { .. } => "corner",
        GeometryError::BadPathData { .. } => "data",
        _ => return None,
    };
    let given = arguments.of_word(name)?;
    let GeometryError::BadPathData { offset } = error else { return Some(given.span) };
    let (ExprKind::Text(data), range) = (&given.kind, given.span.range()) else { return Some(given.span) };
    // Quotes and no escapes: a byte of the data is a byte of the text.
    let is_plain = range.len() == data.len() + 2 && *offset < data.len();
    Some(if is_plain { Span::new(given.span.source, range.start + 1 + offset..range.end - 1) } else { given.span })
}

/// The name of a file without its folder and ending.
fn stem(name: &str) -> &str {
    let file = name.rsplit(['/', '\\']).next().unwrap_or(name);
    file.rsplit_once('.').map_or(file, |(stem, _)| stem)
}
