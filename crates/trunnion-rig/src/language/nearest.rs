/// The one of `known` that `name` was most likely meant to be, when it is near enough to be worth saying.
///
/// Distance: Damerau–Levenshtein (a swap of neighbours counts once); near enough: at most a third of the
/// longer name. A name that contains the other as whole words (`lever_y` in `left_lever_y`) is near as well.
/// Equal distances: a name that is not shorter (letters are left out more often than added), then the first in
/// the order given.
pub(crate) fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let mut best: Option<((usize, bool), &str)> = None;
    for candidate in known {
        let longer = name.chars().count().max(candidate.chars().count());
        let mut distance = strsim::damerau_levenshtein(&name.to_lowercase(), &candidate.to_lowercase());
        if name.len() >= 3 && is_part(name, candidate) {
            distance = distance.min(longer / 3);
        }
        let rank = (distance, candidate.len() < name.len());
        if distance * 3 <= longer && best.is_none_or(|(least, _)| rank < least) {
            best = Some((rank, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}

/// True when all words of the one are words of the other.
fn is_part(one: &str, other: &str) -> bool {
    let (short, long) = if one.len() < other.len() { (one, other) } else { (other, one) };
    short.split('_').all(|word| long.split('_').any(|other| other == word))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_typing_slip_finds_its_word() {
        let known = ["seat_open", "boom_raise_current", "boom_lower_current"];
        assert_eq!(nearest("seat_opne", known), Some("seat_open"));
        assert_eq!(nearest("boom_rise_current", known), Some("boom_raise_current"));
        assert_eq!(nearest("boom_current", known), Some("boom_raise_current"));
    }

    #[test]
    fn nothing_near_is_no_suggestion() {
        assert_eq!(nearest("banana", ["seat_open", "bucket_curl"]), None);
        assert_eq!(nearest("x", []), None);
    }
}
