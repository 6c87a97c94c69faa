//! Replays what the fuzzers keep: every input that reaches code of its own, and every one that ever broke something.

use std::path::PathBuf;

#[path = "../fuzz/targets.rs"]
mod targets;

fn replayed(target: &str, run: fn(&[u8])) {
    let folder = crate::dials::root().join("tests/fuzz/corpus").join(target);
    let mut inputs: Vec<PathBuf> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    inputs.sort();
    assert!(!inputs.is_empty(), "{target} has no corpus");
    for input in inputs {
        run(&std::fs::read(&input).unwrap());
    }
}

macro_rules! replay {
    ($($target:ident)*) => {$(
        #[test]
        fn $target() {
            replayed(stringify!($target), targets::$target);
        }
    )*};
}

replay!(parse tidy check build operations drawing picture readings);
