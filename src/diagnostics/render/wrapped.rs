//! Lines that are wider than what shows them.

/// A line in as many as it needs; those after the first begin at `hang`.
pub(crate) fn wrapped(line: &str, columns: usize, hang: usize) -> String {
    if line.chars().count() <= columns {
        return line.to_owned();
    }
    let (mut all, mut at) = (String::new(), 0);
    // What stands between words at the beginning of a line is its indent or its label's room, and stays.
    for (number, word) in line.split(' ').enumerate() {
        let more = word.chars().count() + usize::from(number > 0);
        if at + more > columns && at > hang && !word.is_empty() {
            all.push('\n');
            all.extend(std::iter::repeat_n(' ', hang));
            all.push_str(word);
            at = hang + word.chars().count();
        } else {
            if number > 0 {
                all.push(' ');
            }
            all.push_str(word);
            at += more;
        }
    }
    all
}
