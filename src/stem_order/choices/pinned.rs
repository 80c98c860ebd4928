//! What choices made by hand cost: together against the cheapest plan without any, and each by what letting it go
//! would save. And which stems cannot be had only because of them.
//!
//! May import `ground`, and the room's own need and plan.

use super::pins::{Pin, Pins, concerns, material_of, offer};
use super::space::{Space, missing, undecided};
use crate::ground::formats::Formats;
use crate::ground::ids::SupplierId;
use crate::ground::money::Money;
use crate::stem_order::buying_plan::{Plan, Problem};
use crate::stem_order::change::beside::top_up_cost;
use crate::stem_order::order::StemOrder;
use crate::stem_order::posed::Posed;

/// The choices of an order.
#[derive(Debug, Clone, Default)]
pub struct Pinned {
    /// Those that say something about this order.
    pub choices: Vec<PinnedChoice>,
    /// The cheapest without any of them; none where nothing is chosen.
    pub free: Option<Free>,
    /// What was left aside, in words.
    pub notes: Vec<String>,
    /// Requirements (by their place in the problem) that could be met but for the choices.
    pub pinned_away: Vec<usize>,
}

/// A choice with what it costs.
#[derive(Debug, Clone)]
pub struct PinnedChoice {
    /// Which.
    pub pin: Pin,
    /// In words.
    pub words: String,
    /// What letting it go would change, the other choices kept.
    pub let_go: LetGo,
}

/// What letting a choice go would change.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LetGo {
    /// So much less is paid.
    Saves {
        /// How much.
        money: Money,
        /// Whether both plans are proven.
        exact: bool,
    },
    /// So many more stems can be had.
    Brings(i64),
    /// The time was over before that was known.
    NotInTime,
}

/// The cheapest plan without any choice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Free {
    /// Goods and fees, without what is paid in any case.
    pub total: Money,
    /// What the choices cost above it.
    pub more: Money,
    /// Whether that is proven.
    pub proven: bool,
    /// Stems that it does without too.
    pub missing: i64,
}

/// The choices that say something about the order.
#[must_use]
pub fn in_force(space: &Space<'_>, pins: &Pins) -> Vec<Pin> {
    pins.list.iter().copied().filter(|pin| concerns(*pin, space.market)).collect()
}

/// What the choices in force cost. `posed` and `plan` are those with all of them; `solve` plans the others.
#[must_use]
pub fn pinned(
    space: &Space<'_>,
    pins: &Pins,
    (posed, plan): (&Posed, &Plan),
    solve: &mut dyn FnMut(&Problem) -> Plan,
) -> Pinned {
    let force = in_force(space, pins);
    let notes = notes(pins, &force);
    if force.is_empty() {
        return Pinned { notes, ..Pinned::default() };
    }
    let whole = space.posed(&[]);
    let free = solve(&whole.problem);
    let choices = force
        .iter()
        .map(|pin| {
            let others: Vec<Pin> = force.iter().copied().filter(|other| other != pin).collect();
            let without = if others.is_empty() { free.clone() } else { solve(&space.posed(&others).problem) };
            PinnedChoice { pin: *pin, words: words(space, *pin), let_go: let_go(plan, &without) }
        })
        .collect();
    // Both problems have the same requirements in the same order: choices narrow the market only.
    let unmet_free: Vec<usize> = free.unmet.iter().map(|unmet| unmet.requirement).collect();
    let unmet = plan.unmet.iter().map(|unmet| unmet.requirement);
    let pinned_away =
        unmet.filter(|at| !unmet_free.contains(at) && *at < posed.wants.len()).collect::<Vec<_>>();
    if undecided(&free) {
        return Pinned { choices, notes, ..Pinned::default() };
    }
    let free = Free {
        total: top_up_cost(&whole.problem, &free),
        more: Money::from_minor(plan.cost - free.cost),
        proven: free.proven,
        missing: missing(&free),
    };
    Pinned { choices, free: Some(free), notes, pinned_away }
}

fn let_go(with: &Plan, without: &Plan) -> LetGo {
    if undecided(without) {
        return LetGo::NotInTime;
    }
    let more = missing(with) - missing(without);
    if more > 0 {
        return LetGo::Brings(more);
    }
    LetGo::Saves { money: Money::from_minor(with.cost - without.cost), exact: with.proven && without.proven }
}

