//! What the help of a finding says with a value, done in the text of a file of `tests/ui`: the finding is gone or lessened.
//! What a help says of one field of one block is done wherever it is said; for all else there is a row that says how, or one
//! that says why nothing is done.

use std::path::Path;

use dialwright::cli::disk::DiskProject;
use dialwright::diagnostics::{Diagnostic, Finding};
use dialwright::project::Overlaid;

use self::To::{Of, Value};
use super::table::{NOT_DONE, STATED};
use super::{SEEN, Seen, in_halves};
use crate::dials::root;
use crate::stem;

/// A finding's help with the value in it left out (`{}`), and how a text is changed that does as it says: what stands in it,
/// and what with the value (`{}`) takes its place.
pub(super) struct Stated {
    file: &'static str,
    finding: &'static str,
    says: &'static str,
    from: &'static str,
    to: To,
}

/// What takes the place.
pub(super) enum To {
    /// A text, with the value itself.
    Value(&'static str),
    /// A text, with what comes of the value.
    Of(&'static str, fn(f64) -> f64),
}

pub(super) const fn row(
    file: &'static str,
    finding: &'static str,
    says: &'static str,
    from: &'static str,
    to: To,
) -> Stated {
    Stated { file, finding, says, from, to }
}

/// The value in a help that says this; an empty one where it says this without a number.
fn value<'a>(help: &'a str, says: &str) -> Option<&'a str> {
    let Some((before, after)) = says.split_once("{}") else { return help.contains(says).then_some("") };
    help.match_indices(before).find_map(|(at, _)| {
        let rest = &help[at + before.len()..];
        let end = rest.find(|letter: char| !(letter.is_ascii_digit() || "-.".contains(letter)))?;
        (end > 0 && rest[end..].starts_with(after)).then(|| &rest[..end])
    })
}

/// The design with its shop in one text, so that a figure of either can be changed.
fn text_of(name: &str) -> String {
    let text = std::fs::read_to_string(root().join("tests/ui").join(name)).unwrap();
    let shop = "with \"shared/feeble.dial\"\n";
    if !text.contains(shop) {
        return text;
    }
    let shared = std::fs::read_to_string(root().join("tests/ui/shared/feeble.dial")).unwrap();
    text.replace(shop, "") + &shared
}

/// How much is found of one kind: an error weighs most, advice least.
fn weight(seen: &Seen, finding: Finding) -> u32 {
    let of = seen.findings.iter().filter(|found| found.finding == finding);
    of.map(|found| found.severity as u32 + 1).sum()
}

/// What is wrong with a mend that is stated; nothing where it does as it says.
fn fault(row: &Stated) -> Option<String> {
    let name = format!("{}.dial", row.file);
    let (disk, ..) = DiskProject::of(&root().join("tests/ui").join(&name));
    let text = text_of(&name);
    let seen = |text: String| Seen::whole(&Overlaid::new(&disk, [(name.clone(), text)]), &name);
    let before = seen(text.clone());
    let finding = Finding::named(row.finding)?;
    let helps = before.findings.iter().filter(|found| found.finding == finding);
    let helps: Vec<&str> = helps.filter_map(|found| found.help.as_deref()).collect();
    let Some(stated) = helps.iter().find_map(|help| value(help, row.says)) else {
        return Some(format!("does not say `{}`, but {helps:?}", row.says));
    };
    let to = match row.to {
        Value(to) => to.replace("{}", stated),
        Of(to, of) => {
            let value = of(stated.parse().unwrap()).to_string();
            to.replace("{}", &value).replace("{0}", &value)
        }
    };
    if !text.contains(row.from) {
        return Some(format!("has no `{}`", row.from));
    }
    let after = seen(text.replacen(row.from, &to, 1));
    (weight(&after, finding) >= weight(&before, finding)).then(|| {
        let left = after.findings.iter().filter(|found| found.finding == finding);
        format!("is still found with `{to}`: {:?}", left.map(|found| &found.message).collect::<Vec<_>>())
    })
}

