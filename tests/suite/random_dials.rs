//! Dials drawn by seed (`tests/random`): `check` and the second reader agree on every one.

use std::thread;

use random::{Counts, analysed, dial, guarded, run, shrunk, written};

#[path = "../random/mod.rs"]
mod random;

/// Dials that every test run looks at, from a seed that stays.
const SHARE: u64 = 300;
const FROM: u64 = 1;

/// `check` and the second reader agree on every one, and enough of them are sound, refused and near neither.
#[test]
fn what_is_checked_is_what_pixels_show() {
    let half = SHARE / 2;
    let halves = thread::scope(|scope| {
        let parts = [FROM, FROM + half].map(|from| scope.spawn(move || run(from, half, |_, _| {})));
        parts.map(|part| part.join().expect("panics are caught"))
    });
    let sum = |of: fn(&Counts) -> usize| halves.iter().map(of).sum::<usize>();
    let differ: Vec<_> = halves.iter().flat_map(|counts| &counts.disagreements).collect();
    assert!(differ.is_empty(), "{differ:#?}");
    let share = usize::try_from(SHARE).unwrap();
    assert_eq!(sum(|counts| counts.run), share);
    // So that nobody takes silence for agreement: what is drawn must be worth looking at.
    let (sound, refused) = (sum(|counts| counts.sound), sum(|counts| counts.refused));
    assert!(3 * sound > share && 8 * refused > share, "{sound} sound, {refused} refused");
    assert!(10 * sum(|counts| counts.not_comparable) < share);
    let [stops, wrong, close] = [0, 1, 2].map(|at: usize| halves.iter().map(|counts| counts.stops[at]).sum::<usize>());
    assert!(stops > 10 * share && 30 * wrong > stops && 10 * close < stops, "{stops}, {wrong} wrong, {close} close");
}

/// What was found once stays mended: the first line of each file tells what was wrong.
#[test]
fn dials_that_were_told_otherwise_agree() {
    let kept = crate::files("random/kept", "dial");
    for path in &kept {
        let text = std::fs::read_to_string(path).unwrap();
        assert!(text.starts_with("// "), "{} does not say what was wrong", path.display());
        let found = guarded(&text);
        assert_eq!(found.disagreements, [], "{}", path.display());
        assert!(found.read_back > 0, "{}: {:?}", path.display(), found.errors);
    }
    assert!(!kept.is_empty());
}

/// Two ways from the same text to the same bytes.
#[test]
fn random_dials_are_written_alike_twice() {
    let mut compared = 0;
    for seed in FROM..FROM + 12 {
        let text = dial(seed);
        assert_eq!(text, dial(seed));
        let [one, other] = [analysed(&text), analysed(&text)].map(|analysis| {
            let folders = analysis.dials.iter().filter_map(|dial| written(&analysis, dial));
            folders.map(|folder| (folder.list, folder.drawings)).collect::<Vec<_>>()
        });
        compared += one.len();
        assert!(one == other, "seed {seed}");
    }
    assert!(compared > 6);
}

/// A dial becomes as small as what is asked of it allows, whatever that is.
#[test]
fn shrinking_keeps_what_is_asked_for() {
    let text = dial(3);
    let reads = |text: &str| guarded(text).read_back > 0;
    assert!(reads(&text));
    let small = shrunk(&text, |text| text.contains("layer ") && text.contains("stack"));
    assert!(small.len() < text.len() / 4, "{small}");
}
