//! The order of the rooms of `src`: each is a folder or a file there, and takes only from rooms below it. What runs up or
//! round in a circle cannot be read, tested or changed by itself.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// All rooms, the lowest first. A new room is put above all that it takes from.
const ROOMS: &[&str] = &[
    // Ground: knows nothing of dials.
    "units",
    "source",
    "limits",
    "project",
    "work",
    "memory",
    "parallel",
    "density",
    "statistics",
    "diagnostics",
    // The language, word by word.
    "vocabulary",
    "reference",
    // What things are made of.
    "geometry",
    "physics",
    "lettering",
    "artwork",
    // From text to a design.
    "syntax",
    "format",
    "design",
    // What is proven and planned of a design.
    "audit",
    "plan",
    "check",
    "quote",
    "revision",
    "analysis",
    // What is made of it.
    "portrait",
    "output",
    // What a build comes to, from its files alone.
    "rehearsal",
    "diff",
    "family",
    "seek",
    "coupon",
    // What finished parts come to, from scans of them.
    "scan",
    "begin",
    "adopt",
    "manual",
    "editor",
    "view",
    "cli",
];

/// The folder of sources.
fn sources() -> PathBuf {
    crate::dials::root().join("src")
}

/// What a folder holds, in order of name.
fn within(folder: &Path) -> Vec<PathBuf> {
    let mut paths: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths
}

/// The Rust files of a folder and of those in it.
fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let parts = within(folder).into_iter().map(|path| match path.is_dir() {
        true => rust_files(&path),
        false => vec![path],
    });
    parts.flatten().filter(|path| path.extension().is_some_and(|ending| ending == "rs")).collect()
}

/// Where a text or sign that begins at `at` ends, as `"x"`, `r#"x"#` and `'x'`; none where there is none, such as at a
/// lifetime.
fn end_of_literal(code: &[char], at: usize) -> Option<usize> {
    let begins_word = at == 0 || !(code[at - 1].is_alphanumeric() || code[at - 1] == '_');
    let after_escapes = |quote: char, mut at: usize| {
        while code[at] != quote {
            at += if code[at] == '\\' { 2 } else { 1 };
        }
        at + 1
    };
    match code[at] {
        '"' => Some(after_escapes('"', at + 1)),
        '\'' if code.get(at + 1) == Some(&'\\') => Some(after_escapes('\'', at + 1)),
        '\'' if code.get(at + 2) == Some(&'\'') => Some(at + 3),
        'r' if begins_word => {
            let hashes = code[at + 1..].iter().take_while(|sign| **sign == '#').count();
            let open = at + 1 + hashes;
            let closes = |end: &usize| {
                code[*end] == '"'
                    && code.get(end + 1..=end + hashes).is_some_and(|more| more.iter().all(|it| *it == '#'))
            };
            (code.get(open) == Some(&'"')).then(|| (open + 1..code.len()).find(closes).unwrap() + 1 + hashes)
        }
        _ => None,
    }
}

/// The code without remarks and without what stands in quotes.
fn bare(text: &str) -> String {
    let code: Vec<char> = text.chars().collect();
    let (mut bare, mut at, mut depth) = (String::new(), 0, 0_usize);
    while at < code.len() {
        match (code[at], code.get(at + 1)) {
            ('/', Some('*')) => (depth, at) = (depth + 1, at + 2),
            ('*', Some('/')) if depth > 0 => (depth, at) = (depth - 1, at + 2),
            _ if depth > 0 => at += 1,
            ('/', Some('/')) => at += code[at..].iter().take_while(|sign| **sign != '\n').count(),
            (sign, _) => match end_of_literal(&code, at) {
                Some(end) => at = end,
                None => {
                    bare.push(sign);
                    at += 1;
                }
            },
        }
    }
    bare
}

/// The bare code without what is for tests alone, and the names of the modules that are, whose files stand elsewhere.
fn without_tests(code: &str) -> (String, Vec<String>) {
    const FOR_TESTS: &str = "#[cfg(test)]";
    let (mut kept, mut modules, mut rest) = (String::new(), Vec::new(), code);
    while let Some(at) = rest.find(FOR_TESTS) {
        kept.push_str(&rest[..at]);
        rest = &rest[at + FOR_TESTS.len()..];
        let mut depth = 0_usize;
        let ends = |(_, sign): &(usize, char)| {
            match sign {
                '{' | '[' | '(' => depth += 1,
                '}' | ']' | ')' => depth -= 1,
                _ => {}
            }
            depth == 0 && matches!(sign, '}' | ';')
        };
        let end = rest.char_indices().find(ends).map_or(rest.len(), |(end, _)| end + 1);
        let name = rest[..end].trim().strip_suffix(';').and_then(|item| item.rsplit_once("mod "));
        modules.extend(name.map(|(_, name)| name.trim().to_owned()));
        rest = &rest[end..];
    }
    (kept + rest, modules)
}

/// The names at the top of a group such as `{a, b::{c, d}}`, or the one name that a path goes on with.
fn first_names(path: &str) -> Vec<String> {
    let name = |text: &str| text.trim_start().chars().take_while(|it| it.is_alphanumeric() || *it == '_').collect();
    let Some(group) = path.trim_start().strip_prefix('{') else { return vec![name(path)] };
    let (mut names, mut depth, mut begin) = (Vec::new(), 0_usize, 0);
    for (at, sign) in group.char_indices() {
        match sign {
            '{' => depth += 1,
            ',' | '}' if depth == 0 => {
                names.push(name(&group[begin..at]));
                begin = at + 1;
                if sign == '}' {
                    break;
                }
            }
            '}' => depth -= 1,
            _ => {}
        }
    }
    names.retain(|name: &String| !name.is_empty());
    names
}

