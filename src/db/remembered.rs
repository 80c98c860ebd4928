//! What was read is remembered while nothing of it changes: the same materials, recipes and weeks are asked for on every page.
//!
//! The history tells what changed: its acts are numbered, so the highest number among the tables that were read stands for
//! their state. Whoever remembers names every table that is read, or leaves out the few that are not.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use sqlx::SqliteConnection;
use tokio::sync::OnceCell;

/// The state of some tables of a book: equal states, equal rows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct State {
    file: Arc<str>,
    act: i64,
}

impl State {
    /// The state of these tables; none inside a transaction that writes, which may be taken back.
    pub async fn of(
        connection: &mut SqliteConnection,
        tables: &[&str],
    ) -> Result<Option<State>, sqlx::Error> {
        let Some(file) = file_of_reader(connection).await? else { return Ok(None) };
        let tables = serde_json::to_string(tables).unwrap_or_default();
        let act = sqlx::query_scalar!(
            r#"SELECT coalesce(max((SELECT max(act_id) FROM act_change WHERE table_name = t.value)), 0) AS "act!: i64"
            FROM json_each(?) t"#,
            tables
        )
        .fetch_one(connection)
        .await?;
        Ok(Some(State { file: file.into(), act }))
    }

    /// The state of more than these tables: also changed by an act.
    #[must_use]
    pub fn and(self, act: i64) -> State {
        State { act: self.act.max(act), ..self }
    }

    /// Whether both tell of one book.
    #[must_use]
    pub fn of_one_book(&self, other: &State) -> bool {
        self.file == other.file
    }
}

/// The file from which a connection reads; none where the connection writes, since what it sees may yet be taken back.
async fn file_of_reader(connection: &mut SqliteConnection) -> Result<Option<String>, sqlx::Error> {
    sqlx::query_scalar(
        "SELECT file FROM pragma_database_list WHERE name = 'main' AND file <> ''
        AND NOT EXISTS (SELECT 1 FROM sqlite_temp_schema WHERE name = 'present_act')",
    )
    .fetch_optional(connection)
    .await
}

/// Where a remembered thing stands: empty while it is read, so that whoever asks for the same meanwhile waits and then knows it.
type Place<T> = Arc<OnceCell<Arc<T>>>;

/// A few remembered things, the latest first, each under a key that holds the state of its sources.
pub struct Remembered<K, T> {
    most: usize,
    /// Whether what stands under the first key makes what stands under the second useless.
    replaces: fn(&K, &K) -> bool,
    entries: Mutex<VecDeque<(K, Place<T>)>>,
}

impl<K: PartialEq, T> Remembered<K, T> {
    /// Remembers at most so many things.
    #[must_use]
    pub const fn new(most: usize, replaces: fn(&K, &K) -> bool) -> Remembered<K, T> {
        Remembered { most, replaces, entries: Mutex::new(VecDeque::new()) }
    }

    /// What is remembered under a key.
    pub fn known(&self, key: &K) -> Option<Arc<T>> {
        kept(&mut self.entries(), key)?.get().cloned()
    }

    /// What is remembered under a key, else what is read now. Without a key it is read and not remembered.
    pub async fn or_read<E>(
        &self,
        key: impl Into<Option<K>>,
        read: impl Future<Output = Result<T, E>>,
    ) -> Result<Arc<T>, E> {
        // On the heap: what is read may hold much, and the callers' own state would hold it several times.
        let read = Box::pin(async { read.await.map(Arc::new) });
        let Some(key) = key.into() else { return read.await };
        self.place(key).get_or_try_init(|| read).await.cloned()
    }

    /// Where what belongs under a key stands, or will stand once it is read.
    fn place(&self, key: K) -> Place<T> {
        let mut entries = self.entries();
        if let Some(kept) = kept(&mut entries, &key) {
            return kept;
        }
        entries.retain(|(known, _)| !(self.replaces)(&key, known));
        let place = Place::default();
        entries.push_front((key, Arc::clone(&place)));
        entries.truncate(self.most);
        place
    }

    fn entries(&self) -> MutexGuard<'_, VecDeque<(K, Place<T>)>> {
        self.entries.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// What stands under a key, which was asked for last now.
fn kept<K: PartialEq, T>(entries: &mut VecDeque<(K, Place<T>)>, key: &K) -> Option<Place<T>> {
    let at = entries.iter().position(|(known, _)| known == key)?;
    let entry = entries.remove(at)?;
    let place = Arc::clone(&entry.1);
    entries.push_front(entry);
    Some(place)
}

#[cfg(test)]
mod tests {
    use std::convert::Infallible;
    use std::sync::atomic::{AtomicI64, Ordering};

    use tokio::sync::Barrier;

    use super::*;

    #[tokio::test]
    async fn it_is_read_once_then_known_until_its_state_is_another() {
        let remembered: Remembered<(char, i64), String> = Remembered::new(2, |new, old| new.0 == old.0);
        let read = async |key: (char, i64), said: &'static str| {
            let read = async { Ok::<_, Infallible>(said.to_owned()) };
            remembered.or_read(key, read).await.unwrap().to_string()
        };
        assert_eq!(read(('a', 1), "first").await, "first");
        assert_eq!(read(('a', 1), "again").await, "first");
        assert_eq!(read(('a', 2), "changed").await, "changed");
        assert!(remembered.known(&('a', 1)).is_none(), "what it replaces is forgotten");
        assert_eq!(read(('b', 1), "other").await, "other");
        assert_eq!(read(('a', 2), "no").await, "changed");
        assert_eq!(read(('c', 1), "third").await, "third");
        assert!(remembered.known(&('b', 1)).is_none(), "what was not asked for longest is forgotten");
    }

    #[tokio::test]
    async fn what_is_read_keeps_only_those_waiting_who_ask_for_the_same() {
        let remembered: Remembered<char, i64> = Remembered::new(3, |_, _| false);
        let (both, times) = (Barrier::new(2), AtomicI64::new(0));
        let read = async |key: char| {
            let read = async {
                times.fetch_add(1, Ordering::Relaxed);
                both.wait().await;
                Ok::<_, Infallible>(7)
            };
            *remembered.or_read(key, read).await.unwrap()
        };
        assert_eq!(tokio::join!(read('a'), read('b'), read('a')), (7, 7, 7));
        assert_eq!(times.into_inner(), 2, "each was read once");
    }

    #[tokio::test]
    async fn what_cannot_be_read_is_not_remembered() {
        let remembered: Remembered<i64, i64> = Remembered::new(1, |_, _| true);
        assert_eq!(remembered.or_read(1_i64, async { Err("no") }).await, Err("no"));
        assert_eq!(*remembered.or_read(1_i64, async { Ok::<_, ()>(7) }).await.unwrap(), 7);
    }
}
