//! Work that is counted, so that any text is answered in bounded time and memory.
//!
//! What can grow says what it does: pieces of outline looked at, places tried, things kept. A [`Meter`] counts it, on however many
//! threads it is done. Once there is no more to be had the work is given up, and whoever asked for it tells what was too much.
//! It is no clock: the same text comes to the same count on every machine.

use std::cell::{Cell, RefCell};
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// Steps that a thread keeps to itself before it tells the meter.
const BATCH: u64 = 1 << 14;

/// More steps than any meter allows; sums of a few such still fit.
const FAR: u64 = 1 << 60;

/// More work was asked for than may be done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TooMuch;

/// Counts work, up to so many steps.
#[derive(Clone, Debug)]
pub struct Meter(Arc<Count>);

#[derive(Debug)]
struct Count {
    done: AtomicU64,
    most: u64,
}

thread_local! {
    static METER: RefCell<Option<Meter>> = const { RefCell::new(None) };
    /// Steps that this thread has done, all in all, and those of them that a meter was told of.
    static DONE: Cell<u64> = const { Cell::new(0) };
    static TOLD: Cell<u64> = const { Cell::new(0) };
}

impl Meter {
    /// One that allows so many steps.
    pub fn new(most: u64) -> Self {
        Self(Arc::new(Count { done: AtomicU64::new(0), most }))
    }

    /// Steps done so far.
    pub fn done(&self) -> u64 {
        self.0.done.load(Ordering::Relaxed)
    }

    /// What the work gives, counted by this meter.
    ///
    /// # Errors
    /// [`TooMuch`] where the meter runs out: then the work was left where it was, by unwinding the stack.
    pub fn run<T>(&self, work: impl FnOnce() -> T) -> Result<T, TooMuch> {
        match catch_unwind(AssertUnwindSafe(|| counted(Some(self.clone()), work))) {
            Ok(_) if self.done() > self.0.most => Err(TooMuch),
            Ok(value) => Ok(value),
            Err(panic) if panic.is::<TooMuch>() => Err(TooMuch),
            Err(panic) => resume_unwind(panic),
        }
    }

    fn tell(&self, steps: u64) -> bool {
        let before = self.0.done.fetch_add(steps, Ordering::Relaxed);
        before.saturating_add(steps) <= self.0.most
    }
}

/// The meter of this thread, for another that helps it.
pub(crate) fn meter() -> Option<Meter> {
    METER.with_borrow(Clone::clone)
}

/// Does the work with its steps counted by this meter, or by none.
pub(crate) fn counted<T>(meter: Option<Meter>, work: impl FnOnce() -> T) -> T {
    /// Puts back what counted before, however the work ends.
    struct Back(Option<Meter>);
    impl Drop for Back {
        fn drop(&mut self) {
            let untold = untold();
            if let Some(meter) = METER.replace(self.0.take()) {
                meter.tell(untold);
            }
        }
    }
    // What was done before belongs to whoever counted then.
    let before = untold();
    let _back = Back(METER.replace(meter).inspect(|meter| {
        meter.tell(before);
    }));
    work()
}

/// What the work gives, and how many steps it took in this thread: for what is kept and given out again, so that all who ask are
/// charged alike, whoever of them came first.
pub(crate) fn priced<T>(work: impl FnOnce() -> T) -> (T, u64) {
    let before = DONE.get();
    let found = work();
    (found, DONE.get().wrapping_sub(before))
}

/// So many steps are done, each about a nanosecond of a processor's work.
#[inline]
pub(crate) fn spend(steps: u64) {
    let done = DONE.get().wrapping_add(steps);
    DONE.set(done);
    if done.wrapping_sub(TOLD.get()) >= BATCH {
        tell();
    }
}

/// The same for something done to each of so many things.
#[inline]
pub(crate) fn spend_on(things: usize, steps: u64) {
    spend((things as u64).saturating_mul(steps).min(FAR));
}

/// Whether so many steps may still be done for something that can be left out as well. They are then done.
pub(crate) fn spare(steps: u64) -> bool {
    let untold = untold();
    METER.with_borrow(|meter| {
        meter.as_ref().is_none_or(|meter| {
            meter.tell(untold);
            meter.done().saturating_add(steps) <= meter.0.most && meter.tell(steps)
        })
    })
}

/// Steps that no meter was told of yet.
fn untold() -> u64 {
    let done = DONE.get();
    done.wrapping_sub(TOLD.replace(done))
}

fn tell() {
    let untold = untold();
    if METER.with_borrow(|meter| meter.as_ref().is_some_and(|meter| !meter.tell(untold))) {
        // No fault, so no panic that a hook would tell of.
        resume_unwind(Box::new(TooMuch));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parallel::side_by_side;

    #[test]
    fn work_within_its_bound_is_done_and_counted() {
        let meter = Meter::new(100_000);
        assert_eq!(meter.run(|| (0..100).for_each(|_| spend(1_000))), Ok(()));
        assert_eq!(meter.done(), 100_000);
        assert_eq!(meter.run(|| spend(1)), Err(TooMuch));
        // Outside of a meter nothing is counted.
        spend(1 << 50);
        assert_eq!(meter.done(), 100_001);
    }

    #[test]
    fn work_beyond_it_is_given_up_on_the_way() {
        let (meter, mut begun) = (Meter::new(1_000_000), 0);
        let endless = || {
            loop {
                begun += 1;
                spend_on(100, 1_000);
            }
        };
        assert_eq!(meter.run(endless), Err::<(), _>(TooMuch));
        assert_eq!(begun, 11);
    }

    /// The sum decides, whoever does how much of it, and whichever thread is first.
    #[test]
    fn threads_share_one_count() {
        let halves = |most: u64| {
            let meter = Meter::new(most);
            let work = || (0..1_000).for_each(|_| spend(100));
            (meter.run(|| side_by_side(work, work)).is_ok(), meter.done())
        };
        assert_eq!(halves(200_000), (true, 200_000));
        for _ in 0..20 {
            assert!(!halves(199_999).0);
        }
    }

    #[test]
    fn what_can_be_left_out_is_left_out_at_the_end() {
        let meter = Meter::new(1_000);
        assert_eq!(meter.run(|| [spare(600), spare(600), spare(400), spare(1)]), Ok([true, false, true, false]));
        assert!(spare(1 << 50), "without a meter all is done");
    }

    #[test]
    fn faults_are_no_matter_of_work() {
        let fault = std::panic::catch_unwind(|| Meter::new(10).run(|| resume_unwind(Box::new("a fault"))));
        assert!(fault.is_err_and(|fault| fault.is::<&str>()));
        assert!(meter().is_none());
    }
}
