//! Rust source with everything blanked that is not code: comments, texts, test modules.
//!
//! Lines stay where they are, so that a finding can name its line.

const TEST_MARK: &str = "#[cfg(test)]";

/// The code of a source file, without comments and the content of literals.
pub fn without_comments_and_texts(source: &str) -> String {
    let letters: Vec<char> = source.chars().collect();
    let mut code = String::with_capacity(source.len());
    let mut at = 0;
    while at < letters.len() {
        let end = match letters[at..] {
            ['/', '/', ..] => line_end(&letters, at),
            ['/', '*', ..] => comment_end(&letters, at),
            ['r', '"' | '#', ..] if !continues_a_word(&letters, at) => {
                raw_text_end(&letters, at + 1).unwrap_or(at)
            }
            ['"', ..] => text_end(&letters, at + 1, '"'),
            ['\'', '\\', ..] => text_end(&letters, at + 1, '\''),
            ['\'', _, '\'', ..] => at + 3,
            _ => at,
        };
        if end > at {
            code.extend(letters[at..end].iter().map(|letter| if *letter == '\n' { '\n' } else { ' ' }));
            at = end;
        } else {
            code.push(letters[at]);
            at += 1;
        }
    }
    code
}

/// The same, without items that are compiled for tests only.
pub fn of_the_product(source: &str) -> String {
    let mut code = without_comments_and_texts(source);
    while let Some(start) = code.find(TEST_MARK) {
        let end = item_end(&code, start + TEST_MARK.len());
        let blank: String =
            code[start..end].chars().map(|letter| if letter == '\n' { '\n' } else { ' ' }).collect();
        code.replace_range(start..end, &blank);
    }
    code
}

/// The modules in files of their own that a source file declares for tests only.
pub fn modules_for_tests(source: &str) -> Vec<String> {
    let code = without_comments_and_texts(source);
    let declared = code.match_indices(TEST_MARK).filter_map(|(start, _)| {
        let from = start + TEST_MARK.len();
        let item = code[from..item_end(&code, from)].strip_suffix(';')?;
        Some(item.trim().strip_prefix("pub(crate) ").unwrap_or(item.trim()).strip_prefix("mod ")?.to_owned())
    });
    declared.collect()
}

/// Lines (from 1) in which a word stands by itself.
pub fn lines_with_word(code: &str, word: &str) -> Vec<usize> {
    let is_word = |letter: char| letter.is_alphanumeric() || letter == '_';
    let holds = |line: &str| line.split(|letter| !is_word(letter)).any(|part| part == word);
    code.lines().enumerate().filter(|(_, line)| holds(line)).map(|(index, _)| index + 1).collect()
}

/// Functions with a body: first line (from 1), name, number of lines.
pub fn functions(code: &str) -> Vec<(usize, String, usize)> {
    let mut found = Vec::new();
    for (start, _) in code.match_indices("fn ") {
        if code[..start].ends_with(|letter: char| letter.is_alphanumeric() || letter == '_') {
            continue;
        }
        let name: String = code[start + 3..]
            .chars()
            .take_while(|letter| letter.is_alphanumeric() || *letter == '_')
            .collect();
        let end = item_end(code, start);
        if !name.is_empty() && code[start..end].ends_with('}') {
            let line = code[..start].lines().count().max(1);
            found.push((line, name, code[start..end].lines().count()));
        }
    }
    found
}

/// Where the item that begins at `start` ends: after its braces, or after its semicolon.
fn item_end(code: &str, start: usize) -> usize {
    let (mut braces, mut brackets) = (0_usize, 0_usize);
    for (offset, letter) in code[start..].char_indices() {
        match letter {
            '{' => braces += 1,
            '}' if braces <= 1 => return start + offset + 1,
            '}' => braces -= 1,
            '(' | '[' => brackets += 1,
            ')' | ']' => brackets = brackets.saturating_sub(1),
            ';' if braces == 0 && brackets == 0 => return start + offset + 1,
            _ => {}
        }
    }
    code.len()
}

fn line_end(letters: &[char], at: usize) -> usize {
    letters[at..].iter().position(|letter| *letter == '\n').map_or(letters.len(), |length| at + length)
}

fn comment_end(letters: &[char], at: usize) -> usize {
    let (mut depth, mut here) = (0_usize, at);
    while here < letters.len() {
        match letters[here..] {
            ['/', '*', ..] => (depth, here) = (depth + 1, here + 2),
            ['*', '/', ..] => {
                (depth, here) = (depth.saturating_sub(1), here + 2);
                if depth == 0 {
                    return here;
                }
            }
            _ => here += 1,
        }
    }
    letters.len()
}

fn text_end(letters: &[char], at: usize, quote: char) -> usize {
    let mut here = at;
    while here < letters.len() && letters[here] != quote {
        here += if letters[here] == '\\' { 2 } else { 1 };
    }
    (here + 1).min(letters.len())
}

fn raw_text_end(letters: &[char], at: usize) -> Option<usize> {
    let hashes = letters[at..].iter().take_while(|letter| **letter == '#').count();
    if letters.get(at + hashes) != Some(&'"') {
        return None;
    }
    let closing: Vec<char> = std::iter::once('"').chain(std::iter::repeat_n('#', hashes)).collect();
    let rest = &letters[at + hashes + 1..];
    let end = rest.windows(closing.len()).position(|window| window == closing)?;
    Some(at + hashes + 1 + end + closing.len())
}

fn continues_a_word(letters: &[char], at: usize) -> bool {
    at > 0 && (letters[at - 1].is_alphanumeric() || letters[at - 1] == '_') && letters[at - 1] != 'b'
}

#[test]
fn comments_texts_and_characters_are_blanked_and_lines_stay() {
    let source = "let a = \"f32 \\\" f32\"; // f32\n/* f32 /* f32 */\n f32 */ let b = r#\"f32\"#;\nlet q = '\"'; let f: f32;";
    let code = without_comments_and_texts(source);
    assert_eq!(lines_with_word(&code, "f32"), [4]);
    assert_eq!(code.lines().count(), 4);
}

#[test]
fn lifetimes_do_not_open_a_character() {
    let code = without_comments_and_texts("fn a<'a>(x: &'a str) -> &'a str { x } // f64\nlet y: f64;");
    assert_eq!(lines_with_word(&code, "f64"), [2]);
}

#[test]
fn test_modules_do_not_belong_to_the_product() {
    let code = of_the_product("let a: i32;\n#[cfg(test)]\nmod tests { fn x() { let b: f32; } }\nlet c: f64;");
    assert!(lines_with_word(&code, "f32").is_empty());
    assert_eq!(lines_with_word(&code, "f64"), [4]);
}

#[test]
fn modules_for_tests_are_told_from_those_of_the_product() {
    let source =
        "mod a;\n#[cfg(test)]\nmod b;\n#[cfg(test)]\npub(crate) mod c;\n#[cfg(test)]\nmod d { fn x() {} }\n";
    assert_eq!(modules_for_tests(source), ["b", "c"]);
}

#[test]
fn functions_are_measured_from_their_name_to_their_last_brace() {
    let code =
        "impl X {\n    pub const fn one(&self) -> [u8; 2] {\n        [1, 2]\n    }\n    fn declared();\n}\n";
    assert_eq!(functions(code), [(2, "one".to_owned(), 3)]);
}
