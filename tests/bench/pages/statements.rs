//! Listens to sqlx's own account of its statements, while asked to.

use std::fmt::Debug;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use tracing::field::{Field, Visit};
use tracing::span::{Attributes, Id, Record};
use tracing::subscriber::{Interest, set_global_default};
use tracing::{Event, Metadata, Subscriber};

/// What was heard of the statements of one page.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Heard {
    pub(crate) statements: u64,
    pub(crate) rows: u64,
    pub(crate) time: Duration,
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
        *self.heard.lock().unwrap()
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
        let mut fields = Fields::default();
        event.record(&mut fields);
        let mut heard = self.0.heard.lock().unwrap();
        heard.statements += 1;
        heard.rows += fields.rows;
        heard.time += fields.time;
    }

    fn new_span(&self, _: &Attributes<'_>) -> Id {
        Id::from_u64(1)
    }

    fn record(&self, _: &Id, _: &Record<'_>) {}
    fn record_follows_from(&self, _: &Id, _: &Id) {}
    fn enter(&self, _: &Id) {}
    fn exit(&self, _: &Id) {}
}

#[derive(Default)]
struct Fields {
    rows: u64,
    time: Duration,
}

impl Visit for Fields {
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
