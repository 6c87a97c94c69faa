//! Sliders for params, and what they write back into the text.

use std::collections::BTreeMap;

use crate::check::{Checked, Loaded, Range, Ranged, SettingText, Value, Variant, rewritten, unit_of};
use crate::project::Project;
use crate::revision::Digest;
use crate::source::Sources;
use crate::syntax::parse_expression;
use crate::units::{Quantity, plain};

/// Steps of a slider from end to end, at least.
const STEPS: f64 = 100.0;

/// A param as the page shows it.
#[derive(Clone, Debug, PartialEq)]
pub struct Knob {
    /// Its name.
    pub name: String,
    /// What it is, in words.
    pub note: Option<String>,
    /// How it is set.
    pub set: Set,
    /// The value as the file would write it.
    pub value: String,
    /// The file that states it.
    pub file: String,
    /// The digest of that file's text, as 64 hexadecimal digits.
    pub digest: String,
    /// Whether the variant that is shown sets it itself, so that writing the file's own value would change nothing.
    pub by_variant: bool,
}

/// How a param is set.
#[derive(Clone, Debug, PartialEq)]
pub enum Set {
    /// By a slider, all in one unit.
    Slide {
        /// Its ends.
        ends: (f64, f64),
        /// From one value to the next.
        step: f64,
        /// Where it stands.
        at: f64,
        /// The unit, behind each number; may be empty.
        unit: &'static str,
    },
    /// By one of these, as written.
    Choose(Vec<String>),
}

/// The variants' names, and a knob for each param with bounds, as they stand with this variant and these settings.
pub fn knobs(
    loaded: &Loaded,
    project: &dyn Project,
    variant: Option<&str>,
    settings: &[(String, String)],
) -> (Vec<String>, Vec<Knob>) {
    let (checked, _) = Checked::new(loaded, project);
    let mut texts = loaded.sources.clone();
    let set = settings.iter().filter_map(|(name, text)| {
        let id = texts.add(format!("(--set {name})"), text.as_str());
        parse_expression(&texts, id).0.map(|value| SettingText { name: name.clone(), value })
    });
    let set: Vec<SettingText> = set.collect();
    let (set, _) = checked.settings(&set, project);
    let (variants, _) = checked.variants(&set, project);
    let names = variants.iter().map(|variant| variant.name.clone()).collect();
    let shown = variant.map_or(variants.first(), |name| variants.iter().find(|variant| variant.name == name));
    let fixed = shown.map(|variant: &Variant| variant.settings.clone()).unwrap_or_default();
    let mut values: BTreeMap<String, Value> = fixed.clone();
    values.extend(set);
    let ranged = checked.ranged(&values, project);
    let knobs = ranged.iter().filter_map(|param| knob(param, &loaded.sources, fixed.contains_key(&param.name)));
    (names, knobs.collect())
}

fn knob(param: &Ranged, sources: &Sources, by_variant: bool) -> Option<Knob> {
    let file = sources.file(param.written.source);
    let (set, value) = match &param.range {
        Range::Between(least, most) => {
            let unit = unit_of(param, sources);
            let of = |quantity: Quantity| quantity.value / unit.map_or(1.0, |unit| unit.factor);
            let (ends, at) = ((of(*least), of(*most)), of(param.value.quantity()?));
            let step = if param.kind == "count" { 1.0 } else { step(ends.1 - ends.0) };
            let unit = unit.map_or("", |unit| unit.name);
            (Set::Slide { ends, step, at, unit }, format!("{}{unit}", plain(at, 6)))
        }
        Range::OneOf(choices) => {
            let (text, _) = choices.iter().find(|(_, value)| *value == param.value)?;
            (Set::Choose(choices.iter().map(|(text, _)| text.clone()).collect()), text.clone())
        }
    };
    let digest = Digest::of(file.text.as_bytes()).to_string();
    Some(Knob { name: param.name.clone(), note: param.note.clone(), set, value, file: file.name, digest, by_variant })
}

/// One, two or five of a power of ten, so that the range has a hundred steps or a few more.
fn step(range: f64) -> f64 {
    let most = (range / STEPS).max(1e-6);
    let ten = 10_f64.powf(most.log10().floor());
    [5.0, 2.0, 1.0].into_iter().map(|times| times * ten).find(|step| *step <= most * (1.0 + 1e-9)).unwrap_or(ten)
}

/// Why a value is not written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unwritten {
    /// The file is not the one that the page showed.
    Changed,
    /// There is no such param with bounds, or it may not be that, or the file is none of the maker's.
    NotAllowed,
}

/// The file that states a param, and its whole text with another value in place of the old one: nothing else is
/// changed, byte for byte. `seen` is the digest of the text that the page showed.
///
/// # Errors
/// Where the text is another one by now, or the value is none that the param may have.
pub fn written(
    loaded: &Loaded,
    project: &dyn Project,
    (param, value, seen): (&str, &str, &str),
) -> Result<(String, String), Unwritten> {
    let (checked, _) = Checked::new(loaded, project);
    let params = checked.ranged(&BTreeMap::new(), project);
    let param = params.iter().find(|ranged| ranged.name == param).ok_or(Unwritten::Changed)?;
    let file = loaded.sources.file(param.written.source);
    // The slider shows a value of the text that the page was drawn from. Over another text it might overwrite what
    // somebody has just typed.
    if Digest::of(file.text.as_bytes()).to_string() != seen {
        return Err(Unwritten::Changed);
    }
    let edit = rewritten(param, &loaded.sources, value).ok_or(Unwritten::NotAllowed)?;
    let mut text = file.text.to_string();
    text.replace_range(edit.span.range(), &edit.text);
    Ok((file.name, text))
}
