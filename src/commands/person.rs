//! `trug person`: who may come in, from the terminal of the studio's machine. It also helps an owner who forgot their passphrase.

use std::io::{BufRead, IsTerminal, stdin};

use anyhow::{Context, bail};
use clap::{Args, Subcommand};
use trug::db::Book;
use trug::ground::choice::Choice;
use trug::studio;
use trug::studio::people::forms::{PersonForm, read_passphrase};
use trug::studio::people::{Person, Role, hashing, name_key, store};

use super::DataArgs;

#[derive(Args)]
pub(crate) struct PersonArgs {
    #[command(subcommand)]
    what: What,
}

#[derive(Subcommand)]
enum What {
    /// Let someone in; the passphrase is asked for, or read from the standard input
    Add {
        /// The name they log in with
        name: String,
        /// owner, desk or bench (the bench sees no money)
        #[arg(long, value_parser = role)]
        role: Role,
        #[command(flatten)]
        data: DataArgs,
    },
    /// Give someone a new passphrase; they are logged out everywhere
    Passphrase {
        /// Their name
        name: String,
        #[command(flatten)]
        data: DataArgs,
    },
    /// Say who may come in
    List {
        #[command(flatten)]
        data: DataArgs,
    },
}

fn role(code: &str) -> Result<Role, String> {
    Role::from_code(code).ok_or_else(|| "a role is owner, desk or bench".to_owned())
}

pub(crate) async fn run(args: PersonArgs) -> anyhow::Result<()> {
    match args.what {
        What::Add { name, role, data } => add(&open(data).await?, name, role).await,
        What::Passphrase { name, data } => set_passphrase(&open(data).await?, &name).await,
        What::List { data } => list(&open(data).await?).await,
    }
}

async fn open(data: DataArgs) -> anyhow::Result<Book> {
    Ok(Book::open(&data.book_path()?).await?)
}

async fn add(book: &Book, name: String, role: Role) -> anyhow::Result<()> {
    let form = PersonForm { name, role: role.code().into(), ..PersonForm::default() };
    let new = form.parse(&studio::Studio::new_book().formats).map_err(|errors| sentence(&errors))?;
    if store::is_taken(&mut *book.read().await?, &new.name, None).await? {
        bail!(
            "Somebody named {} is let in already. `trug person passphrase` gives them a new passphrase.",
            new.name
        );
    }
    let hash = asked_for(book, &new.name).await?;
    let mut tx = book.write().await?;
    let id = store::add(&mut tx, &new).await?;
    store::keep_hash(&mut tx, id, &hash).await?;
    tx.commit().await?;
    book.close().await;
    println!("{} may come in: {}.", new.name, role.may());
    Ok(())
}

async fn set_passphrase(book: &Book, name: &str) -> anyhow::Result<()> {
    let person = named(book, name).await?;
    let hash = asked_for(book, &person.name).await?;
    let mut tx = book.write().await?;
    store::keep_hash(&mut tx, person.id, &hash).await?;
    store::end_all(&mut tx, person.id, None).await?;
    tx.commit().await?;
    book.close().await;
    println!("{} has a new passphrase and is logged out everywhere.", person.name);
    Ok(())
}

async fn list(book: &Book) -> anyhow::Result<()> {
    let people = store::people(&mut *book.read().await?).await?;
    book.close().await;
    if people.is_empty() {
        println!("Nobody yet. `trug person add NAME --role owner` lets the first one in.");
    }
    for person in people {
        let lack = if person.has_passphrase { "" } else { " (no passphrase yet)" };
        println!("{}, {}: {}{lack}", person.name, person.role.label().to_lowercase(), person.role.may());
    }
    Ok(())
}

async fn named(book: &Book, name: &str) -> anyhow::Result<Person> {
    let people = store::people(&mut *book.read().await?).await?;
    people
        .into_iter()
        .find(|person| name_key(&person.name) == name_key(name))
        .with_context(|| format!("Nobody named {name} is let in. `trug person list` says who is."))
}

/// The hash of a passphrase that is typed unseen and twice, or comes in on the standard input.
async fn asked_for(book: &Book, name: &str) -> anyhow::Result<String> {
    let studio = studio::store::studio(&mut *book.read().await?).await?.name;
    let typed = if stdin().is_terminal() { typed_twice(name)? } else { read_line()? };
    let new = read_passphrase("passphrase", &typed, &[name, &studio]).map_err(|errors| sentence(&errors))?;
    Ok(hashing::hash(new).await?)
}

fn typed_twice(name: &str) -> anyhow::Result<String> {
    let first = rpassword::prompt_password(format!("Passphrase for {name} (at least 12 characters): "))?;
    if rpassword::prompt_password("Once more: ")? != first {
        bail!("These are not the same. Nothing was changed.");
    }
    Ok(first)
}

fn read_line() -> anyhow::Result<String> {
    let mut line = String::new();
    stdin().lock().read_line(&mut line).context("No passphrase came in on the standard input")?;
    Ok(line.trim_end_matches(['\r', '\n']).to_owned())
}

fn sentence(errors: &trug::web::forms::FieldErrors) -> anyhow::Error {
    let messages: Vec<&str> = errors.list().iter().map(|(_, message)| message.as_str()).collect();
    anyhow::anyhow!("{} Nothing was changed.", messages.join(" "))
}
