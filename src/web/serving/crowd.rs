//! How many lines there are at once: bounded in all and for each address, so that one device cannot take them all.

use std::collections::HashMap;
use std::net::IpAddr;
use std::sync::{Arc, Mutex, PoisonError};

const MOST: usize = 512;
/// A browser opens six at once; behind a proxy all come from one address, which is this machine and not bounded.
const MOST_FROM_ONE: usize = 64;

/// The lines there are.
#[derive(Debug, Default)]
pub(super) struct Crowd {
    from: Mutex<HashMap<IpAddr, usize>>,
}

/// A line's place; given back when it is dropped.
#[derive(Debug)]
pub(super) struct Place {
    crowd: Arc<Crowd>,
    from: IpAddr,
}

impl Crowd {
    /// A place for one more, if there is one.
    pub(super) fn enter(self: &Arc<Crowd>, from: IpAddr) -> Option<Place> {
        let mut lines = self.from.lock().unwrap_or_else(PoisonError::into_inner);
        let all: usize = lines.values().sum();
        let own = lines.get(&from).copied().unwrap_or(0);
        if all >= MOST || (own >= MOST_FROM_ONE && !from.to_canonical().is_loopback()) {
            return None;
        }
        lines.insert(from, own + 1);
        Some(Place { crowd: Arc::clone(self), from })
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        let mut lines = self.crowd.from.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(own) = lines.get_mut(&self.from) {
            *own -= 1;
            if *own == 0 {
                lines.remove(&self.from);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_device_cannot_take_all_places() {
        let crowd = Arc::new(Crowd::default());
        let (one, other) = (IpAddr::from([10, 0, 0, 7]), IpAddr::from([10, 0, 0, 8]));
        let mut taken: Vec<Place> = (0..MOST_FROM_ONE).map(|_| crowd.enter(one).unwrap()).collect();
        assert!(crowd.enter(one).is_none());
        assert!(crowd.enter(other).is_some());
        taken.pop();
        assert!(crowd.enter(one).is_some(), "a place that is given back is free");
        drop(taken);
        assert!(crowd.from.lock().unwrap().is_empty());
    }

    #[test]
    fn there_is_an_end_to_all_places() {
        let crowd = Arc::new(Crowd::default());
        let here = IpAddr::from([127, 0, 0, 1]);
        let taken: Vec<Place> = (0..MOST).map(|_| crowd.enter(here).unwrap()).collect();
        assert!(crowd.enter(here).is_none());
        drop(taken);
    }
}
