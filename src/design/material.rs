//! What a stock is made of, as far as a laser is concerned.
//!
//! What holds chlorine is refused wherever it stands in a shop, used or not: a shop file is lent and copied, and the
//! next dial may use it. A material that is not in the list is a warning only where a layer is cut from it, for the
//! list is short.

/// How a material's name is taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Material {
    /// Laser cutters commonly work it.
    Known,
    /// It holds chlorine, or may: under a laser it gives off hydrogen chloride.
    Chlorine,
    /// The language does not know it.
    Unlisted,
}

/// Materials that laser cutters commonly work (common practice, no source; the machine's manual decides).
pub const KNOWN: [&str; 42] = [
    "acetal",
    "acrylic",
    "alder",
    "ash",
    "bamboo",
    "basswood",
    "basswood plywood",
    "beech",
    "beech plywood",
    "birch",
    "birch plywood",
    "card",
    "cardboard",
    "cast acrylic",
    "cherry",
    "cork",
    "corrugated card",
    "cotton",
    "ethylene vinyl acetate",
    "eva foam",
    "felt",
    "grey card",
    "greyboard",
    "hardboard",
    "hdf",
    "laser rubber",
    "leather",
    "lime",
    "linen",
    "maple",
    "mdf",
    "oak",
    "paper",
    "pine",
    "plywood",
    "poplar",
    "poplar plywood",
    "polypropylene",
    "solid wood",
    "veneer",
    "walnut",
    "wool felt",
];

/// Parts of words that name chlorine or PVC: vinyl, polyvinyl chloride, chloroprene, CPVC.
const CHLORINE: [&str; 4] = ["chlor", "pvc", "pvdc", "vinyl"];

/// Names of what holds chlorine, or is commonly sold with PVC in it, without saying so.
const HIDDEN: [&str; 6] =
    ["artificial leather", "faux leather", "imitation leather", "leatherette", "neoprene", "synthetic leather"];

impl Material {
    /// Of a name in any spelling of small and capital letters, words parted by blanks, `-` or `_`.
    pub fn named(name: &str) -> Self {
        let words = name.to_lowercase();
        let words: Vec<&str> = words.split([' ', '-', '_', '\t', '\n']).filter(|word| !word.is_empty()).collect();
        let plain = words.join(" ");
        if KNOWN.contains(&plain.as_str()) {
            Self::Known
        } else if CHLORINE.iter().chain(&HIDDEN).any(|sign| plain.contains(sign)) {
            Self::Chlorine
        } else {
            Self::Unlisted
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chlorine_is_found_under_its_names() {
        for name in
            ["PVC", "foamed pvc", "Vinyl", "white_vinyl", "polyvinyl chloride", "uPVC", "Neoprene", "faux-leather"]
        {
            assert_eq!(Material::named(name), Material::Chlorine, "{name}");
        }
        for name in ["Birch plywood", "grey_card", "EVA foam", "ethylene vinyl acetate", "cast  acrylic"] {
            assert_eq!(Material::named(name), Material::Known, "{name}");
        }
        assert_eq!(Material::named("moon cheese"), Material::Unlisted);
    }
}
