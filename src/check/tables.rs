//! Tables that a design names: CSV files of its folder (RFC 4180, in UTF-8), of which `column` and `rows` take columns.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::check::findings::{tables as say, values};
use crate::check::value::Value;
use crate::diagnostics::{Diagnostic, Problems};
use crate::limits;
use crate::project::{Project, beside};
use crate::source::{Sources, Span};
use crate::syntax::parse_expression;
use crate::syntax::tree::{Argument, Expr, ExprKind};
use crate::units::Quantity;
use crate::vocabulary::types::Type;

/// A column of a table.
#[derive(Debug)]
pub struct Column {
    /// Its name, from the first line.
    pub name: String,
    /// What its cells are: quantities of one dimension or colours where every one is, else texts.
    pub of: Type,
    /// Their values.
    pub values: Arc<[Value]>,
    /// What is written in them.
    pub cells: Vec<Cell>,
}

/// What is written in a cell.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cell {
    /// Its text.
    pub text: String,
    /// The line of the file on which its row begins, from 1.
    pub line: u64,
}

/// A table: its columns, in order.
#[derive(Debug)]
pub struct Table {
    columns: Vec<Arc<Column>>,
}

/// The tables of a design, each read once.
pub struct Tables<'t> {
    sources: &'t Sources,
    project: &'t dyn Project,
    /// By the name of the file; none for one that cannot be read.
    read: BTreeMap<String, Option<Arc<Table>>>,
}

impl<'t> Tables<'t> {
    /// None was read yet.
    pub fn new(sources: &'t Sources, project: &'t dyn Project) -> Self {
        Self { sources, project, read: BTreeMap::new() }
    }

    /// The columns that `column(FILE, NAME)` or `rows(FILE, NAME, …)` asks for, and what is wrong with them; what is wrong
    /// with the file is told once.
    pub fn columns(&mut self, arguments: &[Argument]) -> (Option<Vec<Arc<Column>>>, Problems) {
        let mut problems = Problems::default();
        let mut texts = Vec::new();
        for argument in arguments {
            match plain(&argument.value) {
                Some(text) => texts.push((text, argument.value.span)),
                None => problems.push(say::not_plain(argument.value.span)),
            }
        }
        let Some(((file, span), names)) = texts.split_first().filter(|_| !problems.has_errors()) else {
            return (None, problems);
        };
        let Some(table) = self.table(file, *span, &mut problems) else { return (None, problems) };
        let columns: Vec<Arc<Column>> =
            names.iter().filter_map(|(name, span)| column(&table, file, name, *span, &mut problems)).collect();
        let all = columns.len() == names.len() && !problems.has_errors();
        (all.then_some(columns), problems)
    }

    fn table(&mut self, name: &str, span: Span, problems: &mut Problems) -> Option<Arc<Table>> {
        let from = self.sources.file(span.source).name;
        let Some(path) = beside(&from, name) else {
            problems.push(values::outside_folder(name, span));
            return None;
        };
        if let Some(known) = self.read.get(&path) {
            return known.clone();
        }
        let read = open(name, &path, span, self.project).map_err(|found| problems.push(*found)).ok().map(Arc::new);
        self.read.insert(path, read.clone());
        read
    }
}

/// A text without values, as the files and columns of tables must be: they are read before any value.
fn plain(expr: &Expr) -> Option<&str> {
    match &expr.kind {
        ExprKind::Text(text) => Some(text),
        _ => None,
    }
}

fn column(table: &Table, file: &str, name: &str, span: Span, problems: &mut Problems) -> Option<Arc<Column>> {
    let Some(column) = table.columns.iter().find(|column| column.name == name) else {
        let known: Vec<&str> = table.columns.iter().map(|column| column.name.as_str()).collect();
        problems.push(say::unknown_column(file, name, &known, span));
        return None;
    };
    let blank: Vec<u64> =
        column.cells.iter().filter(|cell| cell.text.trim().is_empty()).map(|cell| cell.line).collect();
    if let Some(first) = blank.first() {
        problems.push(say::blank_cell(file, name, *first, blank.len(), span));
        return None;
    }
    Some(column.clone())
}

fn open(name: &str, path: &str, span: Span, project: &dyn Project) -> Result<Table, Box<Diagnostic>> {
    let bytes = project.read(path, limits::TABLE_BYTES).map_err(|problem| values::cannot_read(name, &problem, span))?;
    let text = String::from_utf8(bytes).map_err(|error| {
        let before = error.as_bytes().get(..error.utf8_error().valid_up_to()).unwrap_or_default();
        values::not_text(name, before.iter().filter(|byte| **byte == b'\n').count() + 1, span)
    })?;
    // With one kind of line end, lines are counted as editors count them, and those within cells are ours.
    table(name, text.strip_prefix('\u{FEFF}').unwrap_or(&text).replace("\r\n", "\n").as_str(), span)
}

