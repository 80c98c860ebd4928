//! Conditioning as tasks of the bench plan: what arrives on a day is conditioned on that day.
//!
//! May import: this stage's plan, types of the rooms before.

use super::tasks::{MINUTE, Task};
use crate::prep::Step;
use crate::prep::plan::{Delivery, PrepInputs, bunches, conditioning_key, hours_after};

/// One task a delivery.
pub(super) fn conditioned(inputs: &PrepInputs, arrivals: &[Delivery]) -> Vec<Task> {
    arrivals.iter().filter_map(|delivery| task(inputs, delivery)).collect()
}

fn task(inputs: &PrepInputs, delivery: &Delivery) -> Option<Task> {
    let material = inputs.weekend.material(delivery.material)?;
    let morning = delivery.day.0.to_datetime(jiff::civil::Time::midnight());
    let night = hours_after(morning, 24);
    let from = delivery.supplier.as_ref().map(|name| format!("from {name}"));
    Some(Task {
        key: conditioning_key(delivery),
        step: Step::Condition,
        events: delivery.events(),
        what: material.name.clone(),
        wanted_for: from.unwrap_or_default(),
        count: bunches(delivery),
        unit: material.care.conditioning_minutes.saturating_mul(MINUTE),
        earliest: morning,
        latest: night,
        at_most: night,
        earliest_why: "it arrives that day".into(),
        latest_why: "flowers do not wait out of water".into(),
        holds_from: morning,
        ready: Vec::new(),
        usual: delivery.day,
        after: Vec::new(),
        short_by: None,
        makes: None,
    })
}
