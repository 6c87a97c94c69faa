//! One param alone: every stretch of it that keeps all limits, each edge closed to a hair.

use std::sync::Arc;

use super::free::{Place, float};
use super::goal::Goal;
use super::looks::{Look, Looks};

/// Places looked at first, from end to end.
const PLACES: i64 = 17;
/// Rounds in which places between are looked at where something narrow may lie there.
const ROUNDS: usize = 3;
/// Places of one such round.
const SUSPECTS: usize = 6;
/// Steps towards an edge, and to the best within a stretch.
const STEPS: usize = 60;
/// After so many steps towards an edge it is halved.
const BY_SLACK: usize = 14;
/// An edge is closed when both sides are as near as this share of the range.
const HAIR: f64 = 1e-5;
/// The golden section.
const GOLDEN: f64 = 0.381_966;

/// A stretch of one param in which all limits are kept.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    /// The places of all params at its first and at its last place.
    pub ends: (Place, Place),
    /// What is broken beyond either; empty where the param may not go further.
    pub beyond: (Vec<Arc<str>>, Vec<Arc<str>>),
}

/// The line along one param, all others as they stand at a place.
struct Line<'l, 'e> {
    looks: &'l mut Looks<'e>,
    goal: &'l Goal,
    along: usize,
    base: Place,
    ends: (i64, i64),
}

/// All stretches along the param at this index of a place, in order; the best of the goal is looked at on the way.
pub(super) fn stretches(looks: &mut Looks<'_>, goal: &Goal, along: usize, base: &Place) -> Vec<Stretch> {
    let Some(ends) = looks.free.get(along).map(|free| free.ends) else { return Vec::new() };
    let mut line = Line { looks, goal, along, base: base.clone(), ends };
    line.survey();
    line.suspect();
    line.close();
    line.refine();
    line.close();
    line.found()
}

impl Line<'_, '_> {
    fn place(&self, at: i64) -> Place {
        let mut place = self.base.clone();
        place.get_mut(self.along).into_iter().for_each(|own| *own = at);
        place
    }

    fn look(&mut self, at: &[i64]) -> Vec<Arc<Look>> {
        let places: Vec<Place> = at.iter().map(|at| self.place(*at)).collect();
        self.looks.at(&places)
    }

    fn hair(&self) -> i64 {
        let range = self.ends.1 - self.ends.0;
        #[allow(clippy::cast_possible_truncation, reason = "a small share of it")]
        let hair = (HAIR * float(range)).ceil() as i64;
        // Whole numbers and small ranges are closed to the last.
        hair.max(1)
    }

    fn survey(&mut self) {
        let range = self.ends.1 - self.ends.0;
        let all = range < PLACES;
        let even = (0..PLACES).map(|at| self.ends.0 + range * at / (PLACES - 1));
        let mut places: Vec<i64> = if all { (self.ends.0..=self.ends.1).collect() } else { even.collect() };
        places.extend(self.base.get(self.along).copied());
        places.sort_unstable();
        places.dedup();
        self.look(&places);
    }

    /// Everything looked at on this line, in order.
    fn seen(&self) -> Vec<(i64, Arc<Look>)> {
        let own = |place: &Place| {
            place.iter().zip(&self.base).enumerate().all(|(at, (one, other))| at == self.along || one == other)
        };
        let mut seen: Vec<(i64, Arc<Look>)> = Vec::new();
        for (place, look) in self.looks.all().filter(|(place, _)| own(place)) {
            seen.extend(place.get(self.along).map(|at| (*at, Arc::clone(look))));
        }
        seen.sort_by_key(|(at, _)| *at);
        seen
    }

    fn keeps(&self, look: &Look) -> bool {
        self.goal.is_kept(look)
    }

    /// Looks between places where slacks say that something narrow may lie: a stretch between two that break different limits, or
    /// a hole where a slack has its least.
    fn suspect(&mut self) {
        for _ in 0..ROUNDS {
            let (seen, hair) = (self.seen(), self.hair());
            let mut places: Vec<i64> = seen.windows(2).filter_map(|pair| self.between(pair)).collect();
            places.extend(seen.windows(4).filter_map(|four| self.dip(four)));
            places.retain(|at| seen.iter().all(|(known, _)| (known - at).abs() >= hair));
            places.sort_unstable();
            places.dedup();
            places.truncate(SUSPECTS);
            if places.is_empty() {
                return;
            }
            self.look(&places);
        }
    }

