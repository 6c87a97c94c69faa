//! Which mutant is at work: put into the woven copy of the crate as `crate::mutant`, never into the crate itself.
//!
//! `DIALWRIGHT_MUTANT` names the one mutant at work; none of them is where it is unset. `DIALWRIGHT_MUTANT_REACHED` names
//! a file to which the number of every mutant is added when its place is first come to.

use std::env;
use std::fs::OpenOptions;
use std::io::Write as _;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering::Relaxed};

/// The environment has not been read yet.
const UNREAD: u32 = u32::MAX;
/// No mutant is at work: what is reached is written down.
const RECORD: u32 = u32::MAX - 1;

static AT_WORK: AtomicU32 = AtomicU32::new(UNREAD);
static SEEN: [AtomicBool; 1 << 16] = [const { AtomicBool::new(false) }; 1 << 16];

/// Whether a mutant is at work.
#[inline]
pub fn on(id: u32) -> bool {
    of([id]) != 0
}

/// Which of some mutants is at work, 0 where none is.
#[inline]
pub fn of<const N: usize>(ids: [u32; N]) -> u32 {
    let at_work = AT_WORK.load(Relaxed);
    if at_work >= RECORD {
        return rarely(&ids, at_work);
    }
    // The numbers of one place stand in order, so that most are told by two of them, and a mutant at work costs no more time
    // than none.
    if at_work < ids[0] || at_work > ids[N - 1] || !ids.contains(&at_work) { 0 } else { at_work }
}

#[cold]
#[inline(never)]
fn rarely(ids: &[u32], at_work: u32) -> u32 {
    if at_work == RECORD && ids.iter().all(|id| SEEN[*id as usize].load(Relaxed)) {
        return 0;
    }
    let reached = env::var_os("DIALWRIGHT_MUTANT_REACHED");
    let named = env::var("DIALWRIGHT_MUTANT").ok().and_then(|text| text.parse().ok());
    let at_work = if reached.is_some() { RECORD } else { named.unwrap_or(0) };
    AT_WORK.store(at_work, Relaxed);
    let Some(path) = reached else { return if ids.contains(&at_work) { at_work } else { 0 } };
    for id in ids.iter().filter(|id| !SEEN[**id as usize].swap(true, Relaxed)) {
        let mut file = OpenOptions::new().append(true).create(true).open(&path).unwrap();
        file.write_all(format!("{id}\n").as_bytes()).unwrap();
    }
    0
}
