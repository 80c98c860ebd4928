//! A component whose costs are smoothed: each cell's costs are replaced by their lower convex hull. Then handing
//! every class, stem by stem, to the cell within reach where one more stem costs least is optimal. Whole numbers;
//! the cost of a stem is rounded down, so that what comes out is a lower bound. Imports the component and bundles.

use std::collections::VecDeque;

use super::cell::NEVER;
use super::component::Component;
use super::labels::Bundle;

/// Which class may use which supply: the cells, then the stock lots.
#[derive(Clone, Debug)]
pub(super) struct Network {
    demand: Vec<i64>,
    links: Vec<Vec<usize>>,
    users: Vec<Vec<usize>>,
    lots: Vec<i64>,
    /// Classes with the fewest supplies first.
    order: Vec<usize>,
}

/// An optimal handing out at smoothed costs.
pub(super) struct Smoothed<'a> {
    network: &'a Network,
    /// What is still to be had of every supply, dearest first.
    segments: Vec<Vec<Segment>>,
    /// Smoothed cost of what each supply has handed out.
    spent: Vec<i64>,
    flow: Vec<Vec<i64>>,
    /// The least cost; [`NEVER`] if not all classes can be served.
    pub(super) cost: i64,
}

/// Stems that rise in cost evenly: `left` of `stems`, which together cost `rise`.
#[derive(Clone, Copy, Debug)]
struct Segment {
    stems: i64,
    rise: i64,
    left: i64,
}

impl Segment {
    fn cheaper(self, other: Self) -> bool {
        i128::from(self.rise) * i128::from(other.stems) < i128::from(other.rise) * i128::from(self.stems)
    }

    /// Cost of the stems handed out, rounded down.
    fn spent(self) -> i64 {
        let used = i128::from(self.rise) * i128::from(self.stems - self.left) / i128::from(self.stems);
        i64::try_from(used).unwrap_or(NEVER)
    }
}

impl Network {
    /// Stems and supplies of each class; `cells` supplies are smoothed, those after them are stock.
    pub(super) fn new(demand: Vec<i64>, links: Vec<Vec<usize>>, cells: usize, lots: Vec<i64>) -> Self {
        let mut users = vec![Vec::new(); cells + lots.len()];
        for (class, links) in links.iter().enumerate() {
            for &supply in links {
                users[supply].push(class);
            }
        }
        let mut order: Vec<usize> = (0..links.len()).collect();
        order.sort_by_key(|&class| links[class].len());
        Self { demand, links, users, lots, order }
    }

    /// A component as it is, not folded.
    pub(super) fn whole(component: &Component) -> Self {
        let cells = component.cells.len();
        let links = component.hall.classes.iter().map(|class| {
            class.lots.iter().map(|lot| cells + lot).chain(class.cells.iter().copied()).collect()
        });
        let demand = component.hall.classes.iter().map(|class| class.stems).collect();
        Self::new(demand, links.collect(), cells, component.hall.lots.clone())
    }

    /// Supplies that are smoothed.
    pub(super) fn cells(&self) -> usize {
        self.users.len() - self.lots.len()
    }

    pub(super) fn is_empty(&self) -> bool {
        self.links.is_empty()
    }

    /// `bundles` are what may be bought for each cell; of a cell without any nothing can be had.
    pub(super) fn smooth(&self, bundles: &[&[Bundle]]) -> Smoothed<'_> {
        let mut segments: Vec<Vec<Segment>> = bundles.iter().map(|b| hull(b)).collect();
        segments.extend(self.lots.iter().map(|&stems| vec![Segment { stems, rise: 0, left: stems }]));
        let flow = vec![vec![0; segments.len()]; self.links.len()];
        let mut spent: Vec<i64> = bundles.iter().map(|b| b.first().map_or(0, |first| first.cost)).collect();
        spent.resize(segments.len(), 0);
        let mut smoothed = Smoothed { network: self, segments, spent, flow, cost: 0 };
        if !self.order.iter().all(|&class| smoothed.serve(class)) {
            smoothed.cost = NEVER;
            return smoothed;
        }
        for (spent, segments) in smoothed.spent.iter_mut().zip(&smoothed.segments) {
            *spent += segments.last().map_or(0, |segment| segment.spent());
            smoothed.cost += *spent;
        }
        smoothed
    }
}

/// How each supply is reached: the user asking, and the supply that it would give up.
type Came = Vec<Option<(usize, Option<usize>)>>;

