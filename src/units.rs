//! Dimensions, quantities and the units they are written in.
//!
//! Base units inside the program: millimetre, degree, kilogram, second, ampere, one unit of the shop's
//! currency. Degrees, because a maker writes `72deg` and gets exactly 72.

mod format;

use std::fmt;

pub(crate) use format::push_plain;
pub use format::{fixed, mm, percent, percent_of, plain, rounded, typed_percent};

/// Exponents of the base dimensions.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default)]
pub struct Dimension {
    /// Power of length (mm).
    pub length: i8,
    /// Power of angle (deg).
    pub angle: i8,
    /// Power of mass (kg).
    pub mass: i8,
    /// Power of time (s).
    pub time: i8,
    /// Power of electric current (A).
    pub current: i8,
    /// Power of cost (the shop's currency).
    pub cost: i8,
}

impl Dimension {
    /// A pure number: counts and ratios.
    pub const NUMBER: Self = Self { length: 0, angle: 0, mass: 0, time: 0, current: 0, cost: 0 };
    /// Length.
    pub const LENGTH: Self = Self { length: 1, ..Self::NUMBER };
    /// Area.
    pub const AREA: Self = Self { length: 2, ..Self::NUMBER };
    /// Angle.
    pub const ANGLE: Self = Self { angle: 1, ..Self::NUMBER };
    /// Mass.
    pub const MASS: Self = Self { mass: 1, ..Self::NUMBER };
    /// Time.
    pub const TIME: Self = Self { time: 1, ..Self::NUMBER };
    /// Length over time.
    pub const SPEED: Self = Self { length: 1, time: -1, ..Self::NUMBER };
    /// Force.
    pub const FORCE: Self = Self { length: 1, mass: 1, time: -2, ..Self::NUMBER };
    /// Torque.
    pub const TORQUE: Self = Self { length: 2, mass: 1, time: -2, ..Self::NUMBER };
    /// Flux density.
    pub const FLUX_DENSITY: Self = Self { mass: 1, time: -2, current: -1, ..Self::NUMBER };
    /// Pressure: the strength of a glue.
    pub const PRESSURE: Self = Self { length: -1, mass: 1, time: -2, ..Self::NUMBER };
    /// Density.
    pub const DENSITY: Self = Self { length: -3, mass: 1, ..Self::NUMBER };
    /// Force for each length moved.
    pub const STIFFNESS: Self = Self { mass: 1, time: -2, ..Self::NUMBER };
    /// Cost.
    pub const COST: Self = Self { cost: 1, ..Self::NUMBER };

    fn zip(self, other: Self, f: impl Fn(i8, i8) -> i8) -> Self {
        Self {
            length: f(self.length, other.length),
            angle: f(self.angle, other.angle),
            mass: f(self.mass, other.mass),
            time: f(self.time, other.time),
            current: f(self.current, other.current),
            cost: f(self.cost, other.cost),
        }
    }

    /// The dimension of a product.
    pub fn times(self, other: Self) -> Self {
        self.zip(other, i8::saturating_add)
    }

    /// The dimension of a quotient.
    pub fn over(self, other: Self) -> Self {
        self.zip(other, i8::saturating_sub)
    }

    /// The dimension of a square root; none where an exponent is odd.
    pub fn root(self) -> Option<Self> {
        let parts = [self.length, self.angle, self.mass, self.time, self.current, self.cost];
        // The root of a length is no quantity that anyone could use.
        parts.iter().all(|part| part % 2 == 0).then(|| self.zip(self, |half, _| half / 2))
    }

    /// What people call it: "a length", "an angle", "a number", "an area"; a product of units otherwise.
    pub fn described(self) -> String {
        NAMED.iter().find(|named| named.0 == self).map_or_else(
            || format!("a quantity in {}", self.base_unit()),
            |(_, name, _)| {
                let article = if name.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
                format!("{article} {name}")
            },
        )
    }

    /// The unit that values of this dimension are shown in; nothing for pure numbers.
    pub fn unit(self) -> String {
        self.shown_in().0
    }

    /// The unit that values of this dimension are shown in, with its factor to base units.
    fn shown_in(self) -> (String, f64) {
        NAMED
            .iter()
            .find(|named| named.0 == self)
            .and_then(|(_, _, unit)| UNITS.iter().chain(&SHOWN_ONLY).find(|known| known.name == *unit))
            .map_or_else(|| (self.base_unit(), 1.0), |unit| (unit.name.to_owned(), unit.factor))
    }

    fn base_unit(self) -> String {
        let parts = [
            (self.length, "mm"),
            (self.angle, "deg"),
            (self.mass, "kg"),
            (self.time, "s"),
            (self.current, "A"),
            (self.cost, "cost"),
        ];
        let powers = parts.iter().filter(|(power, _)| *power != 0).map(|(power, unit)| match power {
            1 => (*unit).to_owned(),
            _ => format!("{unit}^{power}"),
        });
        powers.collect::<Vec<_>>().join(" ")
    }
}

