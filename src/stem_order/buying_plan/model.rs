//! The problem in numbers: the deliveries that can help, and what is to be bought in the smallest parts that hang
//! together. Requirements hang together by stems that can serve either of them (*components*); components by the
//! deliveries that they may use (*blocks*). Blocks are planned one by one. Imports the plain values, the set of
//! deliveries and the component.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use super::component::{Choice, Component};
use super::measure::Measure;
use super::set::{MOST_DELIVERIES, Set};
use super::{Day, Offer, Problem, Supplier};

/// A supplier on a date, with its terms: what it costs, beyond what is owed in any case, if goods are bought on it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Delivery {
    pub(super) supplier: usize,
    pub(super) fee: i64,
    /// In the place of the fee once the goods come to `free_over`: less than nothing where the fee is owed already.
    pub(super) waived: i64,
    pub(super) least: i64,
    pub(super) free_over: Option<i64>,
}

/// A block: deliveries, and the components that may use them.
#[derive(Debug)]
pub(super) struct Model {
    pub(super) deliveries: Vec<Delivery>,
    pub(super) components: Vec<Component>,
    pub(super) measure: Measure,
    /// No purchase of the block costs less, in parts.
    pub(super) floor: i64,
    /// Deliveries were left out because there are more than a set holds: only the floor is a bound.
    pub(super) truncated: bool,
}

/// One offer on one delivery.
#[derive(Clone, Copy, Debug)]
pub(super) struct Chance {
    pub(super) offer: usize,
    pub(super) supplier: usize,
    pub(super) date: Day,
}

/// Every offer that can be had, on every date on which it can. Offers that make no sense are left aside.
pub(super) fn chances(problem: &Problem) -> Vec<Chance> {
    let mut index = HashMap::new();
    for (at, supplier) in problem.suppliers.iter().enumerate() {
        index.entry(supplier.id.as_str()).or_insert(at);
    }
    let mut all = Vec::new();
    for (offer, terms) in problem.offers.iter().enumerate() {
        let Some(&supplier) = index.get(terms.supplier.as_str()) else { continue };
        if !sensible(terms) {
            continue;
        }
        let mut dates = problem.suppliers[supplier].dates.clone();
        dates.retain(|date| terms.dates.as_ref().is_none_or(|only| only.contains(date)));
        dates.sort_unstable();
        dates.dedup();
        all.extend(dates.into_iter().map(|date| Chance { offer, supplier, date }));
    }
    all
}

fn sensible(offer: &Offer) -> bool {
    let most = offer.max_packs.unwrap_or(i64::MAX);
    offer.size > 0 && offer.price >= 0 && most > 0 && offer.min_packs.unwrap_or(1) <= most
}

/// Whether stock lot `lot` may serve requirement `r`.
pub(super) fn stock_serves(problem: &Problem, r: usize, lot: usize) -> bool {
    let (requirement, stock) = (&problem.requirements[r], &problem.stock[lot]);
    stock.stems > 0
        && stock.from <= requirement.latest
        && requirement.earliest <= stock.until
        && requirement.accepts.contains(&stock.material)
}

/// Which requirements accept each material.
pub(super) struct Wanted<'a> {
    problem: &'a Problem,
    by_material: HashMap<&'a str, Vec<usize>>,
}

impl<'a> Wanted<'a> {
    pub(super) fn new(problem: &'a Problem, active: &[usize]) -> Self {
        let mut by_material: HashMap<&str, Vec<usize>> = HashMap::new();
        for &r in active {
            for material in &problem.requirements[r].accepts {
                let takers = by_material.entry(material.as_str()).or_default();
                if takers.last() != Some(&r) {
                    takers.push(r);
                }
            }
        }
        Self { problem, by_material }
    }

