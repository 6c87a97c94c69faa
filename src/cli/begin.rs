//! `begin`: a first dial from five answers, asked for in the terminal or given as flags.

use std::io::{self, BufRead, IsTerminal as _};
use std::path::{Path, PathBuf};

use clap::Args;

use super::coupon::read_sound_workshop;
use super::disk::{DiskProject, folder_of, put_new};
use super::{FINE, MessageFormat, length, report};
use crate::begin::{Answers, Begun, Holder, Instead, Readings, Refused, begin};
use crate::check::Shop;
use crate::diagnostics::listed;
use crate::units::Length;

#[derive(Debug, Args)]
pub(super) struct BeginArguments {
    /// The new file, as in `points.dial`; nothing is ever written over
    file: PathBuf,
    /// What the dial shows: its title
    #[arg(long, value_name = "TITLE", value_parser = title)]
    shows: Option<String>,
    /// Its readings: how many (`10`), a range (`1 to 12`), or words with commas between them
    // Also of numbers below zero.
    #[arg(long, value_name = "READINGS", value_parser = Readings::read, allow_hyphen_values = true)]
    readings: Option<Readings>,
    /// How large it is from edge to edge, as in `60mm`
    #[arg(long, value_name = "LENGTH", value_parser = length, allow_hyphen_values = true)]
    across: Option<Length>,
    /// What it is cut from: a stock of the shop
    #[arg(long, value_name = "NAME")]
    stock: Option<String>,
    /// What holds it together and lets it turn: magnets, rivet or screw
    #[arg(long, value_name = "WORD", value_parser = Holder::read)]
    held_by: Option<Holder>,
    /// The shop file that the dial shares, in its folder or below; without one the built-in shop serves
    #[arg(long, value_name = "FILE")]
    shop: Option<PathBuf>,
}

pub(super) fn run(arguments: &BeginArguments) -> u8 {
    begun(arguments).unwrap_or_else(|sentence| report::fail(&sentence, MessageFormat::Text))
}

fn begun(arguments: &BeginArguments) -> Result<u8, String> {
    let file = &arguments.file;
    let shown = file.display();
    new_dial(file)?;
    let (project, name, _) = DiskProject::of(file);
    let shop = read_sound_workshop(arguments.shop.as_deref())?;
    let with = arguments.shop.as_deref().map(|shop| within(file, shop)).transpose()?;
    let stock = |text: &str| match shop.shop.stocks.contains_key(text) {
        true => Ok(text.to_owned()),
        false => Err(format!("the shop has {}", listed(shop.shop.stocks.keys().map(String::as_str), "and"))),
    };
    if let Some(Err(known)) = arguments.stock.as_deref().map(stock) {
        return Err(format!("there is no stock `{}`: {known}", arguments.stock.as_deref().unwrap_or_default()));
    }
    let mut asked = Asked::of_terminal();
    let mut answers = asked.answers(arguments, &shop.shop, file, stock)?;
    loop {
        match begin(&answers, (&shop.shop, with.as_deref()), &project, &name) {
            Ok(begun) => {
                put_new(file, begun.text.as_bytes())
                    .map_err(|error| format!("`{shown}` cannot be written: {error}"))?;
                say(&begun, &shown.to_string());
                return Ok(FINE);
            }
            Err(Refused::Unreadable(error)) => return Err(report::unreadable(&shown.to_string(), &error)),
            Err(Refused::Faulty { why, instead: None }) => {
                return Err(format!(
                    "such a dial would not be sound: {why}; nor would it be with another size, stock or holder: fewer, shorter or \
                     other readings may do"
                ));
            }
            Err(Refused::Faulty { why, instead: Some(instead) }) => {
                let told = format!("such a dial would not be sound: {why}");
                if asked.input.is_none() {
                    return Err(format!("{told}; {} is", flag(&instead)));
                }
                println!("{told}");
                match instead {
                    Instead::Across(size) => {
                        let question = format!("How large instead? {size} will do");
                        answers.across = asked.one(&question, &size.to_string(), length)?;
                    }
                    Instead::Stock(usual) => {
                        let question = format!("What is it cut from instead? {usual} will do");
                        answers.stock = asked.one(&question, &usual, stock)?;
                    }
                    Instead::HeldBy(holder) => {
                        let question = format!("What holds it together instead? {} will do", holder.word());
                        answers.holder = asked.one(&question, holder.word(), |text| held(text, &shop.shop))?;
                    }
                }
            }
        }
    }
}

/// Another answer as it is given on the command line.
fn flag(instead: &Instead) -> String {
    match instead {
        Instead::Across(across) => format!("`--across {across}`"),
        Instead::Stock(stock) => format!("`--stock {stock}`"),
        Instead::HeldBy(holder) => format!("`--held-by {}`", holder.word()),
    }
}

/// A title: a few words in one line.
fn title(text: &str) -> Result<String, String> {
    match text.trim() {
        "" => Err("write a few words".to_owned()),
        words if words.chars().any(char::is_control) => Err("a title is one line of plain words".to_owned()),
        words => Ok(words.to_owned()),
    }
}