/// What code takes from the top of the crate. A module so many names below the top can climb there with as many `super`.
fn taken(code: &str, depth: usize) -> BTreeSet<String> {
    let tops = ["crate::".to_owned(), "super::".repeat(depth)];
    let whole = |at: usize| !code[..at].ends_with(|it: char| it.is_alphanumeric() || matches!(it, '_' | ':'));
    let paths = |top: &String| {
        let found = code.match_indices(top.as_str()).filter(|(at, _)| whole(*at));
        found.flat_map(|(at, _)| first_names(&code[at + top.len()..])).collect::<Vec<_>>()
    };
    let [from_crate, climbed] = [paths(&tops[0]), paths(&tops[1])];
    // A module within the file needs one `super` more, so climbing counts only where it reaches a room.
    let climbed = climbed.into_iter().filter(|name| ROOMS.contains(&name.as_str()));
    from_crate.into_iter().chain(climbed).collect()
}

/// What each file takes from the top of the crate, without the files that are for tests alone.
fn uses() -> BTreeMap<PathBuf, BTreeSet<String>> {
    let (mut uses, mut for_tests) = (BTreeMap::new(), BTreeSet::new());
    for path in rust_files(&sources()) {
        let (code, modules) = without_tests(&bare(&fs::read_to_string(&path).unwrap()));
        let own = if path.ends_with("mod.rs") { path.parent().unwrap().to_owned() } else { path.with_extension("") };
        for module in modules {
            for_tests.extend([own.join(&module).join("mod.rs"), own.join(&module).with_extension("rs")]);
        }
        let module = own.strip_prefix(sources()).unwrap().to_owned();
        uses.insert(path, taken(&code, module.components().count()));
    }
    uses.retain(|path, _| !for_tests.contains(path));
    uses
}

/// The room that a file stands in.
fn room(path: &Path) -> String {
    let first = path.strip_prefix(sources()).unwrap().components().next().unwrap();
    Path::new(&first).file_stem().unwrap().to_string_lossy().into_owned()
}

/// Where a room stands.
fn floor(room: &str) -> Option<usize> {
    ROOMS.iter().position(|one| *one == room)
}

#[test]
fn the_order_names_all_rooms_and_each_once() {
    let rooms: Vec<String> = within(&sources()).iter().map(|path| room(path)).collect();
    let rooms: BTreeSet<&str> = rooms.iter().map(String::as_str).filter(|it| !matches!(*it, "lib" | "main")).collect();
    assert_eq!(ROOMS.iter().copied().collect::<BTreeSet<_>>(), rooms);
    assert_eq!(ROOMS.len(), rooms.len());
}

#[test]
fn rooms_take_only_from_rooms_below() {
    let mut faults = Vec::new();
    for (path, names) in uses() {
        let own = room(&path);
        for name in names.into_iter().filter(|name| *name != own) {
            let up = floor(&own).is_some() && floor(&name).is_none_or(|other| Some(other) >= floor(&own));
            if up {
                faults.push(format!("{} takes from `{name}`", path.display()));
            }
        }
    }
    assert!(faults.is_empty(), "files that take from a room that is not below their own:\n{}", faults.join("\n"));
}

/// What reads a build back must make none of the mistakes of what wrote it, so it shares no room with it that knows of dials.
#[test]
fn what_reads_a_build_back_shares_nothing_with_what_wrote_it() {
    let taken: BTreeSet<String> =
        uses().into_iter().filter(|(path, _)| room(path) == "rehearsal").flat_map(|(_, names)| names).collect();
    let may = ["density", "lettering", "parallel", "rehearsal", "units"];
    assert!(taken.contains("parallel") && taken.iter().all(|name| may.contains(&name.as_str())), "{taken:?}");
}

#[test]
fn what_is_taken_is_found_wherever_it_is_written() {
    let text = r##"
        // crate::remark
        use crate::{design::{Design, hex}, audit, plan::*};
        pub(in crate::view) use crate::geometry::turn;
        fn told() -> crate::units::Length { $crate::limits::DEEP; my_crate::not_ours }
        const TEXTS: [&str; 3] = ["crate::text", r#"crate::"raw""#, "\"crate::escaped"];
        fn life<'a>(sign: &'a char) -> bool { *sign == '"' || crate::artwork::is(sign) || *sign == '\'' }
        /* crate::remark /* within */ crate::remark */
        #[cfg(test)]
        mod tests;
        #[cfg(test)]
        #[allow(missing_docs)]
        mod more { fn it() { crate::cli::run([1; 2]); } }
        use super::super::quote::goods;
        use super::shapes;
    "##;
    let (code, modules) = without_tests(&bare(text));
    assert_eq!(modules, ["tests"]);
    let found = taken(&code, 2);
    let expected = ["artwork", "audit", "design", "geometry", "limits", "plan", "quote", "units", "view"];
    assert_eq!(found.iter().map(String::as_str).collect::<Vec<_>>(), expected);
}