    /// The requirements that stems of a material on a date may serve.
    pub(super) fn served(&self, material: &str, date: Day) -> impl Iterator<Item = usize> {
        let takers = self.by_material.get(material).map_or(&[][..], Vec::as_slice);
        takers.iter().copied().filter(move |&r| {
            let wanted = &self.problem.requirements[r];
            wanted.earliest <= date && date <= wanted.latest
        })
    }
}

impl Supplier {
    /// Goods already on their way on a date; nothing if none are.
    pub(super) fn committed_on(&self, date: Day) -> Option<i64> {
        let here = self.committed.iter().filter(|committed| committed.date == date);
        here.map(|committed| committed.goods).reduce(i64::saturating_add)
    }

    /// The fee owed for a delivery if nothing more is bought on it.
    pub(super) fn owed(&self, date: Day) -> i64 {
        let Some(goods) = self.committed_on(date) else { return 0 };
        if self.free_over.is_some_and(|over| goods >= over) { 0 } else { self.fee.max(0) }
    }
}

/// The fees of all deliveries that come anyway.
pub(super) fn owed(problem: &Problem) -> i64 {
    let of = |supplier: &Supplier| -> i64 {
        let mut dates: Vec<Day> = supplier.committed.iter().map(|committed| committed.date).collect();
        dates.sort_unstable();
        dates.dedup();
        dates.into_iter().map(|date| supplier.owed(date)).sum()
    };
    problem.suppliers.iter().map(of).sum()
}

fn delivery(problem: &Problem, supplier: usize, date: Day) -> Delivery {
    let terms = &problem.suppliers[supplier];
    let committed = terms.committed_on(date);
    let (fee, owed) = (terms.fee.max(0), terms.owed(date));
    let rest = |goods: i64| goods.saturating_sub(committed.unwrap_or(0)).max(0);
    let (fee, waived) = if committed.is_some() { (0, -owed) } else { (fee, 0) };
    let free_over = terms.free_over.filter(|_| fee > 0 || owed > 0).map(rest);
    Delivery { supplier, fee, waived, least: rest(terms.min_order), free_over }
}

impl Model {
    /// `active` are the requirements to be met; `usable` says which deliveries may be used at all.
    pub(super) fn blocks(
        problem: &Problem,
        active: &[usize],
        usable: &dyn Fn(usize, Day) -> bool,
    ) -> Vec<Self> {
        let wanted = Wanted::new(problem, active);
        let mut chances = chances(problem);
        chances.retain(|c| usable(c.supplier, c.date));
        let served: Vec<Vec<usize>> = chances
            .iter()
            .map(|c| wanted.served(&problem.offers[c.offer].material, c.date).collect())
            .collect();
        // Goods that nobody wants may still be worth a fee that is owed.
        let saves = |c: &Chance| delivery(problem, c.supplier, c.date).waived < 0;
        let serving = chances.iter().zip(&served).filter(|(c, served)| !served.is_empty() || saves(c));
        let useful: BTreeSet<(usize, Day)> = serving.map(|(c, _)| (c.supplier, c.date)).collect();
        let mut parts = Parts {
            problem,
            active,
            all: useful.iter().map(|&(supplier, date)| delivery(problem, supplier, date)).collect(),
            at: useful.iter().enumerate().map(|(at, &key)| (key, at)).collect(),
            requirements: Ties::new(problem.requirements.len()),
            blocks: Ties::new(0),
        };
        let fills = |delivery: &Delivery| delivery.least > 0 || delivery.free_over.is_some();
        let offered = chances.into_iter().zip(served).filter_map(|(chance, served)| {
            let &at = parts.at.get(&(chance.supplier, chance.date))?;
            (!served.is_empty() || fills(&parts.all[at])).then_some(Offered { chance, delivery: at, served })
        });
        let offered: Vec<Offered> = offered.collect();
        parts.tie(&offered);
        parts.models(offered)
    }

    /// Turns what is bought into parts; no plan costs less than `money`.
    pub(super) fn judge_by(&mut self, measure: Measure, money: i64) {
        self.measure = measure;
        self.floor = measure.floor(self, money);
        for choice in self.components.iter_mut().flat_map(|component| &mut component.choices) {
            choice.cost = measure.pack(choice);
        }
    }

