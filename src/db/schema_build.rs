//! The build script: makes a database from `migrations/` so that the checked `query!` macros are compared
//! with the schema as it is now. No command-line tool and no stored query data, hence never stale.

use std::error::Error;
use std::path::PathBuf;
use std::{env, fs};

use sqlx::Connection;
use sqlx::migrate::Migrator;
use sqlx::sqlite::{SqliteConnectOptions, SqliteConnection};

fn main() -> Result<(), Box<dyn Error>> {
    println!("cargo:rerun-if-changed=migrations");
    println!("cargo:rerun-if-changed=src/db/schema_build.rs");
    let file = PathBuf::from(env::var("OUT_DIR")?).join("schema.db");
    if file.exists() {
        fs::remove_file(&file)?;
    }
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    runtime.block_on(async {
        let options = SqliteConnectOptions::new().filename(&file).create_if_missing(true);
        let mut connection = SqliteConnection::connect_with(&options).await?;
        Migrator::new(PathBuf::from("migrations")).await?.run(&mut connection).await?;
        connection.close().await?;
        Ok::<_, Box<dyn Error>>(())
    })?;
    println!("cargo:rustc-env=DATABASE_URL=sqlite:{}", file.display());
    Ok(())
}
