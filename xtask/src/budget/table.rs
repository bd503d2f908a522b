//! The figures as a person reads them.

use std::fmt::Write;

use super::{
    board::Board,
    book::{Book, Figures},
};

/// The twins and their columns.
const TWINS: [(&str, &str); 3] = [("gcc", "gcc"), ("clang", "clang"), ("float", "f32")];

/// One core: a line for each subject, instructions as ratios to the twins.
pub fn of(board: &Board, book: &Book) -> String {
    let mut text = format!(
        "{} ({})\n  {:<30} {:>7} {:>7} {:>6} {:>5} {:>5}",
        board.name, board.triple, "block", "typical", "largest", "flash", "state", "stack"
    );
    for (_, column) in TWINS {
        write!(text, " {:>11}", format!("/ {column}")).expect("text");
    }
    text.push('\n');
    let rows = book.rows.iter().filter(|((_, core, by), _)| core == board.name && by == "rust");
    for ((subject, core, _), ours) in rows {
        let Figures { typical, largest, flash, state, stack } = ours;
        let flash = flash.map_or("–".to_owned(), |bytes| bytes.to_string());
        write!(text, "  {subject:<30} {typical:>7} {largest:>7} {flash:>6} {state:>5} {stack:>5}")
            .expect("text");
        for (twin, _) in TWINS {
            let twin = book.rows.get(&(subject.clone(), core.clone(), twin.to_owned()));
            let shown = twin.map_or_else(String::new, |twin| {
                format!("{} {}", ratio(*typical, twin.typical), ratio(*largest, twin.largest))
            });
            write!(text, " {shown:>11}").expect("text");
        }
        text.push('\n');
    }
    text
}

/// Two digits behind the point, to nearest.
fn ratio(ours: u64, theirs: u64) -> String {
    match (ours * 200 + theirs).checked_div(theirs * 2) {
        Some(hundredths) => format!("{}.{:02}", hundredths / 100, hundredths % 100),
        None => "–".to_owned(),
    }
}

/// The same for programs.
pub fn json(toolchain: &str, book: &Book) -> String {
    let rows: Vec<serde_json::Value> = book
        .rows
        .iter()
        .map(|((subject, core, implementation), figures)| {
            serde_json::json!({
                "subject": subject,
                "core": core,
                "implementation": implementation,
                "typical_instructions": figures.typical,
                "largest_instructions": figures.largest,
                "flash_bytes": figures.flash,
                "state_bytes": figures.state,
                "stack_bytes": figures.stack,
            })
        })
        .collect();
    format!("{:#}\n", serde_json::json!({ "toolchain": toolchain, "rows": rows }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ratio_is_rounded_and_nothing_is_not_divided_by() {
        assert_eq!(ratio(100, 100), "1.00");
        assert_eq!(ratio(2, 3), "0.67");
        assert_eq!(ratio(450, 100), "4.50");
        assert_eq!(ratio(1, 0), "–");
    }

    #[test]
    fn a_line_shows_the_block_beside_its_twins() {
        let figures = Figures { typical: 50, largest: 60, flash: Some(90), state: 4, stack: 8 };
        let key = |by: &str| ("lever/axis".to_owned(), "M0".to_owned(), by.to_owned());
        let mut book = Book::default();
        book.rows.insert(key("rust"), figures);
        book.rows.insert(key("gcc"), Figures { typical: 100, largest: 40, flash: None, ..figures });
        let text = of(Board::named("m0").unwrap(), &book);
        let line = text.lines().last().unwrap();
        assert!(line.contains("lever/axis") && line.contains("0.50 1.50"), "{text}");
        assert!(json("rustc", &book).contains("\"flash_bytes\": null"));
    }
}
