//! What the page knows: the file as it was last looked at, and what was worked out from it.

use std::collections::BTreeMap;
use std::hash::{BuildHasher as _, RandomState};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use serde_json::json;
use tokio::sync::watch;

use crate::analysis::{Analysis, Request, analyse};
use crate::check::{LoadError, Loaded, load};
use crate::cli::disk::{DiskProject, replace};
use crate::cli::report::unreadable;
use crate::cli::shelter::sheltered;
use crate::limits::ART_BYTES;
use crate::output::svg;
use crate::output::viewer::Boards;
use crate::plan::Effort;
use crate::project::Project as _;
use crate::revision::{Digest, Files, Recorder};
use crate::view::params::{self, Unwritten};
use crate::view::{Choice, page};

/// Most analyses that are kept.
const KEPT: usize = 8;
/// Word that the program stops.
pub(super) const STOPPED: u64 = u64::MAX;

/// A design that is looked at.
pub(super) struct Live {
    project: DiskProject,
    name: String,
    shown_in: String,
    /// The file as it was named.
    pub(super) shown: String,
    /// Where it is listened.
    pub(super) port: u16,
    /// What a tab must know to write.
    pub(super) token: String,
    /// The number of the newest state; [`STOPPED`] at the end.
    pub(super) states: watch::Sender<u64>,
    memory: Mutex<Memory>,
}

#[derive(Default)]
struct Memory {
    revision: u64,
    /// What the file and everything that it uses looked like.
    used: Files,
    known: Vec<(Choice, Effort, Arc<Analysis>)>,
    /// What was shown of this state already, as JSON.
    shown: Vec<(Choice, Arc<str>)>,
    /// The last good picture of each variant.
    good: BTreeMap<Option<String>, String>,
    /// The pictures of stocks that were shown last.
    boards: Boards,
}

impl Live {
    pub(super) fn new(file: &Path, port: u16) -> Self {
        let (project, name, shown_in) = DiskProject::of(file);
        let project = project.with_installed_typefaces();
        let memory = Mutex::new(Memory { revision: 1, ..Memory::default() });
        let shown = file.display().to_string();
        Self { project, name, shown_in, shown, port, token: token(), states: watch::Sender::new(1), memory }
    }

    fn memory(&self) -> MutexGuard<'_, Memory> {
        self.memory.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The file and what it shares, as they are now.
    pub(super) fn loaded(&self) -> Result<Loaded, LoadError> {
        let recorder = Recorder::new(&self.project);
        let loaded = load(&recorder, &self.name, &self.shown_in);
        self.memory().used.extend(recorder.files());
        loaded
    }

    fn analysis(&self, choice: &Choice, effort: Effort) -> Result<Arc<Analysis>, LoadError> {
        let before = {
            let memory = self.memory();
            let known = memory.known.iter().find(|(known, with, _)| known == choice && *with == effort);
            if let Some((.., analysis)) = known {
                return Ok(Arc::clone(analysis));
            }
            memory.revision
        };
        let recorder = Recorder::new(&self.project);
        let request = Request {
            settings: choice.settings.clone(),
            variant: choice.variant.clone(),
            effort,
            ..Request::default()
        };
        let analysis = analyse(&recorder, &self.name, &self.shown_in, &request).map(Arc::new);
        let mut memory = self.memory();
        memory.used.extend(recorder.files());
        let analysis = analysis?;
        // The file may have changed while it was worked out: what belongs to the old state is given to whoever asked,
        // but not kept.
        if memory.revision == before {
            memory.known.truncate(KEPT - 1);
            memory.known.insert(0, (choice.clone(), effort, Arc::clone(&analysis)));
        }
        Ok(analysis)
    }

    /// The choice with a variant in it where there are any, the names of all, and the params.
    fn chosen(&self, choice: &Choice, loaded: &Loaded) -> (Choice, Vec<String>, Vec<params::Knob>) {
        let (variants, knobs) = params::knobs(loaded, &self.project, choice.variant.as_deref(), &choice.settings);
        let known = choice.variant.clone().filter(|name| variants.contains(name));
        (Choice { variant: known.or_else(|| variants.first().cloned()), ..choice.clone() }, variants, knobs)
    }

    /// What is shown of a choice, as JSON.
    pub(super) fn state(&self, choice: &Choice) -> Arc<str> {
        let revision = {
            let memory = self.memory();
            if let Some((_, shown)) = memory.shown.iter().find(|(known, _)| known == choice) {
                return Arc::clone(shown);
            }
            memory.revision
        };
        let read = || {
            let loaded = self.loaded()?;
            let (chosen, variants, knobs) = self.chosen(choice, &loaded);
            let analysis = self.analysis(&chosen, Effort(0))?;
            let mut boards = self.memory().boards.clone();
            let state = page::state(&analysis, chosen.variant.as_deref(), &variants, &knobs, &mut boards);
            self.memory().boards = boards;
            Ok((state, chosen))
        };
        let (mut state, chosen) =
            self.shown_or_why(read).unwrap_or_else(|why| (page::unreadable(&why), choice.clone()));
        let mut memory = self.memory();
        match &state.picture {
            None => state.before = memory.good.get(&chosen.variant).or_else(|| memory.good.values().next()).cloned(),
            // Only pictures of the file as it stands: one with sliders moved would show what nobody wrote.
            Some(picture) if chosen.settings.is_empty() => {
                memory.good.insert(chosen.variant, picture.clone());
            }
            Some(_) => {}
        }
        state.revision = revision;
        let state: Arc<str> = json!(state).to_string().into();
        if memory.revision == revision {
            memory.shown.truncate(KEPT - 1);
            memory.shown.insert(0, (choice.clone(), Arc::clone(&state)));
        }
        state
    }

