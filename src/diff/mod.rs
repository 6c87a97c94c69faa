//! What changed between two designs, by meaning. Pure: two analyses in, a list of changes out.
//!
//! Shapes are compared as shapes and figures as they are shown, to a thousandth of their unit; how a text is laid out,
//! and in what order its items stand, is no difference. A thing with another name and the same content is renamed.
//! `shapes` compares regions and lines, `layers` what is on each layer, `dial` what holds them and what follows from
//! it all; `items` compares texts that are no dial by themselves.

mod dial;
mod figures;
mod items;
mod layers;
mod pairs;
mod shapes;

use std::collections::BTreeMap;

use crate::analysis::{Analysis, Dial};

/// What a change is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Topic {
    /// What the dial is called.
    Title,
    /// The variants of a family.
    Variant,
    /// A param.
    Param,
    /// The shop.
    Shop,
    /// A stock.
    Stock,
    /// A magnet, rivet or adhesive.
    Fitting,
    /// How far what is made strays.
    Spreads,
    /// What the shop prints on sheets with.
    Printer,
    /// How the shop wants its drawings.
    Drawing,
    /// Whom the dials are made for.
    Client,
    /// Who makes them.
    Maker,
    /// The layers and their order.
    Stack,
    /// A layer.
    Layer,
    /// The outline of a layer.
    Outline,
    /// What is cut through, or left bare to be looked through.
    Opening,
    /// A pocket.
    Pocket,
    /// Engraving, scoring, paint.
    Mark,
    /// A ring of labels.
    Ring,
    /// A joint that turns, or is glued.
    Joint,
    /// What must be read.
    Reading,
    /// The slot.
    Slot,
    /// How many are made.
    Run,
    /// An accepted finding.
    Acceptance,
    /// An expectation.
    Expectation,
    /// A finding.
    Finding,
    /// Boards, setups and lengths of cut.
    Work,
    /// An item of a text that is no dial by itself.
    Item,
}

impl Topic {
    /// Its name in outputs.
    pub fn word(self) -> &'static str {
        match self {
            Topic::Title => "title",
            Topic::Variant => "variant",
            Topic::Param => "param",
            Topic::Shop => "shop",
            Topic::Stock => "stock",
            Topic::Fitting => "fitting",
            Topic::Spreads => "spreads",
            Topic::Printer => "printer",
            Topic::Drawing => "drawing",
            Topic::Client => "client",
            Topic::Maker => "maker",
            Topic::Stack => "stack",
            Topic::Layer => "layer",
            Topic::Outline => "outline",
            Topic::Opening => "opening",
            Topic::Pocket => "pocket",
            Topic::Mark => "mark",
            Topic::Ring => "ring",
            Topic::Joint => "joint",
            Topic::Reading => "reading",
            Topic::Slot => "slot",
            Topic::Run => "run",
            Topic::Acceptance => "acceptance",
            Topic::Expectation => "expectation",
            Topic::Finding => "finding",
            Topic::Work => "work",
            Topic::Item => "item",
        }
    }
}

/// What happened to it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum How {
    /// It is new.
    Added,
    /// It is gone.
    Removed,
    /// It has another name.
    Renamed,
    /// Something about it differs.
    Changed,
}

impl How {
    /// Its name in outputs.
    pub fn word(self) -> &'static str {
        match self {
            How::Added => "added",
            How::Removed => "removed",
            How::Renamed => "renamed",
            How::Changed => "changed",
        }
    }
}

/// One thing about a change, in words with units.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Detail {
    /// What it is, such as `depth`.
    pub what: &'static str,
    /// What it was; empty where it was not there.
    pub old: String,
    /// What it is now; empty where it is gone.
    pub new: String,
    /// How people are told, where that is more than both values.
    pub words: Option<String>,
}

impl Detail {
    fn new(what: &'static str, old: impl Into<String>, new: impl Into<String>) -> Self {
        Self { what, old: old.into(), new: new.into(), words: None }
    }