/// Dimensions that have a name of their own: dimension, name, the unit they are shown in.
const NAMED: [(Dimension, &str, &str); 14] = [
    (Dimension::NUMBER, "number", ""),
    (Dimension::LENGTH, "length", "mm"),
    (Dimension::AREA, "area", "mm²"),
    (Dimension::ANGLE, "angle", "deg"),
    (Dimension::MASS, "mass", "g"),
    (Dimension::TIME, "time", "s"),
    (Dimension::SPEED, "speed", "mm/s"),
    (Dimension::FORCE, "force", "N"),
    (Dimension::TORQUE, "torque", "mNm"),
    (Dimension::FLUX_DENSITY, "flux density", "T"),
    (Dimension::PRESSURE, "pressure", "MPa"),
    (Dimension::DENSITY, "density", "kg/m3"),
    (Dimension::STIFFNESS, "stiffness", "N/mm"),
    (Dimension::COST, "cost", ""),
];

/// A unit of the language: its spelling, dimension and size in base units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    /// As written after a number.
    pub name: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    /// How many base units it is.
    pub factor: f64,
}

const fn unit(name: &'static str, dimension: Dimension, factor: f64) -> Unit {
    Unit { name, dimension, factor }
}

/// All units that may follow a number. `in` is exactly 25.4 mm (international yard and pound agreement, 1959).
pub const UNITS: [Unit; 23] = [
    unit("mm", Dimension::LENGTH, 1.0),
    unit("cm", Dimension::LENGTH, 10.0),
    unit("m", Dimension::LENGTH, 1000.0),
    unit("in", Dimension::LENGTH, 25.4),
    unit("thou", Dimension::LENGTH, 0.0254),
    unit("deg", Dimension::ANGLE, 1.0),
    unit("rad", Dimension::ANGLE, 180.0 / std::f64::consts::PI),
    unit("turn", Dimension::ANGLE, 360.0),
    unit("N", Dimension::FORCE, 1e3),
    unit("mN", Dimension::FORCE, 1.0),
    unit("Nm", Dimension::TORQUE, 1e6),
    unit("mNm", Dimension::TORQUE, 1e3),
    unit("MPa", Dimension::PRESSURE, 1e3),
    unit("T", Dimension::FLUX_DENSITY, 1.0),
    unit("mT", Dimension::FLUX_DENSITY, 1e-3),
    unit("G", Dimension::FLUX_DENSITY, 1e-4),
    unit("g", Dimension::MASS, 1e-3),
    unit("kg", Dimension::MASS, 1.0),
    unit("mg", Dimension::MASS, 1e-6),
    unit("s", Dimension::TIME, 1.0),
    unit("min", Dimension::TIME, 60.0),
    unit("h", Dimension::TIME, 3600.0),
    unit("%", Dimension::NUMBER, 0.01),
];

/// Units that results are shown in, but that no number is written with.
const SHOWN_ONLY: [Unit; 4] = [
    unit("mm²", Dimension::AREA, 1.0),
    unit("mm/s", Dimension::SPEED, 1.0),
    unit("kg/m3", Dimension::DENSITY, 1e-9),
    unit("N/mm", Dimension::STIFFNESS, 1e3),
];

/// The unit of this spelling.
pub fn unit_named(name: &str) -> Option<Unit> {
    UNITS.iter().find(|unit| unit.name == name).copied()
}

/// A number with its dimension, in base units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantity {
    /// The value in base units.
    pub value: f64,
    /// What it measures.
    pub dimension: Dimension,
}

impl Quantity {
    /// A pure number.
    pub fn number(value: f64) -> Self {
        Self { value, dimension: Dimension::NUMBER }
    }

    /// A value given in some unit.
    pub fn of(value: f64, unit: Unit) -> Self {
        Self { value: value * unit.factor, dimension: unit.dimension }
    }

    /// A whole number, where it is a pure number within 1e-9 of one.
    pub fn whole(self) -> Option<i64> {
        let near = self.value.round();
        // Above this not every whole number has a float of its own.
        let fits = self.dimension == Dimension::NUMBER && (self.value - near).abs() < 1e-9 && near.abs() < 1e15;
        #[allow(clippy::cast_possible_truncation, reason = "bounded above")]
        fits.then_some(near as i64)
    }
}

/// Shown with three decimals at most, trailing zeros dropped, in the unit people use for it.
impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.to_decimals(3))
    }
}

