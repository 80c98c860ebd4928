//! The command line: see `commands`.

mod commands;

use std::process::ExitCode;

use clap::Parser;
use commands::Cli;

#[tokio::main]
async fn main() -> ExitCode {
    tracing_subscriber::fmt()
        .with_writer(std::io::stderr)
        .with_target(false)
        .with_max_level(tracing::Level::INFO)
        .init();
    match commands::run(Cli::parse()).await {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("trug: {error:#}");
            ExitCode::FAILURE
        }
    }
}