    fn described_as(self, words: impl Into<String>) -> Self {
        Self { words: Some(words.into()), ..self }
    }

    /// In words.
    pub fn says(&self) -> String {
        match (&self.words, self.old.as_str(), self.new.as_str()) {
            (Some(words), ..) => words.clone(),
            (None, "", new) => format!("{} {new}", self.what),
            (None, old, "") => format!("{} {old}, now none", self.what),
            (None, old, new) => format!("{} {old}, now {new}", self.what),
        }
    }
}

/// One change.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// What it is about.
    pub topic: Topic,
    /// What happened.
    pub how: How,
    /// What it happened to, in words; empty where the topic says it all.
    pub subject: String,
    /// What differs.
    pub details: Vec<Detail>,
    /// The variants it is found in, where not in all; the details are those of the first.
    pub variants: Vec<String>,
}

impl Change {
    /// In one line.
    pub fn says(&self) -> String {
        let subject = if self.subject.is_empty() { String::new() } else { format!(" {}", self.subject) };
        let details: Vec<String> = self.details.iter().map(Detail::says).collect();
        let details = if details.is_empty() { String::new() } else { format!(": {}", details.join("; ")) };
        let variants = match self.variants.as_slice() {
            [] => String::new(),
            [one] => format!(" (variant {one})"),
            [first, rest @ ..] => format!(" (variant {first}, and something of the kind in {} more)", rest.len()),
        };
        format!("{} {}{subject}{details}{variants}", self.how.word(), self.topic.word())
    }
}

/// All that changed.
#[derive(Clone, Debug, Default)]
pub struct Difference {
    /// By topic; empty where both mean the same.
    pub changes: Vec<Change>,
    /// Whether the texts are the same too, shared files included.
    pub same_text: bool,
    /// What was renamed, by its old name.
    pub renamed: BTreeMap<String, String>,
}

/// Changes as they are gathered, with the new names of what was renamed so far.
#[derive(Default)]
struct Changes {
    list: Vec<Change>,
    renamed: BTreeMap<String, String>,
}

impl Changes {
    fn push(&mut self, topic: Topic, how: How, subject: impl Into<String>, details: Vec<Detail>) {
        self.list.push(Change { topic, how, subject: subject.into(), details, variants: Vec::new() });
    }

    /// A change, unless there is nothing to tell.
    fn changed(&mut self, topic: Topic, subject: impl Into<String>, details: Vec<Detail>) {
        if !details.is_empty() {
            self.push(topic, How::Changed, subject, details);
        }
    }

    fn rename(&mut self, topic: Topic, old: &str, new: &str) {
        self.renamed.insert(old.to_owned(), new.to_owned());
        let detail = Detail::new("name", old, new).described_as(format!("now called `{new}`"));
        self.push(topic, How::Renamed, format!("`{old}`"), vec![detail]);
    }

    /// What a thing of the old design is called in the new one.
    fn now<'a>(&'a self, old: &'a str) -> &'a str {
        self.renamed.get(old).map_or(old, String::as_str)
    }
}