impl Smoothed<'_> {
    /// Stems handed out from a supply.
    pub(super) fn stems(&self, supply: usize) -> i64 {
        self.network.users[supply].iter().map(|&class| self.flow[class][supply]).sum()
    }

    /// Smoothed cost of the stems handed out from a cell.
    pub(super) fn spent(&self, cell: usize) -> i64 {
        self.spent[cell]
    }

    /// What one more stem would cost each class.
    pub(super) fn class_prices(&self) -> Vec<i64> {
        let price = |class: usize| self.reach(class).1.map_or(0, |(_, next)| next.rise / next.stems);
        (0..self.flow.len()).map(price).collect()
    }

    fn serve(&mut self, class: usize) -> bool {
        let mut wanted = self.network.demand[class];
        while wanted > 0 {
            let stems = self.hand(class, wanted);
            if stems == 0 {
                return false;
            }
            wanted -= stems;
        }
        true
    }

    /// Hands stems of the cheapest supply within reach to a class; how many.
    fn hand(&mut self, class: usize, wanted: i64) -> i64 {
        let (came, cheapest) = self.reach(class);
        let Some((last, segment)) = cheapest else { return 0 };
        let mut path = Vec::new();
        let mut supply = last;
        let mut amount = segment.left.min(wanted);
        while let Some((user, freed)) = came[supply] {
            path.push((user, supply, freed));
            let Some(freed) = freed else { break };
            amount = amount.min(self.flow[user][freed]);
            supply = freed;
        }
        for (user, gained, freed) in path {
            self.flow[user][gained] += amount;
            if let Some(freed) = freed {
                self.flow[user][freed] -= amount;
            }
        }
        self.draw(last, amount);
        amount
    }

    fn draw(&mut self, supply: usize, amount: i64) {
        let Some(segment) = self.segments[supply].last_mut() else { return };
        segment.left -= amount;
        if segment.left == 0 {
            self.spent[supply] += segment.rise;
            self.segments[supply].pop();
        }
    }

    /// Supplies that the class can use, or that users of those could move to; and which of them has the cheapest
    /// next stem.
    fn reach(&self, class: usize) -> (Came, Option<(usize, Segment)>) {
        let mut came: Came = vec![None; self.segments.len()];
        let mut asked = vec![false; self.flow.len()];
        let mut cheapest: Option<(usize, Segment)> = None;
        let mut queue = VecDeque::from([(class, None)]);
        asked[class] = true;
        while let Some((user, freed)) = queue.pop_front() {
            for &supply in &self.network.links[user] {
                if came[supply].is_some() {
                    continue;
                }
                came[supply] = Some((user, freed));
                if let Some(&next) = self.segments[supply].last()
                    && cheapest.is_none_or(|(_, least)| next.cheaper(least))
                {
                    cheapest = Some((supply, next));
                }
                for &other in &self.network.users[supply] {
                    if !asked[other] && self.flow[other][supply] > 0 {
                        asked[other] = true;
                        queue.push_back((other, Some(supply)));
                    }
                }
            }
        }
        (came, cheapest)
    }
}

/// The lower convex hull of a cell's costs, dearest first. What comes with the least purchase costs nothing more.
fn hull(bundles: &[Bundle]) -> Vec<Segment> {
    let Some(first) = bundles.first() else { return Vec::new() };
    let mut hull: Vec<(i64, i64)> = vec![(first.stems, first.cost)];
    for bundle in &bundles[1..] {
        let point = (bundle.stems, bundle.cost);
        while hull.len() >= 2 && !turns_up(hull[hull.len() - 2], hull[hull.len() - 1], point) {
            hull.pop();
        }
        if hull.last().is_some_and(|last| last.0 < point.0) {
            hull.push(point);
        }
    }
    let segment = |stems: i64, rise: i64| Segment { stems, rise, left: stems };
    let mut segments = vec![segment(first.stems, 0)];
    segments.extend(hull.windows(2).map(|w| segment(w[1].0 - w[0].0, w[1].1 - w[0].1)));
    segments.retain(|s| s.stems > 0);
    segments.reverse();
    segments
}

fn turns_up(a: (i64, i64), b: (i64, i64), c: (i64, i64)) -> bool {
    let wide = |x: i64, y: i64| i128::from(x) * i128::from(y);
    wide(b.1 - a.1, c.0 - b.0) < wide(c.1 - b.1, b.0 - a.0)
}
