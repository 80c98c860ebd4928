//! Slows down who tries to log in again and again: by name and by address, with delays that grow. Kept in memory and bounded;
//! a plain value, the moment is told.
//!
//! Nobody is locked out for good: a name waits a minute at most, an address a quarter of an hour, both are forgotten after
//! an hour without a failure, and from the studio's own machine a name never waits.

use std::collections::HashMap;
use std::net::IpAddr;

use crate::ground::dates::Moment;

/// So many are remembered; then the oldest go.
const MOST_REMEMBERED: usize = 10_000;
const FORGOTTEN_AFTER: i64 = 60 * 60;

/// What tries are counted by.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum By {
    /// A name, as it is compared.
    Name(String),
    /// Where they come from.
    Address(IpAddr),
}

/// Tries that failed, or did not end yet.
#[derive(Debug, Default)]
pub struct Throttle {
    tries: HashMap<By, Tries>,
}

#[derive(Debug, Clone, Copy)]
struct Tries {
    failed: u32,
    last: Moment,
}

impl Throttle {
    /// Counts a try, or says how many seconds to wait first. It counts as failed until [`Throttle::succeeded`] says otherwise,
    /// so that a hundred tries at once are a hundred, not one. A refused try counts for nothing.
    ///
    /// # Errors
    /// The seconds to wait.
    pub fn begin(&mut self, by: &[By], now: Moment) -> Result<(), i64> {
        let wait = by.iter().filter_map(|by| self.wait(by, now)).max();
        if let Some(seconds) = wait {
            return Err(seconds);
        }
        for by in by {
            let tries = self.tries.entry(by.clone()).or_insert(Tries { failed: 0, last: now });
            tries.failed = if is_over(tries, now) { 1 } else { tries.failed.saturating_add(1) };
            tries.last = now;
        }
        self.keep_bounded(now);
        Ok(())
    }

    /// A try succeeded: nothing is held against the name, and this one try not against the address. What failed from there
    /// before stays, so that nobody with a passphrase of their own can guess another's for ever.
    pub fn succeeded(&mut self, by: &[By]) {
        for by in by {
            match by {
                By::Name(_) => drop(self.tries.remove(by)),
                By::Address(_) => {
                    if let Some(tries) = self.tries.get_mut(by) {
                        tries.failed = tries.failed.saturating_sub(1);
                    }
                }
            }
        }
    }

    fn wait(&self, by: &By, now: Moment) -> Option<i64> {
        let tries = self.tries.get(by).filter(|tries| !is_over(tries, now))?;
        let left = delay(by, tries.failed) - since(tries.last, now);
        (left > 0).then_some(left)
    }

    fn keep_bounded(&mut self, now: Moment) {
        if self.tries.len() <= MOST_REMEMBERED {
            return;
        }
        self.tries.retain(|_, tries| !is_over(tries, now));
        let over = self.tries.len().saturating_sub(MOST_REMEMBERED * 9 / 10);
        if self.tries.len() > MOST_REMEMBERED {
            let mut ages: Vec<(Moment, By)> =
                self.tries.iter().map(|(by, tries)| (tries.last, by.clone())).collect();
            ages.sort_unstable_by_key(|(last, _)| *last);
            for (_, by) in ages.into_iter().take(over) {
                self.tries.remove(&by);
            }
        }
    }
}

fn is_over(tries: &Tries, now: Moment) -> bool {
    since(tries.last, now) >= FORGOTTEN_AFTER
}

fn since(last: Moment, now: Moment) -> i64 {
    now.0.as_second().saturating_sub(last.0.as_second()).max(0)
}

/// The seconds between one try and the next: none at first, then 1, 2, 4 … A house behind one address may mistype more often.
fn delay(by: &By, failed: u32) -> i64 {
    let (free, most) = match by {
        By::Name(_) => (5, 60),
        By::Address(_) => (20, 15 * 60),
    };
    match failed.checked_sub(free) {
        None => 0,
        Some(over) => 1_i64.checked_shl(over).filter(|delay| (1..=most).contains(delay)).unwrap_or(most),
    }
}

#[cfg(test)]
mod tests {
    use jiff::ToSpan;
    use proptest::prelude::*;

    use super::*;

    fn at(second: i64) -> Moment {
        let start: Moment = "2026-05-04T09:00:00Z".parse().unwrap();
        Moment(start.0.checked_add(second.seconds()).unwrap())
    }

    fn name(name: &str) -> By {
        By::Name(name.into())
    }

    #[test]
    fn the_sixth_try_waits_and_each_next_one_longer() {
        let mut throttle = Throttle::default();
        for _ in 0..5 {
            throttle.begin(&[name("mia")], at(0)).unwrap();
        }
        assert_eq!(throttle.begin(&[name("mia")], at(0)), Err(1));
        throttle.begin(&[name("mia")], at(1)).unwrap();
        assert_eq!(throttle.begin(&[name("mia")], at(1)), Err(2));
        assert_eq!(throttle.begin(&[name("mia")], at(2)), Err(1), "a refused try does not make it longer");
        throttle.begin(&[name("otto")], at(2)).unwrap();
    }

    #[test]
    fn nobody_waits_longer_than_a_minute_for_a_name_or_an_hour_for_anything() {
        let mut throttle = Throttle::default();
        let mut second = 0;
        for _ in 0..200 {
            while let Err(wait) = throttle.begin(&[name("mia")], at(second)) {
                assert!(wait <= 60);
                second += wait;
            }
        }
        throttle.begin(&[name("mia")], at(second + FORGOTTEN_AFTER)).unwrap();
        throttle.begin(&[name("mia")], at(second + FORGOTTEN_AFTER)).unwrap();
        throttle.succeeded(&[name("mia")]);
        assert!(throttle.tries.is_empty());
    }

    /// OWASP ASVS 4.0.3, 2.2.1: no more than 100 failed tries an hour on a single account.
    #[test]
    fn an_hour_has_fewer_than_a_hundred_tries_at_a_name() {
        let mut throttle = Throttle::default();
        let tries = (0..3_600).filter(|second| throttle.begin(&[name("mia")], at(*second)).is_ok()).count();
        assert!((5..100).contains(&tries), "{tries}");
    }

    #[test]
    fn many_names_do_not_fill_the_memory() {
        let mut throttle = Throttle::default();
        for number in 0..30_000 {
            throttle.begin(&[name(&number.to_string())], at(number / 100)).unwrap();
        }
        assert!(throttle.tries.len() <= MOST_REMEMBERED);
        assert!(throttle.tries.contains_key(&name("29999")), "the latest stay");
    }

    proptest! {
        #[test]
        fn a_delay_grows_and_ends(failed in 0_u32..10_000) {
            for by in [name("mia"), By::Address([10, 0, 0, 7].into())] {
                let (now, next) = (delay(&by, failed), delay(&by, failed + 1));
                prop_assert!(now <= next && next <= 900);
            }
        }
    }
}