macro_rules! measure {
    ($(#[$doc:meta])* $name:ident, $dimension:ident, $($(#[$make_doc:meta])* $make:ident, $(#[$get_doc:meta])* $get:ident, $factor:expr;)+) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Default)]
        pub struct $name(f64);

        impl $name {
            /// Nothing at all.
            pub const ZERO: Self = Self(0.0);
            $(
                $(#[$make_doc])*
                pub const fn $make(value: f64) -> Self { Self(value * $factor) }
                $(#[$get_doc])*
                pub const fn $get(self) -> f64 { self.0 / $factor }
            )+
            /// The same as a quantity of the language.
            pub const fn quantity(self) -> Quantity {
                Quantity { value: self.0, dimension: Dimension::$dimension }
            }
            /// Shown as [`Quantity::to_decimals`] does.
            pub fn to_decimals(self, decimals: usize) -> String { self.quantity().to_decimals(decimals) }
            /// From a quantity; none where the dimension differs.
            pub fn from_quantity(quantity: Quantity) -> Option<Self> {
                (quantity.dimension == Dimension::$dimension).then_some(Self(quantity.value))
            }
        }

        impl std::ops::Add for $name { type Output = Self; fn add(self, other: Self) -> Self { Self(self.0 + other.0) } }
        impl std::ops::Sub for $name { type Output = Self; fn sub(self, other: Self) -> Self { Self(self.0 - other.0) } }
        impl std::ops::Neg for $name { type Output = Self; fn neg(self) -> Self { Self(-self.0) } }
        impl std::ops::Mul<f64> for $name { type Output = Self; fn mul(self, by: f64) -> Self { Self(self.0 * by) } }
        impl std::ops::Div<f64> for $name { type Output = Self; fn div(self, by: f64) -> Self { Self(self.0 / by) } }
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result { self.quantity().fmt(f) }
        }
    };
}

measure! {
    /// A length.
    Length, LENGTH,
    /// From millimetres.
    mm, /// In millimetres.
    as_mm, 1.0;
    /// From inches.
    inches, /// In inches.
    as_inches, 25.4;
}
measure! {
    /// An angle; as a bearing it runs clockwise from the top, seen from the front.
    Angle, ANGLE,
    /// From degrees.
    degrees, /// In degrees.
    as_degrees, 1.0;
    /// From radians.
    radians, /// In radians.
    as_radians, 180.0 / std::f64::consts::PI;
}
measure! {
    /// A force.
    Force, FORCE,
    /// From newtons.
    newtons, /// In newtons.
    as_newtons, 1e3;
}
measure! {
    /// A torque.
    Torque, TORQUE,
    /// From millinewton metres.
    millinewton_metres, /// In millinewton metres.
    as_millinewton_metres, 1e3;
}
measure! {
    /// A pressure: the strength of a glue.
    Pressure, PRESSURE,
    /// From megapascals (newtons for each square millimetre).
    megapascals, /// In megapascals.
    as_megapascals, 1e3;
}
measure! {
    /// A density.
    Density, DENSITY,
    /// From kilograms for each cubic metre.
    kilograms_per_cubic_metre, /// In kilograms for each cubic metre.
    as_kilograms_per_cubic_metre, 1e-9;
}
measure! {
    /// A magnetic flux density (or a remanence).
    FluxDensity, FLUX_DENSITY,
    /// From tesla.
    tesla, /// In tesla.
    as_tesla, 1.0;
}
measure! {
    /// A mass.
    Mass, MASS,
    /// From kilograms.
    kilograms, /// In kilograms.
    as_kilograms, 1.0;
}
measure! {
    /// A time.
    Time, TIME,
    /// From seconds.
    seconds, /// In seconds.
    as_seconds, 1.0;
}

measure! {
    /// A speed.
    Speed, SPEED,
    /// From millimetres a second.
    mm_per_second, /// In millimetres a second.
    as_mm_per_second, 1.0;
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_inch_is_exactly_25_4_mm() {
        assert_eq!(Length::inches(1.0).as_mm(), 25.4);
        assert_eq!(unit_named("in").map(|unit| unit.factor), Some(25.4));
    }

    #[test]
    fn quantities_show_their_usual_unit() {
        assert_eq!(Force::newtons(5.43698).to_string(), "5.437N");
        assert_eq!(Torque::millinewton_metres(12.0).to_string(), "12mNm");
        assert_eq!(Quantity::number(-0.00001).to_string(), "0");
        assert_eq!(
            (Length::mm(12.345_6).to_decimals(2), Angle::degrees(72.0).to_decimals(1)),
            ("12.35mm".into(), "72deg".into())
        );
        assert_eq!(
            (Force::newtons(5.436_98).to_decimals(0), Length::mm(-0.004).to_decimals(2)),
            ("5N".into(), "0mm".into())
        );
    }
}