#[test]
fn what_is_said_with_a_value_mends() {
    let wrong: Vec<String> =
        STATED.iter().filter_map(|row| Some(format!("{}: {}: {}", row.file, row.finding, fault(row)?))).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A field that a help says with its value, and the ring or block that it belongs to.
fn field(help: &str) -> Option<(&str, &str)> {
    let (_, rest) = help.split_once("write `")?;
    let (field, rest) = rest.split_once('`')?;
    let (_, rest) = rest.split_once("in the ring `").or_else(|| rest.split_once("in the block of `"))?;
    Some((field, rest.split_once('`')?.0))
}

/// The text with a field of a block set, in place of what it is there or before all else.
fn set(text: &str, (field, block): (&str, &str)) -> Option<String> {
    let word = field.split(' ').next()?;
    let named = |word: &str| text.find(&format!("{word} {block} {{"));
    let start = ["ring", "magnet", "rivet"].into_iter().find_map(named)?;
    let open = start + text[start..].find('{')? + 1;
    let close = open + text[open..].find('}')?;
    let inside = &text[open..close];
    let is_word = |at: usize| inside[..at].ends_with([' ', ';', '\n', '{']) || at == 0;
    let old = inside.match_indices(&format!("{word} ")).map(|(at, _)| at).find(|at| is_word(*at));
    let (from, to) = old.map_or((open, open), |at| {
        let end = inside[at..].find([';', '\n']).map_or(inside.len(), |end| at + end);
        (open + at, open + end)
    });
    let put = if from == to { format!(" {field};") } else { format!("{field} ") };
    Some(format!("{}{put}{}", &text[..from], &text[to..]))
}

/// What a help says of one field, or of a number without unit, done in its file: nothing where none is said, and what is
/// wrong with it.
fn field_fault(path: &Path, seen: &Seen, found: &Diagnostic) -> Option<Result<(), String>> {
    let help = found.help.as_deref()?;
    let name = path.file_name()?.to_str()?;
    let text = match (field(help), with_unit(help)) {
        (Some(said), _) => set(&text_of(name), said)?,
        (None, Some(value)) => {
            let span = found.span().filter(|span| seen.sources.file(span.source).name == name)?;
            let mut text = seen.sources.file(span.source).text.to_string();
            text.replace_range(span.range(), value);
            text
        }
        (None, None) => return None,
    };
    let (disk, ..) = DiskProject::of(path);
    let after = Seen::whole(&Overlaid::new(&disk, [(name.to_owned(), text)]), name);
    let lessened = weight(&after, found.finding) < weight(seen, found.finding);
    let left = || after.findings.iter().filter(|one| one.finding == found.finding).map(|one| one.message.clone());
    Some(if lessened { Ok(()) } else { Err(format!("`{help}` leaves {:?}", left().collect::<Vec<_>>())) })
}

#[test]
fn a_field_that_is_said_with_its_value_mends_wherever_it_is_said() {
    let tried = in_halves(&SEEN, |(path, seen)| {
        let of = |found: &Diagnostic| {
            Some((format!("{}: {}", stem(path), found.finding.name()), field_fault(path, seen, found)?))
        };
        seen.findings.iter().filter_map(of).collect::<Vec<_>>()
    });
    let tried: Vec<_> = tried.into_iter().flatten().collect();
    let wrong: Vec<String> =
        tried.iter().filter_map(|(what, done)| Some(format!("{what}: {}", done.as_ref().err()?))).collect();
    assert!(wrong.is_empty(), "of {}:\n{}", tried.len(), wrong.join("\n"));
    assert!(tried.len() >= 15, "only {} were tried", tried.len());
}

/// What a help says of a number that lacks its unit, done in place of that number.
fn with_unit(help: &str) -> Option<&str> {
    let (value, rest) = help.strip_prefix("write `")?.split_once('`')?;
    rest.starts_with(" if you mean").then_some(value)
}

/// A help without what it only shows the form of a thing by.
fn without_examples(help: &str) -> String {
    let mut left = help.to_owned();
    for word in ["as in `", "such as `", "like `", "for instance `"] {
        while let Some(at) = left.find(word) {
            let end = left[at + word.len()..].find('`').map_or(left.len(), |end| at + word.len() + end + 1);
            left.replace_range(at..end, "");
        }
    }
    left
}

#[test]
fn every_help_with_a_figure_is_done_or_says_why_not() {
    let mut open = Vec::new();
    for (path, seen) in &*SEEN {
        for found in seen.findings.iter().filter(|found| found.mend.is_empty()) {
            let Some(help) = found.help.as_deref().filter(|help| without_examples(help).contains(char::is_numeric))
            else {
                continue;
            };
            let name = found.finding.name();
            let done = field(help).is_some()
                || with_unit(help).is_some()
                || STATED.iter().any(|row| row.finding == name && value(help, row.says).is_some())
                || NOT_DONE.iter().any(|(finding, words, _)| *finding == name && help.contains(words));
            if !done {
                open.push(format!("{}: {name}: {help}", stem(path)));
            }
        }
    }
    assert!(open.is_empty(), "{} helps with figures that nobody tries:\n{}", open.len(), open.join("\n"));
}
