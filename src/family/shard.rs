//! One of the parts that the build of a family is split into.

use crate::limits;

/// One of the shards that a build is split into.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shard {
    /// Which one, from 1.
    pub number: u32,
    /// Of how many.
    pub of: u32,
}

impl Shard {
    /// From `I/N`.
    ///
    /// # Errors
    /// What is wrong with it, in words.
    pub fn parse(text: &str) -> Result<Self, String> {
        let example = "write it as I/N, for instance 2/8 for the second of eight";
        let (number, of) = text.split_once('/').ok_or(example)?;
        let count = |text: &str| text.trim().parse::<u32>().map_err(|_| example.to_owned());
        let shard = Self { number: count(number)?, of: count(of)? };
        if shard.of == 0 || shard.of > limits::SHARDS {
            return Err(format!("a build is split into 1 to {} shards", limits::SHARDS));
        }
        if shard.number == 0 || shard.number > shard.of {
            return Err(format!("shards are counted from 1 to {}", shard.of));
        }
        Ok(shard)
    }

    /// Whether the variant at this place is among its own: every shard takes its turn, so that none has only large ones.
    pub fn has(self, at: usize) -> bool {
        at % self.of as usize == (self.number - 1) as usize
    }
}
