use crate::language::{Complaint, Span};

/// A statement: its first word, and what stands behind it, continuation lines included.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Statement {
    pub(super) keyword: Span,
    pub(super) rest: Span,
}

/// The text with every comment (`#` up to the end of the line) replaced by as many blanks, so that places
/// stay where they are.
pub(super) fn without_comments(text: &str) -> String {
    let mut clean = String::with_capacity(text.len());
    for line in text.split_inclusive('\n') {
        let Some(comment) = line.find('#') else {
            clean.push_str(line);
            continue;
        };
        clean.push_str(&line[..comment]);
        let length = line[comment..].trim_end_matches(['\n', '\r']).len();
        clean.extend(std::iter::repeat_n(' ', length));
        clean.push_str(&line[comment + length..]);
    }
    clean
}

/// Cuts a text without comments into statements. A line that begins with a blank continues the one above.
pub(super) fn statements(clean: &str) -> Vec<Result<Statement, Complaint>> {
    let mut found: Vec<Result<Statement, Complaint>> = Vec::new();
    let mut start = 0;
    for line in clean.split_inclusive('\n') {
        let end = start + line.trim_end().len();
        let written = line.trim();
        if written.is_empty() {
            start += line.len();
            continue;
        }
        if line.starts_with(char::is_whitespace) {
            match found.last_mut() {
                Some(Ok(statement)) => statement.rest.end = end,
                Some(Err(_)) => {}
                None => {
                    let indent = line.len() - line.trim_start().len();
                    let span = Span::new(start + indent, end);
                    found.push(Err(Complaint::new(span, "this line continues nothing")
                        .expected("a statement begins without a blank before it")));
                }
            }
        } else {
            let length = written.find(|c: char| !(c.is_alphanumeric() || c == '_')).unwrap_or(written.len());
            let keyword = Span::new(start, start + length);
            found.push(Ok(Statement { keyword, rest: Span::new(keyword.end, end) }));
        }
        start += line.len();
    }
    for statement in &mut found {
        if let Ok(Statement { keyword, rest }) = statement
            && keyword.start == keyword.end
        {
            let first = clean[keyword.start..].chars().next().map_or(0, char::len_utf8);
            let span = Span::new(keyword.start, (keyword.start + first).min(rest.end));
            *statement = Err(Complaint::new(span, "a statement begins with a word")
                .expected("`scenario`, `length`, `at`, `require`, …"));
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(text: &str) -> Vec<String> {
        let clean = without_comments(text);
        assert_eq!(clean.len(), text.len());
        statements(&clean)
            .into_iter()
            .map(|statement| match statement {
                Ok(Statement { keyword, rest }) => format!("{}|{}", keyword.of(&clean), rest.of(&clean)),
                Err(complaint) => complaint.what,
            })
            .collect()
    }

    #[test]
    fn an_indented_line_continues_the_one_above_even_past_comments() {
        let text = "at 1 s a = 1 # ö\n# between\n\n  , b = 2\nset x\r\n";
        assert_eq!(shown(text), ["at| 1 s a = 1     \n         \n\n  , b = 2", "set| x"]);
    }

    #[test]
    fn a_line_that_continues_nothing_is_refused() {
        assert_eq!(shown("  at 1 s"), ["this line continues nothing"]);
        assert_eq!(shown("= 3"), ["a statement begins with a word"]);
    }
}
