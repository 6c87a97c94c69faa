//! The typefaces that a design names: a font file of its folder, one that comes with the program, or a family that
//! is installed on the machine.

use crate::check::findings::lettering as say;
use crate::diagnostics::{Problems, suggest};
use crate::lettering::Typeface;
use crate::limits;
use crate::project::{Project, beside};
use crate::source::Span;

/// Endings of font files, and of what fonts come in and is none that can be read; any other name is that of a typeface.
const FILE_ENDINGS: [&str; 11] =
    [".ttf", ".otf", ".ttc", ".woff", ".woff2", ".eot", ".pfb", ".pfa", ".dfont", ".svg", ".zip"];

/// Opens what `name` stands for where the file `from` names it at `span`. Where that cannot be had, the built-in
/// typeface serves and a problem says so.
pub fn open(name: &str, span: Span, from: &str, project: &dyn Project) -> (Option<Typeface>, Problems) {
    let mut problems = Problems::default();
    let lower = name.to_lowercase();
    // A name with the ending of a font file is a file, any other a typeface: so nothing has to be tried to tell
    // which, and what is missing is told as what it is.
    let is_file = name.contains(['/', '\\']) || FILE_ENDINGS.iter().any(|ending| lower.ends_with(ending));
    let opened = if is_file {
        file(name, span, from, project, &mut problems)
    } else {
        named(name, span, project, &mut problems)
    };
    (opened.or_else(|| Some(Typeface::embedded())), problems)
}

fn file(name: &str, span: Span, from: &str, project: &dyn Project, problems: &mut Problems) -> Option<Typeface> {
    let Some(path) = beside(from, name) else {
        problems.push(crate::check::findings::values::outside_folder(name, span));
        return None;
    };
    match project.read(&path, limits::ART_BYTES) {
        Err(problem) => problems.push(say::typeface_missing(name, &problem, span)),
        Ok(bytes) => {
            let instead = packed_as(&bytes);
            match Typeface::from_bytes(bytes, name) {
                Ok(typeface) => return Some(typeface),
                Err(_) => problems.push(say::not_a_typeface(name, instead, span)),
            }
        }
    }
    None
}

/// What a file that is no font is, by its first bytes: W3C WOFF 1.0 and WOFF 2.0, APPNOTE.TXT of ZIP, XML, and from memory
/// Adobe Type 1 and Embedded OpenType, which has its mark in bytes 34 and 35.
fn packed_as(bytes: &[u8]) -> Option<&'static str> {
    const MARKS: [(&[u8], &str); 6] = [
        (b"wOFF", "a web font (WOFF)"),
        (b"wOF2", "a web font (WOFF 2)"),
        (b"PK\x03\x04", "a folder packed in a .zip"),
        (b"%!", "a Type 1 font"),
        (b"\x80\x01", "a Type 1 font"),
        (b"<", "an SVG or a page"),
    ];
    let known = MARKS.iter().find(|(mark, _)| bytes.starts_with(mark)).map(|(_, what)| *what);
    known.or_else(|| (bytes.get(34..36)? == b"LP").then_some("a web font (Embedded OpenType)"))
}

fn named(name: &str, span: Span, project: &dyn Project, problems: &mut Problems) -> Option<Typeface> {
    if let Some(typeface) = Typeface::built_in(name) {
        return Some(typeface);
    }
    // Only the command line and the servers answer this: tests, and whoever uses the library, never depend on the
    // machine. Where it serves, advice says so.
    let Some((bytes, face)) = project.installed_typeface(name) else {
        let nearest = suggest::nearest(name, Typeface::built_in_names());
        problems.push(say::typeface_not_installed(name, nearest, span));
        return None;
    };
    match Typeface::from_collection(bytes, face, name) {
        Ok(typeface) => {
            problems.push(say::system_typeface(name, span));
            Some(typeface)
        }
        Err(_) => {
            problems.push(say::not_a_typeface(name, None, span));
            None
        }
    }
}

/// The name of the first typeface that can draw these characters: of those that come with the program, then of those
/// that the machine has. Where none has all of them, one that has the first.
pub fn that_has(characters: &[char], project: &dyn Project) -> Option<String> {
    let built_in = |wanted: &[char]| {
        let has = |name: &&str| Typeface::built_in(name).is_some_and(|typeface| typeface.has(wanted));
        Typeface::built_in_names().find(has).map(str::to_owned)
    };
    let first = characters.get(..1).unwrap_or_default();
    [characters, first]
        .into_iter()
        .find_map(|wanted| built_in(wanted).or_else(|| project.installed_typeface_with(wanted)))
}
