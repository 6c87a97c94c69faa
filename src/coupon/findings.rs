//! Findings about a table of readings.

use crate::diagnostics::{Diagnostic, Finding, counted, listed, suggest};
use crate::source::Span;
use crate::statistics::Outlier;
use crate::units::{Length, plain};

/// A table without lines.
pub fn table_empty(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::ReadingsTable, "there are no readings in this table")
        .label(span, "empty")
        .help("fill in the `readings.csv` that `dialwright coupon` wrote")
}

/// More rows than are read.
pub fn table_too_long(rows: usize, most: usize, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::ReadingsTable, format!("the table has {rows} rows, and {most} are allowed"))
        .label(span, "one too many")
        .help("read one stock at a time, from the table that `dialwright coupon` wrote for it")
}

/// Cells that are parted by something else than commas.
pub fn table_not_parted(by: char, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::ReadingsTable, format!("the columns are parted by `{by}` and not by commas"))
        .label(span, "one column, it seems")
        .help("save the table as CSV with commas between the columns and a point before the decimals")
}

/// Text that is no CSV.
pub fn table_broken(words: &str, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::ReadingsTable, format!("the table cannot be read: {words}"))
        .label(span, "here")
        .help("save it as CSV with commas between the columns")
}

/// A column that no table of readings has.
pub fn column_unknown(name: &str, known: &[&str], span: Span) -> Diagnostic {
    let nearest = suggest::nearest(name, known.iter().copied());
    Diagnostic::error(Finding::ReadingsTable, format!("a table of readings has no column `{name}`"))
        .label(span, "no such column")
        .help(match nearest {
            Some(nearest) => format!("did you mean `{nearest}`?"),
            None => format!("its columns are {}", listed(known.iter().copied(), "and")),
        })
}

/// A column that is not there, or there twice.
pub fn column_count(name: &str, times: usize, known: &[&str], span: Span) -> Diagnostic {
    let message = match times {
        0 => format!("the table has no column `{name}`"),
        _ => format!("the table has the column `{name}` {times} times"),
    };
    Diagnostic::error(Finding::ReadingsTable, message)
        .label(span, "the names of the columns")
        .help(format!("the first line names the columns: {}", known.join(",")))
}

/// A row with more or fewer cells than columns.
pub fn row_uneven(cells: usize, columns: usize, span: Span) -> Diagnostic {
    Diagnostic::error(
        Finding::ReadingsRow,
        format!("this row has {}, and the table has {}", counted(cells, "cell"), counted(columns, "column")),
    )
    .label(span, if cells > columns { "too many" } else { "too few" })
    .help("put words that hold a comma between quotes, and write decimals with a point")
}

/// A row about a thing that is not measured.
pub fn thing_unknown(word: &str, known: &[&str], span: Span) -> Diagnostic {
    let nearest = suggest::nearest(word, known.iter().copied());
    Diagnostic::error(Finding::ReadingsRow, format!("`{word}` is nothing that is measured"))
        .label(span, "not known")
        .help(match nearest {
            Some(nearest) => format!("did you mean `{nearest}`?"),
            None => format!("a row is about one of {}", listed(known.iter().copied(), "or")),
        })
}

/// A row that must say more.
pub fn row_incomplete(thing: &str, column: &str, what: &str, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::ReadingsRow, format!("`{thing}` needs {what} in column `{column}`"))
        .label(span, "not said")
        .help("leave the first three columns as `dialwright coupon` wrote them")
}

/// Something without which no block can be written.
pub fn row_missing(what: &str, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::ReadingsRow, format!("there is no row for {what}"))
        .label(span, "not in this table")
        .help("take the row from the table that `dialwright coupon` wrote, and fill it in")
}

/// Two rows of which there can be one only.
pub fn row_twice(what: &str, again: Span, first: Span) -> Diagnostic {
    Diagnostic::error(Finding::ReadingsRow, format!("{what} is given twice"))
        .label(again, "given again")
        .label(first, "given here")
        .help("keep one of the two")
}

/// Passes that no depth was read after, though more were burnt.
pub fn pass_missing(missing: usize, span: Span) -> Diagnostic {
    let message =
        format!("no depth is read after {}, though after more: what was not measured is not guessed", passes(missing));
    Diagnostic::error(Finding::ReadingsRow, message)
        .label(span, "a depth after more passes")
        .help("read that pocket too, or take the rows of all deeper ones out")
}

/// Depths that do not rise.
pub fn depths_not_rising(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::ReadingsRow, "the depths do not rise with the passes, on average")
        .label(span, "the last of them")
        .help("look whether rows were exchanged, or whether the beam is far out of focus")
}

