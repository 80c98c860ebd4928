//! The command line.

use std::net::{Ipv4Addr, SocketAddr};
use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::{Context, bail};
use clap::{Args, Parser, Subcommand};
use tokio::net::TcpListener;
use trug::app::router;
use trug::clock::Clock;
use trug::config;
use trug::db::Book;
use trug::web::state::App;

#[derive(Parser)]
#[command(name = "trug", version, about = "The order book of a small event-flower studio")]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Open the studio's book (made if there is none) and serve it on this machine
    Serve(ServeArgs),
}

#[derive(Args)]
struct DataArgs {
    /// The folder that holds the book [default: the platform's folder for application data]
    #[arg(long, value_name = "FOLDER")]
    data: Option<PathBuf>,
}

#[derive(Args)]
struct ServeArgs {
    #[command(flatten)]
    data: DataArgs,
    /// The port on this machine; 0 takes any free one
    #[arg(long, default_value_t = 4310)]
    port: u16,
}

#[tokio::main]
async fn main() -> ExitCode {
    tracing_subscriber::fmt()
        .with_writer(std::io::stderr)
        .with_target(false)
        .with_max_level(tracing::Level::INFO)
        .init();
    match run(Cli::parse().command).await {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("trug: {error:#}");
            ExitCode::FAILURE
        }
    }
}

async fn run(command: Command) -> anyhow::Result<()> {
    match command {
        Command::Serve(args) => serve(args).await,
    }
}

async fn serve(args: ServeArgs) -> anyhow::Result<()> {
    let path = config::data_folder(args.data.data)?.join(config::BOOK_FILE);
    let book = Book::open(&path).await?;
    serve_book(book, args.port).await
}

async fn serve_book(book: Book, port: u16) -> anyhow::Result<()> {
    let address = SocketAddr::from((Ipv4Addr::LOCALHOST, port));
    let listener = match TcpListener::bind(address).await {
        Ok(listener) => listener,
        Err(error) if error.kind() == std::io::ErrorKind::AddrInUse => {
            bail!(
                "Port {port} is taken, perhaps by a Trug that already runs. Choose another with --port, or 0 for any."
            )
        }
        Err(error) => return Err(error).with_context(|| format!("Port {port} cannot be opened")),
    };
    println!("Trug serves {} at http://{}/  (Ctrl-C ends it)", book.path().display(), listener.local_addr()?);
    let app = App::new(book.clone(), Clock::Machine);
    axum::serve(listener, router(app)).with_graceful_shutdown(asked_to_end()).await?;
    book.close().await;
    Ok(())
}

async fn asked_to_end() {
    // Without a handler for Ctrl-C the process ends by itself, which is as good.
    let _ = tokio::signal::ctrl_c().await;
}
