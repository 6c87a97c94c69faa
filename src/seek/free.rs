//! Params whose values are sought, and the places that a search may stand at.

use super::findings as say;
use crate::analysis::CheckedSession;
use crate::check::findings::seeks::without_bounds;
use crate::check::{Range, Ranged, Value, Variant, unit_of};
use crate::diagnostics::{Edit, Problems};
use crate::source::Sources;
use crate::syntax::tree::Name;
use crate::units::{Dimension, Quantity, Unit, plain};

/// Where a search stands: for each free param its place, see [`Free::value`].
pub type Place = Vec<i64>;

/// A param whose value is sought.
#[derive(Clone, Debug)]
pub struct Free {
    /// The param as it stands.
    pub param: Ranged,
    /// What its places stand for.
    pub kind: Kind,
    /// The first and the last place that it may have.
    pub ends: (i64, i64),
    /// The place of the value as it stands.
    pub start: i64,
    /// How many places one step to be rounded to has; none where it is not rounded.
    pub step: Option<i64>,
}

/// What places stand for.
#[derive(Clone, Debug)]
pub enum Kind {
    /// So many decimals of this unit; of base units where the language has none.
    Measured {
        /// How many.
        decimals: u32,
        /// The unit that the file writes.
        unit: Option<Unit>,
        /// What is measured.
        dimension: Dimension,
    },
    /// Themselves.
    Counted,
    /// One of these.
    Chosen(Vec<(String, Value)>),
}

/// Places of a range: its length in so many parts, by the power of ten.
const FINENESS: f64 = 5.0;
/// Decimals that a step may have in its unit.
const MOST_DECIMALS: u32 = 9;

impl Free {
    /// Whether it may be anything between its ends.
    pub fn is_smooth(&self) -> bool {
        matches!(self.kind, Kind::Measured { .. })
    }

    /// The value at a place.
    pub fn value(&self, place: i64) -> Value {
        match &self.kind {
            Kind::Measured { dimension, .. } => {
                Value::Quantity(Quantity { value: self.base(place), dimension: *dimension })
            }
            Kind::Counted => Value::Quantity(Quantity::number(self.base(place))),
            Kind::Chosen(choices) => {
                let chosen = usize::try_from(place).ok().and_then(|at| choices.get(at));
                chosen.map_or_else(|| self.param.value.clone(), |(_, value)| value.clone())
            }
        }
    }

    /// The same as the file would write it.
    pub fn text(&self, place: i64) -> String {
        match &self.kind {
            Kind::Measured { decimals, unit: Some(unit), .. } => {
                format!("{}{}", plain(in_unit(place, *decimals), *decimals as usize), unit.name)
            }
            Kind::Measured { .. } => self.value(place).to_string(),
            Kind::Counted => place.to_string(),
            Kind::Chosen(choices) => {
                let chosen = usize::try_from(place).ok().and_then(|at| choices.get(at));
                chosen.map_or_else(String::new, |(text, _)| text.clone())
            }
        }
    }

    /// The value at a place in base units.
    pub fn base(&self, place: i64) -> f64 {
        match &self.kind {
            Kind::Measured { decimals, unit, .. } => in_unit(place, *decimals) * unit.map_or(1.0, |unit| unit.factor),
            _ => float(place),
        }
    }

    /// Where a place lies between the ends, from 0 to 1.
    pub fn share(&self, place: i64) -> f64 {
        float(place - self.ends.0) / float((self.ends.1 - self.ends.0).max(1))
    }

    /// The place nearest to this share of the way between the ends.
    pub fn at_share(&self, share: f64) -> i64 {
        let along = (share * float(self.ends.1 - self.ends.0)).round();
        #[allow(clippy::cast_possible_truncation, reason = "places are below 1e15, and the cast saturates")]
        let along = along as i64;
        self.ends.0.saturating_add(along).clamp(self.ends.0, self.ends.1)
    }

    /// All places, where they are few enough to be gone through.
    pub fn places(&self) -> u64 {
        self.ends.0.abs_diff(self.ends.1).saturating_add(1)
    }

    /// What writes the value at this place into the file; none where the file cannot state it.
    pub fn edit(&self, sources: &Sources, place: i64) -> Option<Edit> {
        crate::check::rewritten(&self.param, sources, &self.text(place))
    }
}

#[allow(clippy::cast_precision_loss, reason = "places are below 1e15")]
pub(super) fn float(place: i64) -> f64 {
    place as f64
}

fn in_unit(place: i64, decimals: u32) -> f64 {
    // One correctly rounded division, so that it is the number that the decimals are read as.
    float(place) / 10_f64.powi(i32::try_from(decimals).unwrap_or(0))
}

