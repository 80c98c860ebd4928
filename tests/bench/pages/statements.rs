//! Listens to sqlx's own account of its statements, while asked to.

use std::fmt::Debug;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use tracing::field::{Field, Visit};
use tracing::span::{Attributes, Id, Record};
use tracing::subscriber::{Interest, set_global_default};
use tracing::{Event, Metadata, Subscriber};

/// One statement, its first 160 letters.
#[derive(Debug, Default)]
pub(crate) struct Said {
    pub(crate) statement: String,
    pub(crate) rows: u64,
    pub(crate) time: Duration,
}

/// What was heard of the statements of one page.
#[derive(Debug, Default)]
pub(crate) struct Heard(pub(crate) Vec<Said>);

impl Heard {
    pub(crate) fn rows(&self) -> u64 {
        self.0.iter().map(|said| said.rows).sum()
    }

    pub(crate) fn time(&self) -> Duration {
        self.0.iter().map(|said| said.time).sum()
    }
}

pub(crate) struct Statements {
    listening: AtomicBool,
    heard: Mutex<Heard>,
}

impl Statements {
    /// Listens from now on in the whole program (sqlx runs statements on threads of its own).
    pub(crate) fn listen() -> &'static Statements {
        let statements: &Statements =
            Box::leak(Box::new(Statements { listening: AtomicBool::new(false), heard: Mutex::default() }));
        set_global_default(Listener(statements)).unwrap();
        statements
    }

    pub(crate) fn begin(&self) {
        *self.heard.lock().unwrap() = Heard::default();
        self.listening.store(true, Ordering::SeqCst);
    }

    pub(crate) fn end(&self) -> Heard {
        // The last statement's thread may still be about to say so.
        std::thread::sleep(Duration::from_millis(1));
        self.listening.store(false, Ordering::SeqCst);
        std::mem::take(&mut self.heard.lock().unwrap())
    }
}

struct Listener(&'static Statements);

impl Subscriber for Listener {
    fn register_callsite(&self, about: &'static Metadata<'static>) -> Interest {
        if about.target() == "sqlx::query" { Interest::sometimes() } else { Interest::never() }
    }

    fn enabled(&self, about: &Metadata<'_>) -> bool {
        about.target() == "sqlx::query" && self.0.listening.load(Ordering::SeqCst)
    }

    fn event(&self, event: &Event<'_>) {
        let mut said = Said::default();
        event.record(&mut said);
        self.0.heard.lock().unwrap().0.push(said);
    }

    fn new_span(&self, _: &Attributes<'_>) -> Id {
        Id::from_u64(1)
    }

    fn record(&self, _: &Id, _: &Record<'_>) {}
    fn record_follows_from(&self, _: &Id, _: &Id) {}
    fn enter(&self, _: &Id) {}
    fn exit(&self, _: &Id) {}
}

impl Visit for Said {
    fn record_str(&mut self, field: &Field, value: &str) {
        // A long statement comes whole beside its summary.
        if matches!(field.name(), "summary" | "db.statement") && !value.trim().is_empty() {
            let words: Vec<&str> = value.split_whitespace().collect();
            self.statement = words.join(" ").chars().take(160).collect();
        }
    }

    fn record_f64(&mut self, field: &Field, value: f64) {
        if field.name() == "elapsed_secs" {
            self.time = Duration::from_secs_f64(value);
        }
    }

    fn record_u64(&mut self, field: &Field, value: u64) {
        if field.name() == "rows_returned" {
            self.rows = value;
        }
    }

    fn record_debug(&mut self, _: &Field, _: &dyn Debug) {}
}
