//! Entries as text, in Markdown.

use super::entry::{Entry, Role, Row};
use crate::units::Quantity;

impl Entry {
    /// All that is said of the word: what it is, how it is written, its page, its table, what may go wrong, an example.
    pub fn text(&self) -> String {
        let mut parts = vec![format!("# {}, {}", self.word, self.role.described()), fenced(&self.usage), self.says()];
        parts.extend(self.table());
        parts.extend(self.raises());
        match self.example() {
            Some(example) => {
                parts.push(format!("An example, {}:", example.frame.place()));
                parts.push(fenced(&example.text));
            }
            None => parts.extend(self.body().split_once("```").map(|(_, rest)| format!("```{rest}"))),
        }
        parts.extend(self.more());
        parts.join("\n\n") + "\n"
    }

    /// The same in short, for the pointer in an editor: how it is written, what it is, its table.
    pub fn brief(&self) -> String {
        let first = match self.prose().split_once(". ") {
            Some((first, _)) => format!("{}.", first.replace('\n', " ")),
            None if self.page.is_some() => self.prose().replace('\n', " "),
            None => format!("{}.", capital(self.doc)),
        };
        let mut parts = vec![fenced(&self.usage), format!("{}. {first}", capital(&self.role.described()))];
        parts.extend(self.table());
        parts.join("\n\n")
    }

    /// What its page says; without a page, its sentence.
    fn says(&self) -> String {
        match (self.role, self.page) {
            (_, Some(_)) => self.prose().to_owned(),
            (Role::Unit(unit), None) => {
                format!("{}; `1{}` is `{}`.", capital(self.doc), unit.name, Quantity::of(1.0, unit))
            }
            _ => format!("{}.", capital(self.doc)),
        }
    }

    /// The fields or arguments as a table, its columns aligned.
    pub fn table(&self) -> Option<String> {
        let first = match self.role {
            Role::Block(_) | Role::Field(..) => "field",
            Role::Function(_) | Role::Argument(..) | Role::Measure(_) => "argument",
            _ => return None,
        };
        if self.rows.is_empty() {
            return None;
        }
        let head = [first, "holds", "unit", "default", "what it is"].map(str::to_owned);
        let row = |row: &Row| {
            let word = format!("`{}`", row.word);
            [word, row.holds.clone(), row.unit.clone(), row.default.clone(), row.doc.to_owned()]
        };
        let rows: Vec<[String; 5]> = [head].into_iter().chain(self.rows.iter().map(row)).collect();
        let width = |column: usize| rows.iter().filter_map(|row| row.get(column)).map(|it| it.chars().count()).max();
        let widths: Vec<usize> = (0..5).map(|column| width(column).unwrap_or(0)).collect();
        let line = |cells: &[String]| {
            let cells = cells
                .iter()
                .zip(&widths)
                .map(|(cell, wide)| format!("{cell}{}", " ".repeat(wide.saturating_sub(cell.chars().count()))));
            format!("| {} |", cells.collect::<Vec<_>>().join(" | "))
        };
        let rule: Vec<String> = widths.iter().map(|wide| "-".repeat(*wide)).collect();
        let mut lines: Vec<String> = rows.iter().map(|row| line(row)).collect();
        lines.insert(1, line(&rule));
        Some(lines.join("\n"))
    }

    fn raises(&self) -> Option<String> {
        let names: Vec<String> = self.findings().iter().map(|finding| format!("`{}`", finding.name())).collect();
        (!names.is_empty()).then(|| wrapped(&format!("Findings: {}.", names.join(", "))))
    }

    /// Where the rest is told.
    fn more(&self) -> Option<String> {
        let word = match self.role {
            Role::Field(block, _) | Role::FieldChoice(block, ..) => block.word,
            Role::Argument(function, _) | Role::ArgumentChoice(function, ..) => function.word,
            _ => return None,
        };
        Some(format!("More: dialwright explain {word}"))
    }
}

/// The pages of a word's entries. What several functions take under one word is told once, as one table.
pub(super) fn of_entries(entries: &[&Entry]) -> Vec<String> {
    let arguments: Vec<&Entry> =
        entries.iter().copied().filter(|entry| matches!(entry.role, Role::Argument(..))).collect();
    let is_shared = arguments.len() > 1;
    let others = entries.iter().filter(|entry| !(is_shared && matches!(entry.role, Role::Argument(..))));
    let shared = is_shared.then(|| shared(&arguments));
    others.map(|entry| entry.text()).chain(shared).collect()
}

fn shared(entries: &[&Entry]) -> String {
    let word = entries.first().map_or("", |entry| entry.word);
    let line = |entry: &&Entry| {
        let (Role::Argument(function, _), [row]) = (&entry.role, entry.rows.as_slice()) else { return String::new() };
        format!("- `{}`: {}; {}, {}", function.word, row.doc, row.holds, row.default)
    };
    let lines: Vec<String> = entries.iter().map(line).collect();
    format!("# {word}, an argument of several functions\n\n{}\n", lines.join("\n"))
}

/// In lines of no more letters than pages have.
fn wrapped(text: &str) -> String {
    const LETTERS: usize = 118;
    let mut lines = vec![String::new()];
    for word in text.split(' ') {
        match lines.last_mut() {
            Some(line) if line.is_empty() => line.push_str(word),
            Some(line) if line.chars().count() + word.chars().count() < LETTERS => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines.join("\n")
}

fn fenced(text: &str) -> String {
    format!("```dial\n{text}\n```")
}

/// With a capital letter at its start.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