/// What changed from one analysed design to another.
///
/// ```
/// use dialwright::analysis::{Request, analyse};
/// use dialwright::diff::diff;
/// use dialwright::project::MemoryProject;
///
/// let of = |text: &str| {
///     let project = MemoryProject::default().with("plate.dial", text);
///     analyse(&project, "plate.dial", "", &Request::default()).expect("the file is there")
/// };
/// let old = of("dial \"Plate\"\noutline circle(diameter: 50mm)\nlayer base of birch { }");
/// let new = of("dial \"Plate\" // wider\noutline circle(diameter: 52mm)\nlayer base of birch { }");
/// let lines: Vec<String> = diff(&old, &new).changes.iter().map(|change| change.says()).collect();
/// assert!(lines.iter().any(|line| line.contains("outline")), "{lines:?}");
/// ```
pub fn diff(old: &Analysis, new: &Analysis) -> Difference {
    let mut all = Changes::default();
    let texts = |analysis: &Analysis| -> Vec<std::sync::Arc<str>> {
        analysis.sources.iter().map(|(_, file)| file.text.clone()).collect()
    };
    let same_text = texts(old) == texts(new);
    // A shared file and a design with errors have no dial, but their items can be compared.
    if old.dials.is_empty() || new.dials.is_empty() {
        items::items(&mut all, old, new);
    } else {
        let both = variants(&mut all, &old.dials, &new.dials);
        let per_dial: Vec<(Option<String>, Changes)> = both
            .iter()
            .map(|(old, new)| {
                let mut changes = Changes::default();
                dial::dial(&mut changes, old, new);
                (new.design.variant.clone(), changes)
            })
            .collect();
        for (_, changes) in &per_dial {
            all.renamed.extend(changes.renamed.clone());
        }
        all.list.extend(merged(per_dial));
        dial::bounds(&mut all, &old.bounds, &new.bounds);
    }
    dial::findings(&mut all, old, new);
    all.list.sort_by_key(|change| change.topic);
    Difference { changes: all.list, same_text, renamed: all.renamed }
}

/// The dials of both that are the same variant; variants that came, went or were renamed are changes.
fn variants<'a>(all: &mut Changes, old: &'a [Dial], new: &'a [Dial]) -> Vec<(&'a Dial, &'a Dial)> {
    if let ([old], [new]) = (old, new)
        && old.design.variant.is_none()
        && new.design.variant.is_none()
    {
        return vec![(old, new)];
    }
    let name = |dial: &Dial| dial.design.variant.clone().unwrap_or_else(|| dial.design.title.clone());
    // A row of a table keeps its first cell while others of it change, and with them the variant's name.
    let same = |old: &Dial, new: &Dial| {
        let (old, new) = (&old.design, &new.design);
        old.params == new.params || (old.row.is_some() && old.row == new.row)
    };
    let mut both = Vec::new();
    for pair in pairs::paired(old, new, name, same) {
        match pair {
            pairs::Pair::Both(old, new) => both.push((old, new)),
            pairs::Pair::Renamed(old, new) => {
                both.push((old, new));
                all.rename(Topic::Variant, &name(old), &name(new));
            }
            pairs::Pair::Gone(old) => all.push(Topic::Variant, How::Removed, format!("`{}`", name(old)), Vec::new()),
            pairs::Pair::Come(new) => all.push(Topic::Variant, How::Added, format!("`{}`", name(new)), Vec::new()),
        }
    }
    both
}

/// The changes of all variants: each once, with the variants it is found in where not in all.
fn merged(per_dial: Vec<(Option<String>, Changes)>) -> Vec<Change> {
    let total = per_dial.len();
    let mut list: Vec<(Change, usize)> = Vec::new();
    let mut known: BTreeMap<(Topic, How, String), usize> = BTreeMap::new();
    for (variant, changes) in per_dial {
        for change in changes.list {
            let key = (change.topic, change.how, change.subject.clone());
            // With one dial nothing is joined: two marks that cannot be told apart by their words would become one
            // change.
            let at = known.get(&key).copied().filter(|_| total > 1);
            let place = at.and_then(|at| list.get_mut(at));
            let Some((first, alike)) = place else {
                known.insert(key, list.len());
                list.push((Change { variants: variant.iter().cloned().collect(), ..change }, 1));
                continue;
            };
            *alike += usize::from(first.details == change.details);
            first.variants.extend(variant.clone());
        }
    }
    let finished = |(mut change, alike): (Change, usize)| {
        // In all variants alike, it is a change of the design and of no variant.
        if alike == total {
            change.variants.clear();
        }
        change
    };
    list.into_iter().map(finished).collect()
}