/// The free params of these names in order of name, with the steps that they are rounded to, and what is wrong with them.
pub(super) fn free(
    session: &CheckedSession<'_>,
    variant: Option<&Variant>,
    names: &[Name],
    steps: &[(Quantity, crate::source::Span)],
) -> (Vec<Free>, Problems) {
    let mut problems = Problems::default();
    let params = session.params(variant);
    let ranged = session.ranged(&session.values(variant));
    let mut all: Vec<Free> = Vec::new();
    let mut used = vec![false; steps.len()];
    for name in names {
        let Some(param) = ranged.iter().find(|param| param.name == name.text) else {
            let declared = params.iter().any(|(known, _)| *known == name.text);
            problems.push(if declared { without_bounds(name) } else { say::unknown(name, &params) });
            continue;
        };
        if all.iter().any(|free| free.param.name == name.text) {
            continue;
        }
        let fitting =
            steps.iter().position(|(step, _)| param.value.quantity().is_some_and(|it| it.dimension == step.dimension));
        fitting.and_then(|at| used.get_mut(at)).into_iter().for_each(|used| *used = true);
        let step = fitting.and_then(|at| steps.get(at));
        match of_param(param, session.sources(), step.map(|(step, _)| step.value)) {
            Some(free) => all.push(free),
            None => problems.push(match step {
                Some((step, span)) => say::step_too_odd(name, *step, *span),
                None => say::no_range(name),
            }),
        }
    }
    if names.is_empty() {
        let can: Vec<&str> = ranged.iter().map(|param| param.name.as_str()).collect();
        problems.push(say::nothing_free(&can));
    }
    for ((step, span), _) in steps.iter().zip(&used).filter(|(_, used)| !**used) {
        problems.push(say::step_of_nothing(*step, *span));
    }
    // By name, so that nothing depends on the order in which they were asked for or stand in the file.
    all.sort_by(|a, b| a.param.name.cmp(&b.param.name));
    (all, problems)
}

/// None where there is nothing between its ends, or they hold no whole step.
fn of_param(param: &Ranged, sources: &Sources, step: Option<f64>) -> Option<Free> {
    match &param.range {
        Range::OneOf(choices) => {
            let last = i64::try_from(choices.len()).ok()?.checked_sub(1)?;
            let start = choices.iter().position(|(_, value)| *value == param.value).unwrap_or(0);
            let kind = Kind::Chosen(choices.clone());
            Some(Free { param: param.clone(), kind, ends: (0, last), start: i64::try_from(start).ok()?, step: None })
        }
        Range::Between(least, most) if param.kind == "count" => {
            let ends = (place(least.value.ceil())?, place(most.value.floor())?);
            let start = place(param.value.quantity()?.value.round())?.clamp(ends.0, ends.1.max(ends.0));
            (ends.0 <= ends.1).then(|| Free { param: param.clone(), kind: Kind::Counted, ends, start, step: None })
        }
        Range::Between(least, most) => {
            let unit = unit_of(param, sources);
            let of = |value: f64| value / unit.map_or(1.0, |unit| unit.factor);
            let (low, high) = (of(least.value), of(most.value));
            let fine = (FINENESS - (high - low).max(1e-9).log10().floor()).clamp(0.0, f64::from(MOST_DECIMALS));
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped above")]
            let decimals = with_step(fine as u32, step.map(of))?;
            let tens = 10_f64.powi(i32::try_from(decimals).ok()?);
            let hair = 1e-6;
            let ends = (place((low * tens - hair).ceil())?, place((high * tens + hair).floor())?);
            let step = step.map(|step| place((of(step) * tens).round())).map_or(Some(None), |step| step.map(Some))?;
            let start = place((of(param.value.quantity()?.value) * tens).round())?;
            let kind = Kind::Measured { decimals, unit, dimension: least.dimension };
            let fits = ends.0 < ends.1 && step.is_none_or(|step| step > 0 && ends.1.div_euclid(step) * step >= ends.0);
            fits.then(|| Free { param: param.clone(), kind, ends, start: start.clamp(ends.0, ends.1), step })
        }
    }
}

/// Decimals of which a step is a whole number; none where it never is.
fn with_step(decimals: u32, step: Option<f64>) -> Option<u32> {
    let Some(step) = step else { return Some(decimals) };
    (decimals..=MOST_DECIMALS).find(|decimals| {
        let whole = step * 10_f64.powi(i32::try_from(*decimals).unwrap_or(0));
        (whole - whole.round()).abs() < 1e-6 && whole.round() >= 1.0
    })
}

fn place(value: f64) -> Option<i64> {
    #[allow(clippy::cast_possible_truncation, reason = "bounded")]
    (value.abs() < 1e15).then_some(value as i64)
}
