//! A table of readings that was filled in: CSV to readings, each with the place it stands at.

use std::ops::Range;

use super::findings as say;
use super::{COLUMNS, Thing, rows::Reads};
use crate::diagnostics::{Diagnostic, Problems};
use crate::limits;
use crate::source::{SourceId, Sources, Span};
use crate::syntax::parse_expression;
use crate::syntax::tree::ExprKind;
use crate::units::{Dimension, Quantity, unit_named};

/// One reading.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// What was read.
    pub thing: Thing,
    /// Which of several.
    pub which: String,
    /// Passes of a depth, cuts of an opening.
    pub at: Option<usize>,
    /// Its value in mm or T; zero for words and colours.
    pub value: f64,
    /// As it is written in a shop file: `2.95mm`, `#d9b98a`, or the words.
    pub written: String,
    /// The cell it stands in.
    pub span: Span,
}

/// All readings of a table that is among the sources, in order of its rows. Lines that begin with `#` are notes.
pub fn readings(sources: &Sources, id: SourceId) -> (Vec<Reading>, Problems) {
    let text = sources.file(id).text;
    let mut table = Table { id, text: &text, problems: Problems::default() };
    let readings = table.read();
    (readings, table.problems)
}

/// A length that is written as in the language, `1.6mm`, in mm.
///
/// # Errors
/// What is wrong with it.
pub fn length(written: &str, span: Span) -> Result<f64, Box<Diagnostic>> {
    quantity(Reads::Length, written, "", (span, span)).map(|(value, _)| value)
}

struct Table<'t> {
    id: SourceId,
    text: &'t str,
    problems: Problems,
}

/// One line: its cells without blanks round them, and where each stands.
struct TableLine {
    cells: Vec<(String, Span)>,
    span: Span,
}

impl TableLine {
    fn cell(&self, at: Option<usize>) -> (&str, Span) {
        let cell = at.and_then(|at| self.cells.get(at));
        cell.map_or(("", self.span), |(text, span)| (text, *span))
    }
}

