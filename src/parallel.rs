//! Independent work done at the same time. What is found does not depend on who is done first.

/// The results of two pieces of work, done side by side. A panic of either goes on as if they were done in turn.
pub(crate) fn side_by_side<A, B: Send>(one: impl FnOnce() -> A, other: impl FnOnce() -> B + Send) -> (A, B) {
    std::thread::scope(|scope| {
        let other = scope.spawn(other);
        let first = one();
        (first, other.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)))
    })
}