    pub(super) fn all(&self) -> Set {
        Set::first(self.deliveries.len())
    }
}

/// A chance with its delivery and the requirements it can serve.
struct Offered {
    chance: Chance,
    delivery: usize,
    served: Vec<usize>,
}

struct Parts<'a> {
    problem: &'a Problem,
    active: &'a [usize],
    all: Vec<Delivery>,
    at: BTreeMap<(usize, Day), usize>,
    /// Requirements of one component.
    requirements: Ties,
    /// Deliveries of one block, then requirements.
    blocks: Ties,
}

impl Parts<'_> {
    /// Ties requirements by stems that serve several of them, by stock and by most packs; and to deliveries.
    fn tie(&mut self, offered: &[Offered]) {
        let first = self.all.len();
        self.blocks = Ties::new(first + self.problem.requirements.len());
        let mut capped: HashMap<usize, usize> = HashMap::new();
        for (at, offer) in offered.iter().enumerate() {
            self.tie_served(&offer.served);
            if let Some(&r) = offer.served.first() {
                self.blocks.tie(offer.delivery, first + r);
            }
            if self.problem.offers[offer.chance.offer].max_packs.is_some() {
                let other = &offered[*capped.entry(offer.chance.offer).or_insert(at)];
                self.blocks.tie(other.delivery, offer.delivery);
                if let (Some(&one), Some(&r)) = (other.served.first(), offer.served.first()) {
                    self.requirements.tie(one, r);
                } else if other.served.is_empty() {
                    capped.insert(offer.chance.offer, at);
                }
            }
        }
        for lot in 0..self.problem.stock.len() {
            let takers = self.active.iter().copied().filter(|&r| stock_serves(self.problem, r, lot));
            self.tie_served(&takers.collect::<Vec<_>>());
        }
        for &r in self.active {
            let root = self.requirements.root(r);
            self.blocks.tie(first + r, first + root);
        }
    }

    fn tie_served(&mut self, served: &[usize]) {
        for pair in served.windows(2) {
            self.requirements.tie(pair[0], pair[1]);
        }
    }

    fn models(&mut self, offered: Vec<Offered>) -> Vec<Model> {
        let first = self.all.len();
        // A block is named by its root; in it a component by the root of its requirements, and what is not wanted
        // by its material.
        let mut blocks: BTreeMap<usize, BTreeMap<usize, Gathered>> = BTreeMap::new();
        for &r in self.active {
            let (block, part) = (self.blocks.root(first + r), self.requirements.root(r));
            blocks.entry(block).or_default().entry(part).or_default().needs.push(r);
        }
        let capped: HashMap<usize, usize> = offered
            .iter()
            .filter(|o| self.problem.offers[o.chance.offer].max_packs.is_some())
            .filter_map(|o| Some((o.chance.offer, *o.served.first()?)))
            .collect();
        let mut materials: HashMap<&str, usize> = HashMap::new();
        for offer in offered {
            let block = self.blocks.root(offer.delivery);
            let taker = offer.served.first().or_else(|| capped.get(&offer.chance.offer));
            let unwanted = self.problem.requirements.len() + materials.len();
            let material = self.problem.offers[offer.chance.offer].material.as_str();
            let part = match taker {
                Some(&r) => self.requirements.root(r),
                None => *materials.entry(material).or_insert(unwanted),
            };
            blocks.entry(block).or_default().entry(part).or_default().offered.push(offer);
        }
        blocks.into_values().map(|parts| self.model(parts.into_values().collect())).collect()
    }

    fn model(&self, mut parts: Vec<Gathered>) -> Model {
        let floor: i64 = parts.iter().map(|part| part.floor(self.problem)).sum();
        let mut counts: BTreeMap<usize, usize> = BTreeMap::new();
        for offer in parts.iter().flat_map(|part| &part.offered) {
            *counts.entry(offer.delivery).or_default() += usize::from(!offer.served.is_empty());
        }
        let saved: Vec<usize> = counts.keys().copied().collect();
        let mut kept: Vec<(usize, usize)> = counts.into_iter().collect();
        kept.sort_by_key(|&(delivery, count)| (std::cmp::Reverse(count), delivery));
        let truncated = kept.len() > MOST_DELIVERIES;
        kept.truncate(MOST_DELIVERIES);
        kept.sort_unstable();
        let at: HashMap<usize, usize> = kept.iter().enumerate().map(|(at, kept)| (kept.0, at)).collect();
        let mut components = Vec::new();
        for part in &mut parts {
            part.offered.retain(|offer| at.contains_key(&offer.delivery));
            let chosen = part.offered.iter().map(|o| (self.choice(&o.chance, at[&o.delivery]), &o.served));
            components.push(Component::new(self.problem, &part.needs, &chosen.collect::<Vec<_>>()));
        }
        let deliveries: Vec<Delivery> = kept.iter().map(|kept| self.all[kept.0]).collect();
        let floor = floor + saved.iter().map(|&at| self.all[at].waived).sum::<i64>();
        let mut model = Model { deliveries, components, measure: Measure::NONE, floor: 0, truncated };
        let measure = Measure::money(&model);
        model.judge_by(measure, floor);
        model
    }

    fn choice(&self, chance: &Chance, delivery: usize) -> Choice {
        let offer = &self.problem.offers[chance.offer];
        Choice {
            offer: chance.offer,
            delivery,
            date: chance.date,
            cell: 0,
            size: offer.size,
            price: offer.price,
            cost: 0,
            least: offer.min_packs.unwrap_or(1).max(1),
            most: offer.max_packs.unwrap_or(i64::MAX),
        }
    }
}