fn notes(pins: &Pins, force: &[Pin]) -> Vec<String> {
    let mut notes = Vec::new();
    match pins.unread {
        0 => {}
        1 => notes.push("One choice in the address could not be read and was left aside.".to_owned()),
        more => notes.push(format!("{more} choices in the address could not be read and were left aside.")),
    }
    match pins.list.len() - force.len() {
        0 => {}
        1 => notes.push(
            "One choice is about something that cannot be bought for this order now, and was left aside.".to_owned(),
        ),
        more => notes.push(format!(
            "{more} choices are about something that cannot be bought for this order now, and were left aside."
        )),
    }
    notes
}

/// A choice in words: `Rose only from Alder Wholesale`.
#[must_use]
pub fn words(space: &Space<'_>, pin: Pin) -> String {
    let material = material_of(pin, space.market).and_then(|id| space.weekend.material(id));
    let name = material.map_or("?", |material| material.name.as_str());
    let supplier = |id: SupplierId| supplier_name(space, id);
    match pin {
        Pin::OnlySupplier(_, id) => format!("{name} only from {}", supplier(id)),
        Pin::NotSupplier(_, id) => format!("{name} not from {}", supplier(id)),
        Pin::Without(id) => format!("Nothing from {}", supplier(id)),
        Pin::OnlyOffer(id) | Pin::NotOffer(id) => {
            let pack = offer(space.market, id).map_or("?".to_owned(), |offer| {
                format!("{} of {} from {}", offer.pack_name, offer.pack_size, supplier(offer.supplier_id))
            });
            let word = if matches!(pin, Pin::OnlyOffer(_)) { "only in" } else { "not in" };
            format!("{name} {word} {pack}")
        }
        Pin::OnlyDay(_, day) => format!("{name} only on {}", space.formats.weekday(day)),
        Pin::NotDay(_, day) => format!("{name} not on {}", space.formats.weekday(day)),
    }
}

/// A supplier's name.
#[must_use]
pub fn supplier_name<'a>(space: &Space<'a>, id: SupplierId) -> &'a str {
    let supplier = space.market.suppliers.iter().find(|supplier| supplier.id == id);
    supplier.map_or("?", |supplier| supplier.name.as_str())
}

impl Pinned {
    /// What all choices cost against the cheapest, in a sentence; none where nothing is chosen.
    #[must_use]
    pub fn sentence(&self, plan_missing: i64, proven: bool, formats: &Formats) -> Option<String> {
        let free = self.free?;
        let money = |amount| formats.money(amount);
        let about = if proven && free.proven { "" } else { "about " };
        let more = free.more;
        let lacking = plan_missing - free.missing;
        Some(if lacking > 0 {
            format!(
                "With your choices {lacking} stems cannot be had; without them everything else costs {about}{}.",
                money(free.total)
            )
        } else if more.is_zero() {
            format!("Your choices cost nothing: without them it is {about}{} too.", money(free.total))
        } else if more < Money::ZERO {
            format!(
                "Without your choices no cheaper plan was found in time; the best so far is {}.",
                money(free.total)
            )
        } else {
            format!("Your choices cost {about}{} more than the cheapest, {}.", money(more), money(free.total))
        })
    }
}

/// Says of what cannot be had only because of the choices that this is why.
pub fn name_pinned_away(space: &Space<'_>, pinned: &Pinned, posed: &Posed, order: &mut StemOrder) {
    for at in &pinned.pinned_away {
        let want = &posed.wants[*at];
        let need = &space.weekend.needs[want.need];
        let accepted = |pin: &&PinnedChoice| {
            let about = material_of(pin.pin, space.market);
            about.is_none_or(|id| want.accepts.iter().any(|(material, _)| *material == id))
        };
        let blamed: Vec<&str> =
            pinned.choices.iter().filter(accepted).map(|choice| choice.words.as_str()).collect();
        let event = need.parts[want.part].event;
        let unmet =
            order.unmet.iter_mut().filter(|unmet| unmet.event == event && unmet.material == need.material);
        for unmet in unmet {
            unmet.why = format!("Your choices leave too little of it: {}. {}", blamed.join("; "), unmet.why);
            unmet.mend = "Let one of these choices go.".into();
        }
    }
}

impl LetGo {
    /// In words.
    #[must_use]
    pub fn words(&self, formats: &Formats) -> String {
        match *self {
            LetGo::NotInTime => "what letting it go saves was not found in time".into(),
            LetGo::Brings(1) => "without it 1 stem more can be had".into(),
            LetGo::Brings(stems) => format!("without it {stems} stems more can be had"),
            LetGo::Saves { money, .. } if money <= Money::ZERO => "letting it go saves nothing".into(),
            LetGo::Saves { money, exact: true } => format!("letting it go saves {}", formats.money(money)),
            LetGo::Saves { money, exact: false } => {
                format!("letting it go saves about {}", formats.money(money))
            }
        }
    }
}
