//! A file in pieces of whole lines, so that several threads can read it.

use std::fs::File;
use std::io::{Read, Seek, SeekFrom};
use std::ops::Range;
use std::path::Path;

/// The longest line that is read past the end of a piece.
const LONGEST_LINE: u64 = 1 << 14;

/// Where the line after the header begins, if the header is one plain line.
pub fn first_line(file: &Path) -> Option<u64> {
    let mut line = Vec::new();
    File::open(file)
        .ok()?
        .take(LONGEST_LINE)
        .read_to_end(&mut line)
        .ok()?;
    let end = line.iter().position(|byte| *byte == b'\n')?;
    let header = line[..end].strip_suffix(b"\r").unwrap_or(&line[..end]);
    let plain =
        !header.trim_ascii().is_empty() && !header.iter().any(|byte| matches!(byte, b'"' | b'\r'));
    plain.then_some(end as u64 + 1)
}

/// The lines that begin within a piece.
pub fn lines_from<'a>(
    file: &Path,
    buffer: &'a mut Vec<u8>,
    first: u64,
    piece: Range<u64>,
) -> Option<&'a [u8]> {
    let start = piece.start;
    // The byte before says whether a line begins with the piece.
    let from = if start == first { start } else { start - 1 };
    let wanted = piece.end - from + LONGEST_LINE;
    let mut reader = File::open(file).ok()?;
    reader.seek(SeekFrom::Start(from)).ok()?;
    buffer.clear();
    reader.take(wanted).read_to_end(buffer).ok()?;
    let after_line = |at: usize| {
        let rest = buffer.get(at..)?;
        rest.iter()
            .position(|byte| *byte == b'\n')
            .map(|place| at + place + 1)
    };
    let at_end_of_file = (buffer.len() as u64) < wanted;
    let begin = if start == first { 0 } else { after_line(0)? };
    let last = (piece.end - from) as usize;
    let end = match after_line(last - 1) {
        Some(end) => end,
        None if at_end_of_file => buffer.len(),
        None => return None,
    };
    Some(&buffer[begin.min(end)..end])
}
