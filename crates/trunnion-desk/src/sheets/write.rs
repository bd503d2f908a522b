//! A table and the forms in which it is written.

/// A table with a title.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sheet {
    /// What it is.
    pub title: String,
    /// Name of each column.
    pub heading: Vec<&'static str>,
    /// Rows, each as long as the heading.
    pub rows: Vec<Vec<String>>,
}

/// How a sheet is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum Format {
    /// Columns aligned for reading in a terminal.
    Text,
    /// A table for a document.
    Markdown,
    /// Comma-separated values (RFC 4180).
    Csv,
}

impl Sheet {
    /// Writes the sheet.
    pub fn write(&self, format: Format) -> String {
        match format {
            Format::Text => self.text(),
            Format::Markdown => self.markdown(),
            Format::Csv => self.csv(),
        }
    }

    fn widths(&self) -> Vec<usize> {
        let mut widths: Vec<usize> = self.heading.iter().map(|name| name.chars().count()).collect();
        for row in &self.rows {
            for (width, cell) in widths.iter_mut().zip(row) {
                *width = (*width).max(cell.chars().count());
            }
        }
        widths
    }

    fn text(&self) -> String {
        let widths = self.widths();
        let line = |cells: &mut dyn Iterator<Item = &str>| {
            let padded: Vec<String> =
                cells.zip(&widths).map(|(cell, width)| format!("{cell:<width$}")).collect();
            format!("{}\n", padded.join("  ").trim_end())
        };
        let mut text = format!("{}\n\n", self.title);
        text += &line(&mut self.heading.iter().copied());
        text += &line(&mut widths.iter().map(|_| ""));
        for row in &self.rows {
            text += &line(&mut row.iter().map(String::as_str));
        }
        text
    }

    fn markdown(&self) -> String {
        let cell = |text: &str| text.replace('|', "\\|");
        let mut text = format!("| {} |\n", self.heading.join(" | "));
        text += &format!("|{}\n", "---|".repeat(self.heading.len()));
        for row in &self.rows {
            let cells: Vec<String> = row.iter().map(|text| cell(text)).collect();
            text += &format!("| {} |\n", cells.join(" | "));
        }
        text
    }

    fn csv(&self) -> String {
        let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
        let rows = std::iter::once(self.heading.iter().map(ToString::to_string).collect())
            .chain(self.rows.iter().cloned());
        for row in rows {
            // Writing to memory does not fail, and every row is as long as the heading.
            writer.write_record(&row).unwrap_or_default();
        }
        let bytes = writer.into_inner().unwrap_or_default();
        String::from_utf8_lossy(&bytes).into_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheet() -> Sheet {
        Sheet {
            title: "Wires".into(),
            heading: vec!["pin", "what"],
            rows: vec![vec!["X1:1".into(), "a | b, c".into()], vec!["X10:12".into(), "Ω".into()]],
        }
    }

    #[test]
    fn markdown_keeps_a_bar_inside_its_cell() {
        assert!(sheet().write(Format::Markdown).contains("| X1:1 | a \\| b, c |"));
    }

    #[test]
    fn csv_quotes_a_comma_and_reads_back() {
        let text = sheet().write(Format::Csv);
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let rows: Vec<Vec<String>> =
            reader.records().map(|row| row.unwrap().iter().map(String::from).collect()).collect();
        assert_eq!(rows, sheet().rows);
    }

    #[test]
    fn text_aligns_its_columns() {
        let text = sheet().write(Format::Text);
        let starts: Vec<usize> =
            text.lines().skip(4).map(|line| line.find("  ").unwrap_or(line.len())).collect();
        assert_eq!(starts, [4, 6]);
        assert!(text.lines().all(|line| line.trim_end() == line));
    }
}