/// Strips that fill more than their opening.
pub fn kerf_not_positive(letter: &str, kerf: Length, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::ReadingsRow, format!("opening and strips of `{letter}` leave a kerf of {kerf}"))
        .label(span, "not wider than all its strips")
        .help("the opening is wider than its strips laid together: look whether the two were exchanged, or a strip is lost")
}

/// A cell with nothing in it.
pub fn cell_empty(thing: &str, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::ReadingsCell, format!("this `{thing}` has no reading"))
        .label(span, "empty")
        .help("fill it in, or take the whole row out where it could not be read")
}

/// A comma before the decimals.
pub fn cell_comma(written: &str, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::ReadingsCell, format!("`{written}` has a comma before its decimals"))
        .label(span, "a comma")
        .help(format!("write `{}`", written.replacen(',', ".", 1)))
}

/// A reading that is no number with a unit.
pub fn cell_not_a_number(written: &str, wanted: &str, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::ReadingsCell, format!("`{written}` is not {wanted}"))
        .label(span, "cannot be read")
        .help("write digits, with a point before the decimals")
}

/// A number without a unit.
pub fn cell_without_unit(written: &str, unit: &str, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::ReadingsCell, format!("`{written}` has no unit"))
        .label(span, "of what?")
        .help(format!("write the unit into column `unit`, for instance `{unit}`"))
}

/// A unit that is none, or of something else.
pub fn cell_wrong_unit(unit: &str, wanted: &str, units: &str, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::ReadingsCell, format!("`{unit}` is no unit of {wanted}"))
        .label(span, "another unit is wanted")
        .help(format!("write {units}"))
}

/// A length that cannot have been read.
pub fn cell_out_of_range(written: &str, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::ReadingsCell, format!("{written} cannot have been measured here"))
        .label(span, "not above zero, or over 10 m")
        .help("write what the calliper shows, above zero")
}

/// Text that is no colour.
pub fn cell_not_a_colour(written: &str, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::ReadingsCell, format!("`{written}` is no colour"))
        .label(span, "not a colour")
        .help("write it as `#d9b98a`: red, green and blue, two digits each from 00 to ff")
}

/// A name that the language has no room for.
pub fn cell_not_a_name(written: &str, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::ReadingsCell, format!("`{written}` cannot be the name of a block"))
        .label(span, "not a name")
        .help("write letters, digits and `_`, a letter first, as the shop file has it")
}

/// Which test refused a reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Test {
    /// Among readings of one thing.
    Grubbs,
    /// About a line.
    Residual,
}

/// A reading that stands out from all others.
pub fn stands_out(what: &str, value: Length, expected: Length, found: &Outlier, test: Test, span: Span) -> Diagnostic {
    let (statistic, critical) = (plain(found.statistic, 2), plain(found.critical, 2));
    let message = match test {
        Test::Grubbs => format!(
            "{what} of {value} stands out from the others, whose mean with it is {expected}: Grubbs's test at 5 % allows {critical} standard deviations, and it lies {statistic} off (Grubbs 1969)"
        ),
        Test::Residual => format!(
            "{what} of {value} stands out from the line through the others, which with it goes {expected} deep there: Student's test at 5 % allows an external residual of {critical}, and it has {statistic} (the same decision as Lund's, 1975)"
        ),
    };
    Diagnostic::error(Finding::ReadingStandsOut, message)
        .label(span, "stands out")
        .help("measure it again; where something went wrong with it, take its row out, and where it is sound, take more readings")
}

/// Depths that no straight line serves.
pub fn ladder_bends(span: Span) -> Diagnostic {
    let message = "the depths bend too far from a straight line, so each number of passes stands by its own mean, without an interval";
    Diagnostic::warning(Finding::LadderBends, message)
        .label(span, "the deepest of them")
        .help("look whether the beam stays in focus; take the deepest rows out where you need no pocket so deep")
}

/// A depth that is asked for and deeper than any that was measured.
pub fn depth_past_ladder(asked: Length, deepest: Option<String>, span: Span) -> Diagnostic {
    let message = match deepest {
        Some(deepest) => {
            format!("{asked} is deeper than the most that was measured, {deepest}: nothing is guessed beyond that")
        }
        None => format!("no depths are measured, so it is not known how many passes go {asked} deep"),
    };
    Diagnostic::error(Finding::DeeperThanMeasured, message)
        .label(span, "not measured")
        .help("burn and measure pockets of more passes")
}

fn passes(count: usize) -> String {
    if count == 1 { "1 pass".to_owned() } else { format!("{count} passes") }
}