impl Table<'_> {
    fn span(&self, range: Range<usize>) -> Span {
        Span::new(self.id, range)
    }

    fn read(&mut self) -> Vec<Reading> {
        let lines = match self.lines() {
            Ok(lines) => lines,
            Err(found) => {
                self.problems.push(*found);
                return Vec::new();
            }
        };
        if lines.len() > limits::LIST_LENGTH {
            let (most, place) = (limits::LIST_LENGTH, lines.get(limits::LIST_LENGTH).map(|line| line.span));
            self.problems.push(say::table_too_long(lines.len(), most, place.unwrap_or(self.span(0..0))));
            return Vec::new();
        }
        let mut lines = lines.into_iter();
        let Some(header) = lines.next() else {
            self.problems.push(say::table_empty(self.span(0..0)));
            return Vec::new();
        };
        let Some(columns) = self.columns(&header) else { return Vec::new() };
        let wide = header.cells.len();
        let readings: Vec<Reading> = lines.filter_map(|line| self.reading(&line, columns, wide)).collect();
        if readings.is_empty() && !self.problems.has_errors() {
            self.problems.push(say::table_empty(header.span));
        }
        readings
    }

    /// All lines that are neither blank nor notes.
    fn lines(&self) -> Result<Vec<TableLine>, Box<Diagnostic>> {
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .comment(Some(b'#'))
            .trim(csv::Trim::All)
            .from_reader(self.text.as_bytes());
        let mut lines = Vec::new();
        for record in reader.records() {
            let record = record.map_err(|error| say::table_broken(&error.to_string(), self.span(0..0)))?;
            #[allow(clippy::cast_possible_truncation, reason = "files are a few MiB at most")]
            let start = record.position().map_or(0, |position| position.byte() as usize);
            let places = places(self.text, start);
            let ends = places.first().zip(places.last()).map(|(first, last)| first.start..last.end);
            let span = self.span(ends.unwrap_or(start..start));
            let cells = record.iter().enumerate().map(|(at, cell)| {
                let place = places.get(at).cloned().map_or(span, |place| self.span(place));
                // Spreadsheets begin a file with a mark of its encoding.
                (cell.trim_start_matches('\u{feff}').trim().to_owned(), place)
            });
            let cells: Vec<(String, Span)> = cells.collect();
            if cells.iter().any(|(cell, _)| !cell.is_empty()) {
                lines.push(TableLine { cells, span });
            }
        }
        Ok(lines)
    }

    /// Where each of thing, which, at, reading and unit stands; none where the line of names is at fault.
    fn columns(&mut self, header: &TableLine) -> Option<[usize; 5]> {
        if let [(only, span)] = header.cells.as_slice()
            && let Some(by) = [';', '\t', '|'].into_iter().find(|by| only.contains(*by))
        {
            self.problems.push(say::table_not_parted(by, *span));
            return None;
        }
        let names: Vec<String> = header.cells.iter().map(|(name, _)| name.to_lowercase()).collect();
        for (name, (written, span)) in names.iter().zip(&header.cells) {
            if !COLUMNS.contains(&name.as_str()) {
                self.problems.push(say::column_unknown(written, &COLUMNS, *span));
            }
        }
        let [wanted @ .., _how] = COLUMNS;
        let found = wanted.map(|name| {
            let places: Vec<usize> = names.iter().enumerate().filter(|(_, it)| *it == name).map(|(at, _)| at).collect();
            if places.len() != 1 {
                self.problems.push(say::column_count(name, places.len(), &COLUMNS, header.span));
            }
            places.first().copied().unwrap_or_default()
        });
        (!self.problems.has_errors()).then_some(found)
    }

    fn reading(&mut self, line: &TableLine, columns: [usize; 5], wide: usize) -> Option<Reading> {
        if line.cells.len() != wide {
            self.problems.push(say::row_uneven(line.cells.len(), wide, line.span));
            return None;
        }
        match read_line(line, columns) {
            Ok(reading) => Some(reading),
            Err(found) => {
                self.problems.push(*found);
                None
            }
        }
    }
}

fn read_line(line: &TableLine, columns: [usize; 5]) -> Result<Reading, Box<Diagnostic>> {
    let [thing, which, at, reading, unit] = columns.map(|column| line.cell(Some(column)));
    let known = Thing::ALL.map(Thing::word);
    let found = Thing::ALL.into_iter().find(|known| known.word() == thing.0.to_lowercase());
    let found = found.ok_or_else(|| say::thing_unknown(thing.0, &known, thing.1))?;
    let named = matches!(found, Thing::Board | Thing::Opening | Thing::Strips)
        || matches!(found, Thing::Diameter | Thing::Height | Thing::Remanence | Thing::Fit);
    if named && which.0.is_empty() {
        return Err(Box::new(say::row_incomplete(found.word(), "which", "its name", which.1)));
    }
    let counted = match found {
        Thing::Depth => Some("a whole number of passes"),
        Thing::Opening => Some("the number of cuts across it"),
        _ => None,
    };
    let count = at.0.parse::<usize>().ok().filter(|count| (1..=limits::LIST_LENGTH).contains(count));
    if let (Some(what), None) = (counted, count) {
        return Err(Box::new(say::row_incomplete(found.word(), "at", what, at.1)));
    }
    if reading.0.is_empty() {
        return Err(Box::new(say::cell_empty(found.word(), reading.1)));
    }
    let (value, written) = match found.reads() {
        Reads::Words => (0.0, reading.0.to_owned()),
        Reads::Colour => (0.0, colour(reading)?),
        reads => quantity(reads, reading.0, unit.0, (reading.1, unit.1))?,
    };
    let at = counted.and(count);
    Ok(Reading { thing: found, which: which.0.to_owned(), at, value, written, span: reading.1 })
}

