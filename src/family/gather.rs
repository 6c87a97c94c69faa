//! Shards of a build joined into what a single build would have made.

use std::path::Path;

use super::kept::{Kept, Numbered, files_of, name_in_family};
use super::store::Folder;

/// The folder of a shard.
pub struct ShardFolder<'a> {
    /// What it is called in messages.
    pub name: &'a Path,
    /// What stands in it.
    pub folder: &'a dyn Folder,
    /// What the build left in it for joining shards.
    pub kept: Kept,
}

/// Joins all shards of one build; what is known of the whole, and how many shards it had.
///
/// # Errors
/// What is missing or does not fit together, or why the folder cannot be written, in words; what was there stays.
pub fn gather(shards: Vec<ShardFolder<'_>>, out: &dyn Folder) -> Result<(Kept, u32), String> {
    let count = all_of_one(&shards)?;
    let staged = out.stage()?;
    for ShardFolder { name, folder, kept } in &shards {
        for Numbered { record, .. } in &kept.records {
            let files = files_of(record, |made| folder.read(&name_in_family(record, made)));
            let files = files.ok_or_else(|| {
                let variant = name.join(&record.variant);
                format!(
                    "files of `{}` are missing or not as they were written: build that shard again",
                    variant.display()
                )
            })?;
            for file in files {
                staged.put(&format!("{}/{}", record.variant, file.name), &file.bytes)?;
            }
        }
    }
    let whole = joined(shards.into_iter().map(|shard| shard.kept));
    staged.finish(&whole.files()?)?;
    Ok((whole, count))
}

/// How many shards there are, where these are all of them, each once, of one build.
fn all_of_one(shards: &[ShardFolder<'_>]) -> Result<u32, String> {
    let Some(ShardFolder { name: first_folder, kept: first, .. }) = shards.first() else {
        return Err("no folders were given".to_owned());
    };
    let Some((_, of)) = first.shard else {
        return Err(format!("`{}` is no shard but a whole family already", first_folder.display()));
    };
    let mut found: Vec<Option<&Path>> = vec![None; of as usize];
    for ShardFolder { name: folder, kept, .. } in shards {
        let (here, there) = (folder.display(), first_folder.display());
        let number = match kept.shard {
            Some((number, parts)) if parts == of => number,
            Some((_, parts)) => return Err(format!("`{here}` is one of {parts} shards, and `{there}` one of {of}")),
            None => return Err(format!("`{here}` is no shard but a whole family already")),
        };
        if kept.state != first.state {
            return Err(format!(
                "`{here}` and `{there}` were built from different states of the design, or with other settings"
            ));
        }
        match found.get_mut(number.saturating_sub(1) as usize) {
            Some(place @ None) => *place = Some(*folder),
            Some(Some(other)) if *other == *folder => return Err(format!("`{here}` was given twice")),
            Some(Some(other)) => {
                return Err(format!("`{here}` and `{}` are both shard {number} of {of}", other.display()));
            }
            None => return Err(format!("`{here}` is shard {number} of {of}, which is none")),
        }
    }
    let missing: Vec<String> = found
        .iter()
        .zip(1..)
        .filter(|(place, _)| place.is_none())
        .map(|(_, number): (_, u32)| number.to_string())
        .collect();
    match missing.as_slice() {
        [] => Ok(of),
        [one] => Err(format!("shard {one} of {of} is missing")),
        several => Err(format!("shards {} of {of} are missing", several.join(", "))),
    }
}

/// The whole, as a single build would have left it.
fn joined(shards: impl Iterator<Item = Kept>) -> Kept {
    let mut shards = shards;
    let mut whole = shards.next().unwrap_or_else(|| Kept::new("", &[], None, Vec::new()));
    whole.shard = None;
    whole.records.extend(shards.flat_map(|kept| kept.records));
    // In the order in which a single build would have them, so that its tables come out byte for byte the same.
    whole.records.sort_by_key(|numbered| numbered.at);
    whole
}
