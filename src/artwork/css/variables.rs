//! Custom properties and the values that are made with them (W3C CSS Custom Properties for Cascading Variables Level 1).

use std::cell::Cell;
use std::collections::BTreeMap;

use super::Declaration;
use super::scan::bracket_end;

/// What the names that begin with two dashes stand for at an element.
pub(crate) type Variables = BTreeMap<String, String>;

/// Values grow no longer than this: some that name one another would without end.
const LONGEST: usize = 4096;

/// Variables within variables are followed this deep.
const DEEPEST: usize = 32;

/// Those of an element: what it inherits, and what it declares itself.
pub(crate) fn with_variables(inherited: &Variables, declared: &[Declaration], left: &Cell<u64>) -> Option<Variables> {
    let own: Vec<&Declaration> = declared.iter().filter(|one| one.name.starts_with("--")).collect();
    if own.is_empty() {
        return None;
    }
    let mut raw = inherited.clone();
    for one in own {
        match one.value.to_ascii_lowercase().as_str() {
            "inherit" | "unset" => {
                inherited.get(&one.name).and_then(|value| raw.insert(one.name.clone(), value.clone()))
            }
            "initial" => raw.remove(&one.name),
            _ => raw.insert(one.name.clone(), one.value.clone()),
        };
    }
    // Each with its own variables in it, so that what inherits it need not look for them.
    let resolved = raw.iter().filter_map(|(name, value)| Some((name.clone(), substituted(value, &raw, left)?)));
    Some(resolved.collect())
}

/// A value with what its variables stand for; none where one stands for nothing. `left` counts down the work that may still
/// be done.
pub(crate) fn substituted(value: &str, variables: &Variables, left: &Cell<u64>) -> Option<String> {
    filled_in(value, variables, 0, left)
}

fn filled_in(value: &str, variables: &Variables, depth: usize, left: &Cell<u64>) -> Option<String> {
    left.set(left.get().saturating_sub(1 + value.len() as u64 / 16));
    let Some((at, after)) = call(value) else { return Some(value.to_owned()) };
    if depth > DEEPEST || value.len() > LONGEST || left.get() == 0 {
        return None;
    }
    let end = bracket_end(after)?;
    let inner = after.get(..end)?;
    let (name, instead) = inner.split_once(',').map_or((inner, None), |(name, instead)| (name, Some(instead)));
    let stands_for = variables.get(name.trim()).and_then(|value| filled_in(value, variables, depth + 1, left));
    let stands_for = stands_for.or_else(|| filled_in(instead?.trim(), variables, depth + 1, left))?;
    let rest = filled_in(after.get(end + 1..)?, variables, depth + 1, left)?;
    let whole = format!("{}{stands_for}{rest}", value.get(..at)?);
    (whole.len() <= LONGEST).then_some(whole)
}

/// Where a variable is called, and what follows its bracket.
fn call(value: &str) -> Option<(usize, &str)> {
    let at = value.to_ascii_lowercase().find("var(")?;
    let is_word = value.get(..at)?.ends_with(|before: char| before.is_alphanumeric() || before == '-');
    (!is_word).then_some((at, value.get(at + 4..)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn work() -> Cell<u64> {
        Cell::new(100_000)
    }

    fn variables(list: &[(&str, &str)]) -> Variables {
        list.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect()
    }

    #[test]
    fn variables_are_filled_in_with_what_stands_instead() {
        let known = variables(&[("--a", "1px"), ("--b", "var(--a) 2px"), ("--x", "var(--y)"), ("--y", "var(--x)")]);
        let of = |value| substituted(value, &known, &work());
        assert_eq!(of("none").as_deref(), Some("none"));
        assert_eq!(of("0 var(--b), var( --c , var(--a)) x").as_deref(), Some("0 1px 2px, 1px x"));
        assert_eq!(of("var(--c,)").as_deref(), Some(""));
        assert_eq!(of("var(--c)"), None);
        assert_eq!(of("var(--x)"), None);
    }

    #[test]
    fn values_that_double_without_end_are_none() {
        for seed in ["0123456789", ""] {
            let mut known = variables(&[("--v0", seed)]);
            for at in 1..30 {
                let before = at - 1;
                known.insert(format!("--v{at}"), format!("var(--v{before})var(--v{before})"));
            }
            assert_eq!(substituted("var(--v29)", &known, &work()), None);
        }
    }
}
