//! The one walk over variants, for everyone who wants something of many of them.

use std::num::NonZeroUsize;

use super::CheckedSession;
use crate::check::Variant;
use crate::check::findings::dial as say;
use crate::diagnostics::Problems;
use crate::memory::{Memory, within};
use crate::parallel::each;

/// How many variants are worked on at once.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Threads {
    /// One after another, in the calling thread.
    InTurn,
    /// So many at once, each on one processor.
    AtOnce(NonZeroUsize),
}

impl CheckedSession<'_> {
    /// What `one` gives for each of these, in their order. They are variants, or whatever there is one of for each variant.
    /// `done` is called after each, in the calling thread. Once nobody waits for the answer any more, no further one is begun,
    /// and what is given ends before the first that is missing.
    pub fn walk<V: Sync, T: Send>(
        &self,
        variants: &[V],
        threads: Threads,
        one: impl Fn(&V) -> T + Sync,
        mut done: impl FnMut(),
    ) -> Vec<T> {
        // Where there are several, they mostly have much in common.
        let memory = (variants.len() > 1).then(Memory::default);
        let awaited = |variant: &V| (!self.stopped()).then(|| within(memory.clone(), || one(variant)));
        let threads = match threads {
            Threads::AtOnce(threads) if variants.len() > 1 || threads == NonZeroUsize::MIN => threads,
            // A single variant may use the other processors for the work inside it.
            _ => return variants.iter().map_while(|variant| awaited(variant).inspect(|_| done())).collect(),
        };
        let mut all: Vec<Option<T>> = variants.iter().map(|_| None).collect();
        each(variants, threads, awaited, |at, result| {
            done();
            if let Some(place) = all.get_mut(at) {
                *place = result;
            }
        });
        all.into_iter().map_while(|result| result).collect()
    }
}

/// The variants to look at: the one asked for, all of the family, or the plain file.
pub(super) fn chosen(variants: Vec<Variant>, wanted: Option<&str>, problems: &mut Problems) -> Vec<Option<Variant>> {
    match wanted {
        None if variants.is_empty() => vec![None],
        None => variants.into_iter().map(Some).collect(),
        Some(name) => match variants.iter().find(|variant| variant.name == *name) {
            Some(variant) => vec![Some(variant.clone())],
            None => {
                let known: Vec<&str> = variants.iter().map(|variant| variant.name.as_str()).collect();
                problems.push(say::unknown_variant(name, &known));
                Vec::new()
            }
        },
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;
    use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

    use super::super::{Request, Session};
    use super::*;
    use crate::project::MemoryProject;

    /// What is given of six items, how many were begun and how many told of as done, where the third of them sets the stop.
    fn walked(threads: Threads, stops: bool) -> (Vec<usize>, usize, usize) {
        let project = MemoryProject::default().with("plate.dial", "dial \"Plate\"");
        let stop = Arc::new(AtomicBool::new(false));
        let request = Request { stop: Some(Arc::clone(&stop)), ..Request::default() };
        let session = Session::open(&project, "plate.dial", "", &request).unwrap();
        let (begun, mut done) = (AtomicUsize::new(0), 0);
        let one = |at: &usize| {
            begun.fetch_add(1, Ordering::Relaxed);
            stop.fetch_or(stops && *at == 2, Ordering::Relaxed);
            10 * at
        };
        let all = session.check(&project).walk(&[0, 1, 2, 3, 4, 5], threads, one, || done += 1);
        (all, begun.into_inner(), done)
    }

    #[test]
    fn every_variant_is_given_in_its_place() {
        let many = NonZeroUsize::new(3).unwrap();
        for threads in [Threads::InTurn, Threads::AtOnce(NonZeroUsize::MIN), Threads::AtOnce(many)] {
            assert_eq!(walked(threads, false), (vec![0, 10, 20, 30, 40, 50], 6, 6), "{threads:?}");
        }
    }

    #[test]
    fn none_is_begun_once_nobody_waits() {
        for threads in [Threads::InTurn, Threads::AtOnce(NonZeroUsize::MIN)] {
            let (all, begun, _) = walked(threads, true);
            assert_eq!((all, begun), (vec![0, 10, 20], 3), "{threads:?}");
        }
    }

    /// Variants that have most in common are the same as each by itself, where nothing is remembered of another: those that differ
    /// in a text, in what is read through, in the stops, and in nothing that matters.
    #[test]
    fn variants_are_as_each_by_itself() {
        let text = r#"
            dial "Points of {who}"
            param who: text = "Ada"
            param wide: length = 12mm
            param away: length = 20mm
            outline circle(diameter: 60mm)
            layer base of birch { engrave ring points { labels 0 to 9; radius 20mm; height 5mm } }
            layer cover of birch {
                window peep = circle(diameter: wide) at polar(away, 0deg)
                engrave text(who, height: 4mm) at (0mm, -15mm)
            }
            stack { base; turn on magnets(disc); cover }
            reads points through peep from 60cm
            family {
                variant ada { }
                variant bo { who = "Bo" }
                variant cy { who = "Cy"; wide = 10mm }
                variant di { who = "Di"; away = 20.5mm }
                variant ada_again { who = "Ada" }
            }
        "#;
        let project = MemoryProject::default().with("points.dial", text);
        let of = |variant: Option<&str>| {
            let request = Request { variant: variant.map(str::to_owned), ..Request::default() };
            super::super::analyse(&project, "points.dial", "", &request).unwrap()
        };
        let all = of(None);
        assert_eq!(all.dials.len(), 5, "{:?}", all.findings);
        for dial in &all.dials {
            let alone = of(dial.design.variant.as_deref());
            let alone = &alone.dials[0];
            assert_eq!(dial.audit.reading_check, alone.audit.reading_check);
            assert_eq!(dial.audit.yields(&dial.design), alone.audit.yields(&alone.design));
            assert_eq!(dial.audit.tolerance(&dial.design), alone.audit.tolerance(&alone.design));
            assert_eq!(dial.audit.strength, alone.audit.strength);
            let told =
                |dial: &super::super::Dial| format!("{:?}", (&dial.audit.problems, &dial.audit.holding, dial.quote()));
            assert_eq!(told(dial), told(alone));
        }
        let shares: Vec<f64> =
            all.dials.iter().map(|dial| dial.audit.dial_yield(&dial.design).unwrap().share.share).collect();
        assert!(shares[0] == shares[1] && shares[0] == shares[4] && shares[2] < shares[0], "{shares:?}");
    }
}
