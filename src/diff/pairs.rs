//! Which thing of the old design is which of the new one.

use std::collections::{BTreeMap, VecDeque};

/// A thing in both designs, or in one.
pub(super) enum Pair<'a, T> {
    /// In both, by the same name.
    Both(&'a T, &'a T),
    /// In both, by another name.
    Renamed(&'a T, &'a T),
    /// In the old one alone.
    Gone(&'a T),
    /// In the new one alone.
    Come(&'a T),
}

/// Pairs things by name; of those left over, things with the same content are renamed.
pub(super) fn paired<'a, T>(
    old: &'a [T],
    new: &'a [T],
    name: impl Fn(&T) -> String,
    same: impl Fn(&T, &T) -> bool,
) -> Vec<Pair<'a, T>> {
    let mut names: BTreeMap<String, VecDeque<usize>> = BTreeMap::new();
    for (at, one) in new.iter().enumerate() {
        names.entry(name(one)).or_default().push_back(at);
    }
    let mut partner: Vec<Option<&'a T>> = Vec::new();
    let mut taken = vec![false; new.len()];
    for one in old {
        let at = names.get_mut(&name(one)).and_then(VecDeque::pop_front);
        partner.push(at.and_then(|at| new.get(at)));
        if let Some(taken) = at.and_then(|at| taken.get_mut(at)) {
            *taken = true;
        }
    }
    let mut pairs = Vec::new();
    for (one, partner) in old.iter().zip(partner) {
        if let Some(other) = partner {
            pairs.push(Pair::Both(one, other));
            continue;
        }
        // After all names have found each other, or a renamed thing might take the place of one that kept its name.
        let found = new.iter().zip(taken.iter_mut()).find(|(other, taken)| !**taken && same(one, other));
        pairs.push(match found {
            Some((other, taken)) => {
                *taken = true;
                Pair::Renamed(one, other)
            }
            None => Pair::Gone(one),
        });
    }
    let rest = new.iter().zip(taken).filter(|(_, taken)| !taken);
    pairs.extend(rest.map(|(other, _)| Pair::Come(other)));
    pairs
}