    /// What the work gives, or why it gives nothing: a file that cannot be read, or a fault of ours. The page goes on in either case.
    fn shown_or_why<T>(&self, work: impl FnOnce() -> Result<T, LoadError>) -> Result<T, String> {
        sheltered(&format!("`{}`", self.shown), work)?.map_err(|error| unreadable(&self.shown, &error))
    }

    /// The boards of a choice, laid out as `build` does it.
    pub(super) fn boards(&self, choice: &Choice, query: &str) -> String {
        self.planned(choice).map_or_else(page::no_boards, |analysis| {
            let plan = analysis.dials.first().and_then(|dial| dial.plan.as_ref());
            plan.map_or_else(page::no_boards, |plan| page::boards(plan, query))
        })
    }

    /// The drawing of one setup, both counted from 1; none where there is none.
    pub(super) fn drawing(&self, choice: &Choice, board: usize, setup: usize) -> Option<String> {
        let (board, setup) = (board.checked_sub(1)?, setup.checked_sub(1)?);
        let analysis = self.planned(choice)?;
        let dial = analysis.dials.first()?;
        let plan = dial.plan.as_ref()?;
        plan.boards.get(board)?.setups.get(setup)?;
        Some(svg::drawing(&dial.design.full_title(), plan, board, setup, &dial.design.palette))
    }

    fn planned(&self, choice: &Choice) -> Option<Arc<Analysis>> {
        let (choice, ..) = self.chosen(choice, &self.loaded().ok()?);
        self.analysis(&choice, Effort::default()).ok().filter(|analysis| !analysis.has_errors())
    }

    /// Writes a value into the file that states it. What is told is for the person, in either case.
    pub(super) fn write(&self, param: &str, value: &str, seen: &str) -> Result<String, String> {
        let changed = || "nothing was written: the file has changed meanwhile; look at it again".to_owned();
        let loaded = self.loaded().map_err(|_| changed())?;
        let (file, text) =
            params::written(&loaded, &self.project, (param, value, seen)).map_err(|unwritten| match unwritten {
                Unwritten::Changed => changed(),
                Unwritten::NotAllowed => format!("nothing was written: `{param}` may not be {value}"),
            })?;
        let failed = |error: std::io::Error| format!("nothing was written: `{file}` cannot be replaced: {error}");
        // The text is replaced only where the file still holds what was read here, or another program's work would be
        // lost.
        let read = loaded.sources.iter().find(|(_, read)| read.name == file).map(|(_, read)| read.text.clone());
        replace(&self.project.path(&file), &read.ok_or_else(changed)?, &text).map_err(failed)?;
        Ok(format!("{param} = {value} was written into {file}"))
    }

    /// Folders in which anything that is used lies, or would lie.
    pub(super) fn folders(&self) -> Vec<PathBuf> {
        let used: Vec<String> = self.memory().used.keys().cloned().collect();
        let mut folders: Vec<PathBuf> = used
            .iter()
            // Texts of ours, such as the built-in shop, have names in brackets and lie in no folder.
            .filter(|name| !name.starts_with('('))
            .filter_map(|name| {
                // The nearest folder that is there: a file that is missing may appear in a folder that is missing as
                // well.
                self.project.path(name).ancestors().skip(1).find(|folder| folder.is_dir()).map(Path::to_path_buf)
            })
            .map(|folder| if folder.as_os_str().is_empty() { PathBuf::from(".") } else { folder })
            .collect();
        folders.sort();
        folders.dedup();
        folders
    }

    /// Looks at the files again; where any is another one by now, works everything out anew and tells all tabs.
    pub(super) fn follow(&self) {
        let used = self.memory().used.clone();
        let same = |(name, seen): (&String, &Option<Digest>)| {
            name.starts_with('(') || self.project.read(name, ART_BYTES).ok().map(|bytes| Digest::of(&bytes)) == *seen
        };
        // By digest and not by time: what was touched but not changed draws nothing anew.
        if used.iter().all(same) {
            return;
        }
        let revision = {
            let mut memory = self.memory();
            memory.revision += 1;
            memory.known.clear();
            memory.shown.clear();
            memory.used.clear();
            memory.revision
        };
        // Worked out before the tabs are told, since they ask for it at once, all of them.
        self.state(&Choice::default());
        self.states.send_replace(revision);
    }
}

/// Two numbers of a keyed hash whose key the system drew at random (SipHash, keyed by the standard library): nobody
/// who does not know the key can tell them.
fn token() -> String {
    let drawn = || RandomState::new().hash_one(std::process::id());
    Digest::of(format!("{}{}", drawn(), drawn()).as_bytes()).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_of_ours_is_shown_in_place_of_the_dial() {
        let live = Live::new(Path::new("crew.dial"), 0);
        let why = live.shown_or_why(|| -> Result<(), LoadError> { panic!("planted") }).unwrap_err();
        assert!(why.contains("`crew.dial`") && why.contains("please report"), "{why}");
        assert_eq!(live.shown_or_why(|| Ok(7)), Ok(7));
    }
}
