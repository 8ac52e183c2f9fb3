//! `completions` and `manual`, made from the same description of the command line that parses it.

use std::fs;
use std::path::Path;

use clap::CommandFactory;
use clap_complete::{Shell, generate};
use clap_mangen::Man;

use super::arguments::Cli;
use super::failure::Failure;
use super::ui::Ui;

/// Stands in the footer of the manual pages instead of a date, so that they are the same every time.
const EDITION: &str = concat!("version ", env!("CARGO_PKG_VERSION"));

pub(super) fn completions(shell: Shell, ui: &mut Ui) -> Result<(), Failure> {
    let mut script = Vec::new();
    generate(shell, &mut Cli::command(), "hidden-ohm", &mut script);
    ui.raw(&String::from_utf8_lossy(&script))
}

pub(super) fn manual(folder: Option<&Path>, ui: &mut Ui) -> Result<(), Failure> {
    let mut command = Cli::command();
    command.build();
    let Some(folder) = folder else {
        return ui.raw(&rendered(command)?);
    };
    let hint = "name a folder you can write to";
    fs::create_dir_all(folder)
        .map_err(|error| Failure::file("make the folder", folder, &error, hint))?;
    let mut left = vec![command];
    while let Some(command) = left.pop() {
        left.extend(
            command
                .get_subcommands()
                .filter(|sub| sub.get_name() != "help")
                .cloned(),
        );
        let name = command
            .get_display_name()
            .unwrap_or_else(|| command.get_name())
            .to_owned();
        let path = folder.join(format!("{name}.1"));
        let page = rendered(command.name(name))?;
        fs::write(&path, page).map_err(|error| Failure::file("write", &path, &error, hint))?;
        ui.raw(&format!("{}\n", path.display()))?;
    }
    Ok(())
}

fn rendered(command: clap::Command) -> Result<String, Failure> {
    let mut page = Vec::new();
    Man::new(command)
        .date(EDITION)
        .manual("Hidden Ohm")
        .render(&mut page)?;
    Ok(String::from_utf8_lossy(&page).into_owned())
}