/// A holder of which the shop has one.
fn held(text: &str, shop: &Shop) -> Result<Holder, String> {
    let holder = Holder::read(text)?;
    let holders = Holder::of(shop);
    if holders.contains(&holder.word()) { Ok(holder) } else { Err(format!("the shop has {}", listed(holders, "and"))) }
}

/// That a file is named as a dial, and that nothing is there yet.
pub(super) fn new_dial(file: &Path) -> Result<(), String> {
    if file.extension().is_none_or(|ending| ending != "dial") {
        return Err(format!(
            "a dial is a file that ends in `.dial`: write `{}`",
            file.with_extension("dial").display()
        ));
    }
    unused(file)
}

/// That nothing is there yet.
pub(super) fn unused(file: &Path) -> Result<(), String> {
    match file.symlink_metadata() {
        Ok(_) => {
            Err(format!("`{}` is there already and stays as it is: give the new dial another name", file.display()))
        }
        Err(_) => Ok(()),
    }
}

/// The name of the shop file as the new file takes it: relative to its folder, and not outside of it.
pub(super) fn within(file: &Path, shop: &Path) -> Result<String, String> {
    let folder = folder_of(file);
    let found = folder.canonicalize().ok().zip(shop.canonicalize().ok());
    let inside = found.as_ref().and_then(|(folder, shop)| shop.strip_prefix(folder).ok());
    let parts = inside.map(|inside| inside.iter().map(|part| part.to_string_lossy()).collect::<Vec<_>>().join("/"));
    parts.ok_or_else(|| {
        let (shop, folder) = (shop.display(), folder.display());
        format!(
            "`{shop}` does not lie in `{folder}` or below: a dial shares only what lies there, so copy it there first"
        )
    })
}

/// Where answers come from that are not given as flags: from a person, or what is usual.
struct Asked {
    input: Option<Box<dyn BufRead>>,
}

impl Asked {
    /// Only a person at a terminal is asked: a script would wait for ever.
    fn of_terminal() -> Self {
        let terminal = io::stdin().is_terminal() && io::stdout().is_terminal();
        Self { input: terminal.then(|| Box::new(io::BufReader::new(io::stdin())) as Box<dyn BufRead>) }
    }

    fn answers(
        &mut self,
        given: &BeginArguments,
        shop: &Shop,
        file: &Path,
        stock: impl Fn(&str) -> Result<String, String>,
    ) -> Result<Answers, String> {
        let stem = file.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
        let shows = self.or(given.shows.clone(), "What does the dial show?", &capital(&stem), title)?;
        let readings = "How many readings, from what to what (1 to 12), or which words (Fair, Rain, Snow)?";
        let readings = self.or(given.readings.clone(), readings, "10", Readings::read)?;
        let across = self.or(given.across, "How large is it from edge to edge?", "60mm", length)?;
        let stocks: Vec<&str> = shop.stocks.keys().map(String::as_str).collect();
        let usual = stocks.first().copied().unwrap_or_default();
        let which = format!("What is it cut from: {}?", stocks.join(", "));
        let stock = self.or(given.stock.clone(), &which, usual, stock)?;
        let holders = Holder::of(shop);
        let usual = holders
            .first()
            .copied()
            .ok_or("the shop has no magnet, rivet or screw to hold a dial: give it one first")?;
        let held = |text: &str| held(text, shop);
        let given = given.held_by.map(|holder| held(holder.word())).transpose()?;
        let which = format!("What holds it together and lets it turn: {}?", holders.join(", "));
        let holder = self.or(given, &which, usual, held)?;
        Ok(Answers { shows, readings, across, stock, holder })
    }

    /// What is given, else what is answered.
    fn or<T>(
        &mut self,
        given: Option<T>,
        question: &str,
        usual: &str,
        read: impl Fn(&str) -> Result<T, String>,
    ) -> Result<T, String> {
        given.map_or_else(|| self.one(question, usual, read), Ok)
    }

    /// Asks until the answer can be read; an empty one is what is usual.
    fn one<T>(&mut self, question: &str, usual: &str, read: impl Fn(&str) -> Result<T, String>) -> Result<T, String> {
        loop {
            let mut line = String::new();
            if let Some(input) = &mut self.input {
                println!("{question} [{usual}]");
                match input.read_line(&mut line) {
                    Ok(0) => return Err("not all questions were answered, so nothing was written".to_owned()),
                    Ok(_) => {}
                    Err(error) => return Err(format!("the answer cannot be read: {error}")),
                }
            }
            let answer = if line.trim().is_empty() { usual } else { line.trim() };
            match read(answer) {
                Ok(read) => return Ok(read),
                Err(help) if self.input.is_some() => println!("{help}"),
                Err(help) => return Err(help),
            }
        }
    }
}

/// The name of a file as a title.
pub(super) fn capital(stem: &str) -> String {
    let words = stem.replace(['-', '_'], " ");
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

fn say(begun: &Begun, file: &str) {
    println!("written    {file}");
    println!("           {}", begun.analysis.verdict);
    println!("look       dialwright view {file}");
    println!("check      dialwright check {file}");
    println!("make       dialwright build {file}");
}