/// The makings of a component.
#[derive(Default)]
struct Gathered {
    needs: Vec<usize>,
    offered: Vec<Offered>,
}

impl Gathered {
    /// All stems at the least price of a stem that each requirement can have; the dearest from stock.
    fn floor(&self, problem: &Problem) -> i64 {
        const PART: i128 = 1 << 20;
        let mut least: BTreeMap<usize, i128> = BTreeMap::new();
        for offer in &self.offered {
            let terms = &problem.offers[offer.chance.offer];
            let price = i128::from(terms.price) * PART / i128::from(terms.size);
            for &r in &offer.served {
                let known = least.entry(r).or_insert(price);
                *known = price.min(*known);
            }
        }
        let mut wanted: Vec<(i128, i64)> = self
            .needs
            .iter()
            .map(|r| (least.get(r).copied().unwrap_or(0), problem.requirements[*r].stems))
            .collect();
        wanted.sort_unstable_by(|a, b| b.cmp(a));
        let useful = |lot: &usize| self.needs.iter().any(|&r| stock_serves(problem, r, *lot));
        let lots = (0..problem.stock.len()).filter(useful).map(|lot| problem.stock[lot].stems);
        let mut stock = lots.fold(0_i64, i64::saturating_add);
        let mut sum = 0_i128;
        for (price, stems) in wanted {
            let from_stock = stock.min(stems);
            stock -= from_stock;
            sum += price * i128::from(stems - from_stock);
        }
        i64::try_from(sum / PART).unwrap_or(0)
    }
}

/// Things in groups, by a representative each.
struct Ties(Vec<usize>);

impl Ties {
    fn new(count: usize) -> Self {
        Self((0..count).collect())
    }

    fn root(&mut self, mut at: usize) -> usize {
        while self.0[at] != at {
            self.0[at] = self.0[self.0[at]];
            at = self.0[at];
        }
        at
    }

    fn tie(&mut self, one: usize, other: usize) {
        let (one, other) = (self.root(one), self.root(other));
        self.0[one.max(other)] = one.min(other);
    }
}
