//! Lines of an adaptor, and log files.

use trunnion_desk::gateway::line::{Line, Lines, written};
use trunnion_desk::gateway::log;

/// A stream, whole and in pieces whose sizes follow from its first byte.
pub fn adaptor_lines(input: &[u8]) {
    let (size, stream) =
        input.split_first().map_or((1, input), |(first, rest)| (usize::from(first % 16) + 1, rest));
    let whole = Lines::default().take(stream);
    let mut cut = Lines::default();
    let pieces: Vec<Line> = stream.chunks(size).flat_map(|piece| cut.take(piece)).collect();
    assert_eq!(whole, pieces);
    for line in whole {
        if let Line::Frame(frame) = line {
            let text = written(&frame);
            assert_eq!(Line::parse(text.trim_end().as_bytes()), Line::Frame(frame));
        }
    }
}

/// Any text as a log.
pub fn log_file(input: &[u8]) {
    let text = String::from_utf8_lossy(input);
    match log::parse(&text) {
        Ok(frames) => {
            let lines: Vec<String> = frames.iter().map(|logged| log::written(logged, "can0")).collect();
            assert_eq!(log::parse(&lines.join("\n")), Ok(frames));
        }
        Err(trouble) => assert!(trouble.line >= 1 && trouble.line <= text.lines().count()),
    }
}