fn colour((text, span): (&str, Span)) -> Result<String, Box<Diagnostic>> {
    let digits = text.strip_prefix('#').filter(|digits| digits.len() == 6);
    match digits.filter(|digits| digits.bytes().all(|digit| digit.is_ascii_hexdigit())) {
        Some(_) => Ok(text.to_lowercase()),
        None => Err(Box::new(say::cell_not_a_colour(text, span))),
    }
}

/// A number with its unit, read by the language's own rules: its value in mm or T, and how it is written.
fn quantity(reads: Reads, text: &str, unit: &str, at: (Span, Span)) -> Result<(f64, String), Box<Diagnostic>> {
    let (wanted, dimension, usual, units) = match reads {
        Reads::FluxDensity => ("a flux density", Dimension::FLUX_DENSITY, "T", "`T`, `mT` or `G`"),
        _ => ("a length", Dimension::LENGTH, "mm", "`mm`, `cm`, `m`, `in` or `thou`"),
    };
    if text.contains(',') {
        return Err(Box::new(say::cell_comma(text, at.0)));
    }
    if unit.is_empty() && !text.ends_with(char::is_alphabetic) {
        let bare = text.starts_with(|sign: char| sign.is_ascii_digit() || "+-.".contains(sign));
        let found =
            if bare { say::cell_without_unit(text, usual, at.1) } else { say::cell_not_a_number(text, wanted, at.0) };
        return Err(Box::new(found));
    }
    if !unit.is_empty() && !unit_named(unit).is_some_and(|unit| unit.dimension == dimension) {
        return Err(Box::new(say::cell_wrong_unit(unit, wanted.trim_start_matches("a "), units, at.1)));
    }
    let bare = text.strip_suffix(unit).unwrap_or(text).trim_end();
    let digits = bare.trim_end_matches(char::is_alphabetic);
    let own = bare.strip_prefix(digits).unwrap_or_default();
    let digits = if bare.starts_with('.') { format!("0{digits}") } else { digits.to_owned() };
    let written = format!("{}{own}{unit}", digits.trim_end());
    let value = number(&written, dimension).ok_or_else(|| {
        if text.starts_with('-') {
            say::cell_out_of_range(&written, at.0)
        } else {
            say::cell_not_a_number(&written, wanted, at.0)
        }
    })?;
    if value > 0.0 && value <= limits::SIZE_MM {
        Ok((value, written))
    } else {
        Err(Box::new(say::cell_out_of_range(&written, at.0)))
    }
}

fn number(written: &str, dimension: Dimension) -> Option<f64> {
    let mut sources = Sources::default();
    let id = sources.add("reading", written);
    let (expr, problems) = parse_expression(&sources, id);
    let ExprKind::Number(number) = expr?.kind else { return None };
    let quantity = Quantity::of(number.value, number.unit?);
    (problems.iter().next().is_none() && quantity.dimension == dimension).then_some(quantity.value)
}

/// Where the cells of the record stand that begins at this byte, or after blank lines and notes from there on.
fn places(text: &str, from: usize) -> Vec<Range<usize>> {
    let mut start = from;
    while let Some(line) = text.get(start..).and_then(|rest| rest.split_inclusive('\n').next()) {
        if !line.trim().is_empty() && !line.starts_with('#') {
            break;
        }
        start += line.len();
    }
    let (mut places, mut quoted, mut begin) = (Vec::new(), false, start);
    let rest = text.get(start..).unwrap_or_default();
    for (offset, sign) in rest.char_indices().chain([(rest.len(), '\n')]) {
        let here = start + offset;
        match sign {
            '"' => quoted = !quoted,
            ',' | '\n' if !quoted => {
                let cell = text.get(begin..here).unwrap_or_default();
                let ahead = cell.len() - cell.trim_start().len();
                places.push(begin + ahead..begin + ahead + cell.trim().len());
                begin = here + 1;
                if sign == '\n' {
                    break;
                }
            }
            _ => {}
        }
    }
    places
}
