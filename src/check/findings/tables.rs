//! Findings about tables: CSV files that `column` and `rows` read.

use crate::diagnostics::{Diagnostic, Finding, counted, listed, suggest};
use crate::limits;
use crate::source::Span;
use crate::vocabulary::types::Type;

use crate::check::tables::Cell;

fn bad_table(message: String, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::BadTable, message).label(span, "this table")
}

/// A file or column whose name is worked out.
pub fn not_plain(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::ValueTooSoon, "tables are read before any value, so this cannot be worked out")
        .label(span, "a text in quotes is wanted")
        .help("write the names of the file and its columns in quotes, as in `column(\"crew.csv\", \"name\")`")
}

/// A table without a first line.
pub fn empty_table(file: &str, span: Span) -> Diagnostic {
    bad_table(format!("there is nothing in `{file}`"), span)
        .help("its first line names the columns, as in `name,number`; a row stands on each line after it")
}

/// A quote that opens a cell and closes none.
pub fn open_quote(file: &str, line: usize, span: Span) -> Diagnostic {
    bad_table(format!("line {line} of `{file}` has a quote that no other closes"), span)
        .help("put quotes round the whole cell, and write each quote in it twice: `\"the \"\"old\"\" one\"`")
}

/// Two columns of one name.
pub fn column_twice(file: &str, name: &str, span: Span) -> Diagnostic {
    let found = match name {
        "" => bad_table(format!("two columns of `{file}` have no name"), span),
        _ => bad_table(format!("two columns of `{file}` are called `{name}`"), span),
    };
    found.help("give each column a name of its own in the first line")
}

/// A row with more or fewer cells than there are columns.
pub fn row_of_other_width(file: &str, line: u64, cells: usize, columns: usize, span: Span) -> Diagnostic {
    let message = format!(
        "line {line} of `{file}` has {}, and its first line names {}",
        counted(cells, "cell"),
        counted(columns, "column")
    );
    bad_table(message, span).help(if cells > columns {
        "put quotes round a cell that has commas in it: `\"Brun, the elder\"`"
    } else {
        "write a comma for each cell that is left out, or take the line away"
    })
}

/// More rows than a list may have.
pub fn table_too_long(file: &str, span: Span) -> Diagnostic {
    bad_table(format!("`{file}` has more than {} rows", limits::LIST_LENGTH), span).help("part it into several files")
}

/// A column that the table has not.
pub fn unknown_column(file: &str, name: &str, known: &[&str], span: Span) -> Diagnostic {
    let found = Diagnostic::error(Finding::UnknownColumn, format!("`{file}` has no column `{name}`"))
        .label(span, "no such column");
    if let [only] = known
        && let Some(sign) = [';', '\t', '|'].into_iter().find(|sign| only.contains(*sign))
    {
        let sign = if sign == '\t' { "a tab".to_owned() } else { format!("`{sign}`") };
        return found.help(format!("its columns are parted by {sign}: save it as CSV with commas between the cells"));
    }
    match suggest::nearest(name, known.iter().copied()) {
        Some(nearest) => found
            .help(format!("did you mean `\"{nearest}\"`?"))
            .mend(span, crate::check::value::Value::Text(nearest.into()).to_string()),
        None => found.help(format!("its columns are {}", listed(known.iter().take(12).copied(), "and"))),
    }
}

/// A cell in which nothing stands.
pub fn blank_cell(file: &str, column: &str, line: u64, of: usize, span: Span) -> Diagnostic {
    let more = if of > 1 { format!(", and on {}", counted(of - 1, "more line")) } else { String::new() };
    Diagnostic::error(Finding::BlankCell, format!("column `{column}` of `{file}` is blank on line {line}{more}"))
        .label(span, "this column")
        .help("fill it in, or take its row out of the table")
}

/// A cell that is not what is wanted of its column.
pub fn cell_misfit(column: &str, cell: &Cell, wanted: &Type, span: Span) -> Diagnostic {
    let Cell { text, line } = cell;
    let found = Diagnostic::error(
        Finding::CellMisfit,
        format!("`{text}` on line {line}, column `{column}`, is not {}", wanted.described()),
    )
    .label(span, "each cell must be one");
    let zeros = text.len() > 1 && text.starts_with('0') && text.bytes().all(|byte| byte.is_ascii_digit());
    match wanted {
        _ if zeros => {
            found.help("with its leading zeros it is a text: write it without them, and show it with `digits`")
        }
        Type::Quantity(_) => found.help("write it in the table as in the language: `12`, `2.5mm`, `90deg`"),
        Type::Colour => found.help("write it in the table as `#c8a06e`"),
        _ => found.help("a cell holds a number, a quantity with its unit, a colour or a text"),
    }
}
