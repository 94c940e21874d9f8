//! Pages for man, one a command.

use crate::answer::{ANSWERED, Answer};
use crate::arguments::Arguments;
use crate::failure::Failure;
use crate::models::check_target;
use crate::settings::Settings;
use clap::{Args, CommandFactory};
use clap_mangen::Man as Page;
use keenspan::logbook::write::write_text_file;
use serde_json::{Map, json};
use std::path::{Path, PathBuf};

/// How a page of this program says whose it is.
const MARK: &str = ".TH keenspan";

/// Write the manual's pages, one a command, for man to show
///
/// To read one without installing it: man FOLDER/keenspan-interval.1
#[derive(Debug, Args)]
pub struct Man {
    /// The folder that the pages go to
    #[arg(long, value_name = "FOLDER")]
    out: PathBuf,
}

impl Man {
    pub fn execute(&self, settings: &Settings) -> Result<Answer, Failure> {
        let mut program = Arguments::command();
        program.build();
        let mut pages = Vec::new();
        collect(&program, &mut pages);
        std::fs::create_dir_all(&self.out).map_err(|error| {
            let folder = self.out.display();
            Failure::Usage(format!(
                "{folder}: {error}; name a folder that can be written to"
            ))
        })?;
        let files = pages
            .iter()
            .map(|page| write(page, &self.out))
            .collect::<Result<Vec<PathBuf>, Failure>>()?;
        let words = format!("{} pages are in {}.\n", files.len(), self.out.display());
        Ok(Answer {
            command: "man",
            words,
            fields: Map::from_iter([("files".to_string(), json!(files))]),
            warnings: Vec::new(),
            units: settings.units.unwrap_or_default(),
            status: ANSWERED,
        })
    }
}

/// The page of a command, then those of the commands under it.
fn collect(command: &clap::Command, pages: &mut Vec<Page>) {
    pages.push(Page::new(command.clone()));
    let under = command.get_subcommands();
    for command in under.filter(|command| command.get_name() != "help") {
        collect(command, pages);
    }
}

fn write(page: &Page, folder: &Path) -> Result<PathBuf, Failure> {
    let file = folder.join(page.get_filename());
    check_target(&file, |text| text.contains(MARK))?;
    let mut text = Vec::new();
    let rendered = page.render(&mut text);
    rendered.map_err(|error| Failure::Log(format!("{}: {error}", file.display())))?;
    write_text_file(&file, &String::from_utf8_lossy(&text))?;
    Ok(file)
}