/// The table that a text holds.
fn table(name: &str, text: &str, span: Span) -> Result<Table, Box<Diagnostic>> {
    if let Some(line) = open_quote(text) {
        return Err(say::open_quote(name, line, span).into());
    }
    let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(text.as_bytes());
    // Of bytes in memory that are UTF-8 and of any width nothing can fail.
    let mut records = reader.records().filter_map(Result::ok);
    let Some(header) = records.next() else { return Err(say::empty_table(name, span).into()) };
    let names: Vec<&str> = header.iter().map(str::trim).collect();
    let mut seen = BTreeSet::new();
    if let Some(twice) = names.iter().find(|name| !seen.insert(**name)) {
        return Err(say::column_twice(name, twice, span).into());
    }
    let mut cells: Vec<Vec<Cell>> = vec![Vec::new(); names.len()];
    for (at, record) in records.enumerate() {
        let line = record.position().map_or(0, csv::Position::line);
        if record.len() != names.len() {
            return Err(say::row_of_other_width(name, line, record.len(), names.len(), span).into());
        }
        if at == limits::LIST_LENGTH {
            return Err(say::table_too_long(name, span).into());
        }
        for (column, text) in cells.iter_mut().zip(&record) {
            column.push(Cell { text: text.to_owned(), line });
        }
    }
    let columns = names.into_iter().zip(cells).map(|(name, cells)| Arc::new(typed(name, cells)));
    Ok(Table { columns: columns.collect() })
}

/// The line, from 1, of a quote that is never closed: a reader would take all that follows as one cell.
fn open_quote(text: &str) -> Option<usize> {
    let quotes = text.match_indices('"').map(|(at, _)| at);
    // By RFC 4180, section 2, rules 5 to 7, quotes come in pairs, those within a cell too.
    let last = quotes.clone().next_back().filter(|_| quotes.count() % 2 == 1)?;
    // The last odd one may close a cell that an earlier one opened too soon; the first line with an odd number is shown.
    let lines = text.lines().enumerate();
    let odd = lines.filter(|(_, line)| line.matches('"').count() % 2 == 1).map(|(at, _)| at + 1).next();
    odd.or_else(|| Some(text.get(..last)?.matches('\n').count() + 1))
}

fn typed(name: &str, cells: Vec<Cell>) -> Column {
    let values: Vec<Value> = cells.iter().map(|cell| value(&cell.text)).collect();
    let kinds: Vec<Type> = values.iter().map(type_of).collect();
    let same = kinds.first().filter(|first| kinds.iter().all(|kind| kind == *first));
    let of = same.cloned().unwrap_or(Type::Text);
    let text = |cell: &Cell| Value::Text(cell.text.as_str().into());
    let values = if of == Type::Text { cells.iter().map(text).collect() } else { values };
    Column { name: name.to_owned(), of, values: values.into(), cells }
}

/// What a cell is by itself: a number with or without its unit, or a colour, as the language writes them; else text, also
/// where a number would lose its leading zeros.
fn value(written: &str) -> Value {
    let text = || Value::Text(written.into());
    let digits = written.trim().trim_start_matches('-');
    let zeros = digits.strip_prefix('0').is_some_and(|rest| rest.starts_with(|next: char| next.is_ascii_digit()));
    if zeros || !digits.starts_with(|first: char| first.is_ascii_digit() || first == '#') {
        return text();
    }
    let mut sources = Sources::default();
    let id = sources.add("", written.trim());
    let (Some(expr), problems) = parse_expression(&sources, id) else { return text() };
    if problems.iter().next().is_some() { text() } else { literal(&expr).unwrap_or_else(text) }
}

fn literal(expr: &Expr) -> Option<Value> {
    match &expr.kind {
        ExprKind::Number(number) => Some(Value::Quantity(match number.unit {
            Some(unit) => Quantity::of(number.value, unit),
            None => Quantity::number(number.value),
        })),
        ExprKind::Negate(inner) => match literal(inner)? {
            Value::Quantity(quantity) => Some(Value::Quantity(Quantity { value: -quantity.value, ..quantity })),
            _ => None,
        },
        ExprKind::Colour(colour) => Some(Value::Colour(*colour)),
        _ => None,
    }
}

fn type_of(value: &Value) -> Type {
    match value {
        Value::Quantity(quantity) => Type::Quantity(quantity.dimension),
        Value::Colour(_) => Type::Colour,
        _ => Type::Text,
    }
}

impl Column {
    /// The value of a cell where one of this type is wanted: whatever is written may stand as text.
    pub fn value(&self, at: usize, wanted: &Type) -> Option<Value> {
        match wanted {
            Type::Text => self.cells.get(at).map(|cell| Value::Text(cell.text.as_str().into())),
            _ => self.values.get(at).cloned(),
        }
    }

    /// The first cell that is none of this type by itself; none where all are.
    pub fn misfit(&self, wanted: &Type) -> Option<&Cell> {
        let fits = |cell: &&Cell| type_of(&value(&cell.text)).fits(wanted);
        self.cells.iter().find(|cell| *wanted != Type::Text && !fits(cell))
    }
}
