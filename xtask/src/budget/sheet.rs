//! What an image tells: see `tests/costs/src/image.rs` for its words.

use super::board::Board;

/// What was counted of one implementation of one subject on one board.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sheet {
    /// `rust`, `float`, `gcc`, `clang`.
    pub implementation: String,
    /// Instructions of the median step, without the call.
    pub typical: u64,
    /// Instructions of the longest step that was found.
    pub largest: u64,
    /// Bytes of its state, configuration included.
    pub state: u64,
    /// Bytes of stack below the call.
    pub stack: u64,
    /// Over all outputs.
    pub checksum: u32,
}

/// Reads the answer of an image.
pub fn read(board: &Board, text: &str) -> Result<Vec<Sheet>, String> {
    let mut lines = text.lines().map(|line| line.split_once(' ').unwrap_or((line, "")));
    let mut number = |name: &str| match lines.next() {
        Some((key, digits)) if key == name => number_of(digits),
        other => Err(format!("expected `{name}`, the image told {other:?}")),
    };
    let (empty, hundred) = (number("empty")?, number("hundred")?);
    let call = board.instructions(empty);
    let counted = board.instructions(hundred).saturating_sub(call);
    if counted != 100 {
        return Err(format!("the counter is not understood: a hundred instructions are told as {counted}"));
    }
    if text.lines().any(|line| line == "a panic") {
        return Err("what makes its inputs, or a twin, panics".to_owned());
    }
    if text.lines().last() != Some("end") {
        return Err(format!("the run broke off after {} lines", text.lines().count()));
    }
    let mut sheets = Vec::new();
    let parts = text.split("implementation ").skip(1);
    for part in parts {
        sheets.push(sheet(board, call, part)?);
    }
    Ok(sheets)
}

fn sheet(board: &Board, call: u64, part: &str) -> Result<Sheet, String> {
    let (implementation, rest) = part.split_once('\n').ok_or("an implementation without a name")?;
    let (mut instructions, mut stack, mut state, mut checksum) = (Vec::new(), 0, None, None);
    for line in rest.lines() {
        match line.split_once(' ').unwrap_or((line, "")) {
            ("state", digits) => state = Some(number_of(digits)?),
            ("checksum", digits) => checksum = Some(number_of(digits)? as u32),
            ("ticks", digits) => {
                let steps = numbers_of(digits)?;
                instructions
                    .extend(steps.into_iter().map(|ticks| board.instructions(ticks).saturating_sub(call)));
            }
            ("stack", digits) => stack = numbers_of(digits)?.into_iter().fold(stack, u64::max),
            ("end", _) => {}
            (word, _) => return Err(format!("{implementation}: `{word}` is no word of an image")),
        }
    }
    instructions.sort_unstable();
    let typical = instructions.get(instructions.len() / 2).copied();
    let (Some(typical), Some(largest)) = (typical, instructions.last().copied()) else {
        return Err(format!("{implementation}: nothing was counted"));
    };
    let (state, checksum) = state.zip(checksum).ok_or_else(|| format!("{implementation}: broke off"))?;
    Ok(Sheet { implementation: implementation.to_owned(), typical, largest, state, stack, checksum })
}

fn number_of(digits: &str) -> Result<u64, String> {
    u64::from_str_radix(digits, 16).map_err(|error| format!("`{digits}`: {error}"))
}

fn numbers_of(digits: &str) -> Result<Vec<u64>, String> {
    digits
        .as_bytes()
        .chunks(8)
        .map(|eight| number_of(std::str::from_utf8(eight).map_err(|error| error.to_string())?))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const TOLD: &str = "empty 0000004c\nhundred 00000a4d\nimplementation rust\nstate 0000000c\n\
                        ticks 0000009a0000009900000b4d\nstack 0000000800000088\nchecksum db08d48e\nend\n";

    #[test]
    fn an_answer_gives_median_largest_state_and_stack() {
        let sheets = read(Board::named("m4f").unwrap(), TOLD).unwrap();
        let expected = Sheet {
            implementation: "rust".to_owned(),
            typical: 3,
            largest: 110,
            state: 12,
            stack: 136,
            checksum: 0xDB08_D48E,
        };
        assert_eq!(sheets, [expected]);
    }

    #[test]
    fn a_run_that_broke_off_or_a_counter_at_another_speed_is_refused() {
        let m4f = Board::named("m4f").unwrap();
        assert!(read(m4f, TOLD.strip_suffix("end\n").unwrap()).unwrap_err().contains("broke off"));
        let error = read(Board::named("m0").unwrap(), TOLD).unwrap_err();
        assert!(error.contains("a hundred instructions are told as 156"), "{error}");
        assert!(read(m4f, "").unwrap_err().contains("`empty`"));
    }
}
