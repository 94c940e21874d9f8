//! Every command that the README and the notebooks show, run as it is written there, and its output
//! held against the output shown.
//!
//! A block marked `sh` whose lines start with `$ keenspan` (or prepare for one that does) is run by the
//! shell, from the top of the repository; so is `cargo run --release -- ...`. The block marked `text` after it is what has to come out, answer and messages together;
//! a line `...` in it stands for any number of lines. Logs under `/tmp/keenspan-` are made in a folder
//! that is thrown away, its name as long, since answers name it.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

const ROOT: &str = env!("CARGO_MANIFEST_DIR");
const SHOWN_FOLDER: &str = "/tmp/keenspan-";

/// A fenced block: its mark, the line that it starts on, and its lines.
#[derive(Debug, Default)]
struct Block {
    mark: String,
    line: usize,
    lines: Vec<String>,
}

fn blocks(page: &str) -> Vec<Block> {
    let mut blocks = Vec::new();
    let mut open: Option<Block> = None;
    for (number, line) in page.lines().enumerate() {
        match (line.strip_prefix("```"), open.take()) {
            (Some(mark), None) => {
                open = Some(Block {
                    mark: mark.to_owned(),
                    line: number + 1,
                    lines: Vec::new(),
                });
            }
            (Some(_), Some(block)) => blocks.push(block),
            (None, Some(mut block)) => {
                block.lines.push(line.trim_end().to_owned());
                open = Some(block);
            }
            (None, None) => {}
        }
    }
    assert!(open.is_none(), "a block is never closed");
    blocks
}

impl Block {
    /// Commands of which one is keenspan and none might change anything outside the thrown-away folder.
    fn runs_keenspan(&self) -> bool {
        let typed = || self.lines.iter().filter_map(|line| after_prompt(line));
        let program = |line: &str| line.split(' ').next().unwrap_or_default().to_owned();
        self.mark == "sh"
            && typed().any(|line| program(&line) == "keenspan")
            && typed().all(|line| ["keenspan", "cp", "sed"].contains(&program(&line).as_str()))
    }

    /// What is typed, without the prompt.
    fn typed(&self) -> String {
        let lines = self.lines.iter();
        lines
            .map(|line| format!("{}\n", after_prompt(line).as_deref().unwrap_or(line)))
            .collect()
    }
}

/// What is typed at a prompt. Before the program is installed it is run out of its source.
fn after_prompt(line: &str) -> Option<String> {
    let from_source = line.strip_prefix("cargo run --release -- ");
    from_source
        .map(|arguments| format!("keenspan {arguments}"))
        .or(line.strip_prefix("$ ").map(String::from))
}

/// The README, where there is one, that of the models, and the notebooks in their order.
fn pages() -> Vec<PathBuf> {
    let folder = Path::new(ROOT).join("notebooks-md");
    let entries = fs::read_dir(folder).expect("the notebooks");
    let mut pages: Vec<PathBuf> = entries
        .map(|entry| entry.expect("a page").path())
        .filter(|path| path.extension().is_some_and(|end| end == "md"))
        .collect();
    pages.sort();
    pages.extend(["README.md", "models/README.md"].map(|page| Path::new(ROOT).join(page)));
    pages.retain(|page| page.exists());
    pages
}

/// The path with the folder of the program under test before all others.
fn search_path() -> std::ffi::OsString {
    let program = Path::new(env!("CARGO_BIN_EXE_keenspan"));
    let folder = program.parent().expect("a folder").to_owned();
    let others = std::env::var_os("PATH").unwrap_or_default();
    let all = std::iter::once(folder).chain(std::env::split_paths(&others));
    std::env::join_paths(all).expect("a path")
}

/// Everything that comes out, line by line, with the temporary folder called as on the page.
fn run(typed: &str, scratch: &Path) -> Vec<String> {
    let own = format!("{}/", scratch.display());
    // Lines break where they do on the page only if both names are as long.
    assert_eq!(own.len(), SHOWN_FOLDER.len(), "{own}");
    let script = format!("exec 2>&1\n{}", typed.replace(SHOWN_FOLDER, &own));
    let output = Command::new("sh")
        .args(["-c", &script])
        .current_dir(ROOT)
        .env("PATH", search_path())
        .stdin(Stdio::null())
        .output()
        .expect("a shell");
    let said = String::from_utf8_lossy(&output.stdout).replace(&own, SHOWN_FOLDER);
    said.lines()
        .map(|line| line.trim_end().to_owned())
        .collect()
}

/// Whether `found` is `shown`, where a line `...` stands for any number of lines.
fn agrees(found: &[String], shown: &[String]) -> bool {
    match shown.split_first() {
        None => found.is_empty(),
        Some((first, rest)) if first == "..." => {
            (0..=found.len()).any(|skipped| agrees(&found[skipped..], rest))
        }
        Some((first, rest)) => {
            found.first().is_some_and(|line| line == first) && agrees(&found[1..], rest)
        }
    }
}

/// Runs a page's commands in their order; the number of commands run, and what came out otherwise
/// than shown.
fn run_page(page: &Path) -> (usize, Vec<String>) {
    let text = fs::read_to_string(page).expect("a page");
    let mut name = tempfile::Builder::new();
    let scratch = name.prefix("ks").rand_bytes(6).tempdir_in("/tmp");
    let scratch = scratch.expect("a temporary folder");
    let blocks = blocks(&text);
    let mut wrong = Vec::new();
    let mut commands = 0;
    for (place, block) in blocks.iter().enumerate() {
        if !block.runs_keenspan() {
            continue;
        }
        let found = run(&block.typed(), scratch.path());
        commands += 1;
        let shown = blocks.get(place + 1).filter(|next| next.mark == "text");
        if shown.is_none_or(|shown| !agrees(&found, &shown.lines)) {
            let line = block.line;
            let page = page.display();
            let came = found.join("\n");
            wrong.push(format!("{page}, line {line}: this came out\n{came}\n"));
        }
    }
    (commands, wrong)
}

#[test]
fn every_command_in_readme_and_notebooks_answers_as_shown() {
    let results: Vec<_> = pages().iter().map(|page| run_page(page)).collect();
    let wrong: Vec<String> = results
        .iter()
        .flat_map(|(_, wrong)| wrong.clone())
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    // A change of marks in the pages must not turn this test off unseen.
    assert!(results.iter().map(|(commands, _)| commands).sum::<usize>() >= 10);
}

#[test]
fn dots_stand_for_any_number_of_lines_and_nothing_else_is_let_through() {
    let lines = |text: &str| text.lines().map(String::from).collect::<Vec<_>>();
    assert!(agrees(&lines("a\nb\nc"), &lines("a\n...\nc")));
    assert!(agrees(&lines("a\nc"), &lines("a\n...\nc")));
    assert!(!agrees(&lines("a\nb\nd"), &lines("a\n...\nc")));
    assert!(!agrees(&lines("a\nb"), &lines("a")));
    assert!(!agrees(&lines("a"), &lines("a\nb")));
}
