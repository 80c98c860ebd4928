//! The command line: see `commands`.

mod commands;

use std::process::ExitCode;

use clap::Parser;
use commands::Cli;

#[tokio::main]
async fn main() -> ExitCode {
    match commands::run(Cli::parse()).await {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("trug: {error:#}");
            ExitCode::FAILURE
        }
    }
}
