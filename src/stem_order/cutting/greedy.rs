//! Two quick layouts: longest piece first, and fullest stock piece first. Often they meet the bound already.

use super::effort::Effort;
use super::job::Job;
use super::knapsack::{Item, best_fill};
use super::plan::{Plan, repeats};

/// The better of the two.
pub(super) fn best(job: &Job, demand: &[u32], effort: &mut Effort) -> Plan {
    let first = longest_first(job, demand);
    match fullest_first(job, demand, effort) {
        Some(fullest) if fullest.is_better_than(&first) => fullest,
        _ => first,
    }
}

/// First fit decreasing, stock piece by stock piece: always the longest remaining piece that still fits. A pattern is
/// repeated as long as the remaining pieces allow.
fn longest_first(job: &Job, demand: &[u32]) -> Plan {
    let mut left = demand.to_vec();
    let mut plan = Plan::default();
    while left.iter().any(|count| *count > 0) {
        let mut room = job.capacity;
        let cuts: Vec<u32> = job
            .sizes
            .iter()
            .zip(&left)
            .map(|(size, left)| {
                let count = u32::try_from(room / size).map_or(*left, |fit| fit.min(*left));
                room -= size * i64::from(count);
                count
            })
            .collect();
        plan.take(&cuts, repeats(&cuts, &left), &mut left);
    }
    plan
}

/// Each stock piece holds the longest remaining piece and, with it, the pieces that leave the least waste.
fn fullest_first(job: &Job, demand: &[u32], effort: &mut Effort) -> Option<Plan> {
    let mut left = demand.to_vec();
    let mut plan = Plan::default();
    while let Some(longest) = left.iter().position(|count| *count > 0) {
        left[longest] -= 1;
        let items: Vec<Item> = (0..left.len())
            .map(|i| Item { size: job.sizes[i], value: job.sizes[i], most: job.most(i, &left) })
            .collect();
        let (_, mut cuts) = best_fill(job.capacity - job.sizes[longest], &items, effort)?;
        left[longest] += 1;
        cuts[longest] += 1;
        plan.take(&cuts, repeats(&cuts, &left), &mut left);
    }
    Some(plan)
}
