//! What a shop file, or a design that shares one, says of the shop.

use super::Subject;
use crate::check::{Checked, LoadError, Shop, load};
use crate::diagnostics::Diagnostic;
use crate::project::Project;
use crate::source::Sources;
use crate::syntax::tree::{Item, Thing};

/// A shop, and the texts that it was read from.
#[derive(Clone, Debug)]
pub struct Workshop {
    /// Every text that was read.
    pub sources: Sources,
    /// What is wrong with them, as far as the shop goes.
    pub findings: Vec<Diagnostic>,
    /// What it has.
    pub shop: Shop,
    /// Its blocks as written; none of the built-in shop's.
    pub blocks: Vec<Thing>,
}

/// Reads the shop of the file `name`, a shop file or a design. `shown_in` is the folder as messages show it.
///
/// # Errors
/// Where the file itself cannot be read; all else is a finding.
pub fn workshop(project: &dyn Project, name: &str, shown_in: &str) -> Result<Workshop, LoadError> {
    let mut loaded = load(project, name, shown_in)?;
    let mut problems = std::mem::take(&mut loaded.problems);
    let (checked, found) = Checked::new(&loaded, project);
    problems.extend(found);
    let (shop, found) = checked.shop(project);
    problems.extend(found);
    drop(checked);
    let items = loaded.files.iter().flat_map(|file| &file.file.items).filter(|_| !loaded.nominal_shop);
    let blocks =
        items.filter_map(|item| if let Item::Thing(thing) = item { Some(thing.clone()) } else { None }).collect();
    Ok(Workshop { sources: loaded.sources.clone(), findings: problems.into_sorted(), shop, blocks })
}

impl Workshop {
    /// What is to be measured for a stock; where none is named, for the only one.
    ///
    /// # Errors
    /// The names of all stocks, where the one named is not among them or several could be meant.
    pub fn subject(&self, stock: Option<&str>) -> Result<Subject<'_>, Vec<&str>> {
        let stocks = &self.shop.stocks;
        let chosen = match stock {
            Some(name) => stocks.get(name),
            None => stocks.values().next().filter(|_| stocks.len() == 1),
        };
        let stock = chosen.ok_or_else(|| stocks.keys().map(String::as_str).collect::<Vec<&str>>())?;
        Ok(Subject {
            stock,
            magnets: self.shop.magnets.values().collect(),
            finishes: self.shop.finishes.values().collect(),
            palette: self.shop.palette,
        })
    }
}