    /// Where between two that break different limits both may be kept.
    fn between(&self, pair: &[(i64, Arc<Look>)]) -> Option<i64> {
        let [(from, one), (to, other)] = pair else { return None };
        if self.keeps(one) || self.keeps(other) || !one.made || !other.made {
            return None;
        }
        let (one, other) = (self.goal.slacks(one), self.goal.slacks(other));
        let both = || one.iter().filter_map(|(name, (a, _))| Some((*a, other.get(name)?.0)));
        if both().any(|(a, b)| a < 0.0 && b < 0.0) {
            return None;
        }
        let root = |(a, b): (f64, f64)| a / (a - b);
        let gained = both().filter(|(a, b)| *a < 0.0 && *b >= 0.0).map(root).fold(0.0, f64::max);
        let lost = both().filter(|(a, b)| *a >= 0.0 && *b < 0.0).map(root).fold(1.0, f64::min);
        (gained - lost < 0.5).then(|| along(*from, *to, (gained + lost) / 2.0))
    }

    /// Where a slack that falls from the left and rises to the right may come below nothing between the middle two of four places
    /// that keep it: the lines on either side, drawn on, cross below it. No slack that is convex there is less than they are.
    fn dip(&self, four: &[(i64, Arc<Look>)]) -> Option<i64> {
        let [(a, first), (b, second), (c, third), (d, fourth)] = four else { return None };
        if ![first, second, third, fourth].into_iter().all(|look| self.keeps(look)) {
            return None;
        }
        let slacks = |look| self.goal.slacks(look);
        let (first, third, fourth) = (slacks(first), slacks(third), slacks(fourth));
        let dips = slacks(second).into_iter().filter_map(|(name, (left, _))| {
            let (before, right, after) = (first.get(name)?.0, third.get(name)?.0, fourth.get(name)?.0);
            let (falls, rises) = ((left - before) / float(b - a), (after - right) / float(d - c));
            let width = float(c - b);
            let at = (right - left - rises * width) / (falls - rises);
            let least = left + falls * at;
            (falls < 0.0 && rises > 0.0 && at > 0.0 && at < width && least < 0.0).then_some((least, at / width))
        });
        let (_, share) = dips.min_by(|a, b| a.0.total_cmp(&b.0))?;
        Some(along(*b, *c, share))
    }

    /// Closes every edge between one that keeps all and one beside it that does not, all edges at the same time.
    fn close(&mut self) {
        let seen = self.seen();
        let mut edges: Vec<Edge> = seen.windows(2).filter_map(|pair| Edge::of(self.goal, pair)).collect();
        let hair = self.hair();
        for step in 0..STEPS {
            let open: Vec<&mut Edge> = edges.iter_mut().filter(|edge| !edge.is_closed(hair)).collect();
            if open.is_empty() {
                return;
            }
            let places: Vec<i64> = open.iter().map(|edge| edge.next(self.goal, hair, step >= BY_SLACK)).collect();
            let looks = self.look(&places);
            for ((edge, at), look) in open.into_iter().zip(places).zip(looks) {
                edge.take(self.goal, at, look);
            }
        }
    }

    /// Comes nearer to the best where it lies within a stretch and at no edge of it: by the golden section.
    fn refine(&mut self) {
        for _ in 0..STEPS {
            let seen = self.seen();
            let best = |look: &Look| self.goal.least(look).filter(|_| self.keeps(look));
            let ranked = seen.iter().enumerate().filter_map(|(at, (_, look))| Some((at, best(look)?)));
            let Some((at, least)) = ranked.min_by(|a, b| a.1.total_cmp(&b.1)) else { return };
            let neighbour = |at: Option<usize>| at.and_then(|at| seen.get(at)).filter(|(_, look)| best(look).is_some());
            let Some((here, _)) = seen.get(at) else { return };
            let sides = [neighbour(at.checked_sub(1)), neighbour(Some(at + 1))];
            // Level ground is not searched: many costs are steps.
            let worth = |(place, look): &&(i64, Arc<Look>)| {
                (place - here).abs() > self.hair().max(2) && best(look).is_some_and(|value| value > least)
            };
            let wider = sides.into_iter().flatten().filter(worth).max_by_key(|(place, _)| (place - here).abs());
            let Some((side, _)) = wider else { return };
            let next = along(*here, *side, GOLDEN);
            if next == *here || next == *side || (side - here).abs() < (self.ends.1 - self.ends.0) / 2000 {
                return;
            }
            self.look(&[next]);
        }
    }

