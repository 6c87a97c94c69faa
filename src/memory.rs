//! What several designs ask alike is worked out once: the variants of a family mostly differ in little.
//!
//! A [`Memory`] keeps the last answers to each kind of question. Who asks again is given what was found, charged with the work that
//! the thread which found it did. So what is found does not depend on who asked before, and no work comes for nothing.

use std::any::{Any, TypeId};
use std::cell::RefCell;
use std::collections::{BTreeMap, VecDeque};
use std::sync::{Arc, Mutex, PoisonError};

use crate::work::{priced, spend};

/// How many answers to one kind of question are kept at once: of small things that a dial has many of, such as outlines and
/// labels, and of large ones.
pub(crate) const MANY: usize = 128;
pub(crate) const FEW: usize = 16;

/// What was found so far.
#[derive(Clone, Default)]
pub(crate) struct Memory(Arc<Mutex<BTreeMap<TypeId, Box<dyn Any + Send>>>>);

/// Questions of one kind with their answers and the work of finding them, the last one first.
type Answers<Q, A> = VecDeque<(Q, A, u64)>;

thread_local! {
    static MEMORY: RefCell<Option<Memory>> = const { RefCell::new(None) };
}

/// The memory that is asked in this thread, for another that helps it.
pub(crate) fn memory() -> Option<Memory> {
    MEMORY.with_borrow(Clone::clone)
}

/// Does the work with this memory, or with none.
pub(crate) fn within<T>(memory: Option<Memory>, work: impl FnOnce() -> T) -> T {
    /// Puts back what was asked before, however the work ends.
    struct Back(Option<Memory>);
    impl Drop for Back {
        fn drop(&mut self) {
            MEMORY.replace(self.0.take());
        }
    }
    let _back = Back(MEMORY.replace(memory));
    work()
}

/// The answer to a question, of which there must be a type of its own: what was found for an equal one before, or is found now.
/// Threads may ask the same at once; each then finds it. Without a memory nothing is kept, and never more than `most`, of which
/// the one that was longest not asked for is forgotten first.
pub(crate) fn recalled<Q, A>(most: usize, question: impl FnOnce() -> Q, find: impl FnOnce() -> A) -> A
where
    Q: PartialEq + Send + 'static,
    A: Clone + Send + 'static,
{
    let Some(memory) = memory() else { return find() };
    let question = question();
    let known = memory.with(|answers: &mut Answers<Q, A>| {
        let at = answers.iter().position(|(known, ..)| *known == question)?;
        let known = answers.remove(at)?;
        let answer = (known.1.clone(), known.2);
        answers.push_front(known);
        Some(answer)
    });
    if let Some((found, steps)) = known.flatten() {
        spend(steps);
        return found;
    }
    let (found, steps) = priced(find);
    memory.with(|answers: &mut Answers<Q, A>| {
        answers.push_front((question, found.clone(), steps));
        answers.truncate(most);
    });
    found
}

impl Memory {
    /// Looks at the answers to one kind of question.
    fn with<Q: Send + 'static, A: Send + 'static, T>(&self, look: impl FnOnce(&mut Answers<Q, A>) -> T) -> Option<T> {
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let kind = all.entry(TypeId::of::<(Q, A)>()).or_insert_with(|| Box::new(Answers::<Q, A>::new()));
        kind.downcast_mut().map(look)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::work::Meter;

    #[derive(PartialEq)]
    struct Square(u64);
    #[derive(PartialEq)]
    struct Cube(u64);

    fn square(of: u64, found: &mut usize) -> u64 {
        recalled(
            4,
            || Square(of),
            || {
                *found += 1;
                spend(1_000);
                of * of
            },
        )
    }

    #[test]
    fn equal_questions_are_answered_once_and_counted_each_time() {
        let (mut found, meter) = (0, Meter::new(1_000_000));
        let answers = meter.run(|| within(Some(Memory::default()), || [3, 4, 3, 3].map(|of| square(of, &mut found))));
        assert_eq!((answers, found, meter.done()), (Ok([9, 16, 9, 9]), 2, 4_000));
    }

    #[test]
    fn kinds_are_kept_apart_and_nothing_without_a_memory() {
        let mut found = 0;
        assert_eq!([square(3, &mut found), square(3, &mut found)], [9, 9]);
        assert_eq!(found, 2);
        let both = within(Some(Memory::default()), || {
            (square(3, &mut found), recalled(4, || Cube(3), || 27_u64), square(3, &mut found))
        });
        assert_eq!((both, found), ((9, 27, 9), 3));
        assert!(memory().is_none());
    }

    #[test]
    fn the_oldest_are_forgotten() {
        let mut found = 0;
        within(Some(Memory::default()), || {
            for of in 0..8 {
                // What is asked again and again stays.
                square(of, &mut found);
                square(0, &mut found);
            }
            assert_eq!(found, 8);
            square(1, &mut found);
        });
        assert_eq!(found, 9);
    }

    #[test]
    fn threads_that_help_share_it() {
        let answers = within(Some(Memory::default()), || {
            let seven = || recalled(4, || Cube(7), || 343_u64);
            let again = || recalled(4, || Cube(7), || 0_u64);
            (crate::parallel::side_by_side(|| (), seven).1, again())
        });
        assert_eq!(answers, (343, 343));
    }
}
