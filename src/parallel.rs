//! Independent work done at the same time. What is found does not depend on who is done first.

use std::cell::Cell;
use std::num::NonZeroUsize;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError, mpsc};

use crate::memory::{memory, within};
use crate::work::{counted, meter};

/// Stack of a thread that works on designs, in bytes: many times what the deepest text within the limits takes, whatever the system
/// gives to threads of its own. Memory is only taken as it is used.
pub const STACK_BYTES: usize = 64 * 1024 * 1024;

thread_local! {
    /// Whether this thread is one of several that share the machine, so that it should start no more.
    static SHARES: Cell<bool> = const { Cell::new(false) };
}

/// The results of two pieces of work, done side by side. A panic of either goes on as if they were done in turn.
pub(crate) fn side_by_side<A, B: Send>(one: impl FnOnce() -> A, other: impl Fn() -> B + Sync) -> (A, B) {
    // Inside a variant of a family no threads are started: as many processors are used as there are jobs.
    if SHARES.get() {
        return (one(), other());
    }
    // What is done on either thread is counted and kept together.
    let (meter, memory, other) = (meter(), memory(), &other);
    std::thread::scope(|scope| {
        // Without a thread to be had the work is done here.
        match std::thread::Builder::new()
            .stack_size(STACK_BYTES)
            .spawn_scoped(scope, move || within(memory, || counted(meter, other)))
        {
            Ok(thread) => (one(), thread.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))),
            Err(_) => (one(), other()),
        }
    })
}

/// Works on every item, one half of them beside the other; the results stand in the order of the items.
pub(crate) fn in_halves<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let (one, other) = items.split_at(items.len() / 2);
    let half = |items: &[T]| items.iter().map(&work).collect::<Vec<R>>();
    let (mut results, rest) =
        if one.is_empty() { (Vec::new(), half(other)) } else { side_by_side(|| half(one), || half(other)) };
    results.extend(rest);
    results
}

/// Changes every item, one half of them beside the other.
pub(crate) fn change_in_halves<T: Send>(items: &mut [T], change: impl Fn(&mut T) + Sync) {
    let (one, other) = items.split_at_mut(items.len() / 2);
    // Locked once, by whichever thread comes to do it.
    let other = Mutex::new(other);
    let rest = || other.lock().unwrap_or_else(PoisonError::into_inner).iter_mut().for_each(&change);
    side_by_side(|| one.iter_mut().for_each(&change), rest);
}

/// Works on every item with so many threads, and hands each result on in the calling thread, in the order in which they
/// are done; `done` also learns which item it was. Work inside an item is done in turn, so that as many processors are used
/// as there are threads. Where the system gives no thread, the calling one does the work. A panic goes on in the calling thread.
pub(crate) fn each<T: Sync, R: Send>(
    items: &[T],
    threads: NonZeroUsize,
    work: impl Fn(&T) -> R + Sync,
    mut done: impl FnMut(usize, R),
) {
    let next = AtomicUsize::new(0);
    let (send, receive) = mpsc::channel();
    let walk = |send: mpsc::Sender<(usize, R)>| {
        let shared = SHARES.replace(true);
        while let Some((at, item)) =
            Some(next.fetch_add(1, Ordering::Relaxed)).and_then(|at| Some((at, items.get(at)?)))
        {
            if send.send((at, work(item))).is_err() {
                break;
            }
        }
        SHARES.set(shared);
    };
    std::thread::scope(|scope| {
        let begun = (0..threads.get().min(items.len())).filter(|_| {
            let (send, walk) = (send.clone(), &walk);
            std::thread::Builder::new().stack_size(STACK_BYTES).spawn_scoped(scope, move || walk(send)).is_ok()
        });
        if begun.count() == 0 {
            walk(send.clone());
        }
        // The last sender in this thread: once the workers are done with theirs, the loop below ends.
        drop(send);
        receive.into_iter().for_each(|(at, result)| done(at, result));
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn halves_give_their_results_in_order() {
        for count in [0, 1, 2, 7] {
            let items: Vec<usize> = (0..count).collect();
            let squares: Vec<usize> = items.iter().map(|item| item * item).collect();
            assert_eq!(in_halves(&items, |item| item * item), squares);
            let mut changed = items.clone();
            change_in_halves(&mut changed, |item| *item *= *item);
            assert_eq!(changed, squares);
        }
    }

    #[test]
    fn every_item_is_worked_on_once_whatever_the_number_of_threads() {
        let items: Vec<usize> = (0..1000).collect();
        for threads in [1, 2, 7] {
            let mut squares = vec![None; items.len()];
            let threads = NonZeroUsize::new(threads).unwrap();
            let done = |at: usize, square: usize| assert_eq!(squares[at].replace(square), None);
            each(&items, threads, |item| item * item, done);
            assert!(squares.iter().enumerate().all(|(at, square)| *square == Some(at * at)));
        }
    }

    #[test]
    fn work_inside_an_item_starts_no_threads() {
        let same = |_: &()| {
            let here = std::thread::current().id();
            side_by_side(|| std::thread::current().id(), || std::thread::current().id()) == (here, here)
        };
        let mut all = Vec::new();
        each(&[(), ()], NonZeroUsize::new(2).unwrap(), same, |_, same| all.push(same));
        assert_eq!(all, [true, true]);
    }
}