    fn found(&self) -> Vec<Stretch> {
        let seen = self.seen();
        let mut all: Vec<Stretch> = Vec::new();
        let mut open = false;
        let broken = |look: Option<&(i64, Arc<Look>)>| look.map(|(_, look)| self.goal.broken(look)).unwrap_or_default();
        for (at, (place, look)) in seen.iter().enumerate() {
            let kept = self.keeps(look);
            if kept && !open {
                let before = at.checked_sub(1).and_then(|at| seen.get(at));
                all.push(Stretch {
                    ends: (self.place(*place), self.place(*place)),
                    beyond: (broken(before), Vec::new()),
                });
            }
            if let Some(last) = all.last_mut().filter(|_| kept) {
                last.ends.1 = self.place(*place);
                last.beyond.1 = Vec::new();
            }
            if let Some(last) = all.last_mut().filter(|_| !kept && open) {
                last.beyond.1 = self.goal.broken(look);
            }
            open = kept;
        }
        all
    }
}

/// The place so far from one to another.
fn along(from: i64, to: i64, share: f64) -> i64 {
    #[allow(clippy::cast_possible_truncation, reason = "between both")]
    let by = (share * float(to - from)).round() as i64;
    from + by
}

/// An edge: a place that keeps all limits, and one that does not.
struct Edge {
    kept: (i64, Arc<Look>),
    broken: (i64, Arc<Look>),
    /// By what the slacks of either are multiplied: Illinois halves that of the side that stays.
    weights: (f64, f64),
    last: Option<bool>,
}

impl Edge {
    fn of(goal: &Goal, pair: &[(i64, Arc<Look>)]) -> Option<Self> {
        let [one, other] = pair else { return None };
        let (kept, broken) = match (goal.is_kept(&one.1), goal.is_kept(&other.1)) {
            (true, false) => (one.clone(), other.clone()),
            (false, true) => (other.clone(), one.clone()),
            _ => return None,
        };
        Some(Self { kept, broken, weights: (1.0, 1.0), last: None })
    }

    fn is_closed(&self, hair: i64) -> bool {
        (self.kept.0 - self.broken.0).abs() <= hair
    }

    /// Where the first slack that is broken beyond comes to nothing, else the middle. By the Illinois method (Dowell and
    /// Jarratt, BIT 11, 1971).
    fn next(&self, goal: &Goal, hair: i64, halve: bool) -> i64 {
        let (from, to) = (self.kept.0, self.broken.0);
        let middle = from + (to - from) / 2;
        let (kept, broken) = (goal.slacks(&self.kept.1), goal.slacks(&self.broken.1));
        if halve || goal.barred(&self.broken.1) > 0 || !self.broken.1.made {
            return middle;
        }
        let roots = broken.iter().filter(|(_, (slack, _))| *slack < 0.0).map(|(name, (slack, _))| {
            let (good, bad) = (kept.get(name)?.0 * self.weights.0, slack * self.weights.1);
            (good >= 0.0).then(|| good / (good - bad))
        });
        let Some(first) = roots.reduce(|a, b| Some(a?.min(b?))).flatten() else { return middle };
        let at = along(from, to, first);
        // A hair to the other side, so that both ends come near and not one of them alone.
        let way = (to - from).signum();
        let nudge = way * (hair / 2).max(1) * if self.last == Some(true) { 1 } else { -1 };
        let (low, high) = (from.min(to) + 1, from.max(to) - 1);
        (at + nudge).clamp(low, high.max(low))
    }

    fn take(&mut self, goal: &Goal, at: i64, look: Arc<Look>) {
        let keeps = goal.is_kept(&look);
        let again = self.last == Some(keeps);
        match keeps {
            true => (self.kept, self.weights) = ((at, look), (1.0, if again { self.weights.1 / 2.0 } else { 1.0 })),
            false => (self.broken, self.weights) = ((at, look), (if again { self.weights.0 / 2.0 } else { 1.0 }, 1.0)),
        }
        self.last = Some(keeps);
    }
}
